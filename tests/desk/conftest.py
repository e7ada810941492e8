"""A window on copies of the demo cases, and a typist who knows nothing but the keyboard."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Iterator
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

os.environ["QT_QPA_PLATFORM"] = "offscreen"
# Not as `tests.desk.typist`: a package that is installed may be called `tests` as well.
sys.path.insert(0, str(Path(__file__).parent))

from PySide6.QtCore import QLocale, QSettings, QSize, Qt
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from opnote.desk import theme
from opnote.desk.window import Window
from opnote.pack import cache
from opnote.pack.cache import cached_pack
from opnote.pack.files import shipped_root
from opnote.pack.pack import Pack

if TYPE_CHECKING:
    from tests.desk.typist import Typist as Typist
else:
    from typist import Typist

NOW = datetime(2026, 3, 9, 11, 30)
SAMPLES = shipped_root() / "forms" / "samples"
NONE = Qt.KeyboardModifier.NoModifier
CTRL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier


@pytest.fixture(scope="session")
def qapp_cls() -> type[QApplication]:
    return QApplication


@pytest.fixture
def cases(tmp_path: Path) -> Path:
    """A folder with copies of the demo cases."""
    folder = tmp_path / "list"
    folder.mkdir()
    for case in SAMPLES.glob("*.json"):
        shutil.copyfile(case, folder / case.name)
    return folder


@pytest.fixture(scope="session")
def pack_cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the compiled packs of this run are kept, so that each test need not compile them."""
    return tmp_path_factory.mktemp("packs")


@lru_cache
def _in_mind(procedures: tuple[str, ...]) -> Pack:
    """A pack is a value that no window changes: those of one run share it."""
    return cached_pack(procedures)


@pytest.fixture
def open_window(
    qtbot: QtBot, tmp_path: Path, pack_cache: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[[Path, str], Window]]:
    """Opens a window on a case of a folder, at the smallest size that must do."""
    monkeypatch.setenv("OPNOTE_CACHE", str(pack_cache))
    monkeypatch.setattr(cache, "cached_pack", lambda names: _in_mind(tuple(names)))
    QApplication.setStyle("Fusion")
    # Whatever the computer speaks that the tests run on.
    QLocale.setDefault(QLocale.c())
    theme.apply_scheme(theme.Scheme.LIGHT)
    opened: list[Window] = []

    def open_it(folder: Path, stem: str) -> Window:
        settings = QSettings(str(tmp_path / "window.ini"), QSettings.Format.IniFormat)
        window = Window(settings, tmp_path / "new", lambda: NOW)
        window.resize(QSize(1280, 720))
        window.show()
        qtbot.waitExposed(window)
        window.activateWindow()
        with qtbot.waitSignal(window.case_shown, timeout=20_000):
            window.open_folder(folder, folder / f"{stem}.json")
        qtbot.waitUntil(window.is_complete, timeout=20_000)
        opened.append(window)
        return window

    yield open_it
    QLocale.setDefault(QLocale.c())
    for window in opened:
        window.close()
        window.deleteLater()
    QApplication.processEvents()


@pytest.fixture
def window(open_window: Callable[[Path, str], Window], cases: Path) -> Window:
    """A window on demo case A."""
    return open_window(cases, "case_a")


@pytest.fixture
def typist() -> Typist:
    return Typist()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What the offscreen plugin can't do is no fault of the window."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.qt_log_ignore("This plugin does not support"))


class Eyes:
    """Finds what a person sees, by what a screen reader says."""

    def __init__(self, window: Window) -> None:
        self.window = window

    def control(self, start: str) -> QWidget:
        """The visible control whose name starts so."""
        return self.controls(start)[0]

    def controls(self, start: str) -> list[QWidget]:
        """The visible controls whose names start so."""
        found = self.window.findChildren(QWidget)
        return [w for w in found if w.isVisible() and w.accessibleName().startswith(start)]

    def texts(self) -> str:
        """Everything that stands in visible labels."""
        labels = self.window.findChildren(QLabel)
        return "\n".join(label.text() for label in labels if label.isVisible())


@pytest.fixture
def eyes(window: Window) -> Eyes:
    return Eyes(window)


@pytest.fixture
def eyes_of() -> type[Eyes]:
    return Eyes
