"""A window on copies of the demo cases, which is drawn, and held against what must be readable."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Final

from PySide6.QtCore import QDeadlineTimer, QEventLoop, QPoint, QSettings, QSize, Qt, QTimer
from PySide6.QtGui import QAction, QGuiApplication, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QLineEdit,
    QMenu,
    QPlainTextEdit,
    QPushButton,
    QWidget,
)

from opnote.desk.case_pane import CasePane
from opnote.desk.layout_check import flaws_in
from opnote.desk.state_case import write_made_cases
from opnote.desk.window import Window
from opnote.pack.files import shipped_root

SMALL: Final = QSize(1280, 720)
NOW: Final = datetime(2026, 3, 9, 11, 30)
USUAL_TEXT: Final = 1
HALF_AS_LARGE_AGAIN: Final = 4

_PATIENCE_MS: Final = 20_000
_LAYOUT_ROUNDS: Final = 4
"""A layout asks for another when a scroll bar appears; more than this was never needed."""
_SETTLING_MS: Final = 200
"""The paper finds its width once the pages have theirs, and its drawings then follow."""
_FAST_PNG: Final = 85
"""Little compression: writing must not take longer than drawing."""


def settle(milliseconds: int = 20) -> None:
    """Let the window do what it has to do."""
    loop = QEventLoop()
    QTimer.singleShot(milliseconds, loop.quit)
    loop.exec()


def wait_for(condition: Callable[[], bool]) -> None:
    """Wait until something is so.

    Raises: TimeoutError.
    """
    deadline = QDeadlineTimer(_PATIENCE_MS)
    while not condition():
        if deadline.hasExpired():
            raise TimeoutError("the window did not come to what was waited for")
        settle(10)


def lay_out() -> None:
    """Let the layouts find their places, without waiting for anything else."""
    for _ in range(_LAYOUT_ROUNDS):
        QApplication.processEvents()


def type_text(text: str) -> None:
    """Put a text into whatever has the focus, as if it were typed, but all at once."""
    focus = _focus()
    if isinstance(focus, QLineEdit):
        focus.insert(text)
    elif isinstance(focus, QPlainTextEdit):
        focus.insertPlainText(text)
    else:
        QTest.keyClicks(focus, text)


def press(key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    """Press one key on whatever has the focus."""
    QTest.keyClick(_focus(), key, modifier)


def _focus() -> QWidget:
    if QApplication.focusWidget() is None:
        # A menu or a dialog has gone, and no person clicks on the window that was behind it.
        for window in QApplication.topLevelWidgets():
            if isinstance(window, Window) and window.isVisible():
                window.activateWindow()
        settle()
    focus = QApplication.focusWidget()
    assert isinstance(focus, QWidget), "nothing has the focus"
    return focus


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which drawings are made, where they go, and what was found wrong with them.

    With `draws` false nothing is painted or written: what would be drawn is only looked at.
    """

    out: Path
    only: str = ""
    draws: bool = True
    faults: list[str] = field(default_factory=list)

    def has(self, name: str) -> bool:
        """True for a drawing that was asked for."""
        return self.only in name

    def find(self, name: str, fault: object) -> None:
        """Something is wrong with a drawing: say so in a line, at once."""
        words = f"{name}: {' '.join(str(fault).split())}"
        self.faults.append(words)
        print(words, flush=True)


