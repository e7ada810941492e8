"""A window on copies of the demo cases, and a typist who knows nothing but the keyboard."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable, Iterator
from datetime import date, datetime
from datetime import time as clock_time
from pathlib import Path

import pytest

os.environ["QT_QPA_PLATFORM"] = "offscreen"

from PySide6.QtCore import QLocale, QSettings, QSize, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from opnote.desk import theme
from opnote.desk.editor.option_button import letters_for
from opnote.desk.editor.options import BURST_MS
from opnote.desk.field_row import FieldRow
from opnote.desk.rows_table import RowsTable
from opnote.desk.window import Window
from opnote.pack.files import shipped_root
from opnote.pack.form import Field
from opnote.record import NOT_EXAMINED, Quantity, Record, Value
from opnote.record.value import number_text

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


@pytest.fixture
def open_window(
    qtbot: QtBot, tmp_path: Path, pack_cache: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[[Path, str], Window]]:
    """Opens a window on a case of a folder, at the smallest size that must do."""
    monkeypatch.setenv("OPNOTE_CACHE", str(pack_cache))
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


class Typist:
    """Presses keys on whatever has the focus, and counts them."""

    def __init__(self) -> None:
        self.presses = 0
        self.seconds: list[float] = []
        self._last = 0.0

    def focus(self) -> QWidget:
        """What has the focus."""
        widget = QApplication.focusWidget()
        assert isinstance(widget, QWidget), "nothing has the focus"
        return widget

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier = NONE) -> None:
        """Press one key."""
        start = time.perf_counter()
        QTest.keyClick(self.focus(), key, modifier)
        self._count(start)

    def type(self, text: str) -> None:
        """Type a text, character by character."""
        for character in text:
            if isinstance(self.focus(), QAbstractButton):
                # Faster than any person, it would be taken for a scanner.
                QTest.qWait(max(0, BURST_MS + 5 - self._since_last_ms()))
            start = time.perf_counter()
            QTest.keyClicks(self.focus(), character)
            self._count(start)
            self._last = time.perf_counter()

    def _since_last_ms(self) -> int:
        return round((time.perf_counter() - self._last) * 1000)

    def _count(self, start: float) -> None:
        self.presses += 1
        self.seconds.append(time.perf_counter() - start)

    def question(self) -> FieldRow | RowsTable | None:
        """The question that has the focus."""
        widget: QWidget | None = self.focus()
        while widget is not None:
            if isinstance(widget, FieldRow | RowsTable):
                return widget
            widget = widget.parentWidget()
        return None

    def enter(self, target: Record) -> None:
        """Fill the case from its first question on, until Enter leads nowhere new."""
        stopped = 0
        last: object = None
        answered: set[str] = set()
        while stopped < 2:
            question = self.question()
            if question is None:  # Tab has left the last question of a page
                assert self.focus().accessibleName() == "Next page", self.focus()
                self.press(Qt.Key.Key_Space)
                continue
            if isinstance(question, RowsTable):
                self._enter_table(question, target)
            else:
                value = target.values.get(question.path)
                if value is not None and question.path not in answered:
                    answered.add(question.path)
                    self.answer(question.field, value, target)
                leave = Qt.Key.Key_Tab if question.field.kind == "prose" else Qt.Key.Key_Return
                self.press(leave)
            stopped = stopped + 1 if self.question() is last else 0
            last = self.question()

    def _enter_table(self, table: RowsTable, target: Record) -> None:
        rows = target.rows.get(table.path)
        if rows == () and not table.is_answered_none:
            self.press(Qt.Key.Key_Tab)
            self.press(Qt.Key.Key_Space)
            self.press(Qt.Key.Key_Return)
        elif rows and table.row_count < len(rows):
            self.press(Qt.Key.Key_Space)
        else:
            self.press(Qt.Key.Key_Return)

    def answer(self, field: Field, value: Value, target: Record) -> None:
        """Answer the question that has the focus."""
        if field.kind in ("choice", "grade"):
            self._choose(field, [option.value for option in field.options].index(str(value)))
        elif field.kind == "choices":
            assert isinstance(value, tuple)
            self._tick(field, value)
        elif field.kind == "yes_no":
            self.type("e" if value == NOT_EXAMINED else "y" if value else "n")
        elif field.kind == "ref":
            self._arrow_to(list(target.rows[field.refers_to]).index(str(value)))
        else:
            self.type(typed(value))

    def _tick(self, field: Field, value: tuple[str, ...]) -> None:
        letters = letters_for(option.label for option in field.options)
        for index, option in enumerate(field.options):
            if field.deliberate or not letters[index]:
                if index:
                    self.press(Qt.Key.Key_Right)
                if option.value in value:
                    self.press(Qt.Key.Key_Space)
            elif option.value in value:
                self.type(letters[index])

    def _choose(self, field: Field, index: int) -> None:
        letter = letters_for(option.label for option in field.options)[index]
        if field.deliberate or not letter:
            self._arrow_to(index)
        else:
            self.type(letter)

    def _arrow_to(self, index: int) -> None:
        if index == 0:
            self.press(Qt.Key.Key_Space)
        for _ in range(index):
            self.press(Qt.Key.Key_Right)


def typed(value: Value) -> str:
    """A value as a surgeon in a hurry types it."""
    if isinstance(value, Quantity):
        return number_text(value.amount)
    if isinstance(value, datetime):
        return f"{value.day}/{value.month}/{value:%y} {value.hour}{value:%M}"
    if isinstance(value, date):
        return f"{value.day}/{value.month}/{value:%y}"
    if isinstance(value, clock_time):
        return f"{value.hour}{value:%M}"
    return str(value)


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
