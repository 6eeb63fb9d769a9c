"""What buttons carry: ``v1:verb:part:part``, written and read in this one place."""

from __future__ import annotations

from dataclasses import dataclass

from bot.assistant.exchange import Button

__all__ = ["Pushed", "button", "pushed"]

VERSION = "v1"
VERBS = frozenset(
    [
        "why",
        "undo",
        "correct",
        "confirm",
        "turn",
        "hand",
        "forget",
        "bring",
        "photo",
        "pick",
        "step",
        "skip",
        "stop",
        "done",
        "later",
        "pass",
        "off",
        "pause",
        "resume",
        "shift",
        "jar",
        "dosing",
        "invite",
        "revoke",
        "home",
        "leave",
        "tank",
    ]
)


@dataclass(frozen=True, slots=True)
class Pushed:
    """A button's data, taken apart. ``parts`` come from outside: each use checks them."""

    verb: str
    parts: tuple[str, ...]

    def number(self, at: int = 0) -> int | None:
        """The part at this place as a row number; ``None`` where it is none."""
        if at >= len(self.parts):
            return None
        part = self.parts[at]
        return int(part) if part.isascii() and part.isdigit() and len(part) <= 18 else None


def button(label: str, verb: str, *parts: object) -> Button:
    """A button that does ``verb``.

    Raises ValueError where verb and parts take more than 64 bytes.
    """
    return Button(label, ":".join((VERSION, verb, *(str(part) for part in parts))))


def pushed(data: str) -> Pushed | None:
    """What a press carries; ``None`` where it is not ours or of another version."""
    version, _, rest = data.partition(":")
    verb, *parts = rest.split(":")
    if version != VERSION or verb not in VERBS:
        return None
    return Pushed(verb, tuple(parts))
