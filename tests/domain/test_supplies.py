"""Supplies are counted down by what was logged."""

import pytest
from garden_journal import day, journal

from domain.facts import Dose, Removed, Reseed, Sow, Stock
from domain.supplies import low_supplies, supplies

ROW = ("A1", "A2", "A3", "A4", "A5")


def left(*told, now: float = 40) -> dict[str, float]:
    return {supply.item: supply.left for supply in supplies(journal(*told), day(now))}


def test_a_sowing_takes_a_plug_and_a_basket_for_each_site() -> None:
    assert left(
        (0, Stock(item="plugs", count=36)),
        (0, Stock(item="baskets", count=20)),
        (1, Sow(crop="basil", sites=ROW, count=15)),
        (2, Sow(crop="dill", count=3)),
        (9, Reseed(sites=("A1",), crop="basil")),
        (20, Removed(sites=("A2", "A3"))),
    ) == {"plugs": 36 - 5 - 3 - 1, "baskets": 20 - 5 - 3 + 2}


def test_what_was_sown_before_it_was_counted_does_not_count() -> None:
    assert left((0, Sow(crop="basil", sites=ROW)), (1, Stock(item="plugs", count=10))) == {"plugs": 10}


def test_counting_again_mends_it() -> None:
    told = (
        (0, Stock(item="plugs", count=10)),
        (1, Sow(crop="dill", sites=ROW)),
        (2, Stock(item="plugs", count=50)),
    )
    assert left(*told) == {"plugs": 50}


def test_doses_empty_their_own_bottle() -> None:
    assert left(
        (0, Stock(item="ph down", amount=0.5, unit="l")),
        (0, Stock(item="Leafline", amount=1000, unit="ml")),
        (1, Dose(product="ph_down", amount=5, unit="ml")),
        (2, Dose(product="ph_up", amount=5, unit="ml")),
        (3, Dose(product="nutrient", amount=80, unit="ml", name="Leafline")),
    ) == {"ph down": 495, "Leafline": 920}


def test_never_below_nothing() -> None:
    assert left((0, Stock(item="plugs", count=2)), (1, Sow(crop="dill", sites=ROW))) == {"plugs": 0}


def test_low_is_said_from_the_use_that_made_it_so_and_no_longer_once_there_is_more() -> None:
    told = [
        (0, Stock(item="plugs", count=15)),
        (3, Sow(crop="basil", sites=ROW)),
        (5, Sow(crop="dill", sites=("B1", "B2", "B3", "B4"))),
        (6, Sow(crop="dill", sites=("C1",))),
    ]
    (plugs,) = low_supplies(supplies(journal(*told), day(10)))
    assert (plugs.left, plugs.low_since) == (5, day(5))
    assert low_supplies(supplies(journal(*told), day(30)))[0].low_since == day(5)
    assert low_supplies(supplies(journal(*told, (7, Stock(item="plugs", count=40))), day(10))) == ()


def test_packets_are_never_low() -> None:
    told = journal((0, Stock(item="packets", count=1)), (1, Sow(crop="basil", sites=ROW)))
    assert low_supplies(supplies(told, day(10))) == ()
    assert supplies(told, day(10))[0].left == 1


BASIL, LOT = "basil seeds", "basil seeds, lot Green Gate 7"


@pytest.mark.parametrize(
    ("shelves", "sown", "taken"),
    [
        ((BASIL,), Sow(crop="basil", sites=("A1",), count=5), {BASIL: 5}),
        ((BASIL,), Sow(crop="basil", sites=("A1", "A2")), {BASIL: 2}),
        ((BASIL, "seeds"), Sow(crop="basil", count=5), {BASIL: 5}),
        (("seeds",), Sow(crop="basil", count=5), {"seeds": 5}),
        ((BASIL, LOT), Sow(crop="basil", count=5, lot="green gate  7"), {LOT: 5}),
        ((BASIL, LOT), Sow(crop="basil", count=5, lot="Old Barn"), {BASIL: 5}),
        ((LOT,), Sow(crop="basil", count=5), {LOT: 5}),  # the only packet there is
        ((LOT,), Sow(crop="basil", count=5, lot="Old Barn"), {}),
        ((LOT, "basil seeds, lot Old Barn"), Sow(crop="basil", count=5), {}),  # nobody knows of which
        ((BASIL,), Reseed(crop="basil", sites=("A1",), count=3), {BASIL: 3}),
        ((BASIL,), Sow(crop="dill", count=5), {}),
        (("packets of basil seeds",), Sow(crop="basil", count=5), {}),
    ],
)
def test_seed_is_taken_from_its_packet(shelves: tuple[str, ...], sown: Sow, taken: dict[str, int]) -> None:
    stock = [(0.0, Stock(item=item, count=50)) for item in shelves]
    assert left(*stock, (1, sown)) == {item: 50 - taken.get(item, 0) for item in shelves}


def test_a_packet_that_runs_low_is_told_once() -> None:
    told = [
        (0.0, Stock(item=BASIL, count=12)),
        *((float(at), Sow(crop="basil", sites=("A1",), count=3)) for at in range(1, 4)),
    ]
    (low,) = low_supplies(supplies(journal(*told), day(30)))
    assert (low.item, low.left, low.low_since) == (BASIL, 3, day(2))
