"""Tables for spreadsheets: units in the headings, and no cell that one would run."""

from __future__ import annotations

import csv
import io
from dataclasses import fields
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.archive.sheets import UNITS, heading, safe, sheets
from domain.facts import KINDS, Fact, Harvest, Observation, Reading
from domain.journal import Entry

LISBON = ZoneInfo("Europe/Lisbon")
AT = datetime(2026, 5, 4, 18, 5, tzinfo=UTC)

COUNTS_AND_OWN_UNITS = {
    ("sow", "count"),
    ("dose", "amount"),  # its unit stands in the column beside it
    ("stock", "amount"),
    ("emergency", "amount"),
    ("setting", "low"),  # of whatever `what` names
    ("setting", "high"),
}


def entry(fact: Fact, number: int = 1, author: str = "Ana") -> Entry:
    return Entry(number, fact, AT, AT, author, f"1:{number}")


def rows(content: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def test_a_reading_has_its_units_in_the_heading_and_both_clocks() -> None:
    table = sheets([entry(Reading(ph=5.9, ec_ms_cm=1.44, water_temp_c=-0.5))], LISBON)
    heads, values = rows(table["reading.csv"])
    said = dict(zip(heads, values, strict=True))
    assert said["when (Europe/Lisbon)"] == "2026-05-04 19:05:00"
    assert said["when (UTC)"] == "2026-05-04 18:05:00"
    assert (said["pH"], said["EC (mS/cm)"], said["water temp (°C)"]) == ("5.9", "1.44", "-0.5")
    assert said["said by"] == "Ana"


def test_every_measured_number_of_every_kind_has_a_unit_or_is_a_count() -> None:
    for kind, fact_type in KINDS.items() - {("question", KINDS["question"])}:  # never in the journal
        for field in fields(fact_type):
            if "float" in str(field.type) and (kind, field.name) not in COUNTS_AND_OWN_UNITS:
                assert field.name in UNITS, f"{kind}.{field.name}"
                assert UNITS[field.name] in heading(field.name)


@pytest.mark.parametrize(
    "typed",
    [
        "=1+1",
        "+351 900",
        "-2+3",
        "@SUM(A1)",
        "\t=1",
        " =1",
        "＝1",
        "\ufeff=1",
        "%0a=1",
        "|calc",
        "\r=1",
        "\x1f=1",
    ],
)
def test_what_begins_a_formula_is_made_text(typed: str) -> None:
    table = sheets([entry(Observation(text=typed), author=typed)], LISBON)
    heads, values = rows(table["observation.csv"])
    said = dict(zip(heads, values, strict=True))
    assert said["text"].startswith("'")
    assert said["said by"].startswith("'")


@given(st.text(max_size=30))
@settings(max_examples=150)
def test_no_text_at_all_begins_a_formula(typed: str) -> None:
    # The list is OWASP's for CSV injection.
    assert not safe(typed).lstrip().startswith(("=", "+", "-", "@"))
    assert safe(typed).removeprefix("'") == typed.removeprefix("'") or safe(typed) == typed


def test_one_table_for_each_kind_and_quotes_around_what_needs_them() -> None:
    table = sheets(
        [entry(Harvest(crop="basil", sites=("A1", "B2"), grams=120)), entry(Observation(text='a "b",\nc'))],
        LISBON,
    )
    assert list(table) == ["harvest.csv", "observation.csv"]
    assert rows(table["harvest.csv"])[1][4:] == ["basil", "A1, B2", "120", ""]
    assert rows(table["observation.csv"])[1][4] == 'a "b",\nc'
