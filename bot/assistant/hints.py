"""Replies of a line or two that say what to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Hint", "HintCode"]

HintCode = Literal[
    "not_understood",
    "say_it_so",
    "settled",
    "which_reminder",
    "nothing_to_undo",
    "already_undone",
    "undone_by_edit",
    "no_reading_yet",
    "unknown_command",
    "not_by_edit",
    "old_button",
    "changed_since",
    "nothing_open",
    "send_correction",
    "send_reading",
    "no_details",
    "no_such_reminder",
    "no_such_invite",
    "one_dose",
    "already_up",
    "no_such_hour",
    "no_such_repeat",
    "no_tank_size",
    "ends_before",
    "hello",
    "thanks",
    "welcome_back",
    "no_such_member",
    "no_such_tank",
    "last_keeper",
    "hand_over_first",
    "other_household",
    "no_such_time",
    "journal_args",
    "chart_unread",
    "chart_no_hand",
    "no_week",
    "nothing_to_export",
    "forget_keeper",
    "photo_no_words",
    "photo_gone",
    "file_known",
    "file_not_empty",
    "file_not_yours",
    "file_too_big",
    "hardness",
    "soft_water",
    "jar_again",
    "jar_no_start",
    "jar_wrong_way",
    "jar_stopped",
    "caught_up",
    "hello_group",
    "hello_private_group",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hint:
    """One line that says what to do. ``about`` is what it is about, as typed."""

    code: HintCode
    about: str = ""
