"""Keeps Python alive under a PySide6 that drops a reference to None with each call."""

from __future__ import annotations

import ctypes
import sys
from typing import Final

_SPARE: Final = 1 << 40


def guard_none() -> None:
    """Give None references to spare; call before Qt is used.

    WORKAROUND(PySide6 6.12.0): each method that returns nothing drops a reference to None, so
    that a Python without an immortal None (before 3.12) ends after some thousand calls with
    "none_dealloc". 6.11.3 does not.
    """
    if sys.implementation.name == "cpython" and sys.version_info < (3, 12):
        count = ctypes.c_ssize_t.from_address(id(None))
        if count.value < _SPARE:
            count.value += _SPARE
