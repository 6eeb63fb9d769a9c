"""Phrases by which a household adds a crop that is not in the table, and says what kind of plant it is."""

from __future__ import annotations

from bot.reader.findings import Finding, Phrase, Scene, found, no
from bot.reader.items import Item
from bot.reader.patterns import Hit
from domain.facts import Setting

__all__ = ["OWN_CROP_PHRASES", "adding"]

LONGEST_NAME = 40
"""No crop has a longer name that anybody types. [characters]"""

_GROUPS = (
    ("leafy", "leafy|leaf|salad (green|greens|crop|plant|vegetable)?"),
    ("leafy", "green|greens $$"),
    ("herb", "herb|herbs $$"),
    ("fruiting", "fruit|fruits|fruiting|FRUITING (crop|plant|vegetable|veg)?"),
    ("root", "root|roots (crop|plant|vegetable|veg)?"),
    ("flower", "flower|flowers|FLOWERING (crop|plant)?"),
)


def adding(name: str, bands: str) -> str:
    """What to type to add a crop with its bands."""
    return f"we grow {name}: {bands}"


def _named(scene: Scene, hit: Hit) -> str | None:
    """The name in a crop's place: the table's own where it means one, else as typed."""
    typed = " ".join((hit.typed("name") or "").split())
    if not typed or len(typed) > LONGEST_NAME or not any(letter.isalpha() for letter in typed):
        return None
    return scene.names.crops.get(typed.lower(), typed)


def _with_bands(scene: Scene, hit: Hit) -> Finding | None:
    from bot.reader.household import band_of  # that module offers these phrases for names it does not know

    crop = _named(scene, hit)
    if crop is None:
        return None
    settings: list[Setting] = []
    for number in ("", "2"):
        what = hit.item(f"what{number}")
        if what is None:
            continue
        band = band_of(scene, hit, crop, what, number)
        if not isinstance(band, Setting):
            return band
        settings.append(band)
    return found(*settings)


def _alone(scene: Scene, hit: Hit) -> Finding | None:
    crop = _named(scene, hit)
    if crop is None:
        return None
    return no("ambiguous") if crop in scene.names.crops.values() else found(Setting(name="crop", value=crop))


def _grouped(group: str) -> Phrase:
    def build(scene: Scene, hit: Hit) -> Finding | None:
        crop: Item | None = hit.item("crop")
        if crop is None or crop.value not in scene.settings.crops:
            return None  # of the table's crops it is known
        return found(Setting(name="crop_group", crop=crop.value, value=group))

    return Phrase(build)


_IS = "(is|to|=|:|of|at|are)?"
_BAND = f"<what> {_IS} (between)? <strength:low> -|to|and <strength:high>"
_BAND_2 = f"<what:what2> {_IS} (between)? <strength:low2> -|to|and <strength:high2>"
_STARTS = ("we|i grow", "ADD|ADDED|new|own crop :?")

OWN_CROP_PHRASES: tuple[tuple[str, Phrase], ...] = (
    *(
        (f"{start} <some:name> :|,|with|at {_BAND} {rest}", Phrase(_with_bands, stated=False))
        for start in _STARTS
        for rest in (f"(,|;|and|&)? {_BAND_2}", "$$")
    ),
    (f"{_STARTS[1]} <some:name> $$", Phrase(_alone, stated=False)),
    *((f"<crop> is|are {words}", _grouped(group)) for group, words in _GROUPS),
)
