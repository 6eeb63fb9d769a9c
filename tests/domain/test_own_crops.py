"""A crop that the household adds: its own source line, and a part in bands, plantings and the map."""

from __future__ import annotations

from typing import get_args

import pytest
from garden_journal import day, journal

from domain.bands import Standing, crop_band, tank_bands
from domain.crops import CropGroup, crops
from domain.facts import Emerged, Fact, Harvest, Setting, Sow
from domain.household import choices
from domain.own_crops import group_named, like_its_group, own_crops, own_group
from domain.plantings import garden, standing_on_tank
from domain.sites import spots
from domain.sources import YOURS
from domain.stages import stage_of

PH = Setting(name="band", crop="sorrelette", what="ph", low=5.8, high=6.4)
EC = Setting(name="band", crop="sorrelette", what="ec", low=1.2, high=1.8)
LEAFY = Setting(name="crop_group", crop="sorrelette", value="leafy")


def test_only_what_the_table_lacks_is_a_crop_of_ones_own() -> None:
    basil = Setting(name="band", crop="basil", what="ec", low=1.0, high=1.4)
    whole_tank = Setting(name="band", what="ph", low=5.8, high=6.2)
    alone = Setting(name="crop", value="Sea Fennel")
    assert own_crops([PH, EC, basil, whole_tank, alone, LEAFY]) == ("sorrelette", "Sea Fennel")


def test_its_group_is_the_one_said_last() -> None:
    herb = Setting(name="crop_group", crop="Sorrelette", value="herb")
    assert own_group("sorrelette", [PH]) is None
    assert own_group("sorrelette", [LEAFY, herb]) == "herb"
    assert group_named("tree") is None


def test_it_sets_edges_of_the_tank_under_its_own_name_and_on_its_own_word() -> None:
    stands = [Standing("sorrelette", "vegetative", 3), Standing("lettuce", "vegetative", 3)]
    band = tank_bands(stands, (PH, EC, LEAFY)).ph
    assert (band.ideal_low, band.tolerable_high) == (5.8, 6.4)
    assert band.set_by_low.startswith("sorrelette")
    assert YOURS in band.sources
    alone = crop_band("sorrelette", "ec_ms_cm", settings=(EC,))
    assert (alone.ideal_low, alone.ideal_high, alone.set_by_low) == (1.2, 1.8, "sorrelette")
    assert alone.sources == (YOURS,)


def test_what_it_does_not_say_it_takes_from_its_group_and_any_tank() -> None:
    temperature = crop_band("sorrelette", "water_temp_c", settings=(PH, LEAFY))
    lettuce_group = crop_band("mustard greens", "water_temp_c")
    assert crops()["mustard greens"].group == "leafy"
    assert (temperature.tolerable_low, temperature.tolerable_high) == (
        lettuce_group.tolerable_low,
        lettuce_group.tolerable_high,
    )
    seedling = crop_band("sorrelette", "ec_ms_cm", "seedling", settings=(PH, LEAFY))
    grown = crop_band("sorrelette", "ec_ms_cm", "vegetative", settings=(PH, LEAFY))
    assert seedling.ideal_high < grown.ideal_high


@pytest.mark.parametrize("group", get_args(CropGroup))
def test_its_days_lie_among_those_of_its_group(group: CropGroup) -> None:
    kin = [crop for crop in crops().values() if crop.group == group]
    own = like_its_group(group)
    for span in ("days_to_emergence", "days_to_first_harvest"):
        highs = [high for crop in kin if (high := getattr(crop, span).high) is not None]
        assert min(highs) <= getattr(own, span).high <= max(highs)


def test_it_grows_up_by_its_group() -> None:
    assert stage_of("sorrelette", 0, group="leafy") == "germinating"
    assert stage_of("sorrelette", 60, group="leafy") in ("vegetative", "past")
    assert stage_of("sorrelette", 0) == "vegetative"  # nobody said what it is: it stands on the tank


def test_it_is_sown_comes_up_and_stands_on_the_map() -> None:
    told: list[tuple[float, Fact]] = [
        (0, PH),
        (0, LEAFY),
        (1, Sow(crop="sorrelette", sites=("A1", "A2"))),
        (9, Emerged(crop="sorrelette", sites=("A1",))),
    ]
    grown = garden(journal(*told), day(12))
    assert {(spot.label, spot.crop, spot.state) for spot in spots(grown)} == {
        ("A1", "sorrelette", "seedling"),
        ("A2", "sorrelette", "germinating"),
    }
    bands = tank_bands(standing_on_tank(grown.plantings, day(12)), choices(journal(*told)).bands)
    assert [voter.crop for voter in bands.voters] == ["sorrelette"]


def test_a_root_is_gone_once_it_is_pulled() -> None:
    root = Setting(name="crop_group", crop="scorzo", value="root")
    told = (
        (0.0, root),
        (1.0, Sow(crop="scorzo", sites=("A1",))),
        (80.0, Harvest(crop="scorzo", sites=("A1",))),
    )
    assert garden(journal(*told), day(81)).plantings == ()
    assert len(garden(journal(*told[1:]), day(81)).plantings) == 1
