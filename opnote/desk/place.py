"""Where the window keeps what belongs to this user and computer."""

from __future__ import annotations

import os
from pathlib import Path

from PySide6.QtCore import QStandardPaths


def data_folder() -> Path:
    """The folder of the window's settings and of cases begun without a list."""
    usual = QStandardPaths.StandardLocation.GenericDataLocation
    told = os.environ.get("OPNOTE_DATA")
    folder = Path(told) if told else Path(QStandardPaths.writableLocation(usual)) / "opnote"
    folder.mkdir(parents=True, exist_ok=True)
    return folder
