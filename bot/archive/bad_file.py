"""What is wrong with a file that somebody brought."""

from __future__ import annotations

__all__ = ["BadFile"]


class BadFile(Exception):
    """The file cannot be read in; nothing of it was. Its text is one line that says why, fit to show."""
