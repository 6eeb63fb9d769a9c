"""Phrases about chores: what was cleaned, calibrated, checked or adjusted."""

from __future__ import annotations

from bot.reader.findings import Finding, Phrase, Scene, found, no
from bot.reader.numbers import Quantity
from bot.reader.patterns import Hit
from domain.facts import Chore, ChoreTask

__all__ = ["CHORE_PHRASES"]

_CALIBRATED: dict[str, ChoreTask] = {
    "EC": "calibrate_ec_meter",
    "ECMETER": "calibrate_ec_meter",
    "PPM": "calibrate_ec_meter",
    "PH": "calibrate_ph_meter",
    "PHMETER": "calibrate_ph_meter",
}
_SHOWN = ("#num", "#ec", "#ppm")

# Values printed on common sachets (common practice).
_BUFFERS = frozenset((1.68, 4, 4.0, 4.01, 6.86, 6.88, 7, 7.0, 7.01, 9.18, 10, 10.01))
_STANDARDS = frozenset(
    (1.413, 1413, 1.41, 1.4, 2.76, 2.77, 2760, 2770, 12.88, 12880, 84, 700, 1382, 1500, 342)
)

_OBJECTS: dict[str, dict[str, ChoreTask]] = {
    "RINSED": {
        "filter": "rinse_filter",
        "pump": "clean_pump",
        "reservoir": "clean_tank",
        "probe": "clean_probe",
    },
    "CHECKED": {"pump": "check_pump", "timer": "check_timer"},
    "ADJUSTED": {"lights": "adjust_lights", "light": "adjust_lights"},
}


_CLEANED: dict[str, ChoreTask] = {
    "FILTER": "rinse_filter",
    "PUMP": "clean_pump",
    "TANK": "clean_tank",
    "#tank": "clean_tank",
    "PROBE": "clean_probe",
    "PHMETER": "clean_probe",
    "ECMETER": "clean_probe",
    "METER": "clean_probe",
}


def _cleaned(scene: Scene, hit: Hit) -> Finding | None:
    """``cleaned pump, filter and tank``: one chore for each."""
    items, last = hit.line.items, hit.last
    tasks = [_CLEANED[items[last].key]]
    while (
        last + 2 < len(items) and items[last + 1].key in (",", "and", "&") and items[last + 2].key in _CLEANED
    ):
        last += 2
        tasks.append(_CLEANED[items[last].key])
    return found(*(Chore(task=task) for task in dict.fromkeys(tasks)), ends=last)


def _chore(*tasks: ChoreTask) -> Phrase:
    return Phrase(lambda scene, hit: found(*(Chore(task=task) for task in tasks)))


def _calibration(*tasks: ChoreTask) -> Phrase:
    """A calibration with the values that go with it, which are no readings (rule 17)."""

    def build(scene: Scene, hit: Hit) -> Finding | None:
        items, last = hit.line.items, _end_of_values(hit)
        done = list(tasks)
        if last + 3 < len(items) and items[last + 1].key in (",", "and") and items[last + 3].key in _SHOWN:
            other = _CALIBRATED.get(items[last + 2].key)  # ``calibrated ph 7.0, ec 1413``
            if other is not None and other not in done:
                done.append(other)
                last += 3
        return found(*(Chore(task=task) for task in done), ends=last)

    return Phrase(build)


def _end_of_values(hit: Hit) -> int:
    """The last item of ``7.0, 4.0 and 10`` after a calibration."""
    items, last = hit.line.items, hit.last
    while (
        last + 2 < len(items)
        and items[last + 1].key in (",", "and", "&", "/", "+")
        and items[last + 2].key in _SHOWN
    ):
        last += 2
    return last


def _calibrated(scene: Scene, hit: Hit) -> Finding | None:
    """A calibration whose meter only the values tell: buffers are pH, standards EC."""
    values = [item.value for item in hit.items("rest") if item.key in ("#num", "#ec", "#ppm")]
    numbers = [value.typed if isinstance(value, Quantity) else value.value for value in values]
    if numbers and all(1.5 <= number <= 12.5 for number in numbers) and any(n in _BUFFERS for n in numbers):
        return found(Chore(task="calibrate_ph_meter"), ends=_end_of_values(hit))
    if numbers and all(number in _STANDARDS for number in numbers):
        return found(Chore(task="calibrate_ec_meter"), ends=_end_of_values(hit))
    return no("ambiguous", "calibrated the ph meter", "calibrated the ec meter")


