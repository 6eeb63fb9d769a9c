"""What falls due in a household and why now, folded from its journal.

Nothing here remembers: a water change that is logged moves the next one because the date is counted from
it, and an edit or an undo moves it back. What was told already is for whoever tells it to know.
"""

from __future__ import annotations

import calendar
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from types import MappingProxyType
from zoneinfo import ZoneInfo

from domain.adaptive import adapted
from domain.bands import TankBands, verdict
from domain.due import CHORE_TIME, Due
from domain.facts import (
    Chore,
    Dose,
    Emerged,
    Fact,
    Growing,
    Reading,
    Reminder,
    Setting,
    Sow,
    TopUp,
    WaterChange,
)
from domain.folds import Start, folded
from domain.habits import Habit, habits, routine, task_meant
from domain.happenings import changes_all
from domain.household import Choices, choices
from domain.journal import Entry
from domain.own_crops import CROP_SETTINGS
from domain.own_dues import own_due
from domain.plant_dues import plant_dues
from domain.plantings import Garden
from domain.recurrence import Rule, instant_of, next_due
from domain.sources import YOURS, SourceLine, source_line
from domain.supplies import Shelves
from domain.tank import DEFAULTS, SETTLED_AFTER

__all__ = [
    "CHORE_TIME",
    "QUIET_FROM",
    "QUIET_TO",
    "RETEST_AFTER",
    "Due",
    "Habit",
    "RoutineFold",
    "Rule",
    "after_telling",
    "due_dates",
    "habits",
    "next_due",
    "quiet_until",
    "routine",
    "task_meant",
]

QUIET_FROM, QUIET_TO = time(21, 30), time(8)
"""Nobody is disturbed between these, by the wall clock: common practice."""

RETEST_AFTER = timedelta(minutes=30)
"""How long a dose takes to mix through a small pumped tank, if nobody knows better: common practice."""

RETEST_STALE_AFTER = timedelta(days=1)
"""A retest missed for so long is left to the weekly test."""

_EARLY = MappingProxyType({"DAILY": timedelta(0), "WEEKLY": timedelta(days=3), "MONTHLY": timedelta(days=14)})
"""How much less than a whole interval may pass so that a task keeps its day: half of the unit."""


@dataclass
class RoutineFold:
    """What the journal says that bears on due dates; a ``domain.folds.Fold``.

    began_at : the first entry. at : when each task was last done.
    chosen : the household's interval of each task, with when it was set.
    dose_at : of the latest dose after which nothing was read. zone_set_at : when its zone was last said.
    adjusted_at : of the latest dose of adjuster. read_at, ph : of the latest reading of pH.
    own : what the household asked to be told.
    since : when each of the table's conditions (``Habit.once``) first held.
    bands : the household's own bands.
    """

    began_at: datetime | None = None
    at: dict[str, datetime] = field(default_factory=dict)
    chosen: dict[str, tuple[Setting, datetime]] = field(default_factory=dict)
    dose_at: datetime | None = None
    adjusted_at: datetime | None = None
    read_at: datetime | None = None
    ph: float | None = None
    zone_set_at: datetime | None = None
    volume_l: float | None = None
    own: list[tuple[Entry, Reminder]] = field(default_factory=list)
    since: dict[str, datetime] = field(default_factory=dict)
    bands: list[Entry] = field(default_factory=list)

    def copy(self) -> RoutineFold:
        return replace(
            self,
            at=dict(self.at),
            chosen=dict(self.chosen),
            own=list(self.own),
            since=dict(self.since),
            bands=list(self.bands),
        )

    @property
    def own_bands(self) -> tuple[Setting, ...]:
        """The household's own bands, the newest last."""
        told = sorted(self.bands, key=lambda entry: entry.id)
        return tuple(entry.fact for entry in told if isinstance(entry.fact, Setting))

    def take(self, entry: Entry) -> None:
        fact = entry.fact
        self.began_at = self.began_at or entry.happened_at
        for condition in _conditions_met(fact):
            self.since.setdefault(condition, entry.happened_at)
        for task in _tasks_done_by(fact, self.volume_l):
            self.at[task] = entry.happened_at
        match fact:
            case Dose(product="ph_down" | "ph_up" | "nutrient" as role):
                self.dose_at = entry.happened_at
                if role != "nutrient":
                    self.adjusted_at = entry.happened_at
            case Reading() if _is_test(fact):
                self.dose_at = None
                if fact.ph is not None:
                    self.read_at, self.ph = entry.happened_at, fact.ph
            case Setting(name="interval", task=str(task)):
                self.chosen[_task_named(task)] = (fact, entry.said_at)
            case Setting(name="time_zone"):
                self.zone_set_at = entry.said_at
            case Setting(name="tank_volume_l", value=str(value)):
                self.volume_l = float(value)
            case Setting(name=name) if name in CROP_SETTINGS:
                self.bands.append(entry)
            case Reminder() as reminder:
                self.own.append((entry, reminder))


