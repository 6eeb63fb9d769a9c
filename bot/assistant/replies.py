"""Replies as data: numbers in canonical units and codes, no words for people.

``bot.rendering`` turns them into letters; the command line shows them as JSON; tests compare them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from bot.assistant.chart_replies import ChartReply
from bot.assistant.data_replies import DataReply
from bot.assistant.due_replies import (
    AwayPlanned,
    DueItem,
    DueShown,
    Reminded,
    RemindersShown,
    Replanned,
)
from bot.assistant.garden_replies import (
    CameUpShown,
    HarvestShown,
    LotsShown,
    PlantNotes,
    SitesShown,
    StockShown,
)
from bot.assistant.hints import Hint
from bot.assistant.household_replies import (
    ChatLost,
    DidWhat,
    HouseholdShown,
    InviteMade,
    InWater,
    Joined,
    LeaveAsked,
    MemberChanged,
    Refused,
    StepTaken,
    TanksShown,
)
from bot.assistant.journal_replies import JournalShown
from domain.bands import TankBands, Verdict
from domain.diagnosis import Finding
from domain.dosing import Plan
from domain.doubt import Doubt
from domain.facts import Emergency, Fact, Question, Reading
from domain.household import Choices
from domain.plantings import Planting
from domain.rescue import Rescue, RootsLast
from domain.sites import Spot
from domain.stages import Stage

__all__ = [
    "Advice",
    "Asked",
    "Assumption",
    "BandsShown",
    "Choice",
    "Corrected",
    "Doubted",
    "DueItem",
    "DueShown",
    "EmergencyAdvice",
    "Explained",
    "Hint",
    "JournalShown",
    "Logged",
    "PlantsShown",
    "Reminded",
    "RemindersShown",
    "Replanned",
    "Reply",
    "SettingsShown",
    "SetupAsked",
    "SetupEnded",
    "TextShown",
    "Undone",
    "Unread",
]

Assumption = Literal["tank_volume", "ppm_scale", "crops"]
"""What stands in for something the household has not said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One thing that an unclear text may have meant. ``text`` is what would be typed for it."""

    label: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A question of ours that has buttons: the strength unit of a bare number, a zone among several.

    who, at, thing : of what may be told of twice, who told of it first, when it went in, and what it is.
    """

    topic: str
    question: int
    choices: tuple[Choice, ...]
    about: str = ""
    who: str = ""
    at: datetime | None = None
    asked_at: datetime | None = None
    thing: str = "dose"


