"""A reply with a picture: what its letter keeps, and when its text is a letter of its own."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from bot.assistant.exchange import Button, Letter, Picture
from bot.assistant.replies import PlantsShown
from bot.rendering import Voice, parted, render
from domain.facts import Sow
from domain.journal import Entry
from domain.plantings import garden
from domain.sites import spots

NOW = datetime(2026, 5, 4, 23, 30, tzinfo=UTC)
VOICE = Voice("metric", None, ZoneInfo("Europe/Lisbon"))
PICTURE = Picture("site_map", {})
ROWS = ((Button("Why", "v1:why"),),)


def shown(*sites: str) -> PlantsShown:
    at = NOW - timedelta(days=20)
    sown = Entry(1, Sow(crop="basil", sites=sites or None), at, at, author="Ana", message_key="1:1")
    grown = garden([sown], NOW)
    return PlantsShown(plantings=grown.plantings, now=NOW, spots=spots(grown) if sites else ())


def test_plants_in_sites_have_a_map_with_the_household_own_day() -> None:
    letter = render(shown("A1", "B2"), VOICE)
    assert letter.picture is not None
    assert letter.picture.kind == "site_map"
    assert letter.picture.data["day"] == "Tue 5 May"  # half past midnight in Lisbon
    drawn = [(label, state, crop, days) for label, state, crop, days, *_ in letter.picture.data["spots"]]
    assert drawn == [("A1", "seedling", "basil", 20), ("B2", "seedling", "basil", 20)]


def test_plants_without_sites_have_none() -> None:
    assert render(shown(), VOICE).picture is None


@pytest.mark.parametrize("html", ["x" * 1024, "<b>" + "x" * 1024 + "</b>", "&amp;" * 1024, "🌱" * 1024])
def test_text_that_fits_stands_under_its_picture(html: str) -> None:
    letter = Letter("reply", html, buttons=ROWS, picture=PICTURE)
    assert parted(letter) == (letter,)


def test_text_too_long_follows_its_picture_with_buttons_and_working() -> None:
    letter = Letter("reply", "x" * 1025, buttons=ROWS, answers="7", details="why", picture=PICTURE)
    picture, text = parted(letter)
    assert text == replace(letter, picture=None)
    assert (picture.picture, picture.answers) == (PICTURE, "7")
    assert (picture.buttons, picture.details) == ((), None)
    assert 0 < len(picture.html) < 100


def test_long_text_without_a_picture_is_one_letter() -> None:
    letter = Letter("reply", "x" * 3000)
    assert parted(letter) == (letter,)
