"""Writing an archive: one ZIP with the journal for programs, tables and pictures for people, and dates."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from bot.archive.drawings import drawings
from bot.archive.layout import FORMAT, HOUSEHOLD, JOURNAL, PICTURES, README, SHEETS, VERSION, WHAT
from bot.archive.sheets import sheets
from bot.archive.standing import last_said, standing
from bot.assistant.scene import looking_on
from bot.rendering.due_calendar import FILE_NAME, due_calendar
from domain.household import choices
from storage.transfer import Holdings

__all__ = ["calendar_of", "packed"]

_FIRST_ZIP_YEAR = 1980
_OWNER_ALONE = 0o100600 << 16
"""The mode of the files once they are unpacked: a plain file that its owner alone may read."""


def packed(kept: Holdings, *, now: datetime) -> bytes:
    """The archive. The same holdings at the same moment give the same bytes.

    now : aware; decides what is due. Draws pictures: call it off the event loop.
    """
    entries = standing(kept)
    zone = choices(entries).zone
    parts = {
        README: WHAT.encode(),
        HOUSEHOLD: _household(kept),
        JOURNAL: b"".join(_json_line(row) for row in kept.revisions),
        FILE_NAME: calendar_of(kept, now=now),
        **{f"{SHEETS}{name}": content for name, content in sheets(entries, zone).items()},
        **{f"{PICTURES}{name}": content for name, content in drawings(entries, last_said(kept)).items()},
    }
    return _zipped(parts, last_said(kept))


def calendar_of(kept: Holdings, *, now: datetime) -> bytes:
    """What is due in the household at ``now``, as a calendar file."""
    scene = looking_on(standing(kept), now)
    return due_calendar(scene.jobs, zone=scene.zone, revised_at=last_said(kept), home=kept.created_at)


def _household(kept: Holdings) -> bytes:
    says = {
        "format": FORMAT,
        "version": VERSION,
        "created_at": kept.created_at,
        "people": kept.people,
        "chats": kept.chats,
        "reminders": kept.reminders,
    }
    return json.dumps(says, indent=1, ensure_ascii=False).encode("utf-8", "surrogatepass") + b"\n"


def _json_line(row: Mapping[str, Any]) -> bytes:
    return json.dumps(row, ensure_ascii=False).encode("utf-8", "surrogatepass") + b"\n"


def _zipped(parts: Mapping[str, bytes], at: datetime) -> bytes:
    stamp = at.astimezone(UTC).timetuple()[:6]
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            entry = zipfile.ZipInfo(name, stamp if stamp[0] >= _FIRST_ZIP_YEAR else (1980, 1, 1, 0, 0, 0))
            entry.external_attr = _OWNER_ALONE
            entry.create_system = 3  # the mode is Unix's, whichever system writes it
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, content)
    return out.getvalue()
