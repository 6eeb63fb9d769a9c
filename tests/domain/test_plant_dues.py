"""What the plants make due, each with why now; dates stay where they are while nothing new is logged."""

from dataclasses import replace
from datetime import timedelta
from zoneinfo import ZoneInfo

from garden_journal import BEGAN, day, journal

from domain.facts import Emerged, Harvest, Lost, Reading, Sow, Stock
from domain.plantings import garden
from domain.routine import Due, due_dates

LISBON = ZoneInfo("Europe/Lisbon")
ROW = ("A1", "A2", "A3")


def dues(*told, now: float) -> dict[str, Due]:
    found = due_dates(journal(*told), now=day(now), zone=LISBON)
    return {due.task: due for due in found if due.task in ("look", "reseed", "pick", "stock")}


def test_seedlings_are_looked_for_when_the_window_opens() -> None:
    """tofg_app4: lettuce comes up in 3 days at 20 degC."""
    told = [(0, Reading(air_temp_c=20)), (0.1, Sow(crop="lettuce", sites=ROW))]
    look = dues(*told, now=1)["look"]
    assert (look.due_at - day(2.5)).total_seconds() / 86400 < 1
    assert look.due_at.astimezone(LISBON).hour == 18
    assert look.text == "look for lettuce seedlings in A1, A2 and A3"
    assert "sown 2 Mar" in look.why
    assert "20 °C" in look.why
    assert dues(*told, now=2)["look"].due_at == look.due_at
    assert dues(*told, (2, Reading(air_temp_c=12)), now=2.5)["look"].due_at == look.due_at


def test_once_told_up_nobody_is_told_to_look() -> None:
    told = [(0, Sow(crop="lettuce", sites=ROW)), (2, Emerged(crop="lettuce"))]
    assert "look" not in dues(*told, now=2.1)
    assert "reseed" not in dues(*told, now=9)


def test_a_late_sowing_is_to_be_sown_again_with_its_chance() -> None:
    told = [(0, Sow(crop="basil", sites=ROW)), (7, Emerged(sites=("A1",)))]
    resow = dues(*told, now=11)["reseed"]
    assert resow.text == "sow basil again in A2 and A3"
    assert "in 100" in resow.why
    assert "reseed" not in dues(*told, (10.5, Lost(sites=("A2", "A3"))), now=11)


def test_who_never_tells_of_seedlings_is_not_told_to_sow_again() -> None:
    few = [(n, Sow(crop="basil", sites=(f"A{n + 1}",))) for n in range(3)]
    many = [*few, *((n, Sow(crop="basil", sites=(f"B{n}",))) for n in range(3, 6))]
    assert "reseed" in dues(*few, now=12)
    assert "reseed" not in dues(*many, now=14)


def test_first_harvest_is_told_once_for_what_was_sown_together() -> None:
    told = [
        (0, Sow(crop="pak choi", sites=ROW)),
        (0.2, Sow(crop="pak choi", sites=("B1", "B2"))),
        (5, Emerged(sites=ROW)),
    ]
    pick = dues(*told, now=28)["pick"]
    assert pick.text == "see whether the pak choi can be picked in A1, A2, A3 and 2 more"
    assert (pick.due_at - day(30)).days == 0
    assert "day 30 from seed" in pick.why
    assert "pick" not in dues(*told, (29, Harvest(sites=(*ROW, "B1", "B2"))), now=30)


def test_low_supplies_are_told_with_what_is_left() -> None:
    told = [(0, Stock(item="plugs", count=8)), (1, Sow(crop="basil", sites=ROW))]
    stock = dues(*told, now=2)["stock"]
    assert stock.text == "get more plugs"
    assert stock.why.startswith("about 5 left of 8")
    assert "stock" not in dues(*told, (2, Stock(item="plugs", count=50)), now=3)


def test_what_was_past_when_it_was_told_is_not_told_back() -> None:
    entries = [replace(entry, said_at=day(70)) for entry in journal((0, Sow(crop="basil", sites=ROW)))]
    found = due_dates(entries, now=day(70), zone=LISBON)
    assert not {due.task for due in found} & {"look", "reseed", "pick"}


def test_a_nudge_left_alone_for_a_week_is_dropped() -> None:
    told = [(0, Sow(crop="parsley", sites=ROW))]
    assert "look" in dues(*told, now=12)
    assert "look" not in dues(*told, now=21)


def test_a_garden_folded_before_gives_the_same() -> None:
    entries = journal((0, Sow(crop="basil", sites=ROW)), (7, Emerged(sites=("A1",))))
    now = BEGAN + timedelta(days=9)
    assert due_dates(entries, now=now, zone=LISBON, garden=garden(entries, now)) == due_dates(
        entries, now=now, zone=LISBON
    )
