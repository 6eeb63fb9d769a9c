"""The colours of every picture: ink, leaf and slate on light paper, for a phone in daylight.

Nothing is told by colour alone. A test holds each pair of writing and ground to the contrast that WCAG 2.2
asks of small text (1.4.3: 4.5 to 1).
"""

from __future__ import annotations

__all__ = [
    "AIM",
    "BARE",
    "BORNE",
    "FAINT",
    "GROUND",
    "INK",
    "LEAF",
    "LOST",
    "PAPER",
    "RIPE",
    "WATER",
    "contrast",
]

PAPER = "#e2eae2"
"""The sheet."""
GROUND = "#fbfcf9"
"""A site where something grows."""
BARE = "#d2dcd3"
"""A site where nothing grows."""
BORNE = "#d9e6da"
"""Where a value is borne, on the ground of a chart."""
AIM = "#bcd5c1"
"""Where a value should be."""
INK = "#1c2b26"
FAINT = "#4a5953"
LEAF = "#2c6049"
RIPE = "#8a3f26"
LOST = "#6b2f24"
WATER = "#3f7189"


def contrast(one: str, other: str) -> float:
    """How far two colours (``#rrggbb``) stand apart, 1 to 21 (WCAG 2.2, contrast ratio). [unitless]"""
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2). [unitless]"""
    shares = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
