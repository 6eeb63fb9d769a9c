"""What a household asks of its seedlings, its packets and its harvest."""

from __future__ import annotations

from dataclasses import replace

from bot.reader.fillers import words
from bot.reader.findings import Finding, Phrase, Scene
from bot.reader.patterns import Hit
from bot.reader.questions import asked
from domain.facts import QuestionAbout

__all__ = ["PLANT_QUESTIONS"]

_BEFORE_LOT = words("the my our is are lot batch")
_SEED = "(SOW|seeds|seed|seedlings|seedling)?"


def _about(about: QuestionAbout) -> Phrase:
    return Phrase(lambda scene, hit: asked(scene, hit, about), stated=False)


def _lot_of_crop(scene: Scene, hit: Hit) -> Finding:
    """``how is the corner shop basil doing``: the crop out of the packet that is named before it."""
    items = hit.items("lot")
    while items and items[0].key in _BEFORE_LOT:
        items = items[1:]
    if not items:
        return asked(scene, hit, "site")
    of_crop = asked(scene, hit, "seed_lot")
    lot = scene.line.cleaned.raw(items[0].start, items[-1].end)
    return replace(of_crop, facts=(replace(of_crop.facts[0], lot=lot),))  # type: ignore[call-arg]


_EACH = "per|by|each|every site|sites|place|week|weeks|crop|crops"

PLANT_QUESTIONS: tuple[tuple[str, Phrase], ...] = (
    (f"WHATS|what|which|anything {_SEED} (is|are|has|have|should|will)? EMERGED", _about("site")),
    (f"WHATS|what|which {_SEED} (is|are|has|have|should|will)? come|coming up|UP", _about("site")),
    ("has|have|did <gap> <plant> <gap> EMERGED|GERMINATE|come|emerge|sprout", _about("site")),
    ("is|are <gap> <plant> up|UP|EMERGED yet", _about("site")),
    ("is|are <sites> (up|UP) ?", _about("site")),
    ("when|WHENS <gap> <plant> <gap> EMERGED|GERMINATE|come|emerge|sprout", _about("site")),
    (f"HOWIS|how (the|my|our)? <crop> {_SEED} doing|germinating|coming|going|growing", _about("site")),
    (
        f"HOWIS|how <some:lot> <crop> {_SEED} doing|germinating|coming|going",
        Phrase(_lot_of_crop, stated=False),
    ),
    ("HOWMUCH <crop> <gap> PICKED|picked|harvested|pick|harvest", _about("harvest")),
    (f"HOWMUCH <gap> PICKED|picked|harvested|pick|harvest|yielded|yield {_EACH}", _about("harvest")),
    (f"<crop>? yield|yields|harvest|harvests|PICKED {_EACH}", _about("harvest")),
    ("bands|band|range|ranges|targets (for|of) <gap> <crop>", _about("bands")),
)
