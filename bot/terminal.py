"""The assistant in a terminal: one message in, its letters out. The same use cases as in a chat."""

from __future__ import annotations

import asyncio
import tempfile
import uuid
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from bot.archive.documents import made
from bot.assistant.assistant import Assistant
from bot.assistant.exchange import KEPT_PHOTO, ChatRef, Heard, Letter, PersonRef
from bot.assistant.replies import Advice, Logged
from bot.assistant.scene import Outcome
from bot.rendering import to_plain
from bot.rendering.pictures import drawn
from storage.engine import Store

__all__ = ["Said", "as_json", "as_text", "say"]

PLATFORM = "terminal"


@dataclass(frozen=True, slots=True)
class Said:
    """What one message brought.

    outcome : facts and replies as data.
    letters : everything that waited for this chat, reminders first.
    files : for each letter the file that holds its picture or document, ``None`` where it has neither.
    """

    outcome: Outcome
    letters: tuple[Letter, ...]
    files: tuple[Path | None, ...]


async def say(store: Store, text: str, *, person: str, chat: str, group: bool, at: datetime) -> Said:
    """Says one thing to the assistant and collects what it has to say.

    at : when it is said; whatever falls due by then in this household comes first.
    """
    assistant = Assistant(store, clock=lambda: at)
    command, _, args = text[1:].partition(" ") if text.startswith("/") else ("", "", "")
    heard = Heard(
        chat=ChatRef(PLATFORM, chat, private=not group, title=chat),
        person=PersonRef(person, person),
        message=uuid.uuid4().hex,
        said_at=at,
        text=text,
        command=command.lower() or None,
        args=args.strip(),
    )
    async with store.read() as tx:
        known = await tx.households.find_chat(PLATFORM, chat)
    if known is not None:
        await assistant.tick(at, household_id=known.household_id)
    outcome = await assistant.hear(heard)
    async with store.write() as tx:
        waiting = await tx.outbox.open_of(outcome.scene.chat.id)
        await tx.outbox.shown([letter.id for letter in waiting], at)
    letters = tuple(Letter.from_json(letter.letter) for letter in waiting)
    documents = [await made(store, letter.document) if letter.document else None for letter in letters]
    return Said(outcome, letters, await asyncio.to_thread(_put_down, letters, documents))


def _put_down(letters: Sequence[Letter], documents: Sequence[bytes | None]) -> tuple[Path | None, ...]:
    """Puts the pictures and documents of the letters into a new temporary folder, where there are any."""
    if all(letter.picture is None and letter.document is None for letter in letters):
        return tuple(None for _ in letters)
    folder = Path(tempfile.mkdtemp(prefix="rillkeeper-"))
    files: list[Path | None] = []
    for place, (letter, document) in enumerate(zip(letters, documents, strict=True)):
        file = None
        if letter.picture is not None and letter.picture.kind != KEPT_PHOTO:
            file = folder / f"{place + 1}-{letter.picture.kind}.png"
            file.write_bytes(drawn(letter.picture))
        elif letter.document is not None and document is not None:
            file = folder / letter.document.name
            file.write_bytes(document)
        files.append(file)
    return tuple(files)


def as_text(said: Said) -> str:
    """The letters as a terminal shows them: where their files lie, the text, buttons in brackets."""
    shown = [
        f"[{'picture' if letter.picture else 'file'}: {file}]\n{_shown(letter)}" if file else _shown(letter)
        for letter, file in zip(said.letters, said.files, strict=True)
    ]
    return "\n\n".join(shown)


def _shown(letter: Letter) -> str:
    buttons = [" ".join(f"[{button.label}]" for button in row) for row in letter.buttons]
    return "\n".join([to_plain(letter.html), *buttons])


def as_json(said: Said) -> dict[str, Any]:
    """The facts, the verdicts, the dose with its basis, what would make it better, and the text."""
    outcome = said.outcome
    lying = list(zip(said.letters, said.files, strict=True))
    advice = next((r for r in outcome.replies if isinstance(r, Logged | Advice) and r.plan is not None), None)
    plan = advice.plan.as_json() if advice is not None and advice.plan is not None else None
    return {
        "facts": [fact.as_json() for fact in outcome.facts],
        "unclear": [{"text": text, "reason": reason} for text, reason in outcome.unclear],
        "verdicts": [asdict(verdict) for verdict in advice.verdicts] if advice is not None else [],
        "assumed": list(advice.assumed) if advice is not None else [],
        "dose": plan,
        "needs": plan.get("needs", []) if plan else [],
        "text": [_shown(letter) for letter in said.letters],
        "pictures": [str(file) for letter, file in lying if letter.picture],
        "files": [str(file) for letter, file in lying if letter.document],
    }
