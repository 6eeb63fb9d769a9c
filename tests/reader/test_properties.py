"""What holds for any text: nothing raises, talk records nothing, what was written reads back."""

import string
from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rendering import typed

from bot.reader import Read, ReaderSettings, read
from bot.reader.fillers import words
from bot.reader.lexicon import PHRASES
from domain.crops import crops
from domain.facts import (
    Chore,
    ChoreTask,
    Dose,
    Emerged,
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
    TendTask,
    TopUp,
    WaterChange,
    fact_from_json,
    names_of,
)  # fmt: skip

ZONE = ZoneInfo("Europe/Lisbon")
NOW = datetime(2026, 5, 4, 19, 5, tzinfo=ZONE)
HOUSEHOLDS = [
    ReaderSettings(),
    ReaderSettings(units="us", ppm_scale=700, strength_unit="ask"),
    ReaderSettings(
        tanks=("Balcony", "kitchen"),
        sites=("Left shelf", "top"),
        crops=("grandma's basil",),
        products={"Leaf Juice": "nutrient", "Zap": "ph_down", "Moss": "other"},
    ),
]


def say(text: str, household: ReaderSettings = HOUSEHOLDS[0]) -> Read:
    return read(text, now=NOW, zone=ZONE, settings=household)


households = st.sampled_from(HOUSEHOLDS)
WORDS = [
    *sorted(
        words(
            "ph ec ppm temp water air level tank at is = : - , . ? ! added topped up changed sowed moved "
            "pulled picked basil letuce A1 A2-A4 B3, row lot 5 5.9 1,400 1 400 12345678901 nan half a of ml "
            "L gal drops down up acid food A B yesterday 7pm 7 24/10 2026-02-30 31/12 every 2 weeks on "
            "remind me to note away 3-10 aug how much why what if didn't will then after before ½ ٥ ５ µS "
            "°C ( ) / > ~ in from for and pump died eye instead"
        )
    ),
    "\n",
]
messages = st.lists(st.sampled_from(WORDS), max_size=14).map(" ".join)


@given(st.text(max_size=300), households)
def test_any_text_is_read_without_an_error(text: str, household: ReaderSettings) -> None:
    _check_form(text, say(text, household))


@given(messages, households)
@settings(max_examples=300)
def test_any_jumble_of_our_words_is_read_without_an_error(text: str, household: ReaderSettings) -> None:
    _check_form(text, say(text, household))


phrases = st.sampled_from([*sorted(" ".join(spelling) for spelling in PHRASES), "Balcony", "top", "Zap"])


@given(st.lists(st.one_of(phrases, st.sampled_from(WORDS)), max_size=9).map(" ".join), households)
@settings(max_examples=300)
def test_any_jumble_of_all_that_the_lexicon_knows_is_read_without_an_error(text, household) -> None:
    _check_form(text, say(text, household))


def _check_form(text: str, said: Read) -> None:
    for found in said.facts:
        start, end = found.span
        assert 0 <= start < end <= len(text)
        assert fact_from_json(found.fact.as_json()).kind == found.fact.kind
        if found.fact.when is not None:
            assert found.fact.when <= NOW
            assert found.fact.when.utcoffset() == found.fact.when.astimezone(ZONE).utcoffset()
    for bit in said.unclear:
        start, end = bit.span
        assert 0 <= start < end <= len(text)


TALK = sorted(
    words(
        "dinner lunch pizza milk eggs kids school car bus film gym love great lol haha ok thanks see you "
        "later we they she he is are was were have has will can at on for with and but the my your our "
        "home work beach party happy birthday sad tired rain sunny hot cold weather phone call text mum "
        "dad friend cat dog walk run swim shop buy bring take come go 7 8 12 20 7pm 8:30 tomorrow tonight "
        "today friday ? !"
    )
)


def _has_words(text: str) -> bool:
    return any(word.isalpha() for word in text.split())


@given(st.lists(st.sampled_from(TALK), min_size=2, max_size=12).map(" ".join).filter(_has_words))
@settings(max_examples=300)
def test_talk_records_nothing(text: str) -> None:
    assert say(text).facts == ()


numbers = st.integers(1, 400).map(lambda tenths: tenths / 10)
ph_values = st.integers(20, 120).map(lambda tenths: tenths / 10)
sites = st.lists(
    st.builds("{}{}".format, st.sampled_from("ABCD"), st.integers(1, 30)), min_size=1, max_size=3, unique=True
).map(tuple)
crop_names = st.sampled_from(sorted(crops()))
counts = st.integers(1, 40)
reasons = st.sampled_from(["slugs", "root rot", "heat"])

