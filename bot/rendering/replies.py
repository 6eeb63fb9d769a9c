"""Each kind of reply as a letter: its lines, its buttons, and what stands behind ``why``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bot.assistant.buttons import button
from bot.assistant.chart_replies import ChartShown, DigestShown, NothingDrawn, TrendShown, WhyShown
from bot.assistant.data_replies import (
    ArchiveLooked,
    BroughtIn,
    FileOffered,
    FileRefused,
    ForgetAsked,
    ForgetCalledOff,
    ForgetPlanned,
    ForgetSure,
    NotesLooked,
    OfferedInPrivate,
    PhotoShown,
)
from bot.assistant.due_replies import AwayPlanned
from bot.assistant.exchange import KEPT_PHOTO, Button, Letter, Picture
from bot.assistant.garden_replies import CameUpShown, HarvestShown, LotsShown, SitesShown, StockShown
from bot.assistant.household_replies import (
    ChatLost,
    DidWhat,
    HouseholdShown,
    InviteMade,
    Joined,
    LeaveAsked,
    MemberChanged,
    Refused,
    StepTaken,
    TanksShown,
)
from bot.assistant.replies import (
    Advice,
    Asked,
    BandsShown,
    Corrected,
    Doubted,
    DueShown,
    EmergencyAdvice,
    Explained,
    Hint,
    JournalShown,
    Logged,
    PlantsShown,
    Reminded,
    RemindersShown,
    Replanned,
    Reply,
    SettingsShown,
    SetupAsked,
    SetupEnded,
    TextShown,
    Undone,
    Unread,
)
from bot.assistant.setup import STEPS
from bot.rendering.chart_words import chart_lines, nothing_lines, panel_titles, span_words, trend_lines
from bot.rendering.data import data_buttons, data_lines
from bot.rendering.describe import described
from bot.rendering.digest_words import digest_buttons, digest_lines
from bot.rendering.dues import (
    away_lines,
    due_buttons,
    due_lines,
    reminded_lines,
    reminder_buttons,
    reminders_buttons,
    reminders_lines,
    replanned_lines,
)
from bot.rendering.emergency import emergency_lines
from bot.rendering.hint_words import HINTS
from bot.rendering.journal import journal_buttons, journal_lines
from bot.rendering.lists import (
    plants_lines,
    settings_lines,
    setup_ended_lines,
    setup_lines,
    text_lines,
)
from bot.rendering.markup import (
    MOST_CAPTION,
    Code,
    Line,
    Strong,
    joined,
    line,
    name,
    narrow,
    packed,
    rows,
    to_html,
    to_plain,
)
from bot.rendering.people import household_buttons, household_lines
from bot.rendering.pictures.chart import chart_picture
from bot.rendering.pictures.site_map import site_map_picture
from bot.rendering.plant_sources import answer_sources, notes_sources
from bot.rendering.plants import garden_lines
from bot.rendering.steps import steps_before_test
from bot.rendering.voice import Voice
from bot.rendering.water import advice_lines, doubted_lines, logged_lines, warmth_why
from bot.rendering.why_words import why_moved_lines, why_moved_sources
from bot.rendering.words import CAPTIONS, ROLES, SCALE, STEP_AGAIN, STEP_TITLES, UNCLEAR, words_for
from bot.rendering.working import bands_lines, why_lines
from domain.dosing import Plan
from domain.facts import Fact

__all__ = ["parted", "render"]

MOST_NAMED = 12
"""More facts than anybody types in one message come from a file, and are counted."""

Rows = tuple[tuple[Button, ...], ...]


def render(reply: Reply, voice: Voice) -> Letter:
    """The letter for a reply, in the household's own units and time."""
    lines, buttons, details = _drawn(reply, voice)
    kind = "reminder" if isinstance(reply, Reminded) else "reply"
    html = reply.html if isinstance(reply, Explained) else to_html(narrow(lines))
    return Letter(
        kind=kind,  # type: ignore[arg-type]
        html=html,
        buttons=buttons,
        details=to_html(narrow(details)) if details else None,
        picture=_picture(reply, voice),
        document=reply.document if isinstance(reply, FileOffered) else None,
        joins=reply.token if isinstance(reply, InviteMade) else None,
    )


def parted(letter: Letter) -> tuple[Letter, ...]:
    """The letter, or two where its text is too long to stand under its picture: the picture goes first.

    Two letters, for each then arrives or fails by itself.
    """
    if letter.picture is None or len(to_plain(letter.html)) <= MOST_CAPTION:
        return (letter,)
    heading = replace(letter, html=words_for(CAPTIONS, letter.picture.kind), buttons=(), details=None)
    return heading, replace(letter, picture=None)


