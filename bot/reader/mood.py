"""Which parts of a message are no plain statements: questions, plans, negations (rule 13)."""

from __future__ import annotations

from unicodedata import category

from bot.reader.fillers import words
from bot.reader.items import Item, Line

__all__ = ["calls_off", "moods"]

STATED, NEGATED, PLANNED, ASKED = "", "negated", "planned", "asked"

_NEGATIONS = words(
    "not no never without don't dont doesn't doesnt didn't didnt haven't havent hasn't hasnt hadn't "
    "wasn't isn't isnt aren't arent wasnt won't wont can't cant couldn't couldnt wouldn't forgot none "
    "neither nor skipped ain't aint didn weren't forget nobody didint"
)
_PLANS = words(
    "will i'll we'll he'll she'll they'll gonna gotta must should would might may could need needs want "
    "wants wanna plan planning plans let's lets if when unless until maybe later todo going ill'll shall "
    "tomorrow please pls remember supposed thinking wish hope hoping shud shd wud about-to ll wanted "
    "intend intending once SHOULD REMIND WHATIF whenever target aim aiming goal ideal ideally optimal "
    "usually always normally often generally typically sometimes label recipe instructions manual "
    "recommended "
    "recommends suggests suggested tried trying friend neighbour neighbor forum article video "
    "youtube supposedly see about"
)
_QUESTIONS = words(
    "how what when why which who where is are can could do does did should shall will would"
) | {
    "HOWMUCH",
    "SHOULD",
    "WHY",
    "WHATS",
    "HOWIS",
    "WHATIF",
    "DO",
    "who's",
    "whos",
    "has",
    "have",
    "any",
    "was",
    "were",
}
_BREAKS = frozenset(
    (",", ";", ".", "!", "?", "nl", "but", "because", "cause", "cos", "since", "so", "then", "though")
)
_ENDS = frozenset((".", "!", "?", "nl", ";"))
_CALLS_OFF = words(
    "cancel skip postpone delete pause stop snooze reschedule defer delay mute silence disable unsubscribe"
)
"""Orders that put a task off, or its reminder."""
_ORDERING = words("please pls to you i we us lets let's and then can rather just better")
_CALLED_OFF = words(
    "cancelled canceled postponed deleted paused snoozed rescheduled deferred delayed muted disabled skipped"
)
_SHIFTS = words("MOVED move push pushed shift bring ADDED turn turned switch switched remove PULLED")
"""Words that put a task off where one follows: ``move the water change to sunday``."""
_OFF_WORDS = _CALLS_OFF | _CALLED_OFF | _SHIFTS
_TASKS = words("WATERCHANGE TOPUP CHANGE REMIND reminders reminding")
_BEFORE_CALLED_OFF = _TASKS | words("FILTER is was has been be got the to")
_PAST = words(
    "ADDED TOPPED CHANGED SOWED RESOWED EMERGED DIED DAMPED MOVED THINNED PRUNED PINCHED TRAINED "
    "POLLINATED PICKED PULLED RINSED CALIBRATED CHECKED ADJUSTED"
)


_OPENERS = words("how what why which when where who whos who's is are does can could would")
_TURNS = (
    _BREAKS
    | _OFF_WORDS
    | _NEGATIONS
    | _PLANS
    | _OPENERS
    | words("and almost nearly please later HOWMUCH WHY WHATIF HOWIS WHATS did has have")
)
"""Words at which the mood of a sentence may change."""
_DOERS = _PAST | {"i", "we"}


_APPOINTMENTS = words(
    "dinner lunch breakfast supper tea meeting train bus flight party movie film game match school doctor "
    "dentist concert class call appointment"
)
"""``dinner at 7, ph 6.1``: what happens at a time that says nothing of when the rest was."""


def moods(line: Line) -> list[str]:
    """For each item ``""`` where it is plainly stated, else ``negated``, ``planned`` or ``asked``."""
    result = _by_words(line)
    marked = 0
    for place, item in line.times:
        if place and line.items[place - 1].key in _APPOINTMENTS:
            result[place - 1] = PLANNED
        if item.value.is_future and (place >= marked or not marked):
            marked = _mark_plan(line, result, place)
    return result


def _mark_plan(line: Line, result: list[str], place: int) -> int:
    """A clause with a time that lies ahead is a plan. Returns the item after it."""
    items = line.items
    low = place
    while low > 0 and items[low - 1].key not in _BREAKS:
        low -= 1
    high = place
    while high < len(items) and items[high].key not in _BREAKS:
        high += 1
    for i in range(low, high):
        result[i] = result[i] or PLANNED
    return high