def due_dates(
    entries: Sequence[Entry],
    *,
    now: datetime,
    zone: ZoneInfo,
    retest_after: timedelta = RETEST_AFTER,
    garden: Garden | None = None,
    start: Start[RoutineFold] | None = None,
    supplied: Start[Shelves] | None = None,
    chosen: Choices | None = None,
    bands: TankBands | None = None,
) -> tuple[Due, ...]:
    """What the household should be reminded of, the soonest first.

    entries : the net journal, in the order in which things happened; doubted ones do not count.
    now : aware.
    zone : whose wall clock the chores go by.
    retest_after : how long the latest dose takes to mix through.
    garden : what the same entries say of plants, where that is folded already.
    start, supplied : of the first of these entries, where they were folded before.
    chosen : what the same entries say the household chose. bands : what its water should be; without them
        no test is brought forward.
    """
    done = folded(RoutineFold(), entries, start)
    if done.began_at is None:
        return ()
    own_tasks = {task_meant(reminder.text) for _, reminder in done.own if reminder.rrule}
    dues = [
        due
        for habit in habits().values()
        # What the household is told of in its own words is not told of a second time by the table.
        if (habit.task not in own_tasks or habit.task in done.chosen)
        and (due := _due_of(habit, done, zone)) is not None
    ]
    dues = adapted(
        dues, entries, chosen or choices(entries), bands, zone, own_interval=frozenset(done.chosen)
    )
    retest = _retest(done, now, retest_after) or _settled_test(done, now, bands)
    own = [_own(entry, reminder, done, now, zone) for entry, reminder in done.own]
    plants = plant_dues(entries, now, zone, garden, supplied, done.own_bands)
    plants = [due for due in plants if _is_wanted(due.task, done)]
    found = [*dues, *retest, *(due for due in own if due is not None), *plants]
    return tuple(sorted(found, key=lambda due: (due.due_at, due.key)))


def _own(entry: Entry, reminder: Reminder, done: RoutineFold, now: datetime, zone: ZoneInfo) -> Due | None:
    task = task_meant(reminder.text)
    done_at = done.at.get(task) if task else None
    past = habits()[task].past if task else ""
    return own_due(entry, reminder, now, zone, moved_at=done.zone_set_at, done_at=done_at, past=past)


def after_telling(rrule: str | None, planned_at: datetime, now: datetime, zone: ZoneInfo) -> datetime | None:
    """When to tell again what was told, or passed over, and is not done.

    rrule, planned_at : as ``Due.rrule`` and ``Due.due_at`` had them.
    now : aware. Times that were missed up to it are not made up for.
    Returns UTC; ``None`` for never, which is so for what does not repeat.
    Raises ValueError for a rule that cannot be followed.
    """
    if rrule is None:
        return None
    rule = Rule.from_rrule(rrule, at=planned_at.astimezone(zone))
    return next_due(rule, max(now, planned_at), zone)


def quiet_until(moment: datetime, zone: ZoneInfo) -> datetime | None:
    """The end of the quiet hours that ``moment`` lies in, UTC; ``None`` where it lies in none."""
    local = moment.astimezone(zone)
    wall = local.time()
    if QUIET_TO <= wall < QUIET_FROM:
        return None
    day = local.date() + timedelta(days=1) if wall >= QUIET_FROM else local.date()
    return instant_of(day, QUIET_TO, zone)


def _task_named(name: str) -> str:
    return next((habit.task for habit in habits().values() if name in habit.also), name)


def _tasks_done_by(fact: Fact, volume_l: float | None) -> tuple[str, ...]:
    match fact:
        case WaterChange():
            whole = changes_all(fact, volume_l or DEFAULTS.volume_l)
            return ("water_change", "top_up") if whole else ("top_up",)
        case TopUp():
            return ("top_up",)
        case Reading():
            looked_at_level = fact.level_l is not None or fact.level_mark is not None
            return (*(("test_water",) if _is_test(fact) else ()), *(("top_up",) if looked_at_level else ()))
        case Chore():
            return (fact.task,)
        case _:
            return ()


def _conditions_met(fact: Fact) -> tuple[str, ...]:
    match fact:
        case Reading():
            by_meter = not fact.approx and not fact.ph_span
            met = (fact.ph is not None and by_meter, fact.ec_ms_cm is not None)
            return tuple(name for name, holds in zip(("ph_read", "ec_read"), met, strict=True) if holds)
        case Sow() | Growing() | Emerged():
            return ("planted",)
        case _:
            return ()


