"""Simulated tanks whose water follows its chemistry, hour by hour, while nobody has a hand in it.

Independent of ``domain.chemistry``: charge balance over carbonate and phosphate alone, solved by bisection,
all tanks at once. Constants: Plummer & Busenberg 1982 (carbonate), 7.21 less 0.35 for phosphate paired with
calcium and magnesium (PHREEQC, reference water), Davies with A 0.5. What plants and air do:

- Water goes by day three times as fast as by night, and more every day as the plants grow.
- Salts go with it, in a share of their own for each tank: strength climbs where plants drink more than they
  eat.
- Nitrate taken up adds alkalinity, ammonium takes it away; phosphate goes too, and the buffer with it.
- CO2 moves between water and air at a rate of the tank's own; half the tanks begin with more than the air
  holds, as after a dose of acid.
- All of it varies from day to day with the weather, in a first-order way.

A tester is off by a constant for weeks, by noise each time, and shows so many digits.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

__all__ = ["HOURS", "Season", "simulate", "testers"]

HOURS = 24 * 16
_PHOSPHATE_PK = 6.86


@dataclass(frozen=True)
class Season:
    """True values, one row for each tank, one column for each hour."""

    ph: np.ndarray
    ec_ms_cm: np.ndarray
    level_l: np.ndarray


def simulate(tanks: int, seed: int) -> Season:
    """So many tanks from the last hand in their water on.

    seed : other seeds are other tanks; the widths of the forecast were set on some, and are judged on others.
    """
    r = np.random.default_rng(seed)
    full = np.exp(r.uniform(np.log(15), np.log(90), tanks))
    level = full * r.uniform(0.9, 1.0, tanks)
    ec = r.uniform(0.8, 2.2, tanks)
    phosphate = np.exp(r.uniform(np.log(0.3), np.log(1.6), tanks)) * 1e-3
    start_ph = r.uniform(5.5, 6.4, tanks)
    pco2 = 10 ** r.uniform(-3.4, -3.05, tanks)
    warmth = r.uniform(17, 25, tanks)
    rate = np.exp(r.uniform(np.log(0.03), np.log(2.0), tanks))
    excess = np.where(r.random(tanks) < 0.5, r.uniform(1.0, 6.0, tanks), 1.0)
    drinks = np.exp(r.uniform(np.log(0.01), np.log(0.05), tanks))
    eats = r.uniform(0.3, 1.5, tanks)
    grows = r.uniform(0.0, 0.06, tanks)
    moves = np.where(r.random(tanks) < 0.8, 1.0, -0.7) * np.exp(r.uniform(np.log(0.01), np.log(0.12), tanks))
    moves *= 1e-3
    k1, k2, kh, kw, kp = _constants(warmth, ec)
    co2 = kh * pco2 * excess
    alkalinity = _alkalinity_at(start_ph, co2, phosphate, k1, k2, kw, kp)
    carbon = _carbon_at(start_ph, co2, k1, k2)
    salts, feed = ec * level, phosphate * level
    weather = np.zeros(tanks)
    rows: list[tuple[np.ndarray, ...]] = []
    for hour in range(HOURS):
        ph = _ph(alkalinity, carbon, feed / level, k1, k2, kw, kp)
        rows.append((ph, salts / level, level.copy()))
        if hour % 24 == 0:
            weather = 0.6 * weather + 0.25 * r.standard_normal(tanks)
        day = 1.5 if 6 <= hour % 24 < 20 else 0.5 * (24 - 1.5 * 14) / 5
        pace = np.exp(weather - 0.04) * (1 + grows) ** (hour / 24) * day / 24
        drunk = np.minimum(drinks * full * pace, 0.05 * level)
        taken = eats * drinks * full * pace * ec
        salts = np.maximum(salts - taken, 0.05 * level)
        feed = np.maximum(feed - 0.8 * taken * phosphate / ec, 0.03e-3 * level)
        alkalinity = (alkalinity + moves * pace) * level / (level - drunk)
        held = carbon / (1 + k1 / 10**-ph + k1 * k2 / 10 ** (-2 * ph))
        carbon = carbon * level / (level - drunk) - (held - kh * pco2) * (1 - np.exp(-rate))
        level = level - drunk
    ph, ec_rows, levels = (np.array(column).T for column in zip(*rows, strict=True))
    return Season(ph, ec_rows, levels)


def testers(season: Season, seed: int) -> Season:
    """What the household would read at each hour."""
    r = np.random.default_rng(seed)
    tanks, hours = season.ph.shape
    bias = 0.04 * r.standard_normal((tanks, 1))
    digits = r.random((tanks, 1)) < 0.5
    ph = season.ph + bias + 0.05 * r.standard_normal((tanks, hours))
    strength = season.ec_ms_cm * (
        1 + 0.01 * r.standard_normal((tanks, 1)) + 0.015 * r.standard_normal((tanks, hours))
    )
    level = season.level_l + 0.5 * r.standard_normal((tanks, hours))
    return Season(np.where(digits, ph.round(1), ph.round(2)), strength.round(2), level.round(0))


def _constants(celsius: np.ndarray, ec_ms_cm: np.ndarray) -> tuple[np.ndarray, ...]:
    """K1, K2 and Henry's constant of CO2, Kw, K2 of phosphoric acid, for concentrations but for H+."""
    t = celsius + 273.15
    pk1 = 356.3094 + 0.06091964 * t - 21834.37 / t - 126.8339 * np.log10(t) + 1684915 / t**2
    pk2 = 107.8871 + 0.03252849 * t - 5151.79 / t - 38.92561 * np.log10(t) + 563713.9 / t**2
    log_kh = 108.3865 + 0.01985076 * t - 6919.53 / t - 40.45154 * np.log10(t) + 669365 / t**2
    pkw = 4471 / t + 0.01706 * t - 6.0875
    ionic = 1.15e-2 * ec_ms_cm
    davies = 0.5 * (np.sqrt(ionic) / (1 + np.sqrt(ionic)) - 0.3 * ionic)
    return (
        10 ** (davies - pk1),
        10 ** (3 * davies - pk2),
        10**log_kh,
        10 ** (davies - pkw),
        10**-_PHOSPHATE_PK * np.ones_like(t),
    )


def _alkalinity_at(
    ph: np.ndarray,
    co2: np.ndarray,
    phosphate: np.ndarray,
    k1: np.ndarray,
    k2: np.ndarray,
    kw: np.ndarray,
    kp: np.ndarray,
) -> np.ndarray:
    h = 10**-ph
    bicarbonate = k1 * co2 / h
    return bicarbonate * (1 + 2 * k2 / h) + kw / h - h + phosphate * kp / (kp + h)


def _carbon_at(ph: np.ndarray, co2: np.ndarray, k1: np.ndarray, k2: np.ndarray) -> np.ndarray:
    h = 10**-ph
    return co2 * (1 + k1 / h + k1 * k2 / h**2)


def _ph(
    alkalinity: np.ndarray,
    carbon: np.ndarray,
    phosphate: np.ndarray,
    k1: np.ndarray,
    k2: np.ndarray,
    kw: np.ndarray,
    kp: np.ndarray,
) -> np.ndarray:
    low, high = np.full_like(alkalinity, 3.0), np.full_like(alkalinity, 10.0)
    for _ in range(26):
        middle = (low + high) / 2
        h = 10**-middle
        co2 = carbon / (1 + k1 / h + k1 * k2 / h**2)
        too_high = _alkalinity_at(middle, co2, phosphate, k1, k2, kw, kp) > alkalinity
        high, low = np.where(too_high, middle, high), np.where(too_high, low, middle)
    return (low + high) / 2
