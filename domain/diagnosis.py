"""What the water's changes may mean, from this log: causes with their evidence, the tester's own first.

The patterns stand in ``data/patterns.csv``: cause, what else it may be, the check that tells them apart, what
to do in the order of how little it takes, and the source. What makes each show is below. Never a verdict: a
log shows what was written down.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from itertools import pairwise
from types import MappingProxyType
from typing import Literal, cast

from domain import tables
from domain.chemistry.gases import oxygen_saturation_mg_l
from domain.forecast import Trend
from domain.history import Hand, Quantity
from domain.past import LOOKED_AT, WATERINGS, Moved, Past
from domain.sources import SourceLine, source_line

__all__ = ["Evidence", "Finding", "Pattern", "Way", "diagnosed", "patterns", "plain_pattern"]

Way = Literal["up", "down"]

MOST = 2
"""More guesses at once help nobody."""

JUMP_PH = 0.8
JUMP_EC = 0.25
JUMP_WITHIN = timedelta(hours=36)
"""A tank by itself moves 0.1 to 0.5 pH a day, and strength by a few in a hundred: common practice. Strength
as a share."""
SCATTER_PH = 0.3
"""Readings of one water by one tester lie within 0.1 to 0.2: common practice."""
REBOUND_PH, REBOUND_WITHIN = 0.3, timedelta(days=3)
EC_CLEAR, EC_SEEN = 0.10, 0.05
"""A change of strength that a home tester shows clearly, or just so. [share] The clear one: symptoms of
common practice; the other is two and a half times the tester's own error."""
LEVEL_FELL = 0.05
SALTS_OVER = timedelta(days=14)
PH_SEEN = 0.2
SLOW_PH, FAST_PH = 0.05, 0.5
"""A daily drift that means something, and one that is fast (table of symptoms: more than 0.5 a day)."""
LOW_PH = 5.2
WARM_C = 23.0
"""Above this a root rot took over in spinach (bates_1984)."""
CALIBRATED_WITHIN = timedelta(days=60)
"""Twice the usual four weeks: common practice. One meter was 0.5 off after 6 months (msu_lindberg_2020)."""
WARMTH_C, PER_DEGREE = 4.0, (0.01, 0.03)
"""Strength moves 1.75 to 1.98 % a degree on a meter that does not allow for it (hayashi_2004), read with a
tester of 2 %."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """One row of the table. ``hint`` : what is said unasked where it is plain; empty for never."""

    name: str
    what: Quantity
    cause: str
    others: tuple[str, ...]
    check: str
    actions: tuple[str, ...]
    hint: str
    is_tester: bool
    urgency: Literal["routine", "soon", "urgent"]
    sources: tuple[SourceLine, ...]


@dataclass(frozen=True, slots=True)
class Evidence:
    """What of the log shows a pattern.

    moves : values that changed, and between which readings. hand : what was done before.
    cared_at : when the tester was last looked after, ``None`` for never; only where ``is_care``.
    oxygen_mg_l : the most that water of this warmth holds.
    is_plain : clear enough to be said unasked.
    """

    moves: tuple[Moved, ...] = ()
    hand: Hand | None = None
    per_day: float | None = None
    is_care: bool = False
    cared_at: datetime | None = None
    oxygen_mg_l: float | None = None
    is_plain: bool = False


@dataclass(frozen=True, slots=True)
class Finding:
    """A pattern that shows, with its evidence."""

    pattern: Pattern
    evidence: Evidence


def diagnosed(past: Past, what: Quantity, way: Way | None = None) -> tuple[Finding, ...]:
    """What may be behind the changes of one value, the tester first where it is the likelier; two at most.

    way : which way the household sees it go; ``None`` where it does not say.
    """
    found = [finding for finding in _showing(past) if finding.pattern.what == what and _goes(finding, way)]
    return tuple(sorted(found, key=_likelier_first))[:MOST]


def plain_pattern(past: Past) -> Finding | None:
    """The pattern that is plain enough to be told of unasked: the tester's first, then the most urgent."""
    plain = [finding for finding in _showing(past) if finding.evidence.is_plain and finding.pattern.hint]
    order = ("urgent", "soon", "routine")
    return min(
        plain, key=lambda each: (not each.pattern.is_tester, order.index(each.pattern.urgency)), default=None
    )


@cache
def patterns() -> Mapping[str, Pattern]:
    """Every pattern by its name, in the order of the table: the likelier first for each value."""
    return MappingProxyType(
        {
            row["pattern"]: Pattern(
                name=row["pattern"],
                what=cast(Quantity, row["what"]),
                cause=row["cause"],
                others=tables.parts(row["others"]),
                check=row["check"],
                actions=tables.parts(row["actions"]),
                hint=row["hint"],
                is_tester=row["tester"] == "yes",
                urgency=row["urgency"],  # type: ignore[arg-type]  # a test holds the table to the Literal
                sources=tuple(source_line(key) for key in tables.parts(row["source"])),
            )
            for row in tables.rows("patterns")
        }
    )


