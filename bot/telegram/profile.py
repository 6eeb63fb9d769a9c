"""What people see of the assistant before they write: its commands and its descriptions."""

from __future__ import annotations

import logging

from telegram import Bot
from telegram.error import TelegramError

from bot.rendering.standing_texts import MENU

__all__ = ["introduce"]

SHORT_DESCRIPTION = "Keeps the journal of a small nutrient tank, and says what to add and when."
DESCRIPTION = (
    "Send me what you measure, in your own words:\n\n"
    "ph 5.9 ppm 720 temp 19\n"
    "added 5 ml ph down\n"
    "how much adjuster for 40 litres\n\n"
    "I keep the journal, tell you whether it suits what you grow, and remind you of what is due."
)

logger = logging.getLogger(__name__)


async def introduce(bot: Bot) -> None:
    """Sets commands and descriptions. A convenience: that it failed is logged, and stops nothing."""
    try:
        await bot.set_my_commands(tuple(MENU.items()))
        await bot.set_my_short_description(SHORT_DESCRIPTION)
        await bot.set_my_description(DESCRIPTION)
    except TelegramError as error:
        logger.warning("commands and descriptions are not set (%s)", type(error).__name__)