def _by_words(line: Line) -> list[str]:
    items = line.items
    result = [STATED] * len(items)
    mood = STATED
    clause = 0
    for i, item in enumerate(items):
        key = item.key
        if key not in _TURNS:
            result[i] = mood
            continue
        if key in _BREAKS:
            mood = STATED
            if key == "?" and not (i and items[i - 1].key in (":", "=")):
                _mark_question(line, result, i)
            clause = i + 1
            continue
        if key == "and" and mood in (PLANNED, NEGATED) and _next(items, i) in _DOERS:
            mood = STATED
        if mood == STATED:
            if key == "no" and _takes_back(items, i):
                continue  # ``ph 6.1, no 6.2``
            if key in _OFF_WORDS and _is_called_off(items, clause, i):
                mood = NEGATED
                if all(item.key in _BEFORE_CALLED_OFF for item in items[clause:i]):
                    result[clause:i] = [NEGATED] * (i - clause)
            if _only_seems(items, i):
                continue
            if key in _NEGATIONS or (key in ("almost", "nearly") and _next(items, i) in _PAST):
                mood = NEGATED
            elif _is_no_plan(key, _next(items, i)):
                continue
            elif key in _PLANS and not (key in ("when", "once", "until", "may") and i > clause):
                mood = PLANNED
            elif key in ("HOWMUCH", "WHY", "WHATIF", "HOWIS", "WHATS") or (
                i == clause
                and (key in _OPENERS or (key in ("did", "has", "have") and _next(items, i) in _PEOPLE))
            ):
                mood = ASKED
        result[i] = mood
    return result


_PRONOUNS = words("that it this ok okay good fine too normal i we is right a high low")
_PEOPLE = words("you anyone someone anybody somebody we i he she they u everyone")


_PARTED = words("you u ya yall")
_TOLD = words("say mention tell log note write record report post")


def _only_seems(items: list[Item], i: int) -> bool:
    """``forgot to say i topped up``: the telling was; ``see`` plans before ``you`` alone."""
    key, following = items[i].key, _next(items, i)
    if key == "forgot":
        return following == "to" and _next(items, i + 1) in _TOLD and _next(items, i + 2) != ""
    if key == "about":
        return following != "to"
    return key == "see" and following not in _PARTED


def _takes_back(items: list[Item], i: int) -> bool:
    """``no 6.2``, ``no wait``, ``no it's 6.2``: the ``no`` takes a number back and denies nothing."""
    following = _next(items, i)
    if following in ("#num", "wait") or (i and items[i - 1].key in ("wait", "oops", "sorry")):
        return True
    return following in ("it's", "its") and _next(items, i + 1) == "#num"


def _is_called_off(items: list[Item], clause: int, i: int) -> bool:
    """Whether item ``i`` puts a task off, so that the task was not done."""
    key = items[i].key
    before_it = items[i - 1].key if i > clause else ""
    if key in _CALLS_OFF and (before_it == "" or before_it in _ORDERING):
        return True
    following = [item.key for item in items[i + 1 : i + 4]]
    if key in _CALLED_OFF or key in _CALLS_OFF:
        before = [item.key for item in items[clause:i]]
        return not (_TASKS.isdisjoint(before) and _TASKS.isdisjoint(following))
    if key not in _SHIFTS:
        return False
    if key == "MOVED" and i > clause and all(item.key in _BEFORE_CALLED_OFF for item in items[clause:i]):
        return True
    if key == "PULLED" or (key == "ADDED" and following[:1] != ["off"]):
        return key == "PULLED" and not {"REMIND", "reminders"}.isdisjoint(following)
    return not _TASKS.isdisjoint(following) and {"#crop", "#site"}.isdisjoint(following)


def calls_off(items: list[Item], at: int) -> bool:
    """Whether the clause before item ``at`` calls something off: ``cancel the water change reminder``."""
    clause = at
    while clause and items[clause - 1].key not in _BREAKS:
        clause -= 1
    return any(items[i].key in _OFF_WORDS and _is_called_off(items, clause, i) for i in range(clause, at))


def _next(items: list[Item], i: int) -> str:
    return items[i + 1].key if i + 1 < len(items) else ""


def _is_no_plan(key: str, following: str) -> bool:
    """``please log ph 5.9``, ``later 5.9``: words of plans that announce what is so."""
    if key == "please":
        return following in ("log", "note", "record", "write", "save")
    return key == "later" and following == "#num"


def _is_set_off(line: Line, i: int) -> bool:
    """Whether a picture stands before item ``i``, where others end a sentence."""
    between = line.cleaned.text[line.items[i - 1].end : line.items[i].start]
    return any(category(sign) == "So" and sign != "°" for sign in between)


def _mark_question(line: Line, result: list[str], end: int) -> None:
    """Everything back to where the question starts is asked."""
    items = line.items
    start = end
    while start > 0 and items[start - 1].key not in _ENDS:
        start -= 1
    for i in range(end - 1, start - 1, -1):
        opens = i == start or items[i - 1].key in (",", "and", "but", "so", "then", "-")
        after_value = items[i - 1].key[0] == "#" and _next(items, i) in _PRONOUNS if i > start else False
        if (opens or after_value) and items[i].key in _QUESTIONS:
            start = i
            break
        if (
            i > start
            and items[i - 1].key[0] == "#"
            and (items[i].key in _APPOINTMENTS or _is_set_off(line, i))
        ):
            start = i  # ``ph 5.9 dinner at 8?``: what is asked has begun after the value
            break
    for i in range(start, end + 1):
        result[i] = ASKED
