"""The water on the command line: a dose for a water that is described, and what such a water shows."""

from bot.water_desk.asked import Refused
from bot.water_desk.dose import DoseAnswer, dose
from bot.water_desk.water import WaterAnswer, water

__all__ = ["DoseAnswer", "Refused", "WaterAnswer", "dose", "water"]
