"""A plant's stage by age and by what was seen."""

from typing import get_args, get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

from domain import tables
from domain.crops import crops
from domain.sources import sources
from domain.stages import STAGES, Seen, StageRow, stage_named, stage_of, stage_row, start_days

CROP_NAMES = st.sampled_from(sorted(crops()))
AGES = st.floats(min_value=0, max_value=2000)
SEEN = st.builds(
    Seen,
    st.sampled_from(["seedling", "vegetative", "flowering", "fruiting"]),
    st.floats(min_value=0, max_value=300),
)


def _place(stage: str) -> int:
    return STAGES.index(stage)


@pytest.mark.parametrize(
    ("crop", "days", "stage"),
    [
        ("lettuce", 0, "germinating"),
        ("lettuce", 10, "seedling"),  # true leaves by about day 7 to 21: common practice
        ("lettuce", 25, "vegetative"),  # 11 days to the pond, 24 more to harvest: goto_1996
        ("basil", 14, "seedling"),  # transplanted at 2 weeks: msu_herb_pg
        ("basil", 40, "vegetative"),
        ("tomato", 25, "seedling"),  # transplanted at 3 to 6 weeks: common practice
        ("tomato", 50, "vegetative"),
        ("tomato", 110, "fruiting"),  # first pick between day 95 and 135: crop table
        ("cucumber", 40, "fruiting"),
        ("parsley", 10, "germinating"),  # up to 14 days at 20 C: tofg_app4
        ("marigold", 60, "flowering"),
        ("radish", 60, "past"),  # woody long after day 35: common practice
    ],
)
def test_stage_by_age(crop: str, days: float, stage: str) -> None:
    assert stage_of(crop, days) == stage


def test_what_was_seen_wins_over_age() -> None:
    assert stage_of("basil", 40, [Seen("flowering", 1)]) == "flowering"
    assert stage_of("parsley", 10, [Seen("seedling", 0)]) == "seedling"
    assert stage_of("tomato", 10, [Seen("fruiting", 2)]) == "fruiting"
    # Old by the calendar, yet only just up.
    assert stage_of("parsley", 40, [Seen("seedling", 1)]) == "seedling"


def test_the_latest_sight_wins_over_an_earlier_one() -> None:
    assert stage_of("tomato", 80, [Seen("fruiting", 20), Seen("vegetative", 1)]) == "vegetative"


def test_growth_goes_on_after_something_was_seen() -> None:
    assert stage_of("lettuce", 30, [Seen("seedling", 20)]) == "vegetative"


def test_an_unknown_age_counts_as_vegetative_until_something_is_seen() -> None:
    assert stage_of("kale", None) == "vegetative"
    assert stage_of("kale", None, [Seen("seedling", 2)]) == "seedling"
    assert stage_of("kale", None, [Seen("flowering", 2)]) == "flowering"


def test_a_crop_outside_the_table_is_vegetative_until_something_is_seen() -> None:
    assert stage_of("agretti", 2) == "vegetative"
    assert stage_of("agretti", 2, [Seen("seedling", 1)]) == "seedling"


@given(CROP_NAMES, AGES, AGES)
def test_no_plant_grows_younger(crop: str, one: float, other: float) -> None:
    younger, older = sorted((one, other))
    assert _place(stage_of(crop, younger)) <= _place(stage_of(crop, older))


@given(CROP_NAMES, AGES, SEEN)
def test_a_plant_is_never_before_the_stage_it_was_seen_in(crop: str, days: float, seen: Seen) -> None:
    assert _place(stage_of(crop, days, [seen])) >= _place(seen.stage)


@given(CROP_NAMES, AGES, st.lists(SEEN, max_size=4))
def test_the_order_of_telling_does_not_matter(crop: str, days: float, seen: list[Seen]) -> None:
    assert stage_of(crop, days, seen) == stage_of(crop, days, seen[::-1])


def test_typical_starts_run_upwards() -> None:
    for crop in crops().values():
        starts = [start for stage in STAGES if (start := start_days(crop, stage)) is not None]
        assert starts == sorted(starts), (crop.name, starts)


def test_every_group_has_its_rows() -> None:
    for group in {crop.group for crop in crops().values()}:
        for stage in STAGES:
            assert (stage_row(group, stage) is None) == (stage == "fruiting" and group != "fruiting")


def test_the_table_keeps_to_its_words() -> None:
    words = get_args(get_type_hints(StageRow)["starts_after"])
    for row in tables.rows("stages"):
        assert row["starts_after"] in words
        assert row["stage"] in STAGES
        for column in row:
            if column.endswith("_source"):
                assert set(tables.parts(row[column])) <= set(sources()), row


def test_a_bolting_plant_is_flowering() -> None:
    assert stage_named("bolting") == "flowering"
    assert stage_named("Seedling") == "seedling"
    assert stage_named("sulking") is None
