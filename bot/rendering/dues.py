"""What is due, as a list and as a reminder, with the buttons that settle it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from bot.assistant.buttons import button
from bot.assistant.due_replies import (
    AwayPlanned,
    DueItem,
    DueShown,
    Reminded,
    RemindersShown,
    Replanned,
)
from bot.assistant.exchange import Button
from bot.rendering.brevity import OUT_OF_BAND, Part, brief, said
from bot.rendering.markup import LONGEST, Code, Line, Mention, Strong, joined, line, name, width
from bot.rendering.voice import Voice

__all__ = [
    "away_lines",
    "due_buttons",
    "due_lines",
    "reminded_lines",
    "reminder_buttons",
    "reminders_buttons",
    "reminders_lines",
    "replanned_lines",
]

Rows = tuple[tuple[Button, ...], ...]

MOST_IN_SHORT = 6
"""So many things fit on a screen with their headings; ``/due all`` shows the rest."""
MOST_IN_ALL = 40
MOST_AHEAD = 6
"""So many chores of an absence fit on a screen with what to expect on return."""
MOST_TOLD = 4
"""So many reminders of one message are spelled out, with their buttons; the rest wait in the list of dues."""
MOST_CHANGED = 8
"""So many reminders get buttons to change them."""
THIS_WEEK = timedelta(days=7)


def due_lines(reply: DueShown, voice: Voice) -> list[Line]:
    """Today, this week, later; each thing on one line with why it is due, in few words."""
    if not reply.dues and not reply.paused:
        return [line("Nothing is due. Set one:"), line(Code("change water every 2 weeks"))]
    shown = reply.dues[: MOST_IN_ALL if reply.whole else MOST_IN_SHORT]
    lines: list[Line] = []
    heading = ""
    number = 0
    for item in shown:
        if (this := _heading(item, reply, voice)) != heading:
            lines.append(line(Strong(this)))
            heading = this
        number += item.is_now
        lines += _item(item, reply, voice, number)
    left = len(reply.dues) - len(shown)
    if left:
        lines.append(line(f"and {left} more: ", Code("/due all")))
    if reply.paused:
        lines.append(line(f"Paused: {joined([name(text) for text in reply.paused])}"))
    return lines


def _heading(item: DueItem, reply: DueShown, voice: Voice) -> str:
    days = (item.due_at.astimezone(voice.zone).date() - reply.now.astimezone(voice.zone).date()).days
    return "Today" if days <= 0 else "This week" if days < THIS_WEEK.days else "Later"


def _item(item: DueItem, reply: DueShown, voice: Voice, number: int) -> list[Line]:
    """``1. Change the water, last changed 4 May``; on two lines where it is long."""
    local = item.due_at.astimezone(voice.zone)
    days = (local.date() - reply.now.astimezone(voice.zone).date()).days
    if item.is_now:
        start = f"{number}. " if _several_now(reply) else ""
    elif days <= 0:
        start = f"{local:%H:%M}: "
    else:
        start = f"{local:%a}: " if days < THIS_WEEK.days else f"{local.day} {local:%b}: "
    whom = f" ({name(item.whom)})" if item.whom else ""
    text = _capital(name(item.text)) if item.is_now else name(item.text)
    why = "" if item.whom and item.brief.startswith(item.whom) else name(item.brief)
    what = f"{start}{text}{whom}"
    if not why:
        return [line(what)]
    whole = line(f"{what}, {why}")
    return [whole] if width(whole) <= LONGEST else [line(f"{what},"), line(why)]


def _several_now(reply: DueShown) -> bool:
    return sum(item.is_now for item in reply.dues) > 1


def due_buttons(reply: DueShown) -> Rows:
    """Done and later for what should be done by now, numbered as its line is where it is more than one."""
    now = [item for item in reply.dues[: MOST_IN_ALL if reply.whole else MOST_IN_SHORT] if item.is_now]
    settle = tuple(
        _settling(place if _several_now(reply) else None, (item.reminder, int(item.planned_at.timestamp())))
        for place, item in enumerate(now, start=1)
    )
    return (*settle, (button("Calendar", "hand", "calendar"),)) if reply.dues else settle


def away_lines(reply: AwayPlanned, voice: Voice) -> list[Line]:
    """What the keeper will have to do, and what the tank should look like on return."""
    dates = f"{_day(reply.start)} to {_day(reply.end)}" if reply.end > reply.start else _day(reply.start)
    whom = ("For ", Mention(name(reply.keeper), reply.address), ", ") if reply.keeper else ()
    lines = [line(*whom, Strong(dates), ":")]
    if reply.keeper and reply.reminded:
        still = joined([name(each) for each in reply.reminded[:MOST_TOLD]])
        lines = [
            line(f"Nobody here is called {name(reply.keeper)}: I go on"),
            line(f"reminding {still}. ", Code("/invite")),
            *lines,
        ]
    for ahead in reply.ahead[:MOST_AHEAD]:
        local = ahead.first_at.astimezone(voice.zone)
        often = f" (×{ahead.times})" if ahead.times > 1 else ""
        lines.append(line(f"{local:%a} {local.day} {local:%b}: {name(ahead.due.text)}{often}"))
    left = len(reply.ahead) - MOST_AHEAD
    lines += [line(f"and {left} more: ", Code("/due all"))] if left > 0 else []
    lines += [line("Nothing falls due.")] if not reply.ahead else []
    return [*lines, *_return_lines(reply, voice)]


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def _return_lines(reply: AwayPlanned, voice: Voice) -> list[Line]:
    """The level and strength to expect if nobody does anything."""
    at, parts = reply.on_return, []
    if at.level_l is not None:
        low, middle, high = at.level_l
        span = f"{voice.volume(low).rsplit(' ', 1)[0]}–{voice.volume(high)}"
        parts.append(f"{voice.volume(middle)} left ({span})")
    if at.ec_ms_cm is not None:
        low, _, high = at.ec_ms_cm
        parts.append(voice.strength_span(low, high))
    if not parts:
        return [line("Log two levels, and I foretell the tank.")]
    lines = [line(f"If nobody tops up, on {_day(reply.end)}: {', '.join(parts)}.")]
    if at.least_at is not None:
        local = at.least_at.astimezone(voice.zone)
        lines.append(line(Strong(f"The pump may run dry from {local:%a} {local.day} {local:%b}.")))
    return lines


def reminders_lines(reply: RemindersShown, voice: Voice) -> list[Line]:
    """Every reminder, numbered as its buttons are."""
    if not reply.dues:
        return [line("Nothing is planned. Try:"), line(Code("remind us to rinse the filter every 2 weeks"))]
    first = [line(f"Which one? “{name(reply.asked)}” fits:")] if reply.asked else []
    lines = [
        line(
            f"{place}. {_capital(name(item.text))}, ",
            "paused" if item.is_paused else voice.day(item.due_at, reply.now),
        )
        for place, item in enumerate(reply.dues[:MOST_CHANGED], start=1)
    ]
    left = len(reply.dues) - MOST_CHANGED
    more = [line(f"and {left} more; name one: ", Code("pause the filter reminder"))] if left > 0 else []
    return [*first, *lines, *more]


def reminders_buttons(reply: RemindersShown) -> Rows:
    """For each: pause or resume, a day or a week later, off."""
    rows = []
    for place, item in enumerate(reply.dues[:MOST_CHANGED], start=1):
        of = (item.reminder, int(item.planned_at.timestamp()))
        pause = ("Resume", "resume") if item.is_paused else ("Pause", "pause")
        keys = [
            button(f"{pause[0]} {place}", pause[1], *of),
            button(f"+1 day {place}", "shift", *of, 1),
            button(f"+1 week {place}", "shift", *of, 7),
        ]
        rows.append((*keys, button(f"Off {place}", "off", *of)) if item.task != "retest" else tuple(keys))
    return tuple(rows)


def replanned_lines(reply: Replanned, voice: Voice) -> list[Line]:
    """What became of the reminders that were named."""
    texts = joined([name(text) for text in reply.texts])
    if reply.action == "pause":
        return [line(Strong("Paused"), f": {texts}."), line("To go on: ", Code("resume reminders"))]
    if reply.action == "resume":
        return [line(Strong("On again"), f": {texts}.")]
    return [line(Strong(voice.moment(reply.to or reply.now, reply.now)), f": {texts}.")]


def _settling(number: int | None, of: Sequence[int], *more: tuple[str, str]) -> tuple[Button, ...]:
    shown = f" {number}" if number is not None else ""
    keys = [("Done", "done"), ("Later", "later"), *more]
    return tuple(button(label + shown, verb, *of) for label, verb in keys)


def reminded_lines(reply: Reminded, voice: Voice) -> tuple[list[Line], list[Line]]:
    """What has fallen due, numbered as its buttons are where it is more than one; if late, since when.

    Returns the lines, and why each is due where there is no room for that.
    """
    keeper = Mention(name(reply.keeper or ""), reply.address)
    parts = [Part((line("For ", keeper, ", who has taken over:"),))] if reply.keeper else []
    for place, item in enumerate(reply.dues[:MOST_TOLD], start=1):
        number = f"{place}. " if len(reply.dues) > 1 else ""
        title, why = line(Strong(number + _sentence(item.text))), _sentence(item.why)
        if why and width((*title, " ", why)) <= LONGEST:
            title, why = (*title, f" {why}"), ""
        parts += [Part((title,)), *([said(why, rank=1)] if why else [])]
    if (left := len(reply.dues) - MOST_TOLD) > 0:
        parts.append(Part((line(f"and {left} more: ", Code("/due")),)))
    if reply.late_since is not None:
        parts.append(said(f"This comes late: due {voice.moment(reply.late_since, reply.now)}."))
    return brief(parts, OUT_OF_BAND)


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"


def _sentence(text: str) -> str:
    return _capital(text) + ("" if text.endswith((".", "!", "?")) or not text else ".")


def reminder_buttons(reply: Reminded) -> Rows:
    """A row for each reminder, numbered as its line is where there is more than one."""
    rows = []
    for place, item in enumerate(reply.dues[:MOST_TOLD], start=1):
        of = (item.reminder, int(item.planned_at.timestamp()))
        more = [("Skip", "pass"), ("Off", "off")] if item.may_stop else [("Skip", "pass")]
        rows.append(_settling(place if len(reply.dues) > 1 else None, of, *more))
    return tuple(rows)
