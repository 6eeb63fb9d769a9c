"""The chat page: served whole, self-contained, labelled, and legible in light and dark."""

from __future__ import annotations

import re
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path

import pytest
from aiohttp import ClientSession

from demo.room import pages
from demo.room.pages import FILES, add_page
from demo.room.platform import Platform

FOLDER = Path(pages.__file__).parent / "page"
STYLE = (FOLDER / "style.css").read_text("utf-8")
SCRIPTS = {name: (FOLDER / name).read_text("utf-8") for name, _ in FILES.values() if name.endswith(".js")}


class Outline(HTMLParser):
    """The tags of a page, in order, with their attributes."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def all(self, *tags: str) -> list[dict[str, str | None]]:
        return [attributes for tag, attributes in self.tags if tag in tags]


PAGE = Outline((FOLDER / "index.html").read_text("utf-8"))


async def test_the_page_is_served_with_a_policy_that_lets_nothing_else_in() -> None:
    platform = Platform()
    platform.extend(add_page)
    async with platform, ClientSession() as session:
        for path, (name, kind) in FILES.items():
            async with session.get(f"http://127.0.0.1:{platform.port}{path}") as response:
                assert (response.status, response.content_type) == (200, kind)
                assert await response.read() == (FOLDER / name).read_bytes()
                policy = response.headers["Content-Security-Policy"]
                assert "default-src 'none'" in policy
                assert "unsafe" not in policy
        for path in ("/room.json", "/../serve.py", "/page/index.html"):
            async with session.get(f"http://127.0.0.1:{platform.port}{path}") as response:
                assert response.status == 404


def test_every_file_of_the_page_is_served_and_asks_for_no_other() -> None:
    assert {path.name for path in FOLDER.iterdir()} == {name for name, _ in FILES.values()}
    wanted = {attributes.get("href") or attributes.get("src") for attributes in PAGE.all("link", "script")}
    assert wanted <= {*FILES, "data:,"}
    for name, text in SCRIPTS.items():
        assert set(re.findall(r'from "\./([^"]+)"', text)) <= set(SCRIPTS), name
    assert "@import" not in STYLE
    assert "url(" not in STYLE
    assert "@font-face" not in STYLE


def test_the_script_finds_what_it_looks_for() -> None:
    ids = [attributes["id"] for _, attributes in PAGE.tags if "id" in attributes]
    assert max(Counter(ids).values()) == 1
    wanted = {name for text in SCRIPTS.values() for name in re.findall(r'\bat\("([^"]+)"\)', text)}
    assert len(wanted) >= 10
    assert wanted <= set(ids)


def test_everything_has_a_name_for_those_who_listen() -> None:
    ids = {attributes.get("id") for _, attributes in PAGE.tags}
    labelled = {attributes["for"] for attributes in PAGE.all("label")}
    fields = [attributes["id"] for attributes in PAGE.all("input", "textarea", "select")]
    assert fields
    assert set(fields) <= labelled
    for _, attributes in PAGE.tags:
        for relation in ("aria-labelledby", "aria-describedby"):
            assert attributes.get(relation, "title") in ids
        if attributes.get("role") in {"group", "log"}:
            assert "aria-label" in attributes or "aria-labelledby" in attributes
    assert len(PAGE.all("legend")) == len(PAGE.all("fieldset"))
    assert PAGE.all("html")[0]["lang"] == "en"
    assert any(attributes.get("role") == "log" and attributes.get("aria-live") for _, attributes in PAGE.tags)


def test_zooming_is_not_forbidden() -> None:
    (viewport,) = [
        attributes["content"] for attributes in PAGE.all("meta") if attributes.get("name") == "viewport"
    ]
    assert viewport is not None
    assert "user-scalable" not in viewport
    assert "maximum-scale" not in viewport


def colours(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6});", block))


LIGHT_BLOCK, DARK_BLOCK = re.findall(r":root \{(.*?)\}", STYLE, re.DOTALL)[:2]
SCHEMES = {"light": colours(LIGHT_BLOCK), "dark": {**colours(LIGHT_BLOCK), **colours(DARK_BLOCK)}}


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour. Source: WCAG 2.2, "relative luminance"."""

    def linear(part: str) -> float:
        value = int(part, 16) / 255
        return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(colour[at : at + 2]) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio, 1 to 21. Source: WCAG 2.2, "contrast ratio"."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_computed_as_the_guidelines_say() -> None:
    # WCAG 2.2 gives 21:1 for black on white; 4.54:1 for #767676 on white is from memory.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


# WCAG 2.2: text needs 4.5:1 (1.4.3, level AA); edges of controls and the focus mark need 3:1 (1.4.11).
@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize(
    ("ink", "ground", "least"),
    [
        ("ink", "sheet", 4.5),
        ("ink", "bench", 4.5),
        ("ink", "pressed", 4.5),
        ("faint", "sheet", 4.5),
        ("faint", "pressed", 4.5),
        ("assistant", "sheet", 4.5),
        ("sheet", "ink", 4.5),
        ("sheet", "assistant", 4.5),
        ("edge", "sheet", 3.0),
        ("edge", "bench", 3.0),
        ("margin", "bench", 3.0),
        ("margin", "sheet", 3.0),
        ("assistant-rule", "sheet", 3.0),
        ("focus", "sheet", 3.0),
        ("focus", "bench", 3.0),
    ],
)
def test_contrast(scheme: str, ink: str, ground: str, least: float) -> None:
    assert contrast(SCHEMES[scheme][ink], SCHEMES[scheme][ground]) >= least


def test_motion_only_where_it_is_welcome() -> None:
    welcome = STYLE.index("@media (prefers-reduced-motion: no-preference)")
    still = STYLE[:welcome]
    assert "transition" not in still
    assert "animation" not in still
    assert not re.search(r"(?<!over)scroll-behavior", still)