def _picture(reply: Reply, voice: Voice) -> Picture | None:
    if isinstance(reply, PhotoShown):
        return Picture(KEPT_PHOTO, {"reference": reply.reference, "is_file": reply.is_file})
    if isinstance(reply, PlantsShown) and reply.spots:
        return site_map_picture(reply.spots, voice.date(reply.now))
    if isinstance(reply, DigestShown) and reply.chart is not None:
        return _picture(reply.chart, voice)
    if isinstance(reply, ChartShown):
        return chart_picture(
            reply, voice, span_words(reply.since, reply.until, voice), panel_titles(reply, voice)
        )
    return None


def _drawn(reply: Reply, voice: Voice) -> tuple[list[Line], Rows, list[Line]]:
    match reply:
        case Logged():
            lines, rest = logged_lines(reply, voice)
            why = _behind(reply, rest, voice)
            return lines, (*_dosing_row(reply), *_logged_rows(reply, has_why=bool(why))), why
        case Doubted():
            keys = (button("It is right", "confirm", reply.revision), *_amend_buttons(reply.revision))
            return doubted_lines(reply, voice), (keys,), []
        case Advice():
            lines, rest = advice_lines(reply, voice)
            why = [*_more(rest), *warmth_why(reply.verdicts), *why_lines(reply.plan, reply.bands, voice)]
            keys = (button("Why", "why"), *_jar_button(reply.plan))
            return lines, (*_dosing_row(reply), keys), why
        case BandsShown():
            return bands_lines(reply, voice), ((button("Why", "why"),),), why_lines(None, reply.bands, voice)
        case EmergencyAdvice():
            return emergency_lines(reply, voice), (), []
        case SitesShown() | CameUpShown() | LotsShown() | HarvestShown() | StockShown():
            behind = answer_sources(reply, voice)
            return garden_lines(reply, voice), ((button("Why", "why"),),) if behind else (), behind
        case WhyShown():
            lines, rest = why_moved_lines(reply, voice)
            why = [*_more(rest), *why_moved_sources(reply, voice)]
            return lines, ((button("Why", "why"),),) if why else (), why
        case SetupAsked():
            return setup_lines(reply, voice), _setup_buttons(reply), []
        case Unread() | Asked():
            return _question_lines(reply, voice), _choice_buttons(reply), []
        case SettingsShown():
            return settings_lines(reply.choices, voice), _settings_buttons(), []
        case (
            FileOffered()
            | OfferedInPrivate()
            | ForgetAsked()
            | ForgetSure()
            | ForgetPlanned()
            | ForgetCalledOff()
            | FileRefused()
            | PhotoShown()
            | NotesLooked()
            | ArchiveLooked()
            | BroughtIn()
        ):
            return data_lines(reply, voice), data_buttons(reply), []
        case DigestShown():
            return digest_lines(reply, voice), digest_buttons(reply), []
        case ChartShown():
            lines, rest = chart_lines(reply, voice)
            return lines, ((button("Why", "why"),),) if rest else (), rest
        case TrendShown():
            lines, why = trend_lines(reply, voice)
            return lines, ((button("Why", "why"),),) if why else (), why
        case JournalShown():
            return journal_lines(reply, voice), journal_buttons(reply), []
        case Reminded():
            lines, rest = reminded_lines(reply, voice)
            why_key = ((button("Why", "why"),),) if rest else ()
            return lines, (*reminder_buttons(reply), *why_key), rest
        case DueShown():
            return due_lines(reply, voice), due_buttons(reply), []
        case (
            HouseholdShown()
            | InviteMade()
            | Joined()
            | LeaveAsked()
            | MemberChanged()
            | Refused()
            | DidWhat()
            | StepTaken()
            | ChatLost()
            | TanksShown()
        ):
            return household_lines(reply, voice), household_buttons(reply), []
        case RemindersShown():
            return reminders_lines(reply, voice), reminders_buttons(reply), []
        case _:
            return _plain_lines(reply, voice), (), []


def _more(rest: list[Line]) -> list[Line]:
    """What had no room in the reply, first behind it."""
    return [line(Strong("More")), *rest] if rest else []


def _behind(reply: Logged, rest: list[Line], voice: Voice) -> list[Line]:
    """What stands behind the answer to a log; empty where it claims nothing."""
    why = _more(rest)
    if reply.asked is not None:
        why.append(line(SCALE))
    why += warmth_why(reply.verdicts)
    why += why_lines(reply.plan, reply.bands, voice) if reply.has_working else []
    return why + (notes_sources(reply.plants, voice) if reply.plants is not None else [])


