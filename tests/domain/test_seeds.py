"""How packets and shops come up, from what was told and nothing else."""

from garden_journal import day, journal

from domain.facts import Emerged, Harvest, Lost, Moved, Removed, Reseed, Sow
from domain.plantings import garden
from domain.seeds import Record, best_of, is_better, lots_named, packed_year, records, shop_of

A3 = ("A1", "A2", "A3")


def the_record(*told, now: float = 60, by="lot") -> Record:
    (record,) = records(garden(journal(*told), day(now)).sowings, day(now), by)
    return record


def test_what_came_and_what_was_given_up_is_counted() -> None:
    record = the_record(
        (0, Sow(crop="basil", sites=A3, lot="Green Gate 7")),
        (6, Emerged(sites=("A1",))),
        (8, Emerged(sites=("A2",))),
        (20, Lost(sites=("A3",), reason="nothing came")),
        now=25,
    )
    assert (record.came, record.tried, record.waiting) == (2, 3, 0)
    assert record.days == (6.0, 7.0, 8.0)
    assert record.likely is not None
    assert 2 / 3 in record.likely


def test_seedlings_that_died_had_come_up() -> None:
    record = the_record(
        (0, Sow(crop="basil", sites=A3, lot="Green Gate 7")),
        (6, Emerged(crop="basil")),
        (15, Lost(sites=("A1",), reason="damped off")),
        (40, Removed(crop="basil")),
    )
    assert (record.came, record.tried) == (3, 3)


def test_a_tray_keeps_its_count_after_it_was_pricked_out() -> None:
    record = the_record(
        (0, Sow(crop="lettuce", count=10, lot="Green Gate 7")),
        (3, Emerged(crop="lettuce", count=7)),
        (14, Lost(crop="lettuce", count=3)),
        (15, Moved(crop="lettuce", to_sites=("C1", "C2", "C3", "C4", "C5", "C6", "C7"))),
    )
    assert (record.came, record.tried, record.waiting) == (7, 10, 0)


def test_a_sowing_that_nobody_followed_tells_nothing() -> None:
    untold = the_record((0, Sow(crop="basil", sites=A3, lot="Green Gate 7")), now=50)
    assert (untold.came, untold.tried, untold.waiting) == (0, 0, 3)
    assert untold.likely is None
    picked = the_record(
        (0, Sow(crop="basil", sites=A3, lot="Green Gate 7")), (45, Harvest(crop="basil", grams=30)), now=50
    )
    assert (picked.tried, picked.waiting) == (0, 0)


def test_what_waits_counts_as_failed_only_when_it_is_far_too_late() -> None:
    told = [
        (0, Sow(crop="basil", sites=A3, lot="Green Gate 7")),
        (6, Emerged(sites=("A1",))),
    ]
    early, late = the_record(*told, now=9), the_record(*told, now=20)
    assert (early.tried, early.waiting) == (1, 2)
    assert (late.tried, late.waiting) == (3, 0)


def test_a_reseeded_site_is_a_failure_of_the_first_packet_alone() -> None:
    entries = journal(
        (0, Sow(crop="dill", sites=("D4",), lot="Old Barn 2021")),
        (20, Reseed(crop="dill", sites=("D4",), lot="Green Gate 7")),
        (30, Emerged(sites=("D4",))),
    )
    old, new = records(garden(entries, day(40)).sowings, day(40))
    assert (old.came, old.tried, old.packed) == (0, 1, 2021)
    assert (new.came, new.tried, new.packed) == (1, 1, None)


def test_lots_of_one_shop_are_one_record() -> None:
    entries = journal(
        (0, Sow(crop="basil", sites=A3, lot="Corner Shop 24")),
        (7, Emerged(sites=A3)),
        (8, Sow(crop="basil", sites=("B1", "B2"), lot="corner shop, lot 25")),
        (15, Emerged(sites=("B1", "B2"))),
    )
    sowings = garden(entries, day(30)).sowings
    assert len(records(sowings, day(30))) == 2
    (shop,) = records(sowings, day(30), "shop")
    assert (shop.name, shop.came, shop.tried, shop.sowings) == ("Corner Shop", 5, 5, 2)
    assert len(lots_named("corner shop", sowings)) == 2
    assert lots_named("corner shop 24", sowings) == sowings[:1]


def test_names() -> None:
    assert shop_of("Corner Shop 24") == "Corner Shop"
    assert shop_of("Green Gate lot B-17") == "Green Gate"
    assert shop_of("24") == "24"
    assert (packed_year("Corner Shop 24"), packed_year("Corner Shop 2024")) == (None, 2024)


def _of(came: int, tried: int) -> Record:
    return Record(
        name=f"{came}/{tried}",
        crop="basil",
        sowings=1,
        tried=tried,
        came=came,
        waiting=0,
        likely=None,
        days=None,
        packed=None,
        last_sown_at=day(0),
    )


def test_no_ranking_where_the_trials_cannot_tell() -> None:
    """Newcombe's difference: 3/3 against 2/3 holds 0, 20/20 against 4/20 does not."""
    assert is_better(_of(3, 3), _of(2, 3)) is None
    assert best_of([_of(3, 3), _of(2, 3)]) is None
    assert is_better(_of(20, 20), _of(4, 20)) is True
    assert is_better(_of(4, 20), _of(20, 20)) is False
    assert best_of([_of(4, 20), _of(20, 20), _of(0, 0)]) == _of(20, 20)
    assert best_of([_of(20, 20), _of(19, 20), _of(4, 20)]) is None


def test_what_lags_behind_its_sowing_is_not_yet_a_seedling() -> None:
    """Lettuce is up in 2 to 3 days (tofg_app4): on day 5 the others wait, by day 7 somebody forgot to say."""
    told = journal((0, Sow(crop="lettuce", sites=A3)), (3, Emerged(sites=("A1",))))
    stages = {site: p.stage for p in garden(told, day(5)).plantings for site in p.sites}
    assert stages == {"A1": "seedling", "A2": "germinating", "A3": "germinating"}
    later = {p.stage for p in garden(told, day(7)).plantings}
    assert later == {"seedling"}
    untold = garden(journal((0, Sow(crop="lettuce", sites=A3))), day(5)).plantings
    assert [p.stage for p in untold] == ["seedling"]
