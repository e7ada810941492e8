"""Starting the window."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import QSettings, QTimer
from PySide6.QtWidgets import QApplication

from opnote.desk import theme
from opnote.desk.collector import release_collector
from opnote.desk.place import data_folder
from opnote.desk.window import Window

_STARTED_MS: Final = 5000
"""The time after which nobody waits for a first page any more."""


def run(cases: Path | None, argv: Sequence[str]) -> int:
    """Open the window; gives the exit code when it is closed.

    `cases` is a folder of case files; None opens the folder of the last time, or none.
    """
    application = QApplication.instance() or QApplication(list(argv) or sys.argv[:1])
    assert isinstance(application, QApplication)
    application.setApplicationName("opnote")
    application.setStyle("Fusion")
    folder = data_folder()
    settings = QSettings(str(folder / "window.ini"), QSettings.Format.IniFormat)
    theme.apply_scheme(theme.Scheme(str(settings.value("scheme", "system"))))
    window = Window(settings, folder / "cases")
    window.resize(window.sizeHint())
    window.restore()
    window.show()
    last = settings.value("folder")
    if cases is None and isinstance(last, str) and Path(last).is_dir():
        cases = Path(last)
    # Also where no case is opened.
    QTimer.singleShot(_STARTED_MS, release_collector)
    window.open_later(cases)
    return application.exec()
