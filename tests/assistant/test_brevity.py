"""How long replies are on a narrow phone: few lines, none of them long, what to do or to know first.

The promise: at most 3 lines where all is well, 7 where something is to be done, of about 40 characters each.
A line of up to 46 is let pass, beyond that the phone breaks it badly.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import pytest

from bot.assistant.due_replies import AwayPlanned
from bot.assistant.exchange import Letter
from bot.assistant.garden_replies import CameUpShown, HarvestShown, LotsShown, SitesShown
from bot.assistant.replies import (
    BandsShown,
    DueShown,
    Explained,
    JournalShown,
    Logged,
    PlantsShown,
    Reply,
    SettingsShown,
    TextShown,
)
from bot.rendering import to_plain
from bot.rendering.describe import described
from bot.rendering.voice import Voice
from tests.assistant.talk import Talk

LINE, MOST, WELL, OF_PLANTS = 46, 7, 3, 6
LONG_BY_NATURE = (
    BandsShown,  # a row for each value, and one for each crop that does not fit
    SettingsShown,  # a row for each thing that can be set
    TextShown,  # help, cautions and privacy are looked up, not answered with
    Explained,  # the working is asked for by who wants to know
    DueShown,  # lists grow with what is in them
    AwayPlanned,  # who takes over must see all that falls due
    PlantsShown,
    JournalShown,
    SitesShown,
    CameUpShown,
    LotsShown,
    HarvestShown,
)

_OPENING = re.compile(
    # A verdict ...
    r"(about )?(pH|EC|oxygen|\d+(\.\d+)? (ppm|°C|°F))|High:|Low:|In band|Fine|Nothing to add|From |"
    # ... an order ...
    r"Add |Strength (unknown|first)|Label dose|9 ml|Test |Pour nothing|That is|Too much|Drain|Send|"
    r"Call|Rinse|Power off|Wet |Keep |Plugs|Leave|Check|I do not|Jar test|Of the jar|The wrong|No nutrient|"
    # ... that it was kept, or why not ...
    r"Noted|Changed|Taken back|Not kept|Nothing of yours|I could not|"
    # ... or a question.
    r"Which|What|How|Please|I need|I look|I know|Hello|That is all"
)

KNOWN = (
    "/start; kitchen; 45 L; metric; ppm 500; Lisbon; basil, lettuce 4; phosphoric acid 10 %; "
    "potassium hydroxide 10 %; A and B 2.5 ml per litre, 4-3-6; "
)
KNOWN_US = (
    "/start; garage; 12 gal; [US gallons, °F]; [EC: mS or µS]; Chicago; lettuce; citric acid 50 %; "
    "[Label says no strength]; A and B 10 ml per gallon; "
)
NO_LABEL = "/start; kitchen; 45 L; metric; ppm 500; Lisbon; basil; no label; nothing on it; dunno; "

STORIES = {
    "first message, in band": "ph 5.9 ppm 720 temp 19; ph 6.0 ppm 700 temp 20",
    "first message, one out": "ph 6.9 ppm 540 temp 23; status; /status; /why",
    "first message, several out": "ph 7.4 ppm 250 temp 29",
    "first message, too strong and cold": "ph 5.2 ppm 1900 temp 15",
    "first message in EC": "ph 6.9 ec 0.5 temp 23; ph 6.0 ec 1.4 temp 19",
    "one value": "temp 29; water 12; do 4.1; air 22 rh 50; ph 5.1",
    "gallons, one out": "set units us; ph 6.9 ppm 540 temp 73; ph 5.9 ppm 720 temp 66; bands",
    "gallons, several out": "set units us; ph 7.3 ppm 300 temp 84; how much adjuster for 10 gallons",
    "known bottles": KNOWN + "ph 6.9 ppm 540 temp 23; added 2.8 ml ph down; (+61 min); ph 6.6",
    "known bottles, weak": KNOWN + "ph 7.6 ppm 200 temp 23; how much nutrient for 45 L; /bands",
    "known bottles, fresh fill": KNOWN + "changed the water; (+40 min); ph 7.2 ppm 500",
    "known bottles in gallons": KNOWN_US + "ph 7.4 ec 1.4 temp 70; changed the water; /settings",
    "no label": NO_LABEL + "ph 6.9 ppm 700; ph 5.2",
    "doubted": "ph 5.9 ppm 720; ph 4.0 ppm 720; [It is right]",
    "held back": (
        "ph 6.9 ppm 540; added 0.2 ml ph down; how much ph down; ph 6.6; (+2900 min); how much ph down; "
        "how much nutrient"
    ),
    "feed on a new reading, pH on an old one": "ph 6.0 ppm 720; (+1600 min); ppm 400",
    "far too much": "ph 6.9 ppm 540; added 5 ml ph down; added 50 ml ph down",
    "rescue": "ph 5.9 ppm 720; put in 50 ml ph down instead of 5; ph 4.2; changed half the water",
    "several things at once": (
        "ph 6.4, added 3 ml down, topped up 2 L; ph 6.4 then 5.9 after 3 ml down; "
        "sowed basil in A1-A3, ph 6.9 ppm 540, topped up 4 L, rinsed the filter; "
        "ph 5.9 ppm 700, topped up 4 L, rinsed the filter, picked 120 g lettuce B1, calibrated the ph meter"
    ),
    "questions": (
        "how much adjuster for 40 litres; ph down for 10 gal from 6.8 to 5.9; ec 3.1; "
        "how much water do I add to dilute; what if i add 10 ml ph down; how much food"
    ),
    "logs": (
        "topped up 4 L; changed the water; swapped half the water; rinsed the filter; added 5 ml ph up; "
        "added 20 ml nutrient; added 2 scoops of food; undo"
    ),
    "jar test": "ph 6.9 ppm 700; [Jar test]; 3 ml; 3 ml to 7.5; 3 ml to 6.0",
    "put right": "ph 6.9 ppm 540; [Correct]; 6.1; [Undo]; undo",
    "not clear": (
        "5; 720; ph; sowed blorp in A1; strength 700; ph 6 ph 7; ph 99; hello; added 5 ph down; tank 45 L; "
        "set time zone America; /nonsense"
    ),
    "set-up, wrong answers": (
        "/start; [Skip]; ping; [Skip]; bla bla; [Skip]; xyz; [Skip]; nowhere; [Skip]; triffids; [Skip]; "
        "water; [Skip]; fire; [Skip]; some; [Enough]"
    ),
    "plants": (
        "sowed basil in A1-A3, lot Corner Shop 24; sowed parsley in B1; A2 is up; B2 damped off; "
        "picked 120 g lettuce B1; moved the basil from A1 to C4; note: tips browning on B1; "
        "A2 looks yellow and droopy; note: A3 leggy; we have 36 plugs; what's in A1; /plants; "
        "note: lights 10 h 100 ppfd, pump 400 l/h 15 min on 45 min off; when can i pick basil; "
        "what is due to come up; which seeds are best"
    ),
    "reminders": (
        "remind us to rinse the filter every 2 weeks on sunday at 6pm; change water every 3 weeks; "
        "away 3-10 aug, Ana takes over; topped up 4 L; /due; /journal; (+20160 min); (tick); "
        "added 5 ml ph down; (+40 min); (tick)"
    ),
    "danger": (
        "got ph down in my eye; the toddler drank it; put in 50 ml ph down instead of 5; pump died; "
        "spilled ph down on the floor; power cut; tank is leaking; the dog drank from the tank; "
        "smoke from the pump; breathed in the fumes"
    ),
    "danger, with a country": (
        "set time zone Europe/Dublin; got ph down in my eye; breathed in the fumes; "
        "spilled ph down on the floor; electric shock from the tank"
    ),
    "looked up": "/help; /safety; /privacy; /settings; /bands; /due; /plants; /journal",
    "group": "ph 6.9 ppm 540 temp 23; topped up 4 L; ph 6.4, added 3 ml down; B1 looks leggy",
}
"""What a household says in a row; each reply is measured. ``[Skip]`` is a button, ``(+40 min)`` goes by, and
``(tick)`` is a beat of the heart."""


@pytest.mark.parametrize("story", STORIES)
async def test_replies_are_short_and_narrow_with_the_first_thing_first(talk: Talk, story: str) -> None:
    if story == "group":
        talk = talk.elsewhere("flat", private=False)
    for place, turn in enumerate(STORIES[story].split("; ")):
        replies = await _taken(talk, turn, place)
        for at, letter in enumerate(talk.letters):
            if letter.kind == "reaction":
                continue
            reply = replies[at] if at < len(replies) else None
            lines = to_plain(letter.html).splitlines()
            shown = f"{story}: {turn}\n" + "\n".join(lines)
            assert max(map(_width, lines)) <= LINE, shown
            assert len(lines) <= _most(reply), shown
            if not isinstance(reply, LONG_BY_NATURE) and letter.kind == "reply":
                assert _OPENING.match(lines[0]), shown
        if turn.startswith("ph ") and "," not in turn:
            assert len(talk.letters) <= 1, f"one letter answers a reading: {story}, {turn}"


async def _taken(talk: Talk, turn: str, place: int) -> Sequence[Reply]:
    """Says or does one thing; gives the replies as data where there are some."""
    talk.clock.advance(minutes=1)
    if turn == "(tick)":
        await talk.tick()
        assert talk.letters, "a reminder was to come"
    elif turn.startswith("("):
        talk.clock.advance(minutes=int(turn.strip("(+ min)")))
        talk.letters = []
    elif turn.startswith("["):
        before = talk.letters
        await talk.press(turn.strip("[]"), press=f"p{place}")
        talk.letters = talk.letters or before
    else:
        return (await talk.say(turn)).replies
    return ()


def _width(line: str) -> int:
    return len(line.strip("\u2068\u2069"))


def _most(reply: Reply | None) -> int:
    if isinstance(reply, LONG_BY_NATURE):
        return 100
    if not isinstance(reply, Logged) or reply.times_advised is not None:
        return MOST
    out = any(verdict.place in ("low", "high") for verdict in reply.verdicts)
    if out or (reply.plan is not None and reply.plan.outcome != "nothing"):
        return MOST
    return OF_PLANTS if reply.plants is not None else WELL


@pytest.mark.parametrize("units", ["metric", "us"])
async def test_a_dose_comes_with_all_that_belongs_to_it(talk: Talk, units: str) -> None:
    """Verdict for each value, the amount and its range, the test after it, the caution, what was assumed."""
    await talk.say(f"set units {units}")
    outcome = await talk.say("ph 6.9 ppm 540 temp 23")
    (reply,) = outcome.replies
    assert isinstance(reply, Logged)
    assert reply.plan is not None
    text = talk.text
    assert all(shown in text for shown in ("pH 6.9 is high (keep 5.5–6.5)", "540 ppm (bit low)"))
    portion = next(step for step in reply.plan.steps if step.action == "test_portion")
    assert f"9 ml water + 1 ml pH down: add {portion.first:g} ml of it." in text
    assert all(shown in text for shown in ("Test again in 30 min", "Jar test", "safe for any sold"))
    # Eye protection, gloves, dilution, never with bleach: CCOHS, University of Iowa EHS, Torrance Fire Dept.
    assert all(word in text for word in ("Goggles", "gloves", "dilute", "Never with bleach"))
    assert text.splitlines()[-1].startswith("Assumed ")
    assert text.splitlines()[-1].endswith("500 scale, greens. /settings")


async def test_a_known_bottle_is_dosed_by_portion_and_range(talk: Talk) -> None:
    for turn in KNOWN.strip("; ").split("; "):
        await talk.say(turn)
    (reply,) = (await talk.say("ph 6.9 ppm 540 temp 23")).replies
    assert isinstance(reply, Logged)
    assert reply.plan is not None
    step = reply.plan.steps[0]
    assert None not in (step.first, step.low, step.high)
    assert f"Add {step.first:g} ml pH down now ({step.low:g}–{step.high:g} ml in all)." in talk.text
    assert "Assumed" not in talk.text


async def test_what_has_no_room_stands_behind_why(talk: Talk) -> None:
    outcome = await talk.say(
        "ph 7.4 ppm 250 temp 29, topped up 4 L, rinsed the filter, sowed basil in A1-A3, lot Corner Shop 24, "
        "picked 120 g lettuce B1, calibrated the ph meter"
    )
    reply = outcome.replies[0]
    assert isinstance(reply, Logged)
    (letter,) = talk.letters
    everything = " ".join(f"{to_plain(letter.html)} {to_plain(letter.details or '')}".split())
    voice = Voice.of(outcome.scene.choices)
    assert all(described(fact, voice) in everything for fact in reply.facts if fact.kind != "reading")
    assert "Keep pH 5.5–6.5, 480–1080 ppm, 16–23 °C" in everything
    assert "Basil up in" in everything
    assert "brings root rot" in everything
    assert _labels(letter)[0] == ["Meter: 500 scale", "Meter: 700 scale"]
    assert "Why" in _labels(letter)[1]


def _labels(letter: Letter) -> list[list[str]]:
    return [[button.label for button in row] for row in letter.buttons]
