"""The jar test as a short walk: a press asks for what the jar shows, the presser's next text answers."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import timedelta

from bot.assistant import sharing
from bot.assistant.exchange import Heard
from bot.assistant.hints import Hint, HintCode
from bot.assistant.record import Origin, keep, read_in
from bot.assistant.replies import TextShown
from bot.assistant.scene import Outcome, Scene
from bot.reader import Found, Read
from domain.dosing.measures import DILUTION
from domain.facts import Fact, JarTest, ProductRole, Reading
from storage.engine import Transaction
from storage.journal import Revision
from storage.questions import Asked

__all__ = ["TOPIC", "Shown", "answered", "begin", "corrected", "is_begun_by", "unasked", "shown_in"]

TOPIC = "jar"
PATIENCE = timedelta(hours=2)
"""How long the jar may take; later on a text is what it says."""
_SAME_WATER_FOR = timedelta(hours=12)
"""A jar is taken to have begun where the tank was last read, unless that is longer ago: our own rule."""

_NUMBER = r"(\d{1,3}(?:\.\d{1,3})?)"
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")
_ML = re.compile(rf"{_NUMBER}\s*(?:mls?|mil+il+it(?:er|re)s?|cc)\b")
_DROPS = re.compile(rf"{_NUMBER}\s*drops?\b")
_DROP_ML = 0.05
"""Pharmacists' rule: 20 drops a ml."""
_FROM = re.compile(rf"\b(?:from|was|before)\s*(?:ph\s*)?{_NUMBER}")
_BARE = re.compile(rf"\s*{_NUMBER}\s*(?:to|->|→)\s*(?:ph\s*)?{_NUMBER}\s*")
_INTO_THE_TANK = re.compile(r"^\s*(?:i |we )?(?:added|add|put|poured|topped|dosed|gave)\b")
_BEGIN = re.compile(r"(?:please )?(?:(?:do|start|begin|show)(?: me)? )?(?:an? |the )?jar[ -]?test[.!?]?")
_WHOLE = re.compile(
    rf"(?:jar(?: test)?:? )?{_NUMBER} ?(?:mls?|drops?)(?: from (?:ph )?{_NUMBER})? to (?:ph )?{_NUMBER}\.?"
)
_STOP = re.compile(r"\s*(?:stop|cancel|never ?mind|forget it)\s*[.!]?\s*")
_LOWEST_PH, _HIGHEST_PH, _MOST_ML = 3.0, 10.0, 50.0


@dataclass(frozen=True, slots=True)
class Shown:
    """What somebody says of a jar: ml of the mix, the pH it ended at, and the one before where it is said."""

    mix_ml: float
    ph_to: float
    ph_from: float | None = None


def shown_in(text: str) -> Shown | None:
    """``3 ml to 6.0``, ``from 6.9 to 6.0 with 3 ml``, ``40 drops, ph 6``; ``None`` if a part is missing."""
    rest = _DECIMAL_COMMA.sub(".", text.casefold())
    if _INTO_THE_TANK.match(rest):
        return None
    bare = _BARE.fullmatch(rest)
    if bare is not None and float(bare[1]) < _LOWEST_PH + 1.0:
        return _plausible(float(bare[1]), [float(bare[2])], None)
    drops, ml = _DROPS.search(rest), _ML.search(rest)
    amount = ml or drops
    if amount is None:
        return None
    mix_ml = float(amount[1]) * (1.0 if ml else _DROP_ML)
    rest = rest[: amount.start()] + " " + rest[amount.end() :]
    before = _FROM.search(rest)
    if before is not None:
        rest = rest[: before.start()] + " " + rest[before.end() :]
    shown = [float(number) for number in re.findall(rf"(?<![\d.]){_NUMBER}(?![\d.]*\d)", rest)]
    return _plausible(mix_ml, shown, float(before[1]) if before else None)


def _plausible(mix_ml: float, shown: list[float], before: float | None) -> Shown | None:
    if before is None and len(shown) == 2:
        before, shown = shown[0], shown[1:]
    if len(shown) != 1 or not 0.0 < mix_ml <= _MOST_ML:
        return None
    ends = [*shown, *([before] if before is not None else [])]
    if not all(_LOWEST_PH <= ph <= _HIGHEST_PH for ph in ends):
        return None
    return Shown(mix_ml, shown[0], before)


def is_begun_by(text: str) -> bool:
    """Whether a text asks for the jar test: ``jar test``, ``start a jar test``."""
    return _BEGIN.fullmatch(" ".join(text.casefold().split())) is not None


async def begin(tx: Transaction, scene: Scene, role: str | None) -> Outcome:
    """Shows the steps and waits for what the jar shows. role : of the adjuster, as the button has it."""
    ph = scene.tank.ph
    lowers = ph is None or ph.value >= scene.bands.ph.ideal_low
    if role not in ("ph_down", "ph_up"):
        role = "ph_down" if lowers else "ph_up"
    await tx.questions.drop(scene.chat.id, TOPIC)
    await tx.questions.ask(
        scene.household_id,
        scene.chat.id,
        scene.person.id,
        TOPIC,
        {"role": role, "ph_from": _fresh_ph(scene)},
        scene.now,
        scene.now + PATIENCE,
    )
    return Outcome(scene, replies=(TextShown(name="jar_test"),))


