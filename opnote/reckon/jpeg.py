"""How large a picture is, from its own bytes, so that nothing need decode it."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

_MARK: Final = 0xFF
_START: Final = b"\xff\xd8"
_SCAN: Final = 0xDA
_FRAMES: Final = frozenset({*range(0xC0, 0xD0)} - {0xC4, 0xC8, 0xCC})
"""Start of a frame, whatever its coding; the three left out hold tables."""
_ALONE: Final = frozenset({0x01, *range(0xD0, 0xD8)})
"""Markers that no length follows."""


@lru_cache(maxsize=64)
def jpeg_size(data: bytes) -> tuple[int, int] | None:
    """The width and height of a JPEG; None when the bytes are none.

    Units: pixels. Source: ITU-T T.81 (1992), annex B: markers, segments and the frame header.
    """
    if not data.startswith(_START):
        return None
    at = len(_START)
    while at + 4 <= len(data):
        if data[at] != _MARK:
            return None
        marker = data[at + 1]
        if marker == _MARK:  # a fill byte
            at += 1
            continue
        if marker in _ALONE:
            at += 2
            continue
        if marker in _FRAMES:
            height = int.from_bytes(data[at + 5 : at + 7], "big")
            width = int.from_bytes(data[at + 7 : at + 9], "big")
            return (width, height) if width and height else None
        if marker == _SCAN:
            return None
        at += 2 + max(2, int.from_bytes(data[at + 2 : at + 4], "big"))
    return None
