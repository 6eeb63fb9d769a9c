"""Somebody hurt by what stands beside the tank, in the main languages of Europe, and with one word misspelt.

Each word of a sentence becomes one letter of its kind, so that a table of short patterns can be tried on all.
Sources of the words: common dictionaries, from memory.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

from bot.reader.fillers import words
from bot.reader.items import Line
from bot.reader.scan import Token

__all__ = ["exposure_in"]

_KINDS: tuple[tuple[str, frozenset[str]], ...] = (
    (
        "C",  # caustics, bleach and plant food
        words(
            "acid lye koh hydroxide bleach peroxide phosphoric nitric sulfuric sulphuric nutrients "
            "fertilizer fertiliser säure saeure phosphorsäure salpetersäure lauge zitronensäure "
            "natronlauge kalilauge bleiche chlorreiniger dünger duenger nährlösung acido acidos lejia "
            "sosa fertilizante lixivia adubo acide soude javel engrais candeggina varechina concime "
            "fertilizzante zuur loog bleekmiddel kwas kwasu lug lugu wybielacz nawoz"
        ),
    ),
    ("E", words("eye eyes ey eys eyeball")),
    (
        "F",  # eye, mouth and skin in other languages
        words(
            "auge augen ojo ojos olho olhos oeil œil yeux occhio occhi oog ogen oko oku oczy oczu haut piel "
            "pele peau pelle huid skora skore skorze mund boca bouche bocca"
        ),
    ),
    ("A", words("hands arms fingers legs feet")),
    ("K", words("skin face mouth lips throat nose")),
    (
        "D",
        words(
            "drank drunk drinked swallowed ingested gulped getrunken trank verschluckt geschluckt bebio "
            "bebido tragado trago bebeu engoliu bebi bu avale avala bevuto ingerito ingoiato gedronken "
            "ingeslikt doorgeslikt wypil wypila wypilo polknal polknela polknelo"
        ),
    ),
    ("P", words("in into on onto over")),
    (
        "R",
        words(
            "burning burns stinging stings brennt brennen quema arde queima arden queman brule bruciano "
            "brucia brandt piecze"
        ),
    ),
    ("I", words("is are was")),
    (
        "X",
        words(
            "vergiftet vergiftung envenenado envenenada intoxicado empoisonne empoisonnee avvelenato "
            "avvelenata vergiftigd vergiftiging zatruty zatruta zatrucie"
        ),
    ),
    (
        "N",  # not so, or not yet
        words(
            "if when would could should can might may prevent avoid never not don't dont didn't almost "
            "nearly wenn falls nicht kein si caso non als niet nie jesli nunca nao pas"
        ),
    ),
    ("O", frozenset(("no",))),  # a denial, and ``in the`` in Portuguese
    (
        "H",
        words(
            "jazz sun sunburn screen sunscreen pollen chili chilli onion onions spicy soup shampoo soap wind"
        ),
    ),
)
_KIND_OF = {word: kind for kind, members in _KINDS for word in members}
_TOLD = re.compile(
    r"C[^NO]{0,3}?P[^NO]{0,2}?[EKA]|^\.{0,2}C\.?E$|C[^N]{0,4}?F|D[^NO]{0,4}?C|C[^NO]{0,3}?D|[KF][I.]?R|R[^NO]{0,3}?F|X"
)
_DENIED = re.compile(r"[NO]")
_MISSPELT = {
    word: _KIND_OF[word]
    for word in words(
        "acid bleach peroxide hydroxide fertilizer nutrients eyes skin mouth throat drank swallowed burning "
        "säure acido acide lauge augen getrunken verschluckt"
    )
}
_OTHER_WORDS = words(
    "acids avid arid amid add skim skip kin skein month south moth mount thread beach breach bleached drink "
    "drunk dank crank frank drain burnings learning turning bearing yes byes dyes"
)
"""Words one slip away from one of these that mean what they say."""
_ELIDED = re.compile(r"^(?:[dl]|dell|nell|sull|all)['’]")
_CRY = words("emergency notfall emergencia urgence urgencia emergenza noodgeval sos mayday")
_ABOUT_CRY = _CRY | words(
    "medical help please it's its it is this an a we i have there 's quick une un una ein es ist"
)
_MOST_WORDS = 4
"""So many words are looked up as misspelt, in one sentence."""


@dataclass(frozen=True, slots=True)
class _Sentence:
    tokens: tuple[Token, ...]
    kinds: str


def exposure_in(line: Line) -> tuple[int, int] | None:
    """The first and the last item that tell of somebody hurt; ``None`` where none do."""
    said = [token for token in line.tokens if token.kind == "w"]
    if len(said) <= len(_ABOUT_CRY) and said and not _CRY.isdisjoint(t.text for t in said):
        numbered = any(token.kind == "n" for token in line.tokens)
        if not numbered and all(
            _folded(token.text) in _ABOUT_CRY or token.text in _ABOUT_CRY for token in said
        ):
            return 0, len(line.items) - 1
    for sentence in _sentences(line.tokens):
        for kinds in _spelt(sentence):
            told = _TOLD.search(kinds)
            if told is not None and _is_so(kinds, told):
                first, last = sentence.tokens[told.start()], sentence.tokens[told.end() - 1]
                return _items_of(line, first.start, last.end)
    return None


def _is_so(kinds: str, told: re.Match[str]) -> bool:
    """Neither denied before it, nor a burn that the sun or an onion gave."""
    if _DENIED.search(kinds[: told.start()]):
        return False
    return "H" not in kinds or "C" in told[0] or "X" in told[0]


def _sentences(tokens: list[Token]) -> Iterator[_Sentence]:
    start = 0
    for end in range(len(tokens) + 1):
        if end == len(tokens) or (tokens[end].kind == "p" and tokens[end].text in (".", "!", "?", "\n", ";")):
            heard = tuple(token for token in tokens[start:end] if token.kind != "p")
            if heard:
                yield _Sentence(heard, "".join(_kind(heard, i) for i in range(len(heard))))
            start = end + 1


def _kind(heard: tuple[Token, ...], i: int) -> str:
    text = heard[i].text
    if text in ("down", "up", "minus", "plus", "donw", "dwon", "dow", "dwn", "dowm"):
        return "C" if i and heard[i - 1].text == "ph" else "."
    bare = _ELIDED.sub("", text)  # ``l'acide``
    return _KIND_OF.get(text) or _KIND_OF.get(bare) or _KIND_OF.get(_folded(bare)) or "."


def _folded(text: str) -> str:
    """The word without accents: ``ácido`` is typed as ``acido`` as often."""
    if text.isascii() or any(sign in text for sign in "äöü"):
        return text
    bare = unicodedata.normalize("NFKD", text.replace("ł", "l"))
    return "".join(sign for sign in bare if not unicodedata.combining(sign))


def _spelt(sentence: _Sentence) -> Iterator[str]:
    """The kinds of the words as typed, then with each word that nobody knows as the one it is a slip of."""
    kinds = sentence.kinds
    yield kinds
    if not any(kind in "CEFKDR" for kind in kinds):
        return
    from rapidfuzz import process
    from rapidfuzz.distance import OSA

    left = _MOST_WORDS
    for i, token in enumerate(sentence.tokens):
        text = token.text
        if not left:
            return
        if kinds[i] != "." or len(text) < 4 or text in _OTHER_WORDS or token.kind != "w":
            continue
        near = process.extractOne(text, _MISSPELT.keys(), scorer=OSA.distance, score_cutoff=1)
        if near is not None and near[0][0] == text[0]:
            left -= 1
            yield kinds[:i] + _MISSPELT[near[0]] + kinds[i + 1 :]


def _items_of(line: Line, start: int, end: int) -> tuple[int, int] | None:
    inside = [i for i, item in enumerate(line.items) if item.start < end and item.end > start]
    return (inside[0], inside[-1]) if inside else None
