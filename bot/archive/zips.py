"""Looking into ZIP files from outside: what they claim is checked before anything is unpacked."""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Iterable

from bot.archive.bad_file import BadFile

__all__ = ["MOST_PART_BYTES", "is_zip", "names_in", "parts_of"]

MOST_PART_BYTES = 32 * 1024 * 1024
"""The longest part once unpacked: a journal of some 75,000 messages. [bytes]"""

MOST_WHOLE_BYTES = 2 * MOST_PART_BYTES
MOST_PARTS = 2_000
MOST_GROWTH = 200
"""How many times longer a part may get; text rarely grows more than thirtyfold (common practice)."""

FREE_GROWTH_BYTES = 1024 * 1024
_ENCRYPTED = 0x1


def is_zip(content: bytes) -> bool:
    """Whether it begins like a ZIP file."""
    return content[:4] in (b"PK\x03\x04", b"PK\x05\x06")


def names_in(content: bytes) -> frozenset[str]:
    """The names of its parts. Raises BadFile for what is no sound ZIP file, or unpacks to too much."""
    with _opened(content) as archive:
        return frozenset(archive.namelist())


def parts_of(content: bytes, names: Iterable[str]) -> dict[str, bytes]:
    """The named parts. Raises BadFile, also where one is missing."""
    found = {}
    with _opened(content) as archive:
        for name in names:
            try:
                with archive.open(name) as part:
                    found[name] = part.read(MOST_PART_BYTES + 1)
            except KeyError:
                raise BadFile(f"{name} is missing in this archive.") from None
            except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError):
                raise BadFile(f"{name} in this archive is damaged.") from None
    return found


def _opened(content: bytes) -> zipfile.ZipFile:
    try:
        archive = zipfile.ZipFile(io.BytesIO(content))
    except (zipfile.BadZipFile, ValueError, EOFError):
        raise BadFile("This ZIP file is damaged.") from None
    parts = archive.infolist()
    for part in parts:
        if part.flag_bits & _ENCRYPTED:
            raise BadFile("This ZIP file has a password; send it without.")
        grown = part.file_size > MOST_GROWTH * part.compress_size + FREE_GROWTH_BYTES
        if part.file_size > MOST_PART_BYTES or grown:
            raise BadFile("This ZIP file would unpack to far too much; I leave it closed.")
    if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_WHOLE_BYTES:
        raise BadFile("This ZIP file would unpack to far too much; I leave it closed.")
    return archive
