"""Commands: what ``/name`` and its plain words (``undo``, ``due``) bring."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from types import MappingProxyType

from bot.assistant import (
    advise,
    charting,
    digest,
    due,
    forgetting,
    garden,
    looking_back,
    setup,
    sharing,
    take_out,
    tanks,
)
from bot.assistant.replies import (
    Explained,
    Hint,
    RemindersShown,
    Reply,
    SettingsShown,
    SetupAsked,
    SetupEnded,
    TextShown,
    Undone,
)
from bot.assistant.scene import Scene
from domain.facts import Fact, Question
from domain.own_crops import own_crops
from domain.roles import Deed, may
from storage.engine import Transaction
from storage.journal import Revision, StoredRevision

__all__ = ["COMMANDS", "ask_step", "obey", "take_back"]

DEEDS: Mapping[str, Deed] = MappingProxyType(
    {
        "undo": "undo_own",
        "invite": "invite",
        "leave": "leave",
        "safety": "emergency",
        "help": "emergency",
        "forget": "emergency",
    }
)
"""What a member does who sends a command; where it is not named here, they see something."""

Order = Callable[[Transaction, Scene, str], Awaitable[tuple[Reply, ...]]]


async def obey(tx: Transaction, scene: Scene, name: str, args: str) -> tuple[Reply, ...]:
    """Does what a command says; a command that does not exist gets one line that says where to look."""
    order = COMMANDS.get(name.lower())
    no = await sharing.refused(tx, scene, DEEDS.get(name.lower(), "see"))
    if no is not None:
        return (no,)
    if order is None:
        return (Hint(code="unknown_command", about=name),)
    return await order(tx, scene, args)


async def _start(tx: Transaction, scene: Scene, _: str) -> tuple[Reply, ...]:
    if not may(scene.person.role, "settings"):
        return (TextShown(name="help"),)
    step = setup.next_step(scene.choices)
    if step is None:
        return (SetupEnded(choices=scene.choices),)
    return (await ask_step(tx, scene, step, first=True),)


async def ask_step(
    tx: Transaction,
    scene: Scene,
    step: setup.Step,
    *,
    kept: tuple[Fact, ...] = (),
    first: bool = False,
    again: bool = False,
    alone: bool = False,
) -> SetupAsked:
    """Asks one step of the set-up; an older step that is still open in this chat is dropped.

    alone : no other step follows its answer.
    """
    await tx.questions.drop(scene.chat.id, "setup")
    number = await tx.questions.ask(
        scene.household_id,
        scene.chat.id,
        scene.person.id,
        "setup",
        {"step": step.name, "choices": [choice.text for choice in step.choices], "alone": alone},
        scene.now,
        scene.now + setup.PATIENCE,
    )
    return SetupAsked(
        step=step.name,
        question=number,
        kept=setup.shown(kept),
        again=again,
        first=first,
        choices=step.choices,
    )


async def _undo(tx: Transaction, scene: Scene, _: str) -> tuple[Reply, ...]:
    last = await tx.journal.last_standing_by(scene.household_id, scene.person.id)
    if last is None:
        return (Hint(code="nothing_to_undo"),)
    return (await take_back(tx, scene, last),)


async def take_back(tx: Transaction, scene: Scene, standing: StoredRevision) -> Reply:
    """Voids what a message says by a revision that says nothing; a second time changes nothing."""
    if not standing.facts:
        return Hint(code="already_undone")
    number = await tx.journal.append(
        Revision(
            household_id=scene.household_id,
            chat_id=standing.chat_id,
            message=standing.message,
            edited_at=scene.now,
            person_id=scene.person.id,
            author=scene.person.name,
            said_at=standing.said_at,
            recorded_at=scene.now,
            action="undone",
            text="",
            facts=(),
        )
    )
    if number is None:
        return Hint(code="already_undone")
    return Undone(facts=tuple(r.fact for r in standing.facts), said_at=standing.said_at)


async def _settings(_: Transaction, scene: Scene, __: str) -> tuple[Reply, ...]:
    return (SettingsShown(choices=scene.choices),)


async def _due(tx: Transaction, scene: Scene, args: str) -> tuple[Reply, ...]:
    wanted = args.strip().lower()
    if wanted in ("calendar", "ics"):
        return await take_out.export(tx, scene, "calendar")
    return (await due.due_shown(tx, scene, whole=wanted == "all"),)


async def _reminders(tx: Transaction, scene: Scene, _: str) -> tuple[Reply, ...]:
    return (RemindersShown(dues=await due.due_items(tx, scene), now=scene.now),)


async def _household(tx: Transaction, scene: Scene, _: str) -> tuple[Reply, ...]:
    return (await sharing.household_shown(tx, scene),)


async def _tank(tx: Transaction, scene: Scene, args: str) -> tuple[Reply, ...]:
    if not args.strip():
        return (tanks.tanks_shown(scene),)
    return (await tanks.chosen(tx, scene, args)).replies


async def _invite(tx: Transaction, scene: Scene, args: str) -> tuple[Reply, ...]:
    return (await sharing.invited(tx, scene, args.strip().lower()),)


async def _leave(tx: Transaction, scene: Scene, _: str) -> tuple[Reply, ...]:
    return (await sharing.leave(tx, scene, sure=False)).replies


async def _bands(_: Transaction, scene: Scene, args: str) -> tuple[Reply, ...]:
    asked = advise.crop_in(args, own_crops(scene.choices.bands))
    if args.strip() and asked is None:
        return (Hint(code="not_understood", about=args),)
    return (advise.bands_shown(scene, asked, garden.stage_asked(args)),)


async def _status(_: Transaction, scene: Scene, __: str) -> tuple[Reply, ...]:
    return (advise.answer(scene, Question(about="status"), ""),)


async def _plants(_: Transaction, scene: Scene, __: str) -> tuple[Reply, ...]:
    return (advise.plants_shown(scene),)


async def _chart(_: Transaction, scene: Scene, args: str) -> tuple[Reply, ...]:
    return (charting.chart_asked(scene, args),)


async def _digest(_: Transaction, scene: Scene, __: str) -> tuple[Reply, ...]:
    found = digest.digest(scene)
    return (Hint(code="no_week"),) if found is None else (found,)


async def _why(tx: Transaction, scene: Scene, _: str) -> tuple[Reply, ...]:
    details = await tx.outbox.last_details(scene.chat.id, household_id=scene.household_id)
    return (Hint(code="no_details"),) if details is None else (Explained(html=details),)


def _text(name: str) -> Order:
    async def show(_: Transaction, __: Scene, ___: str) -> tuple[Reply, ...]:
        return (TextShown(name=name),)  # type: ignore[arg-type]

    return show


COMMANDS: dict[str, Order] = {
    "start": _start,
    "help": _text("help"),
    "settings": _settings,
    "tank": _tank,
    "household": _household,
    "invite": _invite,
    "leave": _leave,
    "status": _status,
    "bands": _bands,
    "due": _due,
    "reminders": _reminders,
    "plants": _plants,
    "chart": _chart,
    "digest": _digest,
    "journal": looking_back.show_journal,
    "export": take_out.export,
    "why": _why,
    "undo": _undo,
    "safety": _text("safety"),
    "privacy": _text("privacy"),
    "forget": forgetting.ask,
}
"""Every command by its name, in the order in which the menu lists them."""