def _mended_chore(verb: str) -> Phrase:
    """A chore whose object is misspelt: ``rinsed the filtr``."""

    def build(scene: Scene, hit: Hit) -> Finding | None:
        near = scene.mender.nearest((hit.typed("thing") or "").lower(), _OBJECTS[verb])
        return found(Chore(task=near[0])) if len(near) == 1 else None

    return Phrase(build)


_CHORES: tuple[tuple[str, Phrase], ...] = (
    ("did|done (PH|PHMETER) calibration|recalibration", _chore("calibrate_ph_meter")),
    ("did|done (EC|ECMETER) calibration|recalibration", _chore("calibrate_ec_meter")),
    ("PH|PHMETER calibration done", _chore("calibrate_ph_meter")),
    ("EC|ECMETER calibration done", _chore("calibrate_ec_meter")),
    ("TOPPED|ADDED|FILLED PROBECAP", _chore("refill_probe_cap")),
    ("PROBECAP TOPPED", _chore("refill_probe_cap")),
    ("RINSED FILTER|PUMP|TANK", Phrase(_cleaned)),
    ("i|we CLEAN FILTER", _chore("rinse_filter")),
    ("i|we CLEAN PUMP", _chore("clean_pump")),
    ("i|we CLEAN TANK", _chore("clean_tank")),
    ("i|we CALIBRATE PHMETER|PH", _chore("calibrate_ph_meter")),
    ("i|we CALIBRATE ECMETER|EC", _chore("calibrate_ec_meter")),
    ("FILTER (is|was|got|i|we)? RINSED", _chore("rinse_filter")),
    ("PUMP (is|was|got)? RINSED", _chore("clean_pump")),
    ("PROBE (is|was|got)? RINSED", _chore("clean_probe")),
    ("TANK (is|was|got)? RINSED", _chore("clean_tank")),
    ("RINSED (PHMETER|ECMETER|PH|EC|METER)? PROBE", _chore("clean_probe")),
    ("RINSED PHMETER|ECMETER|METER", _chore("clean_probe")),
    ("CALIBRATED both METER|meters|pens|probes", _chore("calibrate_ph_meter", "calibrate_ec_meter")),
    (
        "CALIBRATED PHMETER|PH (and|&|+) ECMETER|EC|PPM METER? <shown>?",
        _calibration("calibrate_ph_meter", "calibrate_ec_meter"),
    ),
    ("CALIBRATED PHMETER|PH METER? :? <shown>?", _calibration("calibrate_ph_meter")),
    ("CALIBRATED ECMETER|EC|PPM METER? :? <shown>?", _calibration("calibrate_ec_meter")),
    ("PHMETER|PH (is|was)? CALIBRATED <shown>?", _calibration("calibrate_ph_meter")),
    ("ECMETER|EC (is|was)? CALIBRATED <shown>?", _calibration("calibrate_ec_meter")),
    ("CALIBRATED METER|meters|probe|PROBE? :? <shown>?", Phrase(_calibrated)),
    ("ADJUSTED|MOVED (up|down)? LIGHTS (up|down|UP|DOWN|higher|lower|by|#len)?", _chore("adjust_lights")),
    ("LIGHTS (is|are|was|were)? ADJUSTED", _chore("adjust_lights")),
    ("CHECKED PUMP (and|&) TIMER", _chore("check_pump", "check_timer")),
    ("CHECKED PUMP", _chore("check_pump")),
    ("PUMP (is|was)? CHECKED", _chore("check_pump")),
    ("CHECKED TIMER", _chore("check_timer")),
    ("TIMER (is|was)? CHECKED", _chore("check_timer")),
)

_MENDED: tuple[tuple[str, Phrase], ...] = tuple(
    (f"{verb} <some:thing> $$", _mended_chore(verb)) for verb in _OBJECTS
)

CHORE_PHRASES: tuple[tuple[str, Phrase], ...] = (*_CHORES, *_MENDED)
"""Chores, in the order in which the rows are tried."""