class Stage:
    """A window on a folder of cases, and where its drawings go.

    `home` is for what lies beside the cases: usual practices, settings, what is written.
    """

    def __init__(self, wanted: Wanted, folder: Path, size: QSize, *, tips: bool = False) -> None:
        """Open the window at a size."""
        self.wanted = wanted
        self.folder = folder
        self.home = folder.parent
        self._writers = ThreadPoolExecutor(1)
        self._data = os.environ.get("OPNOTE_DATA")
        os.environ["OPNOTE_DATA"] = str(self.home)  # nothing of the user's own is drawn or changed
        settings = QSettings(str(self.home / "window.ini"), QSettings.Format.IniFormat)
        settings.setValue("tips/away", not tips)
        CasePane.builds_ahead = False  # most drawings come to one page or two
        self.window = Window(settings, self.home / "new", lambda: NOW)
        self.window.setUpdatesEnabled(wanted.draws)
        self.window.resize(size)
        self.window.show()
        self.window.activateWindow()
        self._shown = 0
        self.window.case_shown.connect(self._on_case_shown)

    def _on_case_shown(self) -> None:
        self._shown += 1

    def open(self, stem: str) -> None:
        """Show one of the cases."""
        before = self._shown
        path = self.folder / f"{stem}.json"
        if before == 0:
            self.window.open_folder(self.folder, path)
            wait_for(lambda: self._shown > before)
            wait_for(self.window.has_read_all)
            wait_for(self.window.is_complete)
        elif self.window.current_path() != path:
            self.window.open_case(path)
            wait_for(lambda: self._shown > before)
        lay_out()

    def replace(self, path: str, text: str) -> None:
        """Type into a field in place of what it holds."""
        self.window.go_to(path)
        press(Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
        type_text(text)

    def choose(self, words: str) -> None:
        """Choose an entry of the menus."""
        actions = self.window.findChildren(QAction)
        next(a for a in actions if a.text().replace("&", "").startswith(words)).trigger()

    def click(self, words: str) -> None:
        """Press a button that can be seen."""
        buttons = self.window.findChildren(QPushButton)
        next(b for b in buttons if b.isVisible() and b.text().startswith(words)).click()

    @contextmanager
    def large_text(self) -> Iterator[None]:
        """Text half as large again."""
        self.window.set_text_size(HALF_AS_LARGE_AGAIN)
        lay_out()
        yield
        self.window.set_text_size(USUAL_TEXT)
        lay_out()

    # Drawing

    def draw(self, name: str) -> None:
        """Draw what the window shows."""
        self.draw_widget(self.window, name)

    def draw_widget(self, widget: QWidget, name: str) -> None:
        """Draw a window, a dialog or a menu, and look for what can't be read or hit in it."""
        if not self.wanted.has(name):
            return
        lay_out()
        shown = {self.window, widget}
        flaws = [flaw for each in shown for flaw in flaws_in(each)]
        if flaws:
            settle(_SETTLING_MS)
            lay_out()
            flaws = [flaw for each in shown for flaw in flaws_in(each)]
        for flaw in flaws:
            self.wanted.find(name, flaw)
        if not self.wanted.draws:
            return
        path = self.wanted.out / f"{name}.png"
        self._writers.submit(self._write, _picture_of(widget), path)

    def _write(self, image: QImage, path: Path) -> None:
        if image.isNull() or not image.save(str(path), quality=_FAST_PNG):
            self.wanted.find(path.stem, f"{path} can't be written: is there room, and the right?")

    def draw_dialog(self, name: str) -> None:
        """Draw the dialog that is open beside the window, and close it."""
        for dialog in self.window.findChildren(QDialog):
            if dialog.isVisible():
                self.draw_widget(dialog, name)
                dialog.close()
        settle()

    def draw_menu(self, menu: QMenu, name: str) -> None:
        """Unfold a menu, draw it and fold it again."""
        menu.popup(self.window.mapToGlobal(QPoint(0, 0)))
        self.draw_widget(menu, name)
        menu.close()

    def draw_pages(self, stem: str, ending: str) -> None:
        """Draw the pages of a case that were asked for."""
        for number, page in enumerate(self.window.pages(), 1):
            name = f"{stem}_{number:02}_{page}_{ending}"
            if self.wanted.has(name):
                self.window.show_page(page)
                self.draw(name)

    def close(self) -> None:
        """Put the window away without keeping anything."""
        CasePane.builds_ahead = True
        if self._data is None:
            del os.environ["OPNOTE_DATA"]
        else:
            os.environ["OPNOTE_DATA"] = self._data
        self._writers.shutdown()
        self.window.close()
        self.window.deleteLater()
        settle()


State = Callable[[Stage, str], None]
"""Brings a stage into a state and draws it; the second argument is the theme."""


def _picture_of(widget: QWidget) -> QImage:
    if QGuiApplication.platformName() != "offscreen":
        return widget.grab().toImage()
    # It has been painted just now; nothing can lie over it, so that it need not be painted again.
    return widget.screen().grabWindow(widget.winId()).toImage()


def write_samples(folder: Path) -> None:
    """Put the demo cases, and those made from them, into a folder."""
    samples = shipped_root() / "forms" / "samples"
    for case in sorted(samples.glob("*.json")):
        shutil.copyfile(case, folder / case.name)
    write_made_cases(samples, folder)


@contextmanager
def stage_on(
    wanted: Wanted, size: QSize, *, tips: bool = False, empty: bool = False
) -> Iterator[Stage]:
    """A stage on fresh copies of the demo cases, or on an empty folder."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "list"
        folder.mkdir()
        if not empty:
            write_samples(folder)
        stage = Stage(wanted, folder, size, tips=tips)
        try:
            yield stage
        finally:
            stage.close()
