"""What every fact of the journal has, and how a fact is written as JSON data and read back."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from functools import cache
from typing import Any, ClassVar, Self

from domain.fact_json import plain, typing_of

__all__ = ["Fact"]


@dataclass(frozen=True, kw_only=True)
class Fact:
    """One thing that was said.

    when : when it happened, with its offset; ``None`` on what has no time of its own.
    tank : the tank's name as the household gave it; ``None`` for the one that the chat is about.
    """

    kind: ClassVar[str] = ""

    when: datetime | None = None
    tank: str | None = None

    def as_json(self) -> dict[str, Any]:
        """The fact as JSON data: ``kind`` first, keys without a value left out."""
        said = {
            _json_name(f): plain(value) for f in fields(self) if (value := getattr(self, f.name)) is not None
        }
        return {"kind": self.kind, **said}

    @classmethod
    def from_json(cls, said: Mapping[str, Any]) -> Self:
        """The fact that ``as_json`` wrote.

        Raises KeyError for a key that this kind does not have.
        """
        fields_by_key = _fields_by_key(cls)  # type: ignore[arg-type]  # a class is hashable
        values = {}
        for key, value in said.items():
            if key != "kind":
                name, typed = fields_by_key[key]
                values[name] = typed(value)
        return cls(**values)


def _json_name(f: Any) -> str:
    return str(f.metadata.get("json", f.name))


@cache
def _fields_by_key(kind: type[Fact]) -> dict[str, tuple[str, Callable[[Any], Any]]]:
    """For each key in JSON its field and what types its value; kept, since a journal has many facts."""
    return {_json_name(f): (f.name, typing_of(str(f.type))) for f in fields(kind)}