def _likelier_first(finding: Finding) -> int:
    """What shows plainly before what may be, and of that the tester's before the water's; of what may be, the
    tester's last: any tester may be off."""
    if finding.evidence.is_plain:
        return 0 if finding.pattern.is_tester else 1
    return 3 if finding.pattern.is_tester else 2


def _showing(past: Past) -> list[Finding]:
    return [
        Finding(pattern, evidence)
        for name, pattern in patterns().items()
        if (evidence := _SIGNS[name](past)) is not None
    ]


def _goes(finding: Finding, way: Way | None) -> bool:
    moved = next((m for m in finding.evidence.moves if m.what == finding.pattern.what), None)
    if way is None or moved is None or finding.pattern.name == "ph_scatter":
        return True
    return moved.by > 0 if way == "up" else moved.by < 0


def _last_two(past: Past, what: Quantity) -> Moved | None:
    read = past.read(what)
    return Moved(what, read[-2], read[-1]) if len(read) > 1 else None


def _ph_jump(past: Past) -> Evidence | None:
    moved = _last_two(past, "ph")
    if moved is None or abs(moved.by) < JUMP_PH or moved.after.at - moved.before.at > JUMP_WITHIN:
        return None
    if past.hands(since=moved.before.at - REBOUND_WITHIN):
        return None  # what went in may still be at work
    return Evidence((moved,), is_plain=True)


def _ph_scatter(past: Past) -> Evidence | None:
    read = past.read("ph")[-5:]
    if len(read) < 5 or read[0].at < past.now - LOOKED_AT or past.between(read[0], read[-1]):
        return None
    steps = [other.value - one.value for one, other in pairwise(read)]
    turns = all(one * other < 0 for one, other in pairwise(steps))
    swings = sorted(map(abs, steps))[1] >= SCATTER_PH
    return Evidence((Moved("ph", read[-2], read[-1]),), is_plain=True) if turns and swings else None


def _ec_jump(past: Past) -> Evidence | None:
    moved = _last_two(past, "ec_ms_cm")
    if moved is None or abs(moved.share) < JUMP_EC or moved.after.at - moved.before.at > JUMP_WITHIN:
        return None
    touched = past.hands("nutrient", "other", *WATERINGS, since=moved.before.at - timedelta(hours=1))
    return None if touched else Evidence((moved,), is_plain=True)


def _ec_warmth(past: Past) -> Evidence | None:
    strength, warmth = past.moved("ec_ms_cm"), past.moved("water_temp_c")
    if strength is None or warmth is None or abs(warmth.by) < WARMTH_C:
        return None
    per_degree = strength.share / warmth.by
    return Evidence((strength, warmth)) if PER_DEGREE[0] <= per_degree <= PER_DEGREE[1] else None


def _ph_calibration(past: Past) -> Evidence | None:
    at = past.cared_at.get("calibrate_ph_meter")
    moved = past.moved("ph")
    if moved is None or abs(moved.by) < PH_SEEN or (at is not None and past.now - at < CALIBRATED_WITHIN):
        return None
    return Evidence((moved,), is_care=True, cared_at=at)


def _ph_rebound(past: Past) -> Evidence | None:
    doses = past.hands("ph_down", since=past.now - REBOUND_WITHIN)
    if not doses or past.hands(*WATERINGS, "nutrient", "ph_up", since=doses[-1].at):
        return None
    moved = past.moved_since("ph", doses[-1].at)
    if moved is None or moved.by < REBOUND_PH:
        return None
    return Evidence((moved,), hand=doses[-1], is_plain=True)


def _ph_dosed(past: Past) -> Evidence | None:
    moved = past.moved("ph")
    if moved is None:
        return None
    went_in = past.between(moved.before, moved.after, "ph_down" if moved.by < 0 else "ph_up")
    return Evidence((moved,), hand=went_in[-1]) if went_in and abs(moved.by) >= PH_SEEN else None


def _ph_water(past: Past) -> Evidence | None:
    for hand in reversed(past.hands(*WATERINGS, since=past.now - LOOKED_AT)):
        before = [point for point in past.read("ph") if point.at <= hand.at]
        after = [point for point in past.read("ph") if point.at > hand.at]
        if before and after and after[0].value - before[-1].value >= PH_SEEN:
            return Evidence((Moved("ph", before[-1], after[0]),), hand=hand)
    return None


