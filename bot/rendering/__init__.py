"""Replies as data to short texts and buttons; the one place where text is escaped."""

from bot.rendering.markup import to_plain
from bot.rendering.replies import parted, render
from bot.rendering.voice import Voice

__all__ = ["Voice", "parted", "render", "to_plain"]