@dataclass(frozen=True, slots=True, kw_only=True)
class Logged:
    """Facts that were kept.

    revision : its number in the journal, for ``undo`` and ``correct``.
    verdicts : one for each value of the newest reading that has a band.
    reading : that reading, as it was typed.
    strength_before : what an earlier strength means that the plan acts on; ``None`` where it acts on none.
    plan : what to add; ``None`` where the message holds no reading to act on.
    assumed : what stood in for what was not said.
    earlier : when it happened, where that is not now.
    edited : the message was edited; what it said before no longer counts.
    said_at : when the message was sent. retest_at : when to test after the dose in it.
    times_advised : a dose in it is so many times what was advised, far too much (infinite: more than is ever
        poured at once); ``None`` where it is not.
    plants : what it calls for where it is about plants or supplies.
    others : what other members added lately. is_shared : the household has several.
    asked : a question of ours that its buttons answer: the scale that its ppm are on.
    pattern : what has become plain by the reading, beside what it means itself.
    """

    revision: int
    facts: tuple[Fact, ...]
    verdicts: tuple[Verdict, ...] = ()
    strength_before: Verdict | None = None
    bands: TankBands | None = None
    plan: Plan | None = None
    assumed: tuple[Assumption, ...] = ()
    reading: Reading | None = None
    earlier: datetime | None = None
    edited: bool = False
    said_at: datetime | None = None
    retest_at: datetime | None = None
    times_advised: float | None = None
    plants: PlantNotes | None = None
    others: tuple[InWater, ...] = ()
    is_shared: bool = False
    asked: Asked | None = None
    pattern: Finding | None = None

    @property
    def needs_words(self) -> bool:
        """Whether more must be said than that it was kept."""
        acts = any(verdict.place in ("low", "high") for verdict in self.verdicts)
        acts = acts or (not self.verdicts and self.plan is not None)
        acts = acts or (self.plants is not None and self.plants.needs_words)
        return (
            acts
            or self.pattern is not None
            or self.edited
            or self.times_advised is not None
            or self.retest_at is not None
            or self.asked is not None
            or bool(self.assumed and self.verdicts)
        )

    @property
    def has_working(self) -> bool:
        """Whether there is anything to explain."""
        return bool(self.verdicts) or self.plan is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubted:
    """A reading far from what the tank should show: kept, and left out of advice until it is confirmed."""

    revision: int
    facts: tuple[Fact, ...]
    doubt: Doubt


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """The answer to a question about the water. ``strength`` [mS/cm], ``ph``: the last ones read."""

    question: Question
    plan: Plan
    bands: TankBands
    assumed: tuple[Assumption, ...] = ()
    reading: Reading | None = None
    reading_at: datetime | None = None
    asked_at: datetime | None = None
    verdicts: tuple[Verdict, ...] = ()
    strength: float | None = None
    strength_first: bool = False
    ph: float | None = None
    others: tuple[InWater, ...] = ()
    is_shared: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class EmergencyAdvice:
    """First things first, and what was reckoned for this tank.

    code : the key of ``domain.safety.EMERGENCY`` that fits the words of the message.
    country : ISO 3166 code from the household's zone, where it is known.
    rescue : after too large a dose. roots : without flow, counted from ``since``.
    """

    emergency: Emergency
    code: str
    country: str | None
    since: datetime | None = None
    asked_at: datetime | None = None
    rescue: Rescue | None = None
    roots: RootsLast | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Unread:
    """Something in a message that was not recorded, and what it may have meant.

    question : the number of the open question, which the buttons answer; ``None`` where there is no choice.
    """

    text: str
    reason: str
    choices: tuple[Choice, ...] = ()
    question: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Undone:
    """What was taken back."""

    facts: tuple[Fact, ...]
    said_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrected:
    """An edit that leaves nothing to record."""

    before: tuple[Fact, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupAsked:
    """A step of the set-up. ``kept``: what the step before brought; ``again``: the answer was none."""

    step: str
    question: int
    kept: tuple[Fact, ...] = ()
    again: bool = False
    first: bool = False
    choices: tuple[Choice, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupEnded:
    """The set-up is over, or there is nothing left to ask."""

    choices: Choices
    kept: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingsShown:
    choices: Choices


@dataclass(frozen=True, slots=True, kw_only=True)
class BandsShown:
    bands: TankBands
    assumed: tuple[Assumption, ...] = ()
    crop: str | None = None
    stage: Stage | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantsShown:
    """What stands. ``spots``: all sites for the map; empty where the answer needs none."""

    plantings: tuple[Planting, ...]
    now: datetime
    spots: tuple[Spot, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TextShown:
    """One of the standing texts: ``help``, ``safety``, ``privacy``, ``jar_test``."""

    name: Literal["help", "safety", "privacy", "jar_test"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Explained:
    """The working behind an earlier reply, as it was written down when that reply was made."""

    html: str


Reply = (
    Logged
    | Doubted
    | Advice
    | EmergencyAdvice
    | Unread
    | Asked
    | Undone
    | Corrected
    | SetupAsked
    | SetupEnded
    | SettingsShown
    | BandsShown
    | DueShown
    | AwayPlanned
    | RemindersShown
    | Replanned
    | PlantsShown
    | SitesShown
    | StockShown
    | CameUpShown
    | LotsShown
    | HarvestShown
    | ChartReply
    | JournalShown
    | DataReply
    | TextShown
    | HouseholdShown
    | InviteMade
    | Joined
    | LeaveAsked
    | MemberChanged
    | Refused
    | DidWhat
    | StepTaken
    | ChatLost
    | TanksShown
    | Explained
    | Hint
    | Reminded
)
