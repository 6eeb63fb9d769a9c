"""A household takes its data along: the archive and the calendar, given to one person, never to a group."""

from __future__ import annotations

from bot.assistant.data_replies import FileOffered, OfferedInPrivate
from bot.assistant.exchange import Document
from bot.assistant.replies import Hint, Reply
from bot.assistant.scene import Scene
from bot.rendering import Voice, render
from storage.engine import Transaction

__all__ = ["export", "hand_over"]

ARCHIVE, CALENDAR = "archive", "calendar"
_CALENDAR_WORDS = frozenset({"calendar", "due", "dates", "ics", "due.ics"})
_NAMES = {ARCHIVE: "rillkeeper-{day}.zip", CALENDAR: "due.ics"}


async def export(tx: Transaction, scene: Scene, args: str) -> tuple[Reply, ...]:
    """The archive, or the calendar where ``args`` asks for that; in a group only how to get it."""
    kind = CALENDAR if args.strip().lower() in _CALENDAR_WORDS else ARCHIVE
    if not scene.chat.private:
        return (OfferedInPrivate(kind=kind),)
    return (await _offered(tx, scene, kind),)


async def hand_over(tx: Transaction, scene: Scene, kind: str, press: str) -> bool:
    """Sends the file to whoever pressed, in their own chat with us; ``False`` where they have none."""
    if kind not in _NAMES or scene.person.address is None:
        return False
    own = await tx.households.find_chat(scene.chat.platform, scene.person.address)
    if own is None or not own.private or not own.active:
        return False
    letter = render(await _offered(tx, scene, kind), Voice.of(scene.choices, speaks_ppm=scene.speaks_ppm))
    await tx.outbox.post(
        scene.household_id, own.id, letter.as_json(), dedupe_key=f"handed:{press}", now=scene.now
    )
    return True


async def _offered(tx: Transaction, scene: Scene, kind: str) -> FileOffered | Hint:
    up_to = await tx.transfer.last_revision(scene.household_id)
    if not up_to:
        return Hint(code="nothing_to_export")
    data = {"household": scene.household_id, "up_to": up_to, "at": scene.now.isoformat()}
    name = _NAMES[kind].format(day=scene.now.astimezone(scene.zone).date())
    return FileOffered(
        document=Document(kind, name, data),
        entries=len(scene.entries),
        since=scene.entries[0].happened_at if scene.entries else None,
    )
