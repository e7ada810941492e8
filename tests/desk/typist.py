"""A typist who knows nothing but the keyboard."""

from __future__ import annotations

import time
from datetime import date, datetime
from datetime import time as clock_time

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QWidget

from opnote.desk.editor.option_button import letters_for
from opnote.desk.editor.options import BURST_MS
from opnote.desk.field_row import FieldRow
from opnote.desk.rows_table import RowsTable
from opnote.pack.form import Field
from opnote.record import NOT_EXAMINED, Quantity, Record, Value
from opnote.record.value import number_text

NONE = Qt.KeyboardModifier.NoModifier


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
        """Fill the case from its first question on, box after box, until Tab leads out of it."""
        answered: set[str] = set()
        outside = 0
        while outside < 4:
            question = self.question()
            outside = 0 if question is not None else outside + 1
            if question is None and self.focus().accessibleName() == "Next page":
                self.press(Qt.Key.Key_Space)
            elif question is None:  # a button at the foot of the page
                self.press(Qt.Key.Key_Tab)
            elif isinstance(question, RowsTable):
                self._enter_table(question, target)
            else:
                value = target.values.get(question.path)
                if value is not None and question.path not in answered:
                    answered.add(question.path)
                    self.answer(question.field, value, target)
                self.press(Qt.Key.Key_Tab)

    def _enter_table(self, table: RowsTable, target: Record) -> None:
        rows = target.rows.get(table.path)
        if rows == () and not table.is_answered_none:
            self.press(Qt.Key.Key_Tab)
            self.press(Qt.Key.Key_Space)
            self.press(Qt.Key.Key_Tab)
        elif rows and table.row_count < len(rows):
            self.press(Qt.Key.Key_Space)
        else:
            self.press(Qt.Key.Key_Tab)

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
