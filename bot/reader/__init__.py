"""The text reader: what a household types, as facts. Pure: text, clock, zone and settings in."""

from bot.reader.reading import read
from bot.reader.result import Found, Read, ReaderSettings, Unclear

__all__ = ["Found", "Read", "ReaderSettings", "Unclear", "read"]
