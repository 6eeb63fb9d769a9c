"""Numbers and times in the units of a household. Rounding and unit signs live here only."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from domain.household import Choices

__all__ = ["Voice"]

GALLON_L = 3.785411784
"""US gallon. [L] Exact by definition (NIST Handbook 44, Appendix C)."""


@dataclass(frozen=True, slots=True)
class Voice:
    """How a household counts.

    units : ``metric`` or ``us``; doses are in ml and g in both, as syringes and scales are marked.
    ppm_scale : what its meter's ppm stand for; ``None`` where it speaks of EC. [ppm per mS/cm]
    zone : its clock. ``zone_said``: it is not merely assumed. speaks_ec : it has said or shown that its meter
        gives EC.
    """

    units: str
    ppm_scale: int | None
    zone: ZoneInfo
    zone_said: bool = True
    speaks_ec: bool = False

    @classmethod
    def of(cls, chosen: Choices, *, speaks_ppm: bool | None = None) -> Voice:
        """The voice of a household. ``speaks_ppm``: it last spoke in ppm; ``None``: by its settings."""
        ppm = speaks_ppm if speaks_ppm is not None else chosen.strength_unit == "ppm"
        return cls(
            units=chosen.spoken_units,
            ppm_scale=chosen.spoken_ppm_scale if ppm else None,
            zone=chosen.zone,
            zone_said=chosen.zone_name is not None,
            speaks_ec=chosen.strength_unit == "us_cm" or speaks_ppm is False,
        )

    def ph(self, value: float) -> str:
        """With one decimal, as testers show it, or two where it was read to two."""
        return f"{value:.1f}" if abs(value * 10 - round(value * 10)) < 0.05 else number(value, 2)

    def strength(self, ec_ms_cm: float) -> str:
        """With its unit: ``720 ppm`` or ``EC 1.4``."""
        if self.ppm_scale is not None:
            return f"{round_to(ec_ms_cm * self.ppm_scale, 5 if ec_ms_cm * self.ppm_scale < 100 else 10)} ppm"
        return f"EC {number(ec_ms_cm, 2 if ec_ms_cm < 1 else 1)}"

    def strength_as_read(self, ec_ms_cm: float, ppm: float | None) -> str:
        """A reading's own strength: ppm exactly as the meter showed them."""
        return f"{number(ppm, 0)} ppm" if ppm is not None else f"EC {number(ec_ms_cm, 2)}"

    def strength_span(self, low_ms_cm: float, high_ms_cm: float) -> str:
        if self.ppm_scale is not None:
            low, high = (round_to(edge * self.ppm_scale, 10) for edge in (low_ms_cm, high_ms_cm))
            return f"{low}–{high} ppm"
        return f"EC {number(low_ms_cm, 1)}–{number(high_ms_cm, 1)}"

    def temperature(self, celsius: float) -> str:
        if self.units == "us":
            return f"{number(celsius * 9 / 5 + 32, 0)} °F"
        return f"{number(celsius, 1)} °C"

    def volume(self, litres: float) -> str:
        if self.units == "us":
            gallons = litres / GALLON_L
            return f"{number(gallons, 1 if gallons < 20 else 0)} gal"
        return f"{number(litres, 1 if litres < 20 else 0)} L"

    def figure(self, what: str, value: float) -> float:
        """A value of the water as a number in the household's unit; ``unit`` names that."""
        if what == "ec_ms_cm" and self.ppm_scale is not None:
            return value * self.ppm_scale
        if what == "water_temp_c" and self.units == "us":
            return value * 9 / 5 + 32
        if what == "level_l" and self.units == "us":
            return value / GALLON_L
        return value

    def unit(self, what: str) -> str:
        """The unit of ``figure``; empty for pH."""
        if what == "ec_ms_cm":
            return "ppm" if self.ppm_scale is not None else "mS/cm"
        is_us = self.units == "us"
        return {"water_temp_c": "°F" if is_us else "°C", "level_l": "gal" if is_us else "L"}.get(what, "")

    def quantity(self, what: str, value: float) -> str:
        """A value of the water with its unit: ``pH 6.9``, ``720 ppm``, ``19 °C``, ``38 L``."""
        match what:
            case "ph":
                return f"pH {self.ph(value)}"
            case "ec_ms_cm":
                return self.strength(value)
            case "water_temp_c":
                return self.temperature(value)
            case _:
                return self.volume(value)

    def amount(self, value: float, unit: str) -> str:
        """A dose as a syringe or scale shows it; ``l`` as a volume."""
        if unit == "l":
            return self.volume(value)
        decimals = 2 if value < 1 else 1 if value < 20 else 0
        return f"{number(value, decimals)} {unit}"

    def amount_span(self, low: float, high: float, unit: str) -> str:
        """``8–12 ml``; one figure where both round to the same."""
        low_text, high_text = self.amount(low, unit), self.amount(high, unit)
        if low_text == high_text:
            return low_text
        return f"{low_text.rsplit(' ', 1)[0]}–{high_text}"

    def moment(self, at: datetime, now: datetime) -> str:
        """``19:35``, ``tomorrow 18:00``, ``Sat 5 Dec 18:00``; UTC is named where no zone was said."""
        local, today = at.astimezone(self.zone), now.astimezone(self.zone).date()
        clock = self.clock(at)
        if local.date() == today:
            return clock
        if local.date() == today + timedelta(days=1):
            return f"tomorrow {clock}"
        if local.date() == today - timedelta(days=1):
            return f"yesterday {clock}"
        return f"{local:%a} {local.day} {local:%b} {clock}"

    def clock(self, at: datetime) -> str:
        """``19:35``; UTC is named where no zone was said."""
        return f"{at.astimezone(self.zone):%H:%M}" + ("" if self.zone_said else " UTC")

    def at(self, at: datetime, now: datetime) -> str:
        """``at 19:35``, ``yesterday 18:00``: the moment as it stands after a verb."""
        shown = self.moment(at, now)
        return f"at {shown}" if shown[0].isdigit() else shown

    @property
    def reading_example(self) -> str:
        """A reading as this household would type it."""
        strength = "ec 1.4" if self.speaks_ec else "ppm 720"
        return f"ph 5.9 {strength} temp {66 if self.units == 'us' else 19}"

    def date(self, at: datetime) -> str:
        """``Sat 5 Dec``, whatever day it is today."""
        local = at.astimezone(self.zone)
        return f"{local:%a} {local.day} {local:%b}"

    def day(self, at: datetime, now: datetime) -> str:
        local, today = at.astimezone(self.zone).date(), now.astimezone(self.zone).date()
        days = (local - today).days
        near = {0: "today", 1: "tomorrow", -1: "yesterday"}
        return near.get(days) or self.date(at)


def number(value: float, decimals: int) -> str:
    """The figure without needless zeros."""
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def round_to(value: float, step: int) -> int:
    return int(round(value / step) * step)


def minutes(span: timedelta) -> str:
    """``30 min``, ``2 h``, ``1 h 30``."""
    whole = round(span.total_seconds() / 60)
    hours, rest = divmod(whole, 60)
    if hours == 0:
        return f"{rest} min"
    if hours >= 48:
        return f"{round(hours / 24)} days"
    return f"{hours} h {rest}" if rest else f"{hours} h"
