"""What a site asks for today, as the site map tells it."""

from __future__ import annotations

import pytest
from garden_journal import day, journal

from domain.facts import Emerged, Fact, Harvest, Lost, Moved, Reading, Removed, Sow, Tended
from domain.plantings import garden
from domain.site_tasks import SITE_TASKS, site_tasks
from domain.sites import Spot, spots

WARM = (0.0, Reading(air_temp_c=20))
LETTUCE = (0.0, Sow(crop="lettuce", sites=("A1",)))
CROWD = (0.0, Sow(crop="lettuce", sites=("A1",), count=4))
UP = (4.0, Emerged(sites=("A1",)))
TRAY = (0.0, Sow(crop="basil", sites=("tray",), count=4))
TRAY_UP = (8.0, Emerged(crop="basil", sites=("tray",), count=4))


def tasks(*told: tuple[float, Fact], now: float) -> dict[str, str]:
    entries = journal(*told)
    return dict(site_tasks(garden(entries, day(now)), entries, day(now)))


@pytest.mark.parametrize(
    ("told", "now", "task"),
    [
        ((WARM, LETTUCE), 1, None),
        ((WARM, LETTUCE), 3, "look"),  # 20 degC: about 3 days (Harrington and Minges by way of tamu_parsons)
        ((WARM, LETTUCE), 12, "sow again"),
        ((WARM, LETTUCE, (11, Lost(sites=("A1",)))), 12, None),
        ((LETTUCE, UP), 10, None),
        ((LETTUCE, UP), 40, "pick"),
        ((LETTUCE, UP, (39, Harvest(sites=("A1",), grams=40.0))), 40, None),
        ((LETTUCE, UP, (39, Removed(sites=("A1",)))), 40, None),
        ((CROWD, UP), 13, None),
        ((CROWD, UP), 14, "thin"),  # common practice: when the first true leaves tell the strongest
        ((CROWD, UP, (14, Tended(sites=("A1",), task="thin"))), 15, None),
        ((CROWD, UP), 40, "thin"),  # before the harvest
    ],
)
def test_one_site(told: tuple[tuple[float, Fact], ...], now: float, task: str | None) -> None:
    assert tasks(*told, now=now).get("A1") == task


def test_a_tray_asks_to_be_moved_and_not_to_be_thinned_or_picked() -> None:
    assert tasks(TRAY, TRAY_UP, now=21) == {}
    assert tasks(TRAY, TRAY_UP, now=22) == {"TRAY": "move"}
    assert tasks(TRAY, TRAY_UP, now=60) == {"TRAY": "move"}
    moved = (22.0, Moved(crop="basil", from_sites=("tray",), to_sites=("A1", "A2", "A3", "A4")))
    assert tasks(TRAY, TRAY_UP, moved, now=23) == {}


def test_it_is_told_at_its_spot_and_no_other() -> None:
    entries = journal(CROWD, UP)
    grown = garden(entries, day(14))
    shown = spots(grown, ["A1", "A2"], site_tasks(grown, entries, day(14)))
    assert [(spot.label, spot.task) for spot in shown] == [("A1", "thin"), ("A2", None)]


def test_only_known_tasks_are_shown() -> None:
    for task in SITE_TASKS:
        assert Spot(label="A1", state="seedling", task=task).task == task
    with pytest.raises(ValueError, match="nothing to do"):
        Spot(label="A1", state="seedling", task="dance")  # type: ignore[arg-type]