async def answered(tx: Transaction, scene: Scene, heard: Heard, asked: Asked | None) -> Outcome | None:
    """What a text says as the answer of a jar; ``None`` where it speaks for itself.

    asked : the open question of the jar; ``None`` where there is none.
    """
    if asked is None or asked.person_id != scene.person.id:
        return None
    if _STOP.fullmatch(heard.text.casefold()):
        await tx.questions.drop(scene.chat.id, TOPIC)
        return _hinted(scene, "jar_stopped")
    shown = shown_in(heard.text)
    if shown is None:
        return _hinted(scene, "jar_again") if _is_of_the_jar(scene, heard.text) else None
    ph_from = shown.ph_from if shown.ph_from is not None else asked.payload["ph_from"]
    fact = _fact(scene, asked.payload["role"], ph_from, shown)
    if not isinstance(fact, JarTest):
        return _hinted(scene, fact)
    if await tx.questions.take(asked.id, scene.now) is None:
        return Outcome(scene)
    return await keep(tx, scene, _read(fact, heard.text), Origin(heard.message, heard.text, "answered"))


async def unasked(tx: Transaction, scene: Scene, heard: Heard) -> Outcome | None:
    """``jar test``, and ``3 ml to 6.0`` where no question waits for it; ``None`` for any other text."""
    said = _DECIMAL_COMMA.sub(".", " ".join(heard.text.casefold().split()))
    begins = is_begun_by(heard.text)
    shown = shown_in(heard.text) if not begins and _WHOLE.fullmatch(said) else None
    if not begins and shown is None:
        return None
    no = await sharing.refused(tx, scene, "log")
    if no is not None:
        return Outcome(scene, replies=(no,))
    if shown is None:
        return await begin(tx, scene, None)
    ph_from = shown.ph_from if shown.ph_from is not None else _fresh_ph(scene)
    role: ProductRole = "ph_down" if ph_from is None or shown.ph_to < ph_from else "ph_up"
    fact = _fact(scene, role, ph_from, shown)
    if not isinstance(fact, JarTest):
        return _hinted(scene, fact)
    return await keep(tx, scene, _read(fact, heard.text), Origin.of(heard))


def _fresh_ph(scene: Scene) -> float | None:
    """The pH at which a jar of this tank's water begins; ``None`` where it was not read lately."""
    ph = scene.tank.ph
    is_fresh = ph is not None and ph.at is not None and scene.at - ph.at <= _SAME_WATER_FOR
    return ph.value if ph is not None and is_fresh else None


async def corrected(tx: Transaction, scene: Scene, standing: Revision, origin: Origin) -> Outcome | None:
    """A jar's answer said anew, by an edit or a correction; ``None`` where there is no jar to put right."""
    before = next((r.fact for r in standing.facts if isinstance(r.fact, JarTest)), None)
    shown = shown_in(origin.text)
    if before is None or shown is None:
        return None
    fact = replace(
        before,
        ml_per_l=shown.mix_ml / DILUTION,
        ph_to=shown.ph_to,
        ph_from=before.ph_from if shown.ph_from is None else shown.ph_from,
    )
    if not _goes_its_way(fact):
        return _hinted(scene, "jar_wrong_way")
    return await keep(tx, scene, _read(fact, origin.text), origin)


def _fact(scene: Scene, role: ProductRole, ph_from: float | None, shown: Shown) -> JarTest | HintCode:
    """The fact, or what is wrong with the answer."""
    if ph_from is None:
        return "jar_no_start"
    product = scene.tank.product(role)
    fact = JarTest(
        when=scene.at,
        role=role,
        name=product.name if product is not None else None,
        ph_from=ph_from,
        ph_to=shown.ph_to,
        ml_per_l=shown.mix_ml / DILUTION,
    )
    return fact if _goes_its_way(fact) else "jar_wrong_way"


def _goes_its_way(fact: JarTest) -> bool:
    return fact.ph_to < fact.ph_from if fact.role == "ph_down" else fact.ph_to > fact.ph_from


def _read(fact: Fact, text: str) -> Read:
    return Read(facts=(Found(fact=fact, span=(0, len(text))),), unclear=())


def _is_of_the_jar(scene: Scene, text: str) -> bool:
    """A pH alone is taken for the jar's, never for the tank's; whatever says more speaks for itself."""
    taken = read_in(scene, text)
    facts = [found.fact for found in taken.facts]
    if not facts:
        names_ml = _ML.search(text.casefold()) or _DROPS.search(text.casefold())
        return bool(taken.unclear or names_ml) and any(c.isdigit() for c in text)
    return all(isinstance(fact, Reading) and _is_ph_alone(fact) for fact in facts)


def _is_ph_alone(reading: Reading) -> bool:
    return replace(reading, when=None, tank=None, approx=None, ph_span=None) == Reading(ph=reading.ph)


def _hinted(scene: Scene, code: HintCode) -> Outcome:
    return Outcome(scene, replies=(Hint(code=code),))
