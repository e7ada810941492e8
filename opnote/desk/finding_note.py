"""A finding beside its field: its shape and word, its sentence, and its answer in place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from opnote.desk.answer import BookingBox, ReasonBox
from opnote.desk.desk import Desk
from opnote.desk.mark import LEVEL_WORDS, LevelMark, level_colour

if TYPE_CHECKING:
    from opnote.assess import Finding


class FindingNote(QWidget):
    """One finding; the same widget shows one after another, so that nothing is rebuilt."""

    def __init__(self, desk: Desk, parent: QWidget) -> None:
        super().__init__(parent)
        self._desk = desk
        self._finding: Finding | None = None
        self._reason: ReasonBox | None = None
        self._booking: BookingBox | None = None
        self._mark = LevelMark(self)
        self._words = QLabel(self)
        self._words.setWordWrap(True)
        self._words.setTextFormat(Qt.TextFormat.PlainText)
        self._words.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        line = QHBoxLayout()
        line.setSpacing(6)
        line.addWidget(self._mark, 0, Qt.AlignmentFlag.AlignTop)
        line.addWidget(self._words, 1)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 2, 0, 4)
        self._column.setSpacing(4)
        self._column.addLayout(line)

    @property
    def finding(self) -> Finding | None:
        """The finding that is shown."""
        return self._finding

    def controls(self) -> list[QWidget]:
        """The boxes that take its answer, in order."""
        found: list[QWidget] = []
        if self._reason is not None:
            found.append(self._reason.box)
        if self._booking is not None:
            found.extend(self._booking.controls())
        return found

    def show_finding(self, finding: Finding) -> None:
        """Show a finding, with the box that takes its answer."""
        if finding != self._finding:
            self._finding = finding
            self._mark.set_level(finding.level)
            self._words.setText(f"{LEVEL_WORDS[finding.level]}: {finding.message}")
            self._words.setToolTip(f"Asked for by: {finding.source}")
        palette = QPalette()
        palette.setColor(QPalette.ColorRole.WindowText, level_colour(finding.level, self))
        self._words.setPalette(palette)
        self._ask(finding)

    def _ask(self, finding: Finding) -> None:
        takes_reason = finding.level in ("adverse", "unusual")
        if takes_reason and self._reason is None:
            self._reason = ReasonBox(self._desk, self)
            self._column.addWidget(self._reason)
        if finding.level == "due" and self._booking is None:
            self._booking = BookingBox(self._desk, self)
            self._column.addWidget(self._booking)
        record = self._desk.state.record
        if self._reason is not None:
            self._reason.setVisible(takes_reason)
            if takes_reason:
                self._reason.ask_about(finding)
                self._reason.sync(record)
        if self._booking is not None:
            self._booking.setVisible(finding.level == "due")
            if finding.level == "due":
                self._booking.ask_about(finding)
                self._booking.sync(record)
