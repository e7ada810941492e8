"""Wording and record make a Document; one small module a format writes it."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from opnote.compose.compose import Composed, compose, composed

__all__ = ["Composed", "compose", "composed"]


def __getattr__(name: str) -> object:
    """Load what composes when it is first asked for: the window needs documents' parts sooner."""
    if name in __all__:
        return getattr(import_module("opnote.compose.compose"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
