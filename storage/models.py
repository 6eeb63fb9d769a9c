"""The tables. What a row means stands here; who may read or write it stands in the repositories.

Rows of ``revisions`` and ``entries`` are never changed or deleted, unless somebody wants to be forgotten
(``erasure``). In the two mailboxes a row is open while
it has no ``outcome``, and leased while it then has a ``lease_token``. JSON is kept as text: the databases
never look inside, and both then give back exactly what was written.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
    text,
)

from storage.times import SafeText, UtcDateTime

__all__ = [
    "chats",
    "entries",
    "hands",
    "households",
    "inbox",
    "invites",
    "members",
    "metadata",
    "outbox",
    "persons",
    "pollers",
    "photos",
    "questions",
    "reminders",
    "revisions",
]

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)

# SQLite numbers rows by itself only in a column that is called INTEGER.
_Id = BigInteger().with_variant(Integer, "sqlite")


def _number() -> Column[int]:
    return Column("id", _Id, primary_key=True)


def _household() -> Column[int]:
    return Column("household_id", _Id, ForeignKey("households.id"), nullable=False)


def _chat(*, nullable: bool = False) -> Column[int]:
    return Column("chat_id", _Id, ForeignKey("chats.id"), nullable=nullable)


households = Table(
    "households",
    metadata,
    _number(),
    Column("created_at", UtcDateTime, nullable=False),
)

chats = Table(
    "chats",
    metadata,
    _number(),
    _household(),
    Column("platform", Text, nullable=False),
    Column("address", Text, nullable=False),
    Column("private", Boolean, nullable=False),
    Column("title", SafeText, nullable=False),
    Column("thread", Text),
    # The tank that a message here is about where it names none; empty: the household's first.
    Column("tank", SafeText),
    # When the assistant was shut out; empty while it may write there.
    Column("left_at", UtcDateTime),
    # The pace of the chat: no letter leaves before this.
    Column("not_before", UtcDateTime),
    Column("created_at", UtcDateTime, nullable=False),
    # The address first: an index that leads with the platform tempts SQLite to walk through all chats of
    # one platform where it should start from the few letters that are open.
    UniqueConstraint("address", "platform"),
    Index(None, "household_id"),
)

persons = Table(
    "persons",
    metadata,
    _number(),
    Column("platform", Text, nullable=False),
    # Empty for somebody who writes in the group's name.
    Column("address", Text),
    Column("name", SafeText, nullable=False),
    UniqueConstraint("platform", "address"),
)

members = Table(
    "members",
    metadata,
    Column("household_id", _Id, ForeignKey("households.id"), primary_key=True),
    Column("person_id", _Id, ForeignKey("persons.id"), primary_key=True),
    Column("anonymous", Boolean, nullable=False),
    # Of ``domain.roles``; who was removed keeps the row: writing in the group does not bring them back.
    Column("role", Text, nullable=False),
    Index(
        "uq_members_one_anonymous",
        "household_id",
        unique=True,
        sqlite_where=text("anonymous"),
        postgresql_where=text("anonymous"),
    ),
)

invites = Table(
    "invites",
    metadata,
    _number(),
    _household(),
    # SHA-256 of the token: who reads the database cannot join with it.
    Column("digest", Text, nullable=False, unique=True),
    Column("role", Text, nullable=False),
    Column("made_by", _Id, ForeignKey("persons.id"), nullable=False),
    Column("made_at", UtcDateTime, nullable=False),
    Column("expires_at", UtcDateTime, nullable=False),
    # Used or revoked; single use, so that it is closed either way.
    Column("closed_at", UtcDateTime),
    Column("used_by", _Id, ForeignKey("persons.id")),
    Index(None, "household_id"),
)

hands = Table(
    "hands",
    metadata,
    _number(),
    _household(),
    Column("person_id", _Id, ForeignKey("persons.id"), nullable=False),
    Column("tank", SafeText),
    # What is being put in: a product's role, or ``water``.
    Column("what", Text, nullable=False),
    Column("taken_at", UtcDateTime, nullable=False),
    # From here on nobody believes any more that it is under way.
    Column("until", UtcDateTime, nullable=False),
    Column("ended_at", UtcDateTime),
    Index(None, "household_id"),
)

revisions = Table(
    "revisions",
    metadata,
    _number(),
    _household(),
    _chat(),
    Column("message", Text, nullable=False),
    # 1 for the first revision of a message, then one more each time.
    Column("number", Integer, nullable=False),
    # The revision that this one replaces. Unique: a message has one line of revisions, without branches.
    Column("replaces", _Id, ForeignKey("revisions.id"), unique=True),
    Column("edited_at", UtcDateTime),
    Column("person_id", _Id, ForeignKey("persons.id")),
    Column("author", SafeText, nullable=False),
    Column("said_at", UtcDateTime, nullable=False),
    Column("recorded_at", UtcDateTime, nullable=False),
    Column("action", Text, nullable=False),
    Column("text", SafeText, nullable=False),
    UniqueConstraint("chat_id", "message", "number"),
    CheckConstraint("(number = 1) = (replaces IS NULL)", name="first_replaces_none"),
    Index(None, "household_id", "id"),
)

entries = Table(
    "entries",
    metadata,
    _number(),
    _household(),
    Column("revision_id", _Id, ForeignKey("revisions.id"), nullable=False),
    Column("fact", Text, nullable=False),
    Column("happened_at", UtcDateTime, nullable=False),
    Column("span_start", Integer),
    Column("span_end", Integer),
    Column("doubted", Boolean, nullable=False),
    Index(None, "household_id", "happened_at", "id"),
    Index(None, "revision_id"),
)

photos = Table(
    "photos",
    metadata,
    _number(),
    _household(),
    _chat(),
    Column("person_id", _Id, ForeignKey("persons.id")),
    Column("message", Text, nullable=False),
    # What the photos share that were sent together; each is a message of its own.
    Column("album", Text),
    Column("reference", Text, nullable=False),
    Column("is_file", Boolean, nullable=False),
    Column("kept_at", UtcDateTime, nullable=False),
    UniqueConstraint("chat_id", "message"),
    Index(None, "household_id"),
    Index(None, "chat_id", "album"),
)

reminders = Table(
    "reminders",
    metadata,
    _number(),
    _household(),
    # Empty: wherever the household is told such things.
    _chat(nullable=True),
    # The topic in which it is told; empty text for the one without a number, none for the chat's home.
    Column("thread", Text),
    Column("key", Text, nullable=False),
    Column("task", Text, nullable=False),
    Column("text", SafeText, nullable=False),
    Column("why", SafeText, nullable=False),
    Column("rrule", Text),
    Column("due_at", UtcDateTime, nullable=False),
    # The date that the journal gave; `due_at` moves on from it when a reminder is told or put off.
    Column("planned_at", UtcDateTime, nullable=False),
    Column("fired_count", Integer, nullable=False),
    Column("paused", Boolean, nullable=False),
    Column("ended", Boolean, nullable=False),
    # When somebody said that this one is done, or left it out; empty while it is still to be done.
    Column("settled_at", UtcDateTime),
    Column("source", Text, nullable=False),
    Column("updated_at", UtcDateTime, nullable=False),
    UniqueConstraint("household_id", "key"),
    Index(
        "ix_reminders_due",
        "due_at",
        # As SQLAlchemy writes it there; SQLite compares the words of the condition, not its meaning.
        sqlite_where=text("ended = 0 AND paused = 0"),
        postgresql_where=text("NOT ended AND NOT paused"),
    ),
)

questions = Table(
    "questions",
    metadata,
    _number(),
    _household(),
    _chat(),
    Column("person_id", _Id, ForeignKey("persons.id")),
    Column("topic", Text, nullable=False),
    Column("payload", Text, nullable=False),
    Column("asked_at", UtcDateTime, nullable=False),
    Column("expires_at", UtcDateTime, nullable=False),
    Column("answered_at", UtcDateTime),
    Column("dropped", Boolean, nullable=False),
    Index(
        "ix_questions_open",
        "chat_id",
        "id",
        sqlite_where=text("answered_at IS NULL AND dropped = 0"),
        postgresql_where=text("answered_at IS NULL AND NOT dropped"),
    ),
)

_OPEN = text("outcome IS NULL")
_LEASED = text("outcome IS NULL AND lease_token IS NOT NULL")

inbox = Table(
    "inbox",
    metadata,
    _number(),
    # Empty only on what came without one and was set aside.
    Column("update_id", Text, unique=True),
    # Rows of one key are handled one at a time; empty on what was set aside unread.
    Column("household_key", Text),
    Column("raw", Text, nullable=False),
    Column("sent_at", UtcDateTime, nullable=False),
    Column("received_at", UtcDateTime, nullable=False),
    Column("not_before", UtcDateTime, nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("lease_token", Text),
    Column("lease_until", UtcDateTime),
    # done, or aside (kept for a person to look at).
    Column("outcome", Text),
    Column("code", Text),
    Index("ix_inbox_open", "household_key", "sent_at", "id", sqlite_where=_OPEN, postgresql_where=_OPEN),
    Index("ix_inbox_waiting", "sent_at", "id", sqlite_where=_OPEN, postgresql_where=_OPEN),
    Index("ix_inbox_leases", "lease_until", sqlite_where=_LEASED, postgresql_where=_LEASED),
    Index("uq_inbox_one_lease", "household_key", unique=True, sqlite_where=_LEASED, postgresql_where=_LEASED),
    Index(None, "received_at"),
)

outbox = Table(
    "outbox",
    metadata,
    _number(),
    _household(),
    _chat(),
    Column("dedupe_key", Text, nullable=False),
    Column("letter", Text, nullable=False),
    # These four stand in the letter as well; here they can be asked for.
    Column("kind", Text, nullable=False),
    Column("answers", Text),
    Column("amends", _Id, ForeignKey("outbox.id", ondelete="SET NULL")),
    Column("details", SafeText),
    Column("reminder_id", _Id, ForeignKey("reminders.id")),
    Column("posted_at", UtcDateTime, nullable=False),
    Column("not_before", UtcDateTime, nullable=False),
    Column("attempts", Integer, nullable=False),
    # It may have arrived once already.
    Column("repeated", Boolean, nullable=False),
    Column("lease_token", Text),
    Column("lease_until", UtcDateTime),
    # sent, unknown (may have arrived), or failed.
    Column("outcome", Text),
    # When it arrived, or may have; the pace is kept by these.
    Column("sent_at", UtcDateTime),
    # The platform's id of what was sent.
    Column("message", Text),
    Column("code", Text),
    UniqueConstraint("household_id", "dedupe_key"),
    Index("ix_outbox_open", "chat_id", "id", sqlite_where=_OPEN, postgresql_where=_OPEN),
    Index("ix_outbox_waiting", "not_before", "id", sqlite_where=_OPEN, postgresql_where=_OPEN),
    Index("ix_outbox_leases", "lease_until", sqlite_where=_LEASED, postgresql_where=_LEASED),
    Index("uq_outbox_one_lease", "chat_id", unique=True, sqlite_where=_LEASED, postgresql_where=_LEASED),
    Index(None, "chat_id", "sent_at"),
    Index(None, "chat_id", "answers"),
    Index(None, "chat_id", "message"),
    Index(None, "amends"),
    # A number that a button carries is never given to another letter.
    sqlite_autoincrement=True,
)

pollers = Table(
    "pollers",
    metadata,
    Column("bot", Text, primary_key=True),
    Column("holder", Text, nullable=False),
    Column("lease_until", UtcDateTime, nullable=False),
)
