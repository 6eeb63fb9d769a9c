"""What the assistant knows at the moment a message comes in: who, where, when, and the folded journal."""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property
from itertools import filterfalse
from operator import attrgetter
from typing import Literal
from zoneinfo import ZoneInfo

from bot.assistant.exchange import GENERAL, ChatRef, PersonRef
from bot.assistant.replies import Assumption, Reply
from bot.reader import ReaderSettings
from domain.bands import TankBands, tank_bands
from domain.checkpoints import Checkpoint
from domain.digest import DIGEST, digest_due
from domain.facts import Command, Fact, Question, Reading
from domain.household import Choices, choices
from domain.journal import Entry
from domain.nursery import NURSERY_NAMES
from domain.own_crops import own_crops
from domain.plantings import Garden, Planting, garden, standing_on_tank
from domain.routine import Due, due_dates
from domain.supplies import Supply, supplies
from domain.tank import TankState, tank_state
from domain.tanks import due_key, of_tank, tank_names
from storage.engine import Transaction
from storage.households import Chat, Person

__all__ = [
    "Outcome",
    "Scene",
    "looking_on",
    "open_scene",
    "reader_settings_of",
    "refreshed",
    "stays_in_journal",
]


HOUSEHOLD_TASKS = frozenset({"own", "stock"})
"""What falls due for the household as a whole, however many tanks it has."""

_STRENGTH_UNITS: Mapping[str, Literal["ppm", "us_cm"]] = {"ppm": "ppm", "us_cm": "us_cm"}


_NOBODY = Person(id=0, name="", platform="", address=None)
_NO_CHAT = Chat(
    id=0, household_id=0, platform="", address="", private=True, title="", thread=None, active=False
)


@dataclass(frozen=True)
class Scene:
    """One household at one moment.

    at : when the message was sent; ``when`` words and the age of readings count from here.
    now : the clock; letters and reminders are timed by it.
    entries : the net journal, in the order in which things happened.
    checkpoint : where folding it may start, if it still fits.
    thread : the topic in which it was said; GENERAL for the one without a number, and where there are none.
    about : the tank that is named; ``None`` for the one that the chat is about.
    """

    chat: Chat
    person: Person
    at: datetime
    now: datetime
    entries: tuple[Entry, ...]
    checkpoint: Checkpoint | None = None
    thread: str = GENERAL
    about: str | None = None

    @cached_property
    def choices(self) -> Choices:
        return choices(self.trusted, self.start.told if self.start else None)

    @cached_property
    def start(self) -> Checkpoint | None:
        """The checkpoint, where it holds for what stands now."""
        fits = self.checkpoint is not None and self.checkpoint.holds_for(self.trusted)
        return self.checkpoint if fits else None

    @cached_property
    def garden(self) -> Garden:
        return garden(self.trusted, self.at, self.start.bed if self.start else None)

    @cached_property
    def supplies(self) -> tuple[Supply, ...]:
        return supplies(self.trusted, self.at, self.start.supplies if self.start else None)

    @property
    def plantings(self) -> tuple[Planting, ...]:
        return self.garden.plantings

    @cached_property
    def bands(self) -> TankBands:
        return tank_bands(standing_on_tank(self.plantings, self.at), self.choices.bands)

    @cached_property
    def tank(self) -> TankState:
        return tank_state(
            self.trusted,
            self.at,
            planted=self.planted,
            chosen=self.choices,
            start=self.start.tank if self.start else None,
        )

    @property
    def planted(self) -> bool:
        """Plants may stand on the tank: some are known to, or nobody ever told of any."""
        return bool(standing_on_tank(self.plantings, self.at)) or not self.garden.ended

    @cached_property
    def dues(self) -> Mapping[str, Due]:
        """What the journal says is due, by its key, the soonest first."""
        return {due.key: due for due in self.dues_at(self.now)}

    @property
    def jobs(self) -> tuple[Due, ...]:
        """What is due and somebody has to do, the soonest first: all but the digest."""
        return tuple(due for due in self.dues.values() if due.task != DIGEST)

    def dues_at(self, moment: datetime) -> tuple[Due, ...]:
        """What the journal says is due, the soonest first, as of a moment; of every tank."""
        first = replace(self, about=self.tanks[0]) if self.tanks else self
        digest = digest_due(first.trusted, first.choices, moment, self.zone)
        return (*self._chores_at(moment), *([digest] if digest is not None else []))

    def _chores_at(self, moment: datetime) -> tuple[Due, ...]:
        if not self.tanks:
            return self._chores_here(moment)
        found: list[Due] = []
        for tank in self.tanks:
            here = replace(self, about=tank)
            for due in here._chores_here(moment):
                if due.task not in HOUSEHOLD_TASKS:
                    key = due_key(due.key, here.other_tank)
                    found.append(replace(due, key=key, text=f"{due.text} ({tank})"))
                elif here.other_tank is None:
                    found.append(due)
        return tuple(sorted(found, key=lambda due: (due.due_at, due.key)))

    def _chores_here(self, moment: datetime) -> tuple[Due, ...]:
        return due_dates(
            self.trusted,
            now=moment,
            zone=self.zone,
            garden=self.garden,
            start=self.start.routine if self.start else None,
            supplied=self.start.supplies if self.start else None,
            chosen=self.choices,
            bands=self.bands,
        )

    @cached_property
    def trusted(self) -> tuple[Entry, ...]:
        """The entries that advice may build on, of the tank that is meant."""
        standing = tuple(filterfalse(attrgetter("doubted"), self.entries))
        return standing if self.tank_name is None else of_tank(standing, self.tank_name, self.tanks)

    @property
    def told(self) -> tuple[Entry, ...]:
        """All that stands of the tank that is meant, what is doubted among it."""
        return self.entries if self.tank_name is None else of_tank(self.entries, self.tank_name, self.tanks)

    @cached_property
    def tanks(self) -> tuple[str, ...]:
        """The household's tanks by name, one where it has dropped the others; empty where it named none."""
        return tank_names(self.entries)

    @property
    def zone(self) -> ZoneInfo:
        return self.choices.zone

    @property
    def household_id(self) -> int:
        return self.chat.household_id

    @property
    def tank_name(self) -> str | None:
        """The tank that is meant; ``None`` in a household with one."""
        wanted = (self.about or self.chat.tank or "").casefold()
        first = self.tanks[0] if self.tanks else None
        return next((tank for tank in self.tanks if tank.casefold() == wanted), first)

    @property
    def other_tank(self) -> str | None:
        """The tank that is meant, where that is not the household's first."""
        return self.tank_name if self.tanks and self.tank_name != self.tanks[0] else None

    @cached_property
    def reader_settings(self) -> ReaderSettings:
        return replace(reader_settings_of(self.choices), tanks=self.tanks)

    @cached_property
    def assumed(self) -> tuple[Assumption, ...]:
        """What stands in for what the household has not said, the weightiest first."""
        silent: list[Assumption] = []
        if self.choices.tank_volume_l is None:
            silent.append("tank_volume")
        if self.choices.ppm_scale is None and self.speaks_ppm:
            silent.append("ppm_scale")
        if self.bands.assumed and not self.plantings:  # what germinates is known, and has no say yet
            silent.append("crops")
        return tuple(silent)

    @cached_property
    def speaks_ppm(self) -> bool | None:
        """Whether its newest strength was in ppm; ``None`` where it has read none."""
        for entry in reversed(self.entries):
            if isinstance(entry.fact, Reading) and entry.fact.ec_ms_cm is not None:
                return entry.fact.ppm is not None
        return None

    def latest_reading(self) -> Entry | None:
        """The newest trusted reading of pH or strength."""
        for entry in reversed(self.trusted):
            fact = entry.fact
            if isinstance(fact, Reading) and (fact.ph is not None or fact.ec_ms_cm is not None):
                return entry
        return None

    def after(self, kept: Iterable[Entry], message_key: str) -> Scene:
        """The same moment once a message says ``kept`` and nothing else."""
        said, stands = tuple(kept), [each for each in self.entries if each.message_key != message_key]
        if not said and len(stands) == len(self.entries):
            return self
        for entry in said:
            insort(stands, entry, key=lambda each: (each.happened_at, each.id))
        return replace(self, entries=tuple(stands))

    def as_of(self, at: datetime) -> Scene:
        """The same journal at another moment."""
        return self if at == self.at else replace(self, at=at)

    def is_recent(self, happened_at: datetime) -> bool:
        """Near enough to the message to count as now."""
        return abs(self.at - happened_at) <= timedelta(minutes=15)


