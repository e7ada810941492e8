"""The answer that a finding takes where it stands: a reason, or a check booked for later."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from opnote.desk.desk import Desk, OpenCase
from opnote.desk.flow import FlowLayout
from opnote.desk.line_edit import LineEdit
from opnote.desk.reading import Reading, read_datetime, text_of
from opnote.record import book_due, give_reason, leave_unanswered
from opnote.record.record import Due, Record

if TYPE_CHECKING:
    from opnote.assess import Finding


class ReasonBox(QWidget):
    """One line that is kept as the reason of a finding, or of a field's silence."""

    def __init__(self, desk: Desk, parent: QWidget, at: str = "") -> None:
        """Make the boxes; `at` tells their names from those of the same boxes elsewhere."""
        super().__init__(parent)
        self._desk = desk
        self._at = at
        self._finding = ""
        self._basis = ""
        self._path = ""
        self._lead = QLabel(self)
        self.box = LineEdit(self, 40)
        self.box.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.box.textEdited.connect(self._on_text_edited)
        self._lead.setBuddy(self.box)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(6)
        row.addWidget(self._lead)
        row.addWidget(self.box, 1)

    def ask_about(self, finding: Finding) -> None:
        """Take the reason for a finding that is true and unwelcome or rare."""
        self._finding, self._basis, self._path = finding.id, finding.basis, ""
        self._lead.setText("Because")
        self.box.setAccessibleName(f"Reason{self._at}: {finding.message}")

    def ask_why_silent(self, path: str) -> None:
        """Take the reason why a field is not recorded."""
        self._finding, self._path = "", path
        self._lead.setText("Not recorded, because")
        label = self._desk.label_of(path)
        self.box.setAccessibleName(f"{label}: not recorded, because{self._at}")

    def sync(self, record: Record) -> None:
        """Show the reason that the record holds."""
        held = record.reasons if self._finding else record.unanswered
        text = held.get(self._finding or self._path, "")
        if text.strip() != self.box.text().strip():
            self.box.show_text(text)

    def _on_text_edited(self, text: str) -> None:
        if self._finding:
            edit = give_reason(self._finding, text, "the reason", self._basis)
        else:
            label = self._desk.label_of(self._path)
            edit = leave_unanswered(self._path, text, f"why {label} is not recorded")
        self._desk.apply(edit, self)


class BookingBox(QWidget):
    """When a check is due, and by whom."""

    def __init__(self, desk: Desk, parent: QWidget, at: str = "") -> None:
        """Make the boxes; `at` tells their names from those of the same boxes elsewhere."""
        super().__init__(parent)
        self._desk = desk
        self._at = at
        self._finding = ""
        self._basis = ""
        self._asked: tuple[OpenCase, str] | None = None
        self._when = LineEdit(self, 20)
        self._by = LineEdit(self, 22)
        self._when.setPlaceholderText("today 17:30")
        self._by.setPlaceholderText("name")
        for box in (self._when, self._by):
            box.textEdited.connect(self._on_text_edited)
        self._understood = QLabel(self)
        self._understood.setTextFormat(Qt.TextFormat.PlainText)
        self._understood.setWordWrap(True)
        self._understood.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self._understood.setVisible(False)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        row = FlowLayout(gap=6)
        column.addLayout(row)
        column.addWidget(self._understood)
        for word, box in (("Booked for", self._when), ("by", self._by)):
            # One item of the line, so that a word never stands without its box.
            pair = QWidget(self)
            label = QLabel(word, pair)
            label.setBuddy(box)
            beside = QHBoxLayout(pair)
            beside.setContentsMargins(0, 0, 0, 0)
            beside.setSpacing(6)
            beside.addWidget(label)
            beside.addWidget(box)
            row.addWidget(pair)

    def ask_about(self, finding: Finding) -> None:
        """Take the booking of a check that can only be made later."""
        asked = (self._desk.case, finding.id)
        if asked != self._asked:
            # What was half typed for another check, or another patient, is not for this one.
            self._asked = asked
            self._show("", "")
        self._finding, self._basis = finding.id, finding.basis
        self._when.setAccessibleName(f"Booked for{self._at}: {finding.message}")
        self._by.setAccessibleName(f"Booked by{self._at}: {finding.message}")

    def sync(self, record: Record) -> None:
        """Show the booking that the record holds."""
        due = record.due.get(self._finding)
        if due == self._booking():
            return
        if due is None:
            self._show("", "")
        else:
            self._show(text_of(due.at, self._desk.surroundings.habits), due.by)

    def controls(self) -> Sequence[QWidget]:
        """The boxes in order."""
        return (self._when, self._by)

    def _show(self, when: str, by: str) -> None:
        self._when.show_text(when)
        self._by.show_text(by)
        self._say_understood()

    def _reading(self) -> Reading:
        around = self._desk.surroundings
        return read_datetime(self._when.text(), around.now(), around.habits)

    def _say_understood(self) -> None:
        reading = self._reading()
        words = reading.understood
        if reading.problem:
            words = f"\N{BLACK UP-POINTING TRIANGLE} {reading.problem}"
        elif words and not self._by.text().strip():
            words += "; not booked until a name stands here"
        self._understood.setText(words)
        self._understood.setVisible(bool(words))
        self._when.setAccessibleDescription(words)

    def _booking(self) -> Due | None:
        at = self._reading().value
        by = self._by.text().strip()
        return Due(at, by) if isinstance(at, datetime) and by else None

    def _on_text_edited(self) -> None:
        self._say_understood()
        self._desk.apply(book_due(self._finding, self._booking(), "the booking", self._basis), self)
