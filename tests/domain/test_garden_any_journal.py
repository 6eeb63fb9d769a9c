"""Whatever a household says of plants, everything that is folded from it holds together."""

from zoneinfo import ZoneInfo

from garden_journal import day, journal
from hypothesis import given, settings
from hypothesis import strategies as st

from domain.facts import (
    Dose,
    Emerged,
    Fact,
    Growing,
    Harvest,
    Lost,
    Moved,
    Reading,
    Removed,
    Reseed,
    Sow,
    StageSeen,
    Stock,
    Tended,
)
from domain.germination import outlooks
from domain.harvest import first_harvests, yields
from domain.plantings import garden
from domain.routine import due_dates
from domain.seeds import records
from domain.supplies import low_supplies, supplies

CROPS = st.sampled_from(["basil", "lettuce", "radish", "parsley", "mystery leaf"])
CROP = st.none() | CROPS
SITE = st.sampled_from(["A1", "A2", "B1", "B2", "B*"])
SITES = st.none() | st.lists(SITE, min_size=1, max_size=3, unique=True).map(tuple)
COUNT = st.none() | st.integers(1, 9)
LOT = st.sampled_from([None, "Corner Shop 24", "Green Gate 2021", "  ", "7"])

FACTS: st.SearchStrategy[Fact] = st.one_of(
    st.builds(Sow, crop=CROP, sites=SITES, count=COUNT, lot=LOT),
    st.builds(Reseed, crop=CROP, sites=SITES, count=COUNT, lot=LOT),
    st.builds(Emerged, crop=CROP, sites=SITES, count=COUNT),
    st.builds(Lost, crop=CROP, sites=SITES, count=COUNT),
    st.builds(Moved, crop=CROP, from_sites=SITES, to_sites=SITES),
    st.builds(Removed, crop=CROP, sites=SITES),
    st.builds(Harvest, crop=CROP, sites=SITES, grams=st.none() | st.floats(0, 500), count=COUNT),
    st.builds(Tended, crop=CROP, sites=SITES, task=st.just("thin")),
    st.builds(StageSeen, crop=CROP, sites=SITES, stage=st.sampled_from(["flowering", "bolting"])),
    st.builds(Growing, crop=CROPS, count=COUNT),
    st.builds(Reading, air_temp_c=st.floats(-10, 55), water_temp_c=st.none() | st.floats(0, 45)),
    st.builds(
        Stock, item=st.sampled_from(["plugs", "baskets", "seeds", "ph down"]), count=st.integers(0, 50)
    ),
    st.builds(
        Stock,
        item=st.just("ph down"),
        amount=st.floats(0, 2000),
        unit=st.sampled_from(["ml", "l", "g", "box"]),
    ),
    st.builds(
        Dose, product=st.just("ph_down"), amount=st.floats(0, 50), unit=st.sampled_from(["ml", "drop", "g"])
    ),
)
TOLD = st.lists(st.tuples(st.floats(0, 90), FACTS), max_size=14)


@settings(max_examples=60, deadline=None)
@given(TOLD, st.floats(0, 200))
def test_counts_hold_together(told: list[tuple[float, Fact]], later: float) -> None:
    entries, now = journal(*told), day(90 + later)
    grown = garden(entries, now)
    for sowing in grown.sowings:
        assert sowing.waiting >= 0
        assert sowing.failed >= 0
        assert bool(sowing.waiting_sites) <= bool(sowing.waiting)
    for by in ("lot", "shop"):
        found = records(grown.sowings, now, by)  # type: ignore[arg-type]
        assert sum(record.sowings for record in found) == len(grown.sowings)
        for record in found:
            assert 0 <= record.came <= record.tried
            assert record.likely is None or record.share in record.likely
    for outlook in outlooks(grown.sowings, entries, now):
        assert outlook.opens_at < outlook.closes_at <= outlook.give_up_at
        assert 0 <= outlook.chance <= 1
    assert len(first_harvests(grown.plantings, now)) == len(grown.plantings)
    weighed = sum(pick.grams or 0.0 for pick in grown.picks)
    for by in ("crop", "site", "week"):
        sums = yields(grown.picks, by, ZoneInfo("UTC"))  # type: ignore[arg-type]
        assert abs(sum(each.grams for each in sums) - weighed) < 1e-6 * (1 + weighed)
    for supply in supplies(entries, now):
        assert supply.left >= 0
    assert len(low_supplies(supplies(entries, now))) <= 4


@settings(max_examples=60, deadline=None)
@given(TOLD, st.floats(0, 60))
def test_due_dates_have_keys_of_their_own_and_do_not_move_while_nothing_is_told(
    told: list[tuple[float, Fact]], later: float
) -> None:
    entries = journal(*told)
    first = due_dates(entries, now=day(90), zone=ZoneInfo("Europe/Lisbon"))
    assert len({due.key for due in first}) == len(first)
    after = {
        due.key: due.due_at for due in due_dates(entries, now=day(90 + later), zone=ZoneInfo("Europe/Lisbon"))
    }
    for due in first:
        if due.task in ("look", "reseed", "pick", "stock"):
            assert after.get(due.key, due.due_at) == due.due_at
