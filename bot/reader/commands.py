"""Orders to the assistant: a whole message that starts with the name of one."""

from __future__ import annotations

import re

from bot.reader.charts import names_picture, wishes_chart
from bot.reader.fillers import words
from bot.reader.lexicon import SLOTS
from bot.reader.names import Names
from bot.reader.recurrence import repeat_at
from bot.reader.scan import Cleaned, Token
from bot.reader.sites import sites_at
from bot.reader.times import time_at
from domain.facts import Command

__all__ = ["command_in"]

_ALONE = frozenset(("due", "plants", "undo", "export", "journal", "chart"))
_UNDO_WORDS = frozenset(("that", "last", "it", "this", "the", "one", "entry", "message", "please", "my"))
_TALK = words("of is are was has have looks look and my our good nice s 's who what why when the")
"""After the name of a command these words make it talk: ``the chart looks good``."""
_LEADS = words("for in on with")
"""After the name of a command these words want a thing that we keep: ``journal for B2``."""
_POLITE = words("please pls plz")
_SPANS = words("today tomorrow tonight this next now soon week weekend month day days")
_ADDRESSED = re.compile(r"\s*(/\w+)@\w+")
"""``/chart@name``: in a group an order says to whom it is given."""

MAX_WORDS, MAX_CHART_WORDS = 8, 14


def command_in(cleaned: Cleaned, tokens: list[Token], names: Names) -> Command | None:
    """The command that the message is, if it is one; its arguments as typed."""
    slash = tokens[0].text == "/"
    order = tokens[1:] if slash else tokens
    if not slash and order[0].text in _POLITE:
        order = order[1:]
    if not order or len(order) > MAX_CHART_WORDS or (slash and order[0].gap):
        return None
    if order[0].text not in _ALONE:
        return None if slash else _chart_in(cleaned, tokens)
    name, args = order[0].text, order[1:]
    if slash and (addressed := _ADDRESSED.match(cleaned.text)):
        args = [token for token in args if token.start >= addressed.end()]
    while args and args[-1].text in (".", "!"):
        args = args[:-1]
    if len(args) >= MAX_WORDS and name != "chart":
        return None
    if args and not (slash or _are_arguments(name, args, names)):
        return None
    if name == "undo" and not all(token.text in _UNDO_WORDS for token in args):
        return None
    return Command(name=name, args=cleaned.raw(args[0].start, args[-1].end) if args else None)


def _are_arguments(name: str, args: list[Token], names: Names) -> bool:
    """Whether what follows the name of a command, with no stroke before it, is meant for it."""
    first = args[0].text
    if any(token.text == "?" for token in args) or first in _TALK:
        return False
    if name == "due":
        return all(token.text in _SPANS or token.text in _POLITE or token.kind == "n" for token in args)
    if name == "plants" or first in _LEADS:
        at = 1 if first in _LEADS else 0
        return first in _POLITE or (at < len(args) and _is_kept(args, at, names))
    return True


def _is_kept(tokens: list[Token], i: int, names: Names) -> bool:
    """Whether something that we keep starts at token ``i``: a value, a plant, a place, a day."""
    name = names.at(tokens, i)
    if name is not None and (name.key in SLOTS or name.key in ("#crop", "#site", "#tank", "TANK")):
        return True
    if sites_at(tokens, i) is not None or repeat_at(tokens, i) is not None:
        return True
    return time_at(tokens, i, day_first=True) is not None


def _chart_in(cleaned: Cleaned, tokens: list[Token]) -> Command | None:
    """``ph and ec since the water change``: a wish for a chart that does not begin with the word.

    ``ec over the last week?`` asks, and an answer in words is what it asks for.
    """
    start = wishes_chart(tokens)
    if start is None or (tokens[-1].text == "?" and not names_picture(tokens)):
        return None
    return Command(name="chart", args=cleaned.raw(tokens[start].start, tokens[-1].end).rstrip("?!. "))
