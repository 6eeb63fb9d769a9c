"""Journals of one tank, written as hours before or after a fixed noon."""

from datetime import UTC, datetime, timedelta

from domain.dosing import Aim
from domain.facts import Fact, Product, Setting
from domain.journal import Entry

NOON = datetime(2026, 5, 1, 12, tzinfo=UTC)
AIM = Aim(5.4, 5.6, 6.2, 6.5, 0.8, 1.0, 1.6, 1.8)

ACID = Product(role="ph_down", name="acid", reagent="phosphoric acid", percent_w_w=10.0)
BASE = Product(role="ph_up", name="base", reagent="potassium hydroxide", molar_mol_l=1.0)
FEED = Product(role="nutrient", name="feed", dose_per_litre=4.0, dose_unit="ml")


def journal(*said: tuple[float, Fact]) -> list[Entry]:
    """Entries for facts said at these hours from noon."""
    return [
        Entry(number, fact, at, at, "Ana", f"m{number}")
        for number, (hours, fact) in enumerate(said, 1)
        for at in [NOON + timedelta(hours=hours)]
    ]


def household(
    volume_l: float = 40.0, *products: Product, alkalinity: float | None = None
) -> list[tuple[float, Fact]]:
    """What a household that has been through the set-up has said."""
    said: list[tuple[float, Fact]] = [(-300, Setting(name="tank_volume_l", value=str(volume_l)))]
    if alkalinity is not None:
        said.append((-300, Setting(name="source_alkalinity_mg_l_caco3", value=str(alkalinity))))
    said += [(-300, product) for product in (products or (ACID, BASE, FEED))]
    return said
