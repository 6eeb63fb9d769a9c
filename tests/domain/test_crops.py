"""The crop table and its names."""

import re
import subprocess
import sys

import pytest

from domain import tables
from domain.crops import crop, crop_names, crops
from domain.sources import sources


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        # The message contract names these four.
        ("pepper", "sweet pepper"),
        ("chard", "swiss chard"),
        ("rocket", "arugula"),
        ("coriander", "cilantro"),
        # Remarks of the reference table that are no part of a name.
        ("little gem", "romaine lettuce"),
        ("mini cos", "romaine lettuce"),
        ("spring greens", "collards"),
        ("lemon basil", "basil"),
        ("french sorrel", "sorrel"),
        ("bee balm", "lemon balm"),
        ("alpine strawberry", "strawberry"),
        ("bush bean", "bean"),
        ("mibuna", "mizuna"),
        ("red russian", "kale"),
        # One and many, with and without hyphen or apostrophe.
        ("basils", "basil"),
        ("tomatoes", "tomato"),
        ("cherry tomatoes", "cherry tomato"),
        ("strawberries", "strawberry"),
        ("radishes", "radish"),
        ("pansies", "viola"),
        ("loose leaf lettuce", "lettuce"),
        ("ladys fingers", "okra"),
        ("collard", "collards"),
        # What seed packets say.
        ("ocimum basilicum", "basil"),
        ("salvia rosmarinus", "rosemary"),
    ],
)
def test_a_name_means_its_crop(typed: str, meant: str) -> None:
    assert crop_names()[typed] == meant


@pytest.mark.parametrize(
    "typed",
    [
        "garlic chives",  # another species, Allium tuberosum
        "runner bean",  # Phaseolus coccineus
        "pot marigold",  # Calendula
        "daikon",  # another variety
        "capsicum annuum",  # sweet and chilli peppers alike
        "p. coccineus",
    ],
)
def test_what_only_a_remark_mentions_is_no_name(typed: str) -> None:
    assert typed not in crop_names()


def test_names_are_plain_lower_case() -> None:
    for name in crop_names():
        assert re.fullmatch(r"[a-z][a-z' .-]*[a-z']", name), name


def test_no_two_crops_share_a_name() -> None:
    owner: dict[str, str] = {}
    for each in crops().values():
        for name in (each.name, *each.other_names):
            assert owner.setdefault(name.lower(), each.name) == each.name, name


def test_every_canonical_name_means_itself() -> None:
    assert {name: crop_names()[name] for name in crops()} == {name: name for name in crops()}


def test_crop_takes_any_name_in_any_case() -> None:
    assert crop("  Sweet  Basil ") is crops()["basil"]
    with pytest.raises(KeyError):
        crop("triffid")


def test_ranges_run_upwards() -> None:
    for each in crops().values():
        spans = (
            each.ph,
            each.ec_ms_cm,
            each.days_to_emergence,
            each.germination_temp_c,
            each.dli,
            each.air_temp_day_c,
            each.days_to_first_harvest,
        )
        for span in spans:
            if span.low is not None and span.high is not None:
                assert span.low <= span.high, (each.name, span)


def test_every_number_of_the_crop_table_has_a_source() -> None:
    told = {(row["crop"], row["field"]): row for row in tables.rows("provenance")}
    fields = [
        column
        for column in tables.rows("crops")[0]
        if re.search(r"_(low|opt|high)(_ms_cm)?$", column) or column == "needs_light_to_germinate"
    ]
    for row in tables.rows("crops"):
        for field in fields:
            value = row[field]
            if value in ("", "unknown"):
                continue
            source = told[row["crop"], field]
            assert source["value"] == value, (row["crop"], field)
            assert set(tables.parts(source["source"])) <= set(sources()), (row["crop"], field)


def test_every_source_named_in_a_row_is_in_the_source_table() -> None:
    for each in crops().values():
        for keys in each.sources.values():
            assert set(keys) <= set(sources())


def test_the_names_load_without_the_heavy_libraries() -> None:
    seen = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys, domain.crops; domain.crops.crop_names();"
            "print([m for m in ('numpy', 'scipy', 'pandas', 'pint', 'dateparser') if m in sys.modules])",
        ],
        capture_output=True,
        text=True,
        check=True,
    )
    assert seen.stdout.strip() == "[]"
