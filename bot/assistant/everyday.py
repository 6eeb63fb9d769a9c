"""Plain questions and words of courtesy said to the assistant itself, outside the message contract."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from bot.assistant import garden, orders
from bot.assistant.garden_replies import StockShown
from bot.assistant.hints import Hint, HintCode
from bot.assistant.replies import Reply
from bot.assistant.scene import Scene
from domain.facts import Question
from storage.engine import Transaction

__all__ = ["everyday"]

_WE = r"(?:we|i|you)"
_ORDERS: tuple[tuple[str, re.Pattern[str]], ...] = tuple(
    (command, re.compile(pattern))
    for command, pattern in (
        (
            "plants",
            rf"what(?: is|'s|s| do {_WE}| are {_WE}) (?:growing|grow)(?: now| here| right now)?",
        ),
        ("reminders", r"(?:please )?(?:stop|delete|cancel|drop|end) (?:all )?(?:the |my |our )?reminders"),
    )
)
_HARVEST = re.compile(rf"(?:what|how much) (?:did|have) {_WE} (?:harvest|pick)(?:ed)?(?: so far| yet)?")
_STOCK = re.compile(
    r"(?:our |the )?(?:stock|supplies)|what(?: is|'s| do we have) in stock|"
    r"how (?:many|much) (?P<item>[a-z -]{2,30}?) "
    rf"(?:do {_WE} (?:still )?have(?: left)?|(?:are|is) (?:still )?left)"
)
_COURTESY: Mapping[str, HintCode] = MappingProxyType(
    {
        **dict.fromkeys(("hello", "hi", "hey", "good morning", "good evening", "hello there"), "hello"),
        **dict.fromkeys(("thanks", "thank you", "thx", "many thanks", "thanks a lot", "cheers"), "thanks"),
        **dict.fromkeys(("we are back", "we're back", "i am back", "i'm back", "back home"), "welcome_back"),
    }
)


async def everyday(tx: Transaction, scene: Scene, text: str) -> tuple[Reply, ...]:
    """The answer to a text in which the reader finds nothing; empty where it is nothing of the kind."""
    said = " ".join(text.lower().replace("’", "'").split()).rstrip("?!. ")
    if said in _COURTESY:
        return (Hint(code=_COURTESY[said]),)
    for command, pattern in _ORDERS:
        if pattern.fullmatch(said):
            return await orders.obey(tx, scene, command, "")
    if _HARVEST.fullmatch(said):
        answer = garden.answer(scene, Question(about="harvest"), said)
        return (answer,) if answer is not None else ()
    stock = _STOCK.fullmatch(said)
    return (_stock(scene, stock["item"] or ""),) if stock else ()


def _stock(scene: Scene, item: str) -> StockShown:
    """What is left of what is named; of everything where nothing of that name was told of."""
    stem = item.strip().removesuffix("s")
    named = tuple(each for each in scene.supplies if stem and stem in each.item.lower())
    return StockShown(supplies=named or scene.supplies)
