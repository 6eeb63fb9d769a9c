"""Archives that were meddled with: refused with the place that is wrong."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable
from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any

import pytest

from bot.archive.bad_file import BadFile
from bot.archive.pack import packed
from bot.archive.unpack import unpacked
from storage.transfer import Holdings

AT = "2026-05-04T18:05:00+00:00"


def said(revision: int, **other: Any) -> dict[str, Any]:
    fact = {"fact": {"kind": "reading", "ph": 6.1}, "happened_at": AT}
    fact |= {"span": [0, 6], "doubted": False}
    row = {
        "revision": revision,
        "replaces": None,
        "chat": 1,
        "person": 1,
        "message": f"m{revision}",
        "number": 1,
    }
    row |= {"edited_at": None, "author": "Ana", "said_at": AT, "recorded_at": AT, "action": "said"}
    return {**row, "text": "ph 6.1", "facts": [fact], **other}


HOME = Holdings(
    created_at=AT,
    people=({"number": 1, "name": "Ana", "anonymous": False, "role": "keeper"},),
    chats=({"number": 1, "private": True, "title": "Ana", "tank": None},),
    revisions=(said(1), said(2), said(3, message="m2", number=2, replaces=2, action="edited")),
    reminders=(),
)


def rewritten(change: Callable[[dict[str, Any]], None]) -> bytes:
    """An archive whose data were changed by hand."""
    data = json.loads(json.dumps(asdict(HOME)))
    change(data)
    household = {k: v for k, v in data.items() if k != "revisions"}
    household |= {"format": "rillkeeper archive", "version": 1} | household.pop("over", {})
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("household.json", json.dumps(household))
        archive.writestr("journal.jsonl", "".join(f"{json.dumps(row)}\n" for row in data["revisions"]))
    return out.getvalue()


def test_what_was_packed_is_unpacked() -> None:
    assert unpacked(packed(HOME, now=datetime(2026, 5, 6, tzinfo=UTC))) == HOME
    assert unpacked(rewritten(lambda _: None)) == HOME


@pytest.mark.parametrize(
    ("change", "where"),
    [
        (lambda d: d["revisions"][1].update(chat=7), "line 2"),
        (lambda d: d["revisions"][2].update(replaces=1), "line 3"),
        (lambda d: d["revisions"][2].update(number=5), "line 3"),
        (lambda d: d["revisions"][0].update(action="invented"), "line 1"),
        (lambda d: d["revisions"][0].update(said_at="2026-05-04T18:05:00"), "line 1: said_at"),
        (lambda d: d["revisions"][0].update(extra=1), "line 1"),
        (lambda d: d["revisions"][0]["facts"][0]["fact"].update(kind="question", about="why"), "line 1"),
        (lambda d: d["revisions"][0]["facts"][0]["fact"].update(colour="red"), "line 1"),
        (lambda d: d["revisions"][0]["facts"][0]["fact"].update(ph=float("nan")), "line 1"),
        (lambda d: d["people"].append(dict(d["people"][0])), "household.json"),
        (lambda d: d["people"][0].update(role="owner"), "household.json"),
        (lambda d: d.update(over={"version": 99}), "newer version"),
        (lambda d: d.update(over={"format": "other"}), "no archive of mine"),
    ],
)
def test_what_does_not_hold_together_is_refused_with_its_place(
    change: Callable[[dict[str, Any]], None], where: str
) -> None:
    with pytest.raises(BadFile, match=where):
        unpacked(rewritten(change))


def reminder(**other: Any) -> dict[str, Any]:
    row = {"key": "test_water", "task": "test_water", "text": "Test", "why": "", "rrule": None, "due_at": AT}
    row |= {"planned_at": AT, "fired_count": 0, "paused": False, "ended": False, "settled_at": None}
    return {**row, "source": "routine", "updated_at": AT, "chat": None, **other}


def test_the_reminder_below_is_sound_but_for_what_each_case_changes() -> None:
    assert unpacked(rewritten(lambda d: d["reminders"].append(reminder()))).reminders == (reminder(),)


@pytest.mark.parametrize(
    "fact",
    [
        {"kind": "observation", "text": 5},
        {"kind": "dose", "product": "soup", "amount": 1, "unit": "ml"},
        {"kind": "reading", "ph": 6.1, "when": "2026-05-04T18:05:00"},
        {"kind": "reading", "ph": 6.1, "when": "0001-01-01T00:00:00+14:00"},
        {"kind": "setting", "name": "time_zone", "value": "Nowhere/Never"},
        {"kind": "setting", "name": "tank_volume_l", "value": "many"},
        {"kind": "setting", "name": "tank_volume_l", "value": "0"},
        {"kind": "setting", "name": "ppm_scale", "value": "x"},
    ],
)
def test_a_fact_that_no_message_could_be_answered_beside_is_refused(fact: dict[str, Any]) -> None:
    """Taken in, it would break the answer to everything that the household says from then on."""
    with pytest.raises(BadFile, match=r"this version|line 1"):
        unpacked(rewritten(lambda d: d["revisions"][0]["facts"][0].update(fact=fact)))


@pytest.mark.parametrize("at", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00"])
def test_a_time_that_no_database_takes_is_refused(at: str) -> None:
    with pytest.raises(BadFile, match="line 1: said_at"):
        unpacked(rewritten(lambda d: d["revisions"][0].update(said_at=at)))


def test_nothing_is_planned_by_an_archive_that_is_done_and_not_told() -> None:
    with pytest.raises(BadFile, match="fits nothing"):
        unpacked(rewritten(lambda d: d["reminders"].append(reminder(source="forgetting"))))


def test_a_broken_or_locked_or_growing_zip_is_left_closed() -> None:
    whole = rewritten(lambda _: None)
    with pytest.raises(BadFile, match="damaged"):
        unpacked(whole[:-40])
    with pytest.raises(BadFile, match="damaged"):
        unpacked(whole.replace(b"ph 6.1", b"ph 9.9"))  # the checksum no longer fits
    claims_a_gigabyte = bytearray(whole)
    at = whole.rindex(b"PK\x01\x02")
    claims_a_gigabyte[at + 24 : at + 28] = (2**30).to_bytes(4, "little")
    with pytest.raises(BadFile, match="far too much"):
        unpacked(bytes(claims_a_gigabyte))
