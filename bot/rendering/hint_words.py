"""Hints in words: each a line or two that say what to do."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["HINTS"]

HINTS: Mapping[str, str] = MappingProxyType(
    {
        "caught_up": "I was away. All that you wrote meanwhile\nis kept (/journal); I answer the newest.",
        "hello_group": "Hello. Write here what you read, e.g.\n{reading}\nI keep it and say what to do. /help",
        "hello_private_group": "Hello. Here only replies to my messages\nand commands reach me. Reply to this one\nwith what you read: {reading}\nOr make me an administrator of the group;\nthen just write. More: /help",
        "not_understood": "I could not read that. Try:\n{reading}\nTank, crops, bottles: /settings. More: /help",
        "settled": "{about}",
        "which_reminder": "Which one is {about}? Press its button:",
        "nothing_to_undo": "Nothing of yours is left to take back.",
        "already_undone": "That was taken back already.",
        "no_reading_yet": "I have no reading yet. Send one: ph 6.4",
        "unknown_command": "I do not know /{about}.\n/help lists what I can do.",
        "not_by_edit": "That does not run from an edited message.\nSend /{about} anew.",
        "old_button": "This button is old.",
        "changed_since": "That message was changed since.\nPlease type the value anew.",
        "send_correction": "Send the right value now, e.g. ph 6.2;\nthe others stay. Or edit your message.",
        "send_reading": "Good. Send what you read, e.g.\n{reading}",
        "hardness": "Not kept: hardness is not alkalinity, the\ndoses need that one. It is KH in the water\nreport. Say: tap water KH 5",
        "soft_water": "Rain and RO water hold 0-10 mg/L: I take 5.\nMeasured yours? Say: tap water KH 1",
        "jar_again": "Of the jar I need ml of the mix and the pH\nit ended at: 3 ml to 6.0. Done? Say stop.",
        "jar_no_start": "Which pH had the jar before?\nSend all three: 3 ml from 6.9 to 6.0",
        "jar_wrong_way": "The wrong way for this bottle. Check the\ntester, send e.g.: 3 ml from 6.9 to 6.0",
        "jar_stopped": "Left out.\nPour the jar away, not into the tank.",
        "journal_args": "I cannot look up “{about}”. Try:\njournal last week, journal B2, journal basil",
        "no_such_invite": "This invite is not valid (any more).\nAsk for a new one.",
        "no_such_member": "I know nobody here called “{about}”.\n/household lists who belongs to it.",
        "last_keeper": "{about} is the only keeper.\nMake somebody else keeper first.",
        "hand_over_first": "You are the only keeper.\nFirst say: hand over to, and a name.",
        "other_household": "That message is another household's.\nSwitch there to change it: /household",
        "no_such_tank": "I know no tank “{about}”.\n/tank lists them.",
        "no_such_reminder": "I have no reminder for “{about}”.\n/reminders lists them.",
        "no_such_time": "To when? Say it like:\nmove the filter reminder to saturday 10am",
        "chart_unread": "I cannot chart “{about}”.\nTry: chart ph 30 days\nor: ph and ec since the water change",
        "no_week": "Nothing was logged in the last 7 days. Send a reading, e.g. ph 6.1 ec 1.4.",
        "chart_no_hand": "No {about} is logged yet.\nTry: chart ph 30 days",
        "photo_no_words": "A photo alone is not kept. Send it with\nwords under it: note: yellow tips on B2",
        "photo_gone": "That photo is no longer kept.",
        "file_known": "That file is in the journal already.\nNothing was kept twice.",
        "file_not_empty": "Nothing was kept: an archive goes into\nan empty journal. /forget empties this one.",
        "file_not_yours": "Nothing was kept: only who looks after\nthe tank may bring in a file.",
        "file_too_big": "Nothing was kept: a file may have 20 MB.\nLarger: rillkeeper import, where the bot runs.",
        "forget_keeper": "Only a keeper of this household can have it\nforgotten. Ask one, or leave it: /help.",
        "nothing_to_export": "There is nothing to take along yet.\nSend a reading: ph 6.4",
        "one_dose": "One {about}, then: it stands\nas it was first logged.",
        "no_such_hour": "A day has no {about}: nothing was kept.\nSay it again with an hour from 0:00 to 23:59.",
        "no_such_repeat": "“{about}” is no time: nothing was kept.\nSay e.g.: remind me to rinse every 2 days",
        "no_tank_size": "“{about}” fits no tank: nothing was kept.\nSay e.g.: tank holds 45 L",
        "ends_before": "“{about}” ends before it starts:\nnothing was kept. Say: away 3-10 may",
        "hello": "Hello! Send what you read, e.g.\n{reading}\nor ask: what is due? All else: /help",
        "thanks": "You are welcome. Next time just send\n{reading}",
        "welcome_back": "Welcome back. How is the water? Send\n{reading}\nWhat waits: /due",
        "already_up": "{about} was up already by my log;\nnothing was kept twice.",
        "no_details": "There is nothing to explain yet.\nSend a reading first.",
    }
)