def _is_test(reading: Reading) -> bool:
    return reading.ph is not None or reading.ec_ms_cm is not None


def _due_of(habit: Habit, done: RoutineFold, zone: ZoneInfo) -> Due | None:
    """When a task of the routine is due; ``None`` where nobody wants to be told or no rule says.

    An interval that the household set without a rule means never.
    """
    setting, set_at = done.chosen.get(habit.task, (None, None))
    text = habit.rrule if setting is None else setting.rrule
    last = done.at.get(habit.task)
    since = done.began_at if habit.is_on else done.since.get(habit.once)
    if not text or (setting is None and since is None and last is None):
        return None
    began = last or set_at or since or done.began_at
    rule = None if began is None else _rule_after(text, began.astimezone(zone))
    if rule is None:
        return None
    due_at = instant_of(rule.anchor, rule.at, zone)
    if set_at is not None and due_at < set_at:  # nobody is late by a rule that did not stand yet
        due_at = next_due(rule, set_at, zone)
    line = YOURS if setting is not None else source_line(habit.source)
    return Due(
        key=habit.task,
        task=habit.task,
        text=habit.text,
        why=_why(habit, rule, last.astimezone(zone).date() if last else None, line),
        due_at=due_at,
        rrule=rule.as_rrule(),
        next_at=due_at,
    )


def _is_wanted(task: str, done: RoutineFold) -> bool:
    """Nobody has said never."""
    setting, _ = done.chosen.get(task, (None, None))
    return setting is None or bool(setting.rrule)


def _rule_after(text: str, done_at: datetime) -> Rule | None:
    """The rule, anchored at its first date after the task was done; ``None`` for a text that is no rule.

    done_at : by the household's clock.

    A task that was done a little early or late keeps to the day that its rule names (``_EARLY``): a weekly
    Sunday stays a Sunday. Where a rule names several days, the next of them counts.
    """
    last = done_at.date()
    try:
        rule = Rule.from_rrule(text, at=datetime.combine(last, CHORE_TIME))
        if rule.frequency == "HOURLY":
            due = (done_at.astimezone(UTC) + timedelta(hours=rule.interval)).astimezone(done_at.tzinfo)
            return replace(rule, anchor=due.date(), at=due.time())
        whole = _one_interval_on(rule, last)
        named = len(rule.by_day) + len(rule.by_month_day)
        if named == 0:
            return replace(rule, anchor=whole)
        if named > 1:
            return replace(rule, anchor=next(rule.dates_from(last + timedelta(days=1))))
        soonest = max(whole - _EARLY[rule.frequency], last + timedelta(days=1))
        return replace(rule, anchor=next(replace(rule, interval=1, anchor=soonest).dates_from(soonest)))
    except (ValueError, OverflowError):
        return None


def _one_interval_on(rule: Rule, last: date) -> date:
    if rule.frequency != "MONTHLY":
        return last + rule.interval * timedelta(days=7 if rule.frequency == "WEEKLY" else 1)
    years, month = divmod(last.month - 1 + rule.interval, 12)
    year = last.year + years
    return date(year, month + 1, min(last.day, calendar.monthrange(year, month + 1)[1]))


def _why(habit: Habit, rule: Rule, last: date | None, line: SourceLine) -> str:
    since = f"last {habit.past} {last.day} {last:%b}" if last else f"never {habit.past} so far"
    return f"{since}; {rule.in_words()}, {line.text}"


def _settled_test(done: RoutineFold, now: datetime, bands: TankBands | None) -> list[Due]:
    """The test after which more adjuster may follow: the first one found that the dose did not reach."""
    if bands is None or done.adjusted_at is None or done.read_at is None or done.ph is None:
        return []
    settled_at = (done.adjusted_at + SETTLED_AFTER).astimezone(UTC)
    is_open = done.adjusted_at <= done.read_at < settled_at and now - settled_at <= RETEST_STALE_AFTER
    if not is_open or not verdict(done.ph, bands.ph).needs_action:
        return []
    why = "the last dose has settled; more may be needed"
    return [Due("retest", "retest", habits()["retest"].text, why, settled_at, rrule=None, next_at=settled_at)]


def _retest(done: RoutineFold, now: datetime, wait: timedelta) -> list[Due]:
    if done.dose_at is None:
        return []
    due_at = (done.dose_at + wait).astimezone(UTC)
    if now - due_at > RETEST_STALE_AFTER:
        return []
    habit = habits()["retest"]
    why = "nothing read since the last dose"
    return [Due("retest", "retest", habit.text, why, due_at, rrule=None, urgent=True, next_at=due_at)]
