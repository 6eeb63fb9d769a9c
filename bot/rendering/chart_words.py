"""What a chart says in words: the last value, how it moves, and when it leaves its band."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta

from bot.assistant.chart_replies import ChartPanel, ChartShown, NothingDrawn, TrendShown
from bot.rendering.brevity import OUT_OF_BAND, Part, brief, said
from bot.rendering.markup import Code, Line, Strong, joined, line
from bot.rendering.voice import Voice, number, round_to
from bot.rendering.words import HANDS, WHAT, words_for
from domain.forecast import Leaves, TooLittle, Trend
from domain.history import Quantity

__all__ = [
    "chart_lines",
    "leaves_words",
    "moves_words",
    "nothing_lines",
    "panel_titles",
    "place_words",
    "span_words",
    "trend_lines",
    "too_little_words",
]

_SOON = timedelta(days=2)


def panel_titles(shown: ChartShown, voice: Voice) -> Mapping[Quantity, tuple[str, str, str]]:
    """For each panel its name, where to keep its value and the newest one, as the picture writes them."""
    return {
        panel.what: (
            _titled(words_for(WHAT, panel.what)),
            _keep(panel, voice),
            f"{voice.quantity(panel.what, panel.last.value)}{place_words(panel)}",
        )
        for panel in shown.panels
    }


def _titled(name: str) -> str:
    return name if name == "pH" else name.capitalize()


def chart_lines(shown: ChartShown, voice: Voice) -> tuple[list[Line], list[Line]]:
    """The caption: the time, a line for each value, and which of them leaves its band first.

    Returns the lines, and those that had to give way.
    """
    parts = [said(f"{span_words(shown.since, shown.until, voice)}.")]
    parts.append(Part(tuple(_panel_line(panel, voice) for panel in shown.panels)))
    leaving = [(panel.leaves, panel.what) for panel in shown.panels if panel.leaves is not None]
    if leaving:
        leaves, what = min(leaving, key=lambda each: each[0].at)
        parts.append(said(leaves_words(leaves, what, voice, shown.now), rank=1))
    if shown.missing:
        parts.append(said(f"Not read in that time: {_named(shown.missing)}."))
    untold = _untold([panel.trend for panel in shown.panels if isinstance(panel.trend, TooLittle)])
    parts.append(Part(tuple(untold), rank=2))
    return brief(parts, OUT_OF_BAND)


def trend_lines(reply: TrendShown, voice: Voice) -> tuple[list[Line], list[Line]]:
    """How the values move and when each leaves its band; and what a single one is told from, for ``why``."""
    lines: list[Line] = []
    for panel in reply.panels:
        lines.append(_panel_line(panel, voice))
        if panel.leaves is not None:
            lines.append(line(leaves_words(panel.leaves, panel.what, voice, reply.now)))
    if len(reply.panels) > 1:
        lines += _untold([panel.trend for panel in reply.panels if isinstance(panel.trend, TooLittle)])
        return lines, []
    grounds = [each for panel in reply.panels for each in _grounds(panel, voice)]
    has_trend = any(isinstance(panel.trend, Trend) for panel in reply.panels)
    return (lines, grounds) if has_trend else (lines + grounds, [])


def _grounds(panel: ChartPanel, voice: Voice) -> list[Line]:
    """What a trend is told from; for too few readings, how many make one."""
    if isinstance(panel.trend, TooLittle):
        return [line(f"No trend yet: {too_little_words(panel.trend)}. Three over half a day make one.")]
    if not isinstance(panel.trend, Trend):
        return []
    moves = panel.trend
    since = f" since the {HANDS[moves.hand.kind]} of {voice.date(moves.hand.at)}" if moves.hand else ""
    hourly = ""
    if not moves.is_steady:
        hourly = f", {_change(moves.what, abs(moves.per_hour), voice, more=1)} an hour"
    said = f"From {moves.readings} readings{since}{hourly}."
    if panel.leaves is not None and panel.leaves.latest is not None:
        said += " 8 in 10 fall between those times."
    return [line(said)]


def nothing_lines(reply: NothingDrawn, voice: Voice) -> list[Line]:
    """That there is nothing to draw, and what to do about it."""
    what = _named(reply.whats) if reply.whats else "reading"
    if reply.latest is None:
        return [line(f"Nothing to draw yet: no {what} was logged. Send one, e.g. {_example(reply.whats)}.")]
    spoken = "".join(f" {_SPOKEN[each]}" for each in reply.whats)
    days = max(1, -(-(reply.now - reply.latest) // timedelta(days=1)) + 1)
    return [
        line(f"Nothing to draw: no {what} from {span_words(reply.since, reply.until, voice)}."),
        line(f"The last is of {voice.date(reply.latest)}. Try: ", Code(f"chart{spoken} {days} days")),
    ]


def moves_words(moves: Trend, voice: Voice) -> str:
    """``Up 0.12 a day.`` or ``Steady.``"""
    if moves.is_steady:
        return "Steady."
    way = "Up" if moves.per_day > 0 else "Down"
    return f"{way} {_change(moves.what, abs(moves.per_day), voice)} a day."


def leaves_words(leaves: Leaves, what: Quantity, voice: Voice, now: datetime) -> str:
    """``pH too high from about Thu 7 May (Wed 6 May to Sat 9 May).``"""
    name = _titled(words_for(WHAT, what))
    begin, about = _when(leaves.soonest, voice, now), _when(leaves.at, voice, now)
    if leaves.latest is None:
        return f"{name} may be too {leaves.side} from {begin}, or not at all."
    end = _when(leaves.latest, voice, now)
    if begin == end:
        return f"{name} too {leaves.side} from about {about}."
    return f"{name} too {leaves.side} from about {about} ({begin} to {end})."


def too_little_words(moves: TooLittle) -> str:
    """``2 readings since the top-up``: why there is no trend."""
    count = f"{moves.readings or 'no'} reading{'s' if moves.readings > 1 else ''}"
    return f"{count} since the {HANDS[moves.hand.kind]}" if moves.hand is not None else count


def span_words(since: datetime, until: datetime, voice: Voice) -> str:
    """``Sat 4 Apr to Sun 3 May``; with the years where they differ, once for one day."""
    first, last = voice.date(since), voice.date(until)
    if since.astimezone(voice.zone).year != until.astimezone(voice.zone).year:
        first, last = (f"{voice.date(at)} {at.astimezone(voice.zone):%Y}" for at in (since, until))
    return first if first == last else f"{first} to {last}"


def _untold(silent: list[TooLittle]) -> list[Line]:
    """One line for the values that have no trend yet."""
    if not silent:
        return []
    named = joined([words_for(WHAT, each.what) for each in silent])
    fewest = min(silent, key=lambda each: each.readings)
    return [line(f"No trend yet for {named}: {too_little_words(fewest)}.")]


def _panel_line(panel: ChartPanel, voice: Voice) -> Line:
    value = voice.quantity(panel.what, panel.last.value)
    place = place_words(panel)
    said = [Strong(f"{value}{place}"), "."]
    if panel.verdict is not None and panel.verdict.needs_action:
        said = [Strong(f"{value}{place}"), f" ({_keep(panel, voice)})."]
    if isinstance(panel.trend, Trend):
        said.append(f" {moves_words(panel.trend, voice)}")
    return line(*said)


def place_words(panel: ChartPanel) -> str:
    """``, a bit high``: what stands behind the newest value."""
    if panel.last.doubted:
        return " (doubted)"
    return _PLACES[panel.verdict.place] if panel.verdict is not None else ""


_PLACES = {
    "in": ", in band",
    "near_low": ", a bit low",
    "near_high": ", a bit high",
    "low": ", low",
    "high": ", high",
}


def _keep(panel: ChartPanel, voice: Voice) -> str:
    """``keep 5.5–6.5``: the newest band of the picture."""
    if not panel.bands:
        return ""
    low, high = panel.bands[-1].tolerable
    if panel.what == "level_l":
        return f"lowest {voice.volume(low)}"
    ends = (voice.figure(panel.what, low), voice.figure(panel.what, high))
    if panel.what == "ec_ms_cm" and voice.ppm_scale is not None:
        return f"keep {round_to(ends[0], 10)}–{round_to(ends[1], 10)}"
    decimals = 0 if panel.what == "water_temp_c" else 1
    return f"keep {number(ends[0], decimals)}–{number(ends[1], decimals)}"


def _change(what: Quantity, amount: float, voice: Voice, *, more: int = 0) -> str:
    """How far a value moves, with its unit; ``more`` digits than for a day."""
    if what == "water_temp_c":
        degrees = amount * 9 / 5 if voice.units == "us" else amount
        return f"{number(degrees, 1 + more)} °{'F' if voice.units == 'us' else 'C'}"
    figure = voice.figure(what, amount)
    if what == "ec_ms_cm" and voice.ppm_scale is not None:
        return f"{number(figure, more)} ppm"
    unit = voice.unit(what) if what == "level_l" else ""
    return f"{number(figure, 2 + more)} {unit}".strip()


def _when(at: datetime, voice: Voice, now: datetime) -> str:
    if at <= now:
        return "now"
    return voice.moment(_on_the_hour(at), now) if at - now < _SOON else voice.date(at)


def _on_the_hour(at: datetime) -> datetime:
    return (at + timedelta(minutes=30)).replace(minute=0, second=0, microsecond=0)


_SPOKEN: Mapping[Quantity, str] = {
    "ph": "ph",
    "ec_ms_cm": "ec",
    "water_temp_c": "temp",
    "level_l": "level",
}
"""What may be typed for each value."""


def _named(whats: tuple[Quantity, ...]) -> str:
    return joined([words_for(WHAT, what) for what in whats], "or")


def _example(whats: tuple[Quantity, ...]) -> str:
    examples = {"ph": "ph 6.1", "ec_ms_cm": "ec 1.4", "water_temp_c": "temp 19", "level_l": "level 38 L"}
    return " ".join(examples[what] for what in whats or ("ph", "ec_ms_cm", "water_temp_c"))
