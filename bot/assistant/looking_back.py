"""The journal in pages: which part was asked for, who said what and when, and what became of it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from bot.assistant.journal_replies import JournalLine, JournalShown, Mark
from bot.assistant.replies import Hint, Reply
from bot.assistant.scene import Scene
from bot.reader.lookback import Lookback, lookback
from domain.facts import Fact
from domain.journal import Entry
from storage.engine import Transaction
from storage.history import Amended

__all__ = ["PAGE_LINES", "TOPIC", "show_journal", "turned"]

PAGE_LINES = 8
"""How many messages a page shows: about what a phone does without scrolling."""

TOPIC = "journal"
_Line = tuple[str, datetime]
"""A message's key and when what it says happened."""
PAGES_TURN = timedelta(days=90)
"""How long the buttons under a page work: as long as what was sent is kept."""


async def show_journal(tx: Transaction, scene: Scene, args: str) -> tuple[Reply, ...]:
    """The newest page of the part that ``args`` names; of the whole journal where they name none."""
    asked = _asked(scene, args, scene.at)
    if asked.unread:
        return (Hint(code="journal_args", about=asked.unread),)
    lines = await _lines(tx, scene, asked)
    question = None
    if len(lines) > PAGE_LINES:
        question = await _kept_open(tx, scene, args)
    return (_page(scene, lines, len(lines), args, asked, question),)


async def turned(tx: Transaction, scene: Scene, question: int, end: int) -> JournalShown | None:
    """The page that ends with line ``end`` of what was asked; ``None`` where this household asked nothing."""
    was = await tx.questions.get(question, household_id=scene.household_id)
    if was is None or was.topic != TOPIC:
        return None
    args = was.payload["args"]
    asked = _asked(scene, args, was.asked_at)
    lines = await _lines(tx, scene, asked)
    return _page(scene, lines, max(1, min(end, len(lines))), args, asked, question)


def _asked(scene: Scene, args: str, at: datetime) -> Lookback:
    return lookback(args, now=at, zone=scene.zone, day_first=scene.reader_settings.day_first)


async def _kept_open(tx: Transaction, scene: Scene, args: str) -> int:
    """Keeps what was asked for, for the buttons; an earlier page can still be turned."""
    await tx.questions.drop(scene.chat.id, TOPIC)
    return await tx.questions.ask(
        scene.household_id,
        scene.chat.id,
        None,
        TOPIC,
        {"args": args},
        scene.at,
        scene.at + PAGES_TURN,
    )


def _page(
    scene: Scene, lines: list[JournalLine], end: int, args: str, asked: Lookback, question: int | None
) -> JournalShown:
    return JournalShown(
        lines=tuple(lines[max(0, end - PAGE_LINES) : end]),
        now=scene.at,
        end=end,
        total=len(lines),
        asked=args.strip(),
        since=asked.since,
        until=asked.until,
        question=question,
    )


async def _lines(tx: Transaction, scene: Scene, asked: Lookback) -> list[JournalLine]:
    """A line for each message that says something of what was asked for, in order of happening."""
    amended = await tx.history.amended(scene.household_id)
    pictured = await tx.photos.messages(scene.household_id)
    stands = _by_message(entry for entry in scene.entries if _is_asked(entry, asked))
    gone = _by_message(entry for entry in amended.taken_back if _is_asked(entry, asked))
    found: list[tuple[datetime, int, JournalLine]] = []
    for key, said in [*stands.items(), *gone.items()]:
        first = said[0]
        line = JournalLine(
            at=first.happened_at,
            author=first.author,
            facts=tuple(entry.fact for entry in said),
            mark=_mark(key, said, amended) if key in stands else "taken_back",
            photo=first.id if key in stands and key[0] in pictured else None,
        )
        found.append((first.happened_at, first.id, line))
    return [line for _, _, line in sorted(found, key=lambda each: each[:2])]


def _mark(key: _Line, said: list[Entry], amended: Amended) -> Mark | None:
    if any(entry.doubted for entry in said):
        return "doubted"
    return "edited" if key[0] in amended.edited else None


def _by_message(said: Iterable[Entry]) -> dict[_Line, list[Entry]]:
    """What one message says of one moment: a table of notes is one message about many days."""
    by_message: dict[_Line, list[Entry]] = {}
    for entry in said:
        by_message.setdefault((entry.message_key, entry.happened_at), []).append(entry)
    return by_message


def _is_asked(entry: Entry, asked: Lookback) -> bool:
    fact = entry.fact
    if asked.since is not None and entry.happened_at < asked.since:
        return False
    if asked.until is not None and entry.happened_at >= asked.until:
        return False
    if asked.kinds and fact.kind not in asked.kinds:
        return False
    if asked.crops and getattr(fact, "crop", None) not in asked.crops:
        return False
    return not asked.sites or any(_same_site(has, site) for has in _sites_of(fact) for site in asked.sites)


def _sites_of(fact: Fact) -> tuple[str, ...]:
    named = (getattr(fact, name, None) for name in ("sites", "from_sites", "to_sites"))
    return tuple(site for sites in named if sites for site in sites)


def _same_site(one: str, other: str) -> bool:
    """``B*`` is every site of row B."""
    if one.endswith("*") or other.endswith("*"):
        return one.rstrip("*0123456789") == other.rstrip("*0123456789")
    return one == other
