"""Somebody opens the room for the first time: reading, dose, reminder, in private and in the group."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Locator, Page, expect

SITES = {"Wren": "B1", "Idris": "B2"}
"""Where each of them sows; a site holds one plant."""


def write(page: Page, text: str) -> None:
    page.get_by_role("textbox").fill(text)
    page.get_by_role("button", name="Write down").click()


def newest(page: Page) -> Locator:
    """The newest entry of the assistant."""
    return page.locator("article.assistant").last


def who(page: Page) -> str:
    """Each width has a person of its own, so that both begin with an empty page."""
    return "Wren" if page.viewport_size and page.viewport_size["width"] > 1000 else "Idris"


def settled(page: Page, person: str) -> None:
    page.get_by_role("radio", name=person).check(force=True)
    page.get_by_role("radio", name="Own page").check(force=True)
    expect(page.get_by_label(f"{person} writes")).to_be_editable()


def test_from_the_first_reading_to_a_dose_and_a_reminder(page: Page) -> None:
    settled(page, who(page))
    expect(page.get_by_text("Nothing is written here yet")).to_be_visible()
    page.get_by_role("button", name="ph 6.6 ppm 720 temp 19").click()
    page.keyboard.press("Enter")
    first = page.locator("article.assistant").first
    expect(first).to_contain_text("6.6")
    first.get_by_role("button", name="Why").click()
    expect(newest(page)).to_contain_text("Bands")

    write(page, "ph down is phosphoric acid 10 %")
    write(page, "how much adjuster for 40 litres")
    expect(newest(page)).to_contain_text(re.compile(r"\d ml"))

    write(page, "chart ph")
    expect(newest(page).locator("img")).to_be_visible()
    assert newest(page).locator("img").evaluate("image => image.complete && image.naturalWidth") == 1080

    write(page, "remind us to rinse the filter every 2 weeks on sunday at 6pm")
    expect(newest(page)).to_contain_text("rinse the filter")

    slip = page.locator("#understood")
    if slip.get_attribute("open") is None:
        slip.locator("summary").click()
    expect(slip).to_contain_text("pH 6.6, 720 ppm and 19 °C")
    expect(slip.locator(".dues")).to_contain_text("rinse the filter")


def test_in_the_group_a_good_reading_is_only_marked(page: Page) -> None:
    page.get_by_role("radio", name=who(page)).check(force=True)
    page.get_by_role("radio", name="Landing shelf").check(force=True)
    expect(page.get_by_role("heading", name="Landing shelf")).to_be_attached()
    for told in ("tank holds 40 L", "we use the 500 scale", f"sowed lettuce in {SITES[who(page)]}"):
        write(page, told)
        expect(page.locator("article.own").last).to_contain_text(told)
        expect(page.locator("article.own").last.locator(".reaction")).to_be_visible()
    answers = page.locator("article.assistant").count()
    write(page, "ph 5.9 ppm 720 temp 19")
    expect(page.locator("article.own").last.locator(".reaction")).to_be_visible()
    expect(page.locator("article.assistant")).to_have_count(answers)


def test_in_the_group_a_high_reading_brings_a_dose_and_a_chart_and_a_reminder(page: Page) -> None:
    page.get_by_role("radio", name=who(page)).check(force=True)
    page.get_by_role("radio", name="Landing shelf").check(force=True)
    expect(page.get_by_role("heading", name="Landing shelf")).to_be_attached()
    write(page, "how much ph down for 40 litres from 6.8 to 5.9")
    expect(newest(page)).to_contain_text("Goggles")
    write(page, "/chart")
    expect(newest(page).locator("img")).to_be_visible()
    write(page, "remind us to clean the pump every month")
    mine = page.locator("article.own").last
    expect(mine).to_contain_text("clean the pump")
    expect(mine.locator(".reaction")).to_be_visible()


def test_nothing_runs_off_the_side(page: Page) -> None:
    settled(page, who(page))
    write(page, "/settings")
    expect(newest(page)).to_contain_text("tank")
    width = page.viewport_size["width"] if page.viewport_size else 0
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.locator("#log").evaluate("log => log.scrollWidth <= log.clientWidth")


def test_by_keyboard_alone(page: Page) -> None:
    settled(page, who(page))
    page.get_by_role("textbox").focus()
    page.keyboard.type("tank holds 40 L")
    page.keyboard.press("Enter")
    mine = page.locator("article.own").last
    expect(mine).to_contain_text("tank holds 40 L")
    expect(page.get_by_role("textbox")).to_have_value("")
    page.keyboard.press("ArrowUp")
    expect(page.get_by_role("textbox")).to_have_value("tank holds 40 L")
    page.keyboard.press("Control+A")
    page.keyboard.type("tank holds 42 L")
    page.keyboard.press("Enter")
    expect(mine).to_contain_text("42 L")
    expect(mine).to_contain_text("amended")


@pytest.mark.parametrize("role", ["textbox", "button", "radio", "img", "link"])
def test_everything_to_use_has_a_name_for_those_who_listen(page: Page, role: str) -> None:
    settled(page, who(page))
    found = page.get_by_role(role).all()  # type: ignore[arg-type]
    nameless = [one for one in found if not _name(one)]
    assert nameless == []
    assert found or role in ("img", "link")


def _name(one: Locator) -> str:
    labels = "[...(element.labels ?? [])].map(label => label.innerText).join(' ')"
    return str(one.evaluate(f"element => element.ariaLabel || element.alt || element.innerText || {labels}"))
