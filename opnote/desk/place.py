"""Where the window keeps what belongs to this user and computer."""

from __future__ import annotations

from pathlib import Path

from opnote.pack.cache import user_folder


def data_folder() -> Path:
    """The folder of the window's settings and of cases begun without a list."""
    folder = user_folder("OPNOTE_DATA", "data")
    folder.mkdir(parents=True, exist_ok=True)
    return folder
