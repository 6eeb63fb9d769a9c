"""The week in five lines: water, what came up, what was picked, what was looked after, what is ahead."""

from __future__ import annotations

from collections.abc import Mapping

from bot.assistant.buttons import button
from bot.assistant.chart_replies import DigestShown
from bot.assistant.exchange import Button
from bot.rendering.markup import Line, Strong, joined, line, name
from bot.rendering.voice import Voice, number
from bot.rendering.words import CARED, words_for
from domain.digest import Values, Week
from domain.due import Due

__all__ = ["digest_buttons", "digest_lines"]

MOST_NAMED = 3
"""Of one kind; the rest is counted."""


def digest_lines(reply: DigestShown, voice: Voice) -> list[Line]:
    """Five lines, each of which says so where there is nothing."""
    week = reply.week
    return [
        line(Strong("Water"), f": {_water(week, voice)}."),
        line(Strong("Up"), f": {_counted(week.up) or 'nothing new'}."),
        line(Strong("Picked"), f": {_picked(week)}."),
        line(Strong("Done"), f": {_cared(week)}."),
        line(Strong("Ahead"), f": {_ahead(week.ahead, reply, voice)}."),
    ]


def digest_buttons(reply: DigestShown) -> tuple[tuple[Button, ...], ...]:
    """What turns it off, under one that came by itself."""
    if reply.reminder is None or reply.planned_at is None:
        return ()
    return ((button("No more digests", "off", reply.reminder, int(reply.planned_at.timestamp())),),)


def _water(week: Week, voice: Voice) -> str:
    if not week.water:
        return "not tested"
    parts = [_span(values, voice) for values in week.water]
    read = sum(values.readings for values in week.water)
    borne = sum(values.borne or 0 for values in week.water)
    return f"{joined(parts)}; {borne} of {read} values in band"


def _span(values: Values, voice: Voice) -> str:
    low, high = (voice.quantity(values.what, end) for end in (values.low, values.high))
    if low == high:
        return low
    unit = voice.unit(values.what)
    if values.what == "ph" or unit == "mS/cm":
        return f"{low}–{high.split(' ', 1)[1]}"
    return f"{low.removesuffix(unit).rstrip()}–{high}"


def _counted(counts: Mapping[str, int]) -> str:
    named = [f"{count} {name(crop)}" for crop, count in counts.items()]
    return _some(named)


def _picked(week: Week) -> str:
    named = [
        f"{number(grams, 0)} g {name(crop)}" if grams is not None else name(crop)
        for crop, grams in week.picked.items()
    ]
    return _some(named) or "nothing"


def _cared(week: Week) -> str:
    done = [
        words_for(CARED, task) + (f" ×{count}" if count > 1 else "") for task, count in week.cared.items()
    ]
    missed = [words_for(CARED, due.task) for due in week.missed]
    left = f". Missed: {_some(missed)}" if missed else ""
    return f"{_some(done) or 'nothing logged'}{left}"


def _ahead(dues: tuple[Due, ...], reply: DigestShown, voice: Voice) -> str:
    named = []
    for due in dues:
        at = (due.next_at or due.due_at).astimezone(voice.zone)
        named.append(f"{at:%a} {words_for(CARED, due.task) if due.task in CARED else name(due.text)}")
    return _some(named) or "nothing in the next 7 days"


def _some(named: list[str]) -> str:
    """The first few, the rest as a number."""
    if len(named) <= MOST_NAMED:
        return joined(named)
    return f"{', '.join(named[:MOST_NAMED])} and {len(named) - MOST_NAMED} more"