def stays_in_journal(fact: Fact) -> bool:
    """Questions and commands are answered; everything else is kept."""
    return not isinstance(fact, Question | Command)


async def open_scene(
    tx: Transaction, chat: ChatRef, person: PersonRef, *, at: datetime, now: datetime
) -> Scene:
    """Finds or makes the chat's household, takes its lock, and folds its journal."""
    found = await tx.households.chat(
        chat.platform,
        chat.address,
        private=chat.private,
        title=chat.title,
        thread=chat.thread,
        now=now,
    )
    await tx.households.lock(found.household_id)
    speaker = await tx.households.person(chat.platform, person.address, person.name, found.household_id)
    entries = await tx.journal.entries(found.household_id)
    return Scene(
        chat=found, person=speaker, at=at, now=now, entries=tuple(entries), thread=chat.thread or GENERAL
    )


def looking_on(entries: Iterable[Entry], at: datetime, *, chat: Chat = _NO_CHAT) -> Scene:
    """The household as somebody sees it who says nothing: for files, and for whoever looks over a shoulder.

    entries : the net journal, in the order in which things happened.
    at : aware.
    chat : whose tank is meant, where the household has several; by default its first.
    """
    return Scene(chat=chat, person=_NOBODY, at=at, now=at, entries=tuple(entries))


async def refreshed(tx: Transaction, scene: Scene) -> Scene:
    """The scene with the journal as it is now: a command may have taken something back."""
    return replace(scene, entries=tuple(await tx.journal.entries(scene.household_id)))


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one message came to.

    scene : the household after it.
    facts : everything that was read, kept or not.
    unclear : what was seen and not recorded, as (text, reason).
    replies : the answers as data.
    """

    scene: Scene
    facts: tuple[Fact, ...] = ()
    unclear: tuple[tuple[str, str], ...] = ()
    replies: tuple[Reply, ...] = ()


def reader_settings_of(chosen: Choices) -> ReaderSettings:
    """What the reader must know of a household's choices."""
    named = {p.name: p.role for p in chosen.products if p.name}
    return ReaderSettings(
        units="us" if chosen.spoken_units == "us" else "metric",
        ppm_scale=chosen.spoken_ppm_scale,
        strength_unit=_STRENGTH_UNITS.get(chosen.strength_unit or "", "ask"),
        sites=(*chosen.sites, *NURSERY_NAMES),
        crops=own_crops(chosen.bands),
        products=named,
    )
