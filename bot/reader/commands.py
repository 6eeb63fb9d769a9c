"""Orders to the assistant: a whole message that starts with the name of one."""

from __future__ import annotations

from bot.reader.charts import wishes_chart
from bot.reader.fillers import words
from bot.reader.scan import Cleaned, Token
from domain.facts import Command

__all__ = ["command_in"]

_ALONE = frozenset(("due", "plants", "undo", "export", "journal", "chart"))
_WITH_ARGS = frozenset(("chart", "journal", "export", "undo"))
_UNDO_WORDS = frozenset(("that", "last", "it", "this", "the", "one", "entry", "message", "please", "my"))
_TALK = words("is looks look the was are has have of and my our good nice for s 's who what why when")
"""After the name of a command these words make it talk: ``the chart looks good``."""

MAX_WORDS, MAX_CHART_WORDS = 8, 14


def command_in(cleaned: Cleaned, tokens: list[Token]) -> Command | None:
    """The command that the message is, if it is one."""
    slash = tokens[0].text == "/"
    words = tokens[1:] if slash else tokens
    if not words or len(words) > MAX_CHART_WORDS or (slash and words[0].gap):
        return None
    if words[0].text not in _ALONE:
        return None if slash else _chart_in(cleaned, words)
    if len(words) > MAX_WORDS and words[0].text != "chart":
        return None
    name, args = words[0].text, words[1:]
    while args and args[-1].text in (".", "!"):
        args = args[:-1]
    if not args:
        return Command(name=name)
    if slash and args[0].text == "@":
        args = args[2:]
        if not args:
            return Command(name=name)
    if not slash and (name not in _WITH_ARGS or any(token.text == "?" for token in args)):
        return None
    if not slash and args[0].text in _TALK:
        return None
    if name == "undo" and not all(token.text in _UNDO_WORDS for token in args):
        return None
    return Command(name=name, args=cleaned.raw(args[0].start, args[-1].end))


def _chart_in(cleaned: Cleaned, tokens: list[Token]) -> Command | None:
    """``ph and ec since the water change``: a wish for a chart that does not begin with the word."""
    start = wishes_chart(tokens)
    if start is None:
        return None
    return Command(name="chart", args=cleaned.raw(tokens[start].start, tokens[-1].end).rstrip("?!. "))
