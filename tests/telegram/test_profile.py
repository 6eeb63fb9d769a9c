"""The menu: it offers what the assistant does, within the platform's limits."""

from __future__ import annotations

import re

from bot.assistant.orders import COMMANDS
from bot.rendering.standing_texts import MENU
from bot.telegram.profile import DESCRIPTION, SHORT_DESCRIPTION


def test_menu_offers_every_command_and_no_other() -> None:
    assert set(MENU) == set(COMMANDS)


def test_menu_keeps_to_the_platforms_limits() -> None:
    """Bot API, BotCommand: name 1-32 of a-z 0-9 _, description 1-256; at most 100 commands."""
    assert len(MENU) <= 100
    assert all(re.fullmatch(r"[a-z0-9_]{1,32}", name) for name in MENU)
    assert all(1 <= len(does) <= 256 for does in MENU.values())


def test_what_the_platform_asks_every_bot_to_answer_is_there() -> None:
    """Bots features, Commands: /help and /settings; Bot developer terms, 4.1: /privacy."""
    assert {"help", "settings", "privacy"} <= set(MENU)


def test_descriptions_keep_to_the_platforms_limits() -> None:
    """Bot API, setMyDescription: at most 512 characters; setMyShortDescription: at most 120."""
    assert len(DESCRIPTION) <= 512
    assert len(SHORT_DESCRIPTION) <= 120