def _ph_drift(past: Past, low: float, high: float) -> Evidence | None:
    drift, moved = past.drift("ph"), past.moved("ph")
    if not isinstance(drift, Trend) or drift.is_steady or moved is None or not low <= drift.per_day < high:
        return None
    since = past.moved_since("ph", drift.hand.at if drift.hand else past.now - LOOKED_AT) or moved
    return Evidence((since,), per_day=drift.per_day)


def _ph_roots(past: Past) -> Evidence | None:
    found = _ph_drift(past, -99.0, -SLOW_PH)
    if found is None or found.moves[0].after.value >= LOW_PH:
        return None
    return Evidence(found.moves, per_day=found.per_day, is_plain=True)


def _ph_fast(past: Past) -> Evidence | None:
    found = _ph_drift(past, FAST_PH, 99.0)
    return None if found is None else Evidence(found.moves, per_day=found.per_day, is_plain=True)


def _ec_after(past: Past, *, fed: bool) -> Evidence | None:
    """Strength went the way of what went in: up with feed, down with plain water."""
    moved = past.moved("ec_ms_cm")
    if moved is None or abs(moved.share) < EC_SEEN or (moved.by > 0) != fed:
        return None
    was_fed = past.fed(moved.before.at)
    went_in = past.between(moved.before, moved.after, *(("nutrient",) if fed else ()), *WATERINGS)
    return Evidence((moved,), hand=went_in[-1]) if went_in and was_fed == fed else None


def _ec_salts(past: Past) -> Evidence | None:
    """Strength after each of the last top-ups is higher than after the one before."""
    begins = [hand.at for hand in past.hands("water_change")][-1:]
    tops = past.hands("top_up", since=begins[0] if begins else None)
    after = [next((point for point in past.read("ec_ms_cm") if point.at > top.at), None) for top in tops]
    read = list(dict.fromkeys(point for point in after if point is not None))[-4:]
    if len(read) < 3 or read[-1].at - read[0].at < SALTS_OVER or past.fed(read[0].at):
        return None
    moved = Moved("ec_ms_cm", read[0], read[-1])
    climbs = all(one.value < other.value for one, other in pairwise(read))
    return Evidence((moved,), is_plain=True) if climbs and moved.share >= EC_CLEAR else None


def _ec_by_level(past: Past, *, strength_up: bool, level_fell: bool) -> Evidence | None:
    """Strength and level since the last hand that moves either."""
    last = past.hands("nutrient", "other", *WATERINGS)[-1:]
    since = max([past.now - 2 * LOOKED_AT, *(hand.at for hand in last)])
    strength, level = past.moved_since("ec_ms_cm", since), past.moved_since("level_l", since)
    if strength is None or (strength.by > 0) != strength_up:
        return None
    fell = level is not None and level.share <= -LEVEL_FELL
    if level is None or fell != level_fell:
        is_seen = level is None and level_fell and abs(strength.share) >= EC_SEEN
        return Evidence((strength,)) if is_seen else None
    if abs(strength.share) < EC_SEEN:
        return None
    return Evidence((strength, level), is_plain=abs(strength.share) >= EC_CLEAR)


def _warm_water(past: Past) -> Evidence | None:
    read, moved = past.read("water_temp_c"), past.moved("water_temp_c")
    if not read or not WARM_C < read[-1].value <= 40:
        return None
    most = oxygen_saturation_mg_l(read[-1].value)
    return Evidence((moved,) if moved else (), oxygen_mg_l=most)


_SIGNS: Mapping[str, Callable[[Past], Evidence | None]] = MappingProxyType(
    {
        "ph_jump": _ph_jump,
        "ph_scatter": _ph_scatter,
        "ec_jump": _ec_jump,
        "ec_warmth": _ec_warmth,
        "ph_calibration": _ph_calibration,
        "ph_rebound": _ph_rebound,
        "ph_dosed": _ph_dosed,
        "ph_water": _ph_water,
        "ph_roots": _ph_roots,
        "ph_fast": _ph_fast,
        "ph_nitrate": lambda past: _ph_drift(past, SLOW_PH, FAST_PH),
        "ph_ammonium": lambda past: _ph_drift(past, -99.0, -SLOW_PH),
        "ec_fed": lambda past: _ec_after(past, fed=True),
        "ec_salts": _ec_salts,
        "ec_drinking": lambda past: _ec_by_level(past, strength_up=True, level_fell=True),
        "ec_eating": lambda past: _ec_by_level(past, strength_up=False, level_fell=True),
        "ec_thinned": lambda past: _ec_after(past, fed=False),
        "ec_diluted": lambda past: _ec_by_level(past, strength_up=False, level_fell=False),
        "warm_water": _warm_water,
    }
)
"""What makes each pattern show; a test holds it to the table."""
