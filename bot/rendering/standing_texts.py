"""Standing texts: the menu of commands, the help, the jar test, safety and privacy."""

from __future__ import annotations

from types import MappingProxyType

__all__ = ["HELP", "JAR_TEST", "MENU", "PRIVACY", "SAFETY_END", "SAFETY_INTRO"]

MENU = MappingProxyType(
    {
        "start": "Set up: tank, meter, plants, adjusters",
        "status": "How the tank is doing",
        "bands": "What to keep pH, strength and water at",
        "due": "What is due and when",
        "reminders": "Pause, move or drop reminders",
        "plants": "What stands where",
        "chart": "pH, strength, warmth and level as a picture",
        "digest": "The last week in a picture and five lines",
        "journal": "What was written down, by whom",
        "export": "All your data in one file",
        "why": "The working behind my last answer",
        "undo": "Take back my last message",
        "settings": "Tank, products, units, clock",
        "tank": "Which tank this chat is about",
        "household": "Who belongs here, and who may do what",
        "invite": "Let one more person in",
        "leave": "Leave this household",
        "safety": "All cautions",
        "help": "What I understand",
        "privacy": "What is kept, and for how long",
        "forget": "Have your data deleted",
    }
)
"""The commands with what they do, in the order in which a menu lists them."""

HELP = (
    "Write what you see or do, in your own words:",
    "· ph 5.9 ppm 720 temp 19",
    "· added 5 ml ph down",
    "· topped up 4 L · changed the water",
    "· sowed basil in A1-A3",
    "· picked 120 g lettuce",
    "Ask: how much adjuster for 40 litres",
    "A slip? Edit your message, or say undo.",
    "In a group I mark plain logs with a sign;",
    "say replies all, or replies needed.",
    "Tap water doses well once you say its",
    "alkalinity: tap water KH 5",
    "/start sets up · /settings · /status",
    "/bands · /due · /plants · /chart",
    "/invite · /household · /tank",
    "/reminders · /journal · /export",
    "/safety · /privacy · /forget",
)

JAR_TEST = (
    "Jar test. Goggles and gloves on.",
    "1. Cup: 9 parts tank water, 1 part adjuster.",
    "2. Clean jar: 1 litre of tank water.",
    "3. Add 0.5 ml of the mix, stir, wait 2 min,",
    "read; till the pH is right, 10 times at most.",
    "4. Send ml in all and the last pH: 3 ml to 6.0",
    "5. Pour the jar away, not into the tank.",
)

SAFETY_INTRO = "The label comes first: it overrides this."
SAFETY_END = (
    "Wiring, gas, plumbing: licensed trades and local code. Doubtful water or plants: an accredited laboratory "
    "or your extension service. Exposure: poison centre or emergency number, at once."
)

PRIVACY = (
    "I keep what you log (readings, doses, plants, settings), who logged it and when, your chat's number and title, "
    "until you have it forgotten.",
    "Messages wait in an inbox and go 7 days after they were handled; my answers after 90 days. What is no log is not "
    "kept in the journal. Edits and undos stay in its history.",
    "The program's own logs hold no message texts. Nothing goes to another household, is sold, or used for training.",
    "/export gives you all of it. /forget deletes you or the household a day later, for good; until then you can "
    "call it off.",
    "Whoever runs this copy of the program can see its database; backups they made before keep what was in it.",
)
