"""The first tables: households, the journal, reminders, questions and the two mailboxes."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_Id = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_Instant = sa.DateTime(timezone=True).with_variant(sa.Text(), "sqlite")


def _where(condition: str, *, on_sqlite: str | None = None) -> dict[str, Any]:
    """The condition of a partial index; SQLite uses it only for queries that word it in the same way."""
    return {"sqlite_where": sa.text(on_sqlite or condition), "postgresql_where": sa.text(condition)}


def upgrade() -> None:
    _create_households()
    _create_inbox()
    _create_persons()
    _create_chats()
    _create_members()
    _create_questions()
    _create_reminders()
    _create_revisions()
    _create_entries()
    _create_outbox()


def downgrade() -> None:
    op.drop_table("outbox")
    op.drop_table("entries")
    op.drop_table("revisions")
    op.drop_table("reminders")
    op.drop_table("questions")
    op.drop_table("members")
    op.drop_table("chats")
    op.drop_table("persons")
    op.drop_table("inbox")
    op.drop_table("households")


def _create_households() -> None:
    op.create_table(
        "households",
        sa.Column("id", _Id, nullable=False),
        sa.Column("created_at", _Instant, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_households")),
    )


def _create_inbox() -> None:
    op.create_table(
        "inbox",
        sa.Column("id", _Id, nullable=False),
        sa.Column("update_id", sa.Text()),
        sa.Column("household_key", sa.Text()),
        sa.Column("raw", sa.Text(), nullable=False),
        sa.Column("sent_at", _Instant, nullable=False),
        sa.Column("received_at", _Instant, nullable=False),
        sa.Column("not_before", _Instant, nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("lease_token", sa.Text()),
        sa.Column("lease_until", _Instant),
        sa.Column("outcome", sa.Text()),
        sa.Column("code", sa.Text()),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_inbox")),
        sa.UniqueConstraint("update_id", name=op.f("uq_inbox_update_id")),
    )
    op.create_index(
        "ix_inbox_leases", "inbox", ["lease_until"], **_where("outcome IS NULL AND lease_token IS NOT NULL")
    )
    op.create_index("ix_inbox_open", "inbox", ["household_key", "sent_at", "id"], **_where("outcome IS NULL"))
    op.create_index(op.f("ix_inbox_received_at"), "inbox", ["received_at"])
    op.create_index("ix_inbox_waiting", "inbox", ["sent_at", "id"], **_where("outcome IS NULL"))
    op.create_index(
        "uq_inbox_one_lease",
        "inbox",
        ["household_key"],
        unique=True,
        **_where("outcome IS NULL AND lease_token IS NOT NULL"),
    )


def _create_persons() -> None:
    op.create_table(
        "persons",
        sa.Column("id", _Id, nullable=False),
        sa.Column("platform", sa.Text(), nullable=False),
        sa.Column("address", sa.Text()),
        sa.Column("name", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_persons")),
        sa.UniqueConstraint("platform", "address", name=op.f("uq_persons_platform_address")),
    )


def _create_chats() -> None:
    op.create_table(
        "chats",
        sa.Column("id", _Id, nullable=False),
        sa.Column("household_id", _Id, nullable=False),
        sa.Column("platform", sa.Text(), nullable=False),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("private", sa.Boolean(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("thread", sa.Text()),
        sa.Column("left_at", _Instant),
        sa.Column("not_before", _Instant),
        sa.Column("created_at", _Instant, nullable=False),
        sa.ForeignKeyConstraint(["household_id"], ["households.id"], name=op.f("fk_chats_household_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_chats")),
        sa.UniqueConstraint("address", "platform", name=op.f("uq_chats_address_platform")),
    )
    op.create_index(op.f("ix_chats_household_id"), "chats", ["household_id"])


def _create_members() -> None:
    op.create_table(
        "members",
        sa.Column("household_id", _Id, nullable=False),
        sa.Column("person_id", _Id, nullable=False),
        sa.Column("anonymous", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["household_id"], ["households.id"], name=op.f("fk_members_household_id")),
        sa.ForeignKeyConstraint(["person_id"], ["persons.id"], name=op.f("fk_members_person_id")),
        sa.PrimaryKeyConstraint("household_id", "person_id", name=op.f("pk_members")),
    )
    op.create_index(
        "uq_members_one_anonymous", "members", ["household_id"], unique=True, **_where("anonymous")
    )


def _create_questions() -> None:
    op.create_table(
        "questions",
        sa.Column("id", _Id, nullable=False),
        sa.Column("household_id", _Id, nullable=False),
        sa.Column("chat_id", _Id, nullable=False),
        sa.Column("person_id", _Id),
        sa.Column("topic", sa.Text(), nullable=False),
        sa.Column("payload", sa.Text(), nullable=False),
        sa.Column("asked_at", _Instant, nullable=False),
        sa.Column("expires_at", _Instant, nullable=False),
        sa.Column("answered_at", _Instant),
        sa.Column("dropped", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["chat_id"], ["chats.id"], name=op.f("fk_questions_chat_id")),
        sa.ForeignKeyConstraint(["household_id"], ["households.id"], name=op.f("fk_questions_household_id")),
        sa.ForeignKeyConstraint(["person_id"], ["persons.id"], name=op.f("fk_questions_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_questions")),
    )
    op.create_index(
        "ix_questions_open",
        "questions",
        ["chat_id", "id"],
        **_where("answered_at IS NULL AND NOT dropped", on_sqlite="answered_at IS NULL AND dropped = 0"),
    )


def _create_reminders() -> None:
    op.create_table(
        "reminders",
        sa.Column("id", _Id, nullable=False),
        sa.Column("household_id", _Id, nullable=False),
        sa.Column("chat_id", _Id),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("task", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("rrule", sa.Text()),
        sa.Column("due_at", _Instant, nullable=False),
        sa.Column("planned_at", _Instant, nullable=False),
        sa.Column("fired_count", sa.Integer(), nullable=False),
        sa.Column("paused", sa.Boolean(), nullable=False),
        sa.Column("ended", sa.Boolean(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("updated_at", _Instant, nullable=False),
        sa.ForeignKeyConstraint(["chat_id"], ["chats.id"], name=op.f("fk_reminders_chat_id")),
        sa.ForeignKeyConstraint(["household_id"], ["households.id"], name=op.f("fk_reminders_household_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reminders")),
        sa.UniqueConstraint("household_id", "key", name=op.f("uq_reminders_household_id_key")),
    )
    op.create_index(
        "ix_reminders_due",
        "reminders",
        ["due_at"],
        **_where("NOT ended AND NOT paused", on_sqlite="ended = 0 AND paused = 0"),
    )


def _create_revisions() -> None:
    op.create_table(
        "revisions",
        sa.Column("id", _Id, nullable=False),
        sa.Column("household_id", _Id, nullable=False),
        sa.Column("chat_id", _Id, nullable=False),
        sa.Column("message", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("replaces", _Id),
        sa.Column("edited_at", _Instant),
        sa.Column("person_id", _Id),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("said_at", _Instant, nullable=False),
        sa.Column("recorded_at", _Instant, nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "(number = 1) = (replaces IS NULL)", name=op.f("ck_revisions_first_replaces_none")
        ),
        sa.ForeignKeyConstraint(["chat_id"], ["chats.id"], name=op.f("fk_revisions_chat_id")),
        sa.ForeignKeyConstraint(["household_id"], ["households.id"], name=op.f("fk_revisions_household_id")),
        sa.ForeignKeyConstraint(["person_id"], ["persons.id"], name=op.f("fk_revisions_person_id")),
        sa.ForeignKeyConstraint(["replaces"], ["revisions.id"], name=op.f("fk_revisions_replaces")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_revisions")),
        sa.UniqueConstraint("chat_id", "message", "number", name=op.f("uq_revisions_chat_id_message_number")),
        sa.UniqueConstraint("replaces", name=op.f("uq_revisions_replaces")),
    )
    op.create_index(op.f("ix_revisions_household_id_id"), "revisions", ["household_id", "id"])


def _create_entries() -> None:
    op.create_table(
        "entries",
        sa.Column("id", _Id, nullable=False),
        sa.Column("household_id", _Id, nullable=False),
        sa.Column("revision_id", _Id, nullable=False),
        sa.Column("fact", sa.Text(), nullable=False),
        sa.Column("happened_at", _Instant, nullable=False),
        sa.Column("span_start", sa.Integer()),
        sa.Column("span_end", sa.Integer()),
        sa.Column("doubted", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["household_id"], ["households.id"], name=op.f("fk_entries_household_id")),
        sa.ForeignKeyConstraint(["revision_id"], ["revisions.id"], name=op.f("fk_entries_revision_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_entries")),
    )
    op.create_index(
        op.f("ix_entries_household_id_happened_at_id"), "entries", ["household_id", "happened_at", "id"]
    )
    op.create_index(op.f("ix_entries_revision_id"), "entries", ["revision_id"])


def _create_outbox() -> None:
    op.create_table(
        "outbox",
        sa.Column("id", _Id, nullable=False),
        sa.Column("household_id", _Id, nullable=False),
        sa.Column("chat_id", _Id, nullable=False),
        sa.Column("dedupe_key", sa.Text(), nullable=False),
        sa.Column("letter", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("answers", sa.Text()),
        sa.Column("amends", _Id),
        sa.Column("details", sa.Text()),
        sa.Column("reminder_id", _Id),
        sa.Column("posted_at", _Instant, nullable=False),
        sa.Column("not_before", _Instant, nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("repeated", sa.Boolean(), nullable=False),
        sa.Column("lease_token", sa.Text()),
        sa.Column("lease_until", _Instant),
        sa.Column("outcome", sa.Text()),
        sa.Column("sent_at", _Instant),
        sa.Column("message", sa.Text()),
        sa.Column("code", sa.Text()),
        sa.ForeignKeyConstraint(
            ["amends"], ["outbox.id"], name=op.f("fk_outbox_amends"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(["chat_id"], ["chats.id"], name=op.f("fk_outbox_chat_id")),
        sa.ForeignKeyConstraint(["household_id"], ["households.id"], name=op.f("fk_outbox_household_id")),
        sa.ForeignKeyConstraint(["reminder_id"], ["reminders.id"], name=op.f("fk_outbox_reminder_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_outbox")),
        sa.UniqueConstraint("household_id", "dedupe_key", name=op.f("uq_outbox_household_id_dedupe_key")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_outbox_amends"), "outbox", ["amends"])
    op.create_index(op.f("ix_outbox_chat_id_answers"), "outbox", ["chat_id", "answers"])
    op.create_index(op.f("ix_outbox_chat_id_message"), "outbox", ["chat_id", "message"])
    op.create_index(op.f("ix_outbox_chat_id_sent_at"), "outbox", ["chat_id", "sent_at"])
    op.create_index(
        "ix_outbox_leases", "outbox", ["lease_until"], **_where("outcome IS NULL AND lease_token IS NOT NULL")
    )
    op.create_index("ix_outbox_open", "outbox", ["chat_id", "id"], **_where("outcome IS NULL"))
    op.create_index("ix_outbox_waiting", "outbox", ["not_before", "id"], **_where("outcome IS NULL"))
    op.create_index(
        "uq_outbox_one_lease",
        "outbox",
        ["chat_id"],
        unique=True,
        **_where("outcome IS NULL AND lease_token IS NOT NULL"),
    )
