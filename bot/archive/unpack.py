"""Reading an archive back: everything in it is checked before anybody writes any of it."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import fields
from datetime import datetime
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from bot.archive.bad_file import BadFile
from bot.archive.layout import FORMAT, HOUSEHOLD, JOURNAL, VERSION
from bot.archive.standing import last_said, standing
from bot.archive.zips import parts_of
from bot.assistant.advise import answer
from bot.assistant.scene import looking_on
from bot.assistant.schedule import ROUTINE, URGENT
from bot.rendering.due_calendar import due_calendar
from domain.facts import Fact, Question, fact_from_json
from domain.roles import Role
from storage.journal import Action
from storage.transfer import Holdings

__all__ = ["unpacked"]

_NEVER_KEPT = frozenset({"question", "command"})
MOST_TEXT = 20_000
FIRST_YEAR, LAST_YEAR = 1900, 2200
"""Between them lies everything that a household may have told; both outside."""

_SOURCES = frozenset({URGENT, ROUTINE})
"""What the reminders of a household may come from; what is planned for one database alone stays there."""


def _instant(text: str) -> str:
    at = datetime.fromisoformat(text)
    if at.tzinfo is None:
        raise ValueError("a time needs its offset")
    if not FIRST_YEAR < at.year < LAST_YEAR:
        raise ValueError("no time of any household")
    return text


def _fact(said: dict[str, Any]) -> dict[str, Any]:
    try:
        fact = fact_from_json(said)
        _typed(type(fact)).validate_python(  # type: ignore[arg-type]  # a class is hashable
            {f.name: getattr(fact, f.name) for f in fields(fact)}
        )
    except (KeyError, TypeError, AttributeError, ValidationError):
        raise ValueError("no fact that this version knows") from None
    if fact.when is not None:
        _instant(fact.when.isoformat())
    kind = fact.kind
    if any(isinstance(value, float) and not math.isfinite(value) for value in said.values()):
        raise ValueError("a number is not finite")
    if kind in _NEVER_KEPT:
        raise ValueError("no journal holds a question or a command")
    return said


@cache
def _typed(kind: type[Fact]) -> TypeAdapter[Fact]:
    return TypeAdapter(kind)


Instant = Annotated[str, Field(max_length=40), AfterValidator(_instant)]
Text = Annotated[str, Field(max_length=MOST_TEXT)]
Number = Annotated[int, Field(ge=1, le=2**53)]


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class _Person(_Row):
    number: Number
    name: Text
    anonymous: bool
    role: Role | None


class _Chat(_Row):
    number: Number
    private: bool
    title: Text
    tank: Text | None


class _Reminder(_Row):
    key: Text
    task: Text
    text: Text
    why: Text
    rrule: Text | None
    due_at: Instant
    planned_at: Instant
    fired_count: Annotated[int, Field(ge=0)]
    paused: bool
    ended: bool
    settled_at: Instant | None
    source: Text
    updated_at: Instant
    chat: Number | None


class _Said(_Row):
    fact: Annotated[dict[str, Any], AfterValidator(_fact)]
    happened_at: Instant
    span: Annotated[list[int], Field(min_length=2, max_length=2)] | None
    doubted: bool


class _Revision(_Row):
    revision: Number
    replaces: Number | None
    chat: Number
    person: Number | None
    message: Text
    number: Number
    edited_at: Instant | None
    author: Text
    said_at: Instant
    recorded_at: Instant
    action: Action
    text: Text
    facts: list[_Said]


class _Household(_Row):
    format: Literal["rillkeeper archive"]
    version: int
    created_at: Instant
    people: list[_Person]
    chats: list[_Chat]
    reminders: list[_Reminder]


def unpacked(content: bytes) -> Holdings:
    """The holdings that an archive holds. Raises BadFile for anything that does not hold together."""
    parts = parts_of(content, (HOUSEHOLD, JOURNAL))
    household = _household(parts[HOUSEHOLD])
    said = [_revision(row, line) for line, row in enumerate(parts[JOURNAL].splitlines(), start=1)]
    kept = Holdings(
        created_at=household["created_at"],
        people=tuple(household["people"]),
        chats=tuple(household["chats"]),
        revisions=tuple(said),
        reminders=tuple(household["reminders"]),
    )
    _hold_together(kept)
    return kept


def _json(text: bytes, where: str) -> Any:
    def refuse(word: str) -> None:
        raise ValueError(word)  # NaN and Infinity, which are no JSON

    try:
        return json.loads(text.decode("utf-8"), parse_constant=refuse)
    except (ValueError, RecursionError):
        raise BadFile(f"{where} is no JSON.") from None


def _checked(kind: type[_Row], said: Any, where: str) -> Any:
    try:
        return kind.model_validate(said).model_dump()
    except (ValidationError, OverflowError) as error:
        first = (
            error.errors(include_input=False, include_url=False)[0]
            if isinstance(error, ValidationError)
            else {"loc": (), "msg": "a number is too large"}
        )
        at = ".".join(str(part) for part in first["loc"])
        why = str(first["msg"]).removeprefix("Value error, ")
        raise BadFile(f"{where}: {at} {why[:80]}.") from None


def _household(text: bytes) -> Any:
    said = _json(text, HOUSEHOLD)
    if not isinstance(said, dict) or said.get("format") != FORMAT:
        raise BadFile("This is no archive of mine.")
    if isinstance(said.get("version"), int) and said["version"] > VERSION:
        raise BadFile("This archive is from a newer version of the program; update this one first.")
    return _checked(_Household, said, HOUSEHOLD)


def _revision(row: bytes, line: int) -> Any:
    where = f"{JOURNAL}, line {line}"
    return _checked(_Revision, _json(row, where), where)


def _hold_together(kept: Holdings) -> None:
    """Numbers name what is there, and each message has one line of revisions."""
    people = [row["number"] for row in kept.people]
    homes = [row["number"] for row in kept.chats]
    for numbers, what in ((people, "people"), (homes, "chats")):
        if len(set(numbers)) != len(numbers):
            raise BadFile(f"{HOUSEHOLD}: two {what} have one number.")
    if sum(row["anonymous"] for row in kept.people) > 1:
        raise BadFile(f"{HOUSEHOLD}: only one person can be nameless.")
    newest: dict[tuple[int, str], Any] = {}
    for line, row in enumerate(kept.revisions, start=1):
        before = newest.get((row["chat"], row["message"]))
        follows = (row["replaces"], row["number"]) == (
            (before["revision"], before["number"] + 1) if before else (None, 1)
        )
        known = row["chat"] in homes and (row["person"] is None or row["person"] in people)
        if row["revision"] != line or not follows or not known:
            raise BadFile(f"{JOURNAL}, line {line} does not fit the lines before it.")
        newest[row["chat"], row["message"]] = row
    _reminders_hold(kept, homes)
    _can_be_followed(kept)


def _can_be_followed(kept: Holdings) -> None:
    """What it says can be looked at as any journal can. Otherwise no message to that household could be
    answered any more, not even the one that takes it all back."""
    try:
        scene = looking_on(standing(kept), last_said(kept))
        answer(scene, Question(about="status"), "")
        due_calendar(scene.jobs, zone=scene.zone, revised_at=scene.at, home=kept.created_at)
    except Exception:  # whatever the folds make of what nobody ever typed
        raise BadFile(f"{JOURNAL} holds something that this version does not know.") from None


def _reminders_hold(kept: Holdings, homes: Sequence[int]) -> None:
    entries = sum(len(row["facts"]) for row in kept.revisions)
    keys = [row["key"] for row in kept.reminders]
    for row in kept.reminders:
        kind, _, number = row["key"].partition(":")
        own = not row["key"].startswith("own:") or (
            number.isascii() and number.isdigit() and 1 <= int(number) <= entries
        )
        there = row["chat"] is None or row["chat"] in homes
        stays = kind == "forget" or row["source"] not in _SOURCES
        if not own or not there or stays or len(set(keys)) != len(keys):
            raise BadFile(f"{HOUSEHOLD}: the reminder {row['key'][:40]} fits nothing in the journal.")