facts = st.one_of(
    st.builds(Reading, ph=ph_values),
    st.builds(Reading, ph=ph_values, approx=st.just(True)),
    st.builds(Reading, ph=st.integers(40, 90).map(lambda t: t / 10), ph_span=st.sampled_from([0.5, 1.0])),
    st.builds(
        Reading, ph=ph_values, ec_ms_cm=st.integers(1, 100).map(lambda t: t / 10), water_temp_c=numbers
    ),
    st.builds(Reading, air_temp_c=numbers, humidity_pct=st.integers(1, 100)),
    st.builds(Reading, level_l=numbers, dissolved_oxygen_mg_l=st.integers(1, 120).map(lambda t: t / 10)),
    st.builds(Reading, level_mark=st.sampled_from(["half", "full", "12 cm", "the line"])),
    st.builds(
        Dose,
        product=st.sampled_from(["ph_down", "ph_up", "nutrient"]),
        amount=numbers,
        unit=st.sampled_from(["ml", "g", "drop", "squirt", "scoop", "capful", "pump"]),
    ),
    st.builds(TopUp, litres=numbers),
    st.builds(TopUp, to_mark=st.sampled_from(["the line", "the top", "half"])),
    st.builds(WaterChange, litres=numbers),
    st.builds(WaterChange, fraction=st.integers(1, 99).map(lambda pct: pct / 100)),
    st.just(WaterChange()),
    st.builds(
        Sow, crop=crop_names, sites=sites, count=st.none() | counts, lot=st.none() | st.just("Corner Shop 24")
    ),
    st.builds(Reseed, crop=crop_names, sites=sites),
    st.builds(Emerged, crop=crop_names, sites=sites, count=st.none() | counts),
    st.builds(Lost, crop=crop_names, sites=sites, reason=st.none() | reasons),
    st.builds(Moved, crop=crop_names, from_sites=sites, to_sites=sites),
    st.builds(Tended, crop=crop_names, sites=sites, task=st.sampled_from(names_of(TendTask))),
    st.builds(Harvest, crop=crop_names, sites=sites, grams=numbers),
    st.builds(Harvest, crop=crop_names, sites=st.none() | sites, count=counts),
    st.builds(Removed, crop=crop_names, sites=sites),
    st.builds(
        StageSeen, crop=crop_names, sites=sites, stage=st.sampled_from(["flowering", "fruiting", "bolting"])
    ),
    st.builds(Chore, task=st.sampled_from(names_of(ChoreTask))),
    st.builds(Stock, item=st.sampled_from(["plugs", "pods", "buffers"]), count=counts),
)


@given(facts)
@settings(max_examples=300)
def test_what_was_written_reads_back(fact) -> None:
    said = say(typed(fact))
    assert said.unclear == ()
    assert [_compared(found.fact) for found in said.facts] == [_compared(replace(fact, when=NOW))]


def _compared(fact) -> dict:
    return {
        key: pytest.approx(value, rel=1e-3) if isinstance(value, float) else value
        for key, value in fact.as_json().items()
    }


separators = st.sampled_from([" ", ", ", "; ", " / ", "\n", " and ", " | ", " - "])
links = st.sampled_from([" ", "", ": ", "=", " = ", " is ", " at ", " reads ", "-", " - "])
cases = st.sampled_from([str.lower, str.upper, str.title])
commas = st.booleans()


@given(separators, links, cases, commas, ph_values, st.integers(1, 99), st.integers(10, 40))
def test_separators_links_case_and_commas_change_nothing(
    separator, link, case, comma, ph, ec_tenths, temp_c
) -> None:
    text = case(separator.join([f"ph{link}{ph}", f"ec{link}{ec_tenths / 10}", f"temp{link}{temp_c}"]))
    said = say(text.replace(".", ",") if comma else text)
    assert said.unclear == ()
    assert [found.fact for found in said.facts] == [
        Reading(when=NOW, ph=ph, ec_ms_cm=ec_tenths / 10, water_temp_c=float(temp_c))
    ]


UNITS = [
    ("ml", 1),
    ("mL", 1),
    (" millilitres", 1),
    ("tsp", 5),
    (" tablespoons", 15),
    ("cl", 10),
    (" fl oz", 29.5735),
]


@given(
    st.sampled_from(UNITS),
    st.integers(1, 9),
    st.sampled_from(["down", "ph down", "acid", "PH-down", "of ph minus"]),
)
def test_units_and_names_of_a_dose_keep_their_meaning(unit, count, product) -> None:
    (found,) = say(f"added {count}{unit[0]} {product}").facts
    assert isinstance(found.fact, Dose)
    assert found.fact.product == "ph_down"
    assert (found.fact.unit, found.fact.amount) == ("ml", pytest.approx(count * unit[1], rel=1e-4))


@given(
    st.sampled_from(string.ascii_uppercase),
    st.integers(1, 99),
    st.sampled_from(["", "ph ", "ec ", "temp ", "level "]),
)
def test_a_site_is_never_a_quantity(letter: str, number: int, name: str) -> None:
    for found in say(f"{name}{letter}{number}").facts:
        assert not isinstance(found.fact, Reading)
    (found,) = say(f"pulled {letter}{number}").facts
    assert found.fact == Removed(when=NOW, sites=(f"{letter}{number}",))


@given(
    ph_values,
    st.sampled_from(["\u200b", "\u202e", "\u2066", "\ufeff", "\x00", "\x1b", "\u00ad"]),
    st.integers(0, 6),
)
def test_what_cannot_be_seen_changes_nothing(ph: float, unseen: str, place: int) -> None:
    text = f"ph {ph}"
    hidden = text[:place] + unseen + text[place:]
    assert [found.fact for found in say(hidden).facts] == [Reading(when=NOW, ph=ph)]


@given(ph_values, st.sampled_from("٠۰०０"))
def test_other_digits_are_read_as_ours(ph: float, zero: str) -> None:
    text = "".join(chr(ord(zero) + int(c)) if c.isdigit() else c for c in f"{ph}")
    assert [found.fact for found in say(f"ph {text}").facts] == [Reading(when=NOW, ph=ph)]


@given(st.integers(0, 10**6))
def test_records_lie_in_the_past_and_reminders_ahead(minutes: int) -> None:
    now = datetime(2025, 10, 26, 0, 30, tzinfo=ZONE) + timedelta(minutes=minutes)
    for phrase in (
        "at 7",
        "on monday",
        "at 23:30",
        "this evening",
        "last night",
        "24/10",
        "yesterday at 1:30",
    ):
        for found in read(f"ph 6 {phrase}", now=now, zone=ZONE).facts:
            assert found.fact.when <= now
    for phrase in ("at 7", "on monday", "tomorrow at 1:30", "every day at 1:30", "in 3 days", "on the 31st"):
        for found in read(f"remind me {phrase} to look", now=now, zone=ZONE).facts:
            assert found.fact.at > now