def _plain_lines(reply: Reply, voice: Voice) -> list[Line]:
    match reply:
        case Undone():
            return [line(Strong("Taken back"), f": {_said(reply.facts, voice)}.")]
        case AwayPlanned():
            return away_lines(reply, voice)
        case Replanned():
            return replanned_lines(reply, voice)
        case Corrected():
            gone = joined([described(fact, voice) for fact in reply.before])
            return [line("Changed: nothing to keep any more."), line(f"Taken back: {gone}.")]
        case SetupEnded():
            return setup_ended_lines(reply, voice)
        case PlantsShown():
            return plants_lines(reply, voice)
        case NothingDrawn():
            return nothing_lines(reply, voice)
        case TextShown():
            return text_lines(reply.name)
        case Hint(code="say_it_so"):
            return rows(STEP_AGAIN[reply.about])
        case Hint():
            words = words_for(HINTS, reply.code)
            return rows(words.format(about=name(reply.about), reading=voice.reading_example))
        case _:
            return []


def _said(facts: Sequence[Fact], voice: Voice) -> str:
    """The facts in words; of a whole table of them, how many there are."""
    if len(facts) > MOST_NAMED:
        return f"{len(facts):,} entries"
    return joined([described(fact, voice) for fact in facts])


def _dosing_row(reply: Logged | Advice) -> Rows:
    """Where several look after the tank: who does which step of the plan."""
    steps = steps_before_test(reply.plan) if reply.is_shared and reply.plan is not None else ()
    poured = [step.role for step in steps if step.action in ("add", "test_portion") and step.role]
    what = list(dict.fromkeys(poured))
    if len(what) == 1:
        return ((button("I'm dosing", "dosing", what[0]),),)
    return (tuple(button(f"I add {ROLES[role]}", "dosing", role) for role in what),) if what else ()


def _logged_rows(reply: Logged, *, has_why: bool) -> Rows:
    """The answers to what is asked beside it, then what can be done with the log."""
    amend = _amend_buttons(reply.revision)
    keys = (*_jar_button(reply.plan), button("Why", "why"), *amend) if has_why else amend
    if reply.asked is None:
        return (keys,)
    asked = reply.asked
    return tuple(button(c.label, "pick", asked.question, at) for at, c in enumerate(asked.choices)), keys


def _amend_buttons(revision: int) -> tuple[Button, ...]:
    return button("Undo", "undo", revision), button("Correct", "correct", revision)


def _jar_button(plan: Plan | None) -> tuple[Button, ...]:
    """How to find a bottle's strength, where the plan names it as the better way."""
    steps = steps_before_test(plan) if plan is not None else ()
    tried = next((step for step in steps if step.action == "jar_test"), None)
    return (button("Jar test", "jar", tried.role or ""),) if tried is not None else ()


def _setup_buttons(reply: SetupAsked) -> Rows:
    picks = tuple(
        (button(choice.label, "pick", reply.question, place),) for place, choice in enumerate(reply.choices)
    )
    return (*picks, (button("Skip", "skip", reply.question), button("Enough", "stop", reply.question)))


def _choice_buttons(reply: Unread | Asked) -> Rows:
    if reply.question is None:
        return ()
    return tuple(
        (button(choice.label[:40], "pick", reply.question, place),)
        for place, choice in enumerate(reply.choices)
    )


def _question_lines(reply: Unread | Asked, voice: Voice) -> list[Line]:
    if isinstance(reply, Unread):
        reason = words_for(UNCLEAR, reply.reason)
        if reply.choices:
            return [line(f"Not kept yet: “{name(reply.text)}”."), *packed([reason, "Did you mean:"])]
        return [line(f"Not kept: “{name(reply.text)}”."), *packed([reason, "Please type it anew."])]
    if reply.topic == "ppm_scale":
        return [
            line("Is your ppm meter 500 or 700 scale?"),
            line("I ask once, and take 500 until then."),
            line("Not sure: in 1413 µS/cm fluid a 500 meter"),
            line("shows about 707, a 700 meter about 989."),
        ]
    if reply.topic == "crop_group":
        return [
            line(f"What is {name(reply.about)} grown for? Its stages go by that. I ask once."),
        ]
    if reply.topic == "portion":
        return [line(f"Not kept yet: {reply.about} of the mix I gave,"), line("or straight from the bottle?")]
    if reply.topic == "twice" and reply.at is not None:
        since = voice.at(reply.at, reply.asked_at or reply.at)
        return [
            line(f"{name(reply.who)} logged {reply.about} {since} already."),
            line(f"One {reply.thing} or two?"),
        ]
    if reply.topic == "strength_unit":
        return [
            line(f"Not kept yet: “{name(reply.about)}”."),
            line("Which unit does your strength meter show?"),
            line("I ask this once."),
        ]
    if reply.choices:
        return [line(f"Which clock is yours in “{name(reply.about)}”?")]
    return [
        line(f"I know no time zone “{name(reply.about)}”."),
        line("Try: ", Code("set time zone Europe/Lisbon")),
    ]


def _settings_buttons() -> Rows:
    keys = [button(STEP_TITLES[step.name], "step", step.name) for step in STEPS]
    return tuple(tuple(keys[at : at + 3]) for at in range(0, len(keys), 3))
