"""The table of what falls due: its rows, and the words by which a reminder means one of them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from domain import tables

__all__ = ["Habit", "habits", "routine", "task_meant"]


@dataclass(frozen=True, slots=True)
class Habit:
    """One task of the routine, as the table has it.

    rule : what makes it due: an ``interval``, a ``dose``, the ``plants``, or a ``stock`` that runs low.
    also : other names that a setting may call it by.
    text : what to do, ready to show; past : the verb for when it was done.
    means : words by which a reminder of the household's own means this task.
    rrule : how often where the household has not said; empty where a rule does not make it due.
    is_on : it is reminded of without being asked for.
    once : from when it is reminded of all the same: ``ph_read`` or ``ec_read`` with a meter, ``planted``; it
        is also once it has been logged. Empty: only where it is asked for or logged.
    """

    task: str
    rule: str
    also: tuple[str, ...]
    text: str
    past: str
    means: tuple[str, ...]
    rrule: str
    is_on: bool
    once: str
    source: str
    note: str


@cache
def habits() -> Mapping[str, Habit]:
    """The tasks that a log of the household's closes, by name, in the order of the table."""
    return MappingProxyType({n: each for n, each in routine().items() if each.rule in ("interval", "dose")})


@cache
def routine() -> Mapping[str, Habit]:
    """All that the table makes due, by name, in its order."""
    return MappingProxyType(
        {
            row["task"]: Habit(
                task=row["task"],
                rule=row["rule"],
                also=tables.parts(row["also"]),
                text=row["text"],
                past=row["past"],
                means=tables.parts(row["means"]),
                rrule=row["rrule"],
                is_on=row["on"] == "yes",
                once=row["once"],
                source=row["source"],
                note=row["note"],
            )
            for row in tables.rows("routine")
        }
    )


def task_meant(text: str) -> str | None:
    """The task of the routine that the words of a reminder mean (``rinse the filter``); ``None``: none.

    Every word of one of the table's ``means`` stands in the text, in any form (``rinsing filters``).
    """
    said = re.findall(r"\w+", text.casefold())
    for habit in habits().values():
        for words in habit.means:
            if all(any(heard.startswith(word) for heard in said) for word in words.split()):
                return habit.task
    return None
