"""How large a picture is, read from its first bytes."""

from __future__ import annotations

import struct

__all__ = ["picture_size"]

_PNG = b"\x89PNG\r\n\x1a\n"
# JPEG start-of-frame markers (ITU-T T.81, table B.1), without the tables DHT, JPG and DAC between them.
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}


def picture_size(content: bytes) -> tuple[int, int] | None:
    """Width and height of a PNG or JPEG; ``None`` where it is neither. [px]"""
    if content.startswith(_PNG) and content[12:16] == b"IHDR" and len(content) >= 24:
        width, height = struct.unpack(">II", content[16:24])
        return (width, height) if width and height else None
    if content.startswith(b"\xff\xd8"):
        return _jpeg_size(content)
    return None


def _jpeg_size(content: bytes) -> tuple[int, int] | None:
    at = 2
    while at + 9 <= len(content) and content[at] == 0xFF:
        marker = content[at + 1]
        if marker in _FRAMES:
            height, width = struct.unpack(">HH", content[at + 5 : at + 9])
            return (width, height) if width and height else None
        at += 2 + struct.unpack(">H", content[at + 2 : at + 4])[0]
    return None
