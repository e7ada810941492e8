"""About a patient's sheet: how hard it is to read, and which risks this plan doesn't have."""

from __future__ import annotations

from html import escape

from PySide6.QtCore import QSize, QTimer
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QPushButton,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from opnote.compose.document import PATIENT_DOCUMENTS
from opnote.compose.reading import TARGET_GRADE, Reading, Score, reading_of
from opnote.compose.risk_words import LeftOut, left_out
from opnote.desk import theme
from opnote.desk.desk import Desk
from opnote.pack.given import SHEET

_PAUSE_MS = 250
"""Quiet while somebody types: the sheet is scored when they pause."""
_YEARS_BEFORE_SCHOOL = 5
"""A reading age is about five years more than a grade (from memory)."""


class SheetLine(QPushButton):
    """One line about the sheet on the paper, which leads to the whole report.

    Hidden for documents that a patient doesn't read.
    """

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._desk: Desk | None = None
        self._kind = ""
        self._report: _Report | None = None
        self.setFlat(True)
        self.setAutoDefault(False)
        self.setToolTip("How hard each sentence is, and which risks are left out")
        self.clicked.connect(self._on_clicked)
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(_PAUSE_MS)
        self._pause.timeout.connect(self._refresh)
        self.setVisible(False)

    def set_desk(self, desk: Desk) -> None:
        """Work on the cases of a desk."""
        self._desk = desk

    def show_kind(self, kind: str) -> None:
        """Another document is on the paper, or the case has changed."""
        self._kind = kind
        self.setVisible(kind in PATIENT_DOCUMENTS)
        if kind in PATIENT_DOCUMENTS:
            self._pause.start()

    def _refresh(self) -> None:
        if self._desk is None or self._kind not in PATIENT_DOCUMENTS:
            return
        state = self._desk.state
        reading = reading_of(state.document(self._kind))
        left = left_out(state.pack.risks, state.view) if self._kind == SHEET else []
        self.setText(_line(reading, left))
        if self._report is not None and self._report.isVisible():
            self._report.show_report(reading, left)

    def _on_clicked(self) -> None:
        if self._report is None:
            self._report = _Report(self.window())
        self._report.show()
        self._report.raise_()
        self._refresh()


class _Report(QDialog):
    """The whole report beside the window; it follows the case."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle("About this sheet")
        self._text = QTextBrowser(self)
        self._text.setAccessibleName("About this sheet")
        self._text.setFrameShape(QTextBrowser.Shape.NoFrame)
        self._text.document().setDocumentMargin(16)
        theme.slim(self._text)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close, self)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addWidget(self._text, 1)
        column.addWidget(buttons)

    def sizeHint(self) -> QSize:
        """Wide enough for a sentence on two lines."""
        return QSize(560, 620)

    def show_report(self, reading: Reading, left: list[LeftOut]) -> None:
        """Show what is known of the sheet now."""
        at = self._text.verticalScrollBar().value()
        self._text.setHtml(_html(reading, left))
        self._text.verticalScrollBar().setValue(at)


def _line(reading: Reading, left: list[LeftOut]) -> str:
    parts = []
    if reading.body is not None:
        parts.append(f"Reading grade {reading.body.grade:.1f}")
    if left:
        parts.append(f"{len(left)} {'risk' if len(left) == 1 else 'risks'} left out")
    return f"{', '.join(parts) or 'About this sheet'} \N{HORIZONTAL ELLIPSIS}"


def _html(reading: Reading, left: list[LeftOut]) -> str:
    parts = ["<h3>How hard it is to read</h3>"]
    if reading.body is not None:
        parts.append(f"<p>{_score_words('The sheet', reading.body)}</p>")
        parts.append(
            f"<p>The aim is grade {TARGET_GRADE:g} or lower. A sentence of fewer and shorter words "
            "is easier; the grade knows nothing of sense.</p>"
        )
    if reading.small_print is not None:
        parts.append(f"<p>{_score_words('The notes on sources', reading.small_print)}</p>")
    grades = dict(reading.graded)
    parts += _list("The three hardest sentences", [_graded(s, grades[s]) for s in reading.hardest])
    parts += _list(
        "Risks that this plan doesn't have",
        [f"<b>{escape(each.title)}</b>: told {escape(each.for_whom)}" for each in left],
    )
    parts += _list("Every sentence", [_graded(text, grade) for text, grade in reading.graded])
    return "".join(parts)


def _score_words(what: str, score: Score) -> str:
    age = max(score.grade, 0) + _YEARS_BEFORE_SCHOOL
    estimate = "" if score.sentences >= 30 else ", an estimate from few sentences"
    return (
        f"{what}: Flesch-Kincaid grade {score.grade:.1f}, a reading age of about {age:.0f}; "
        f"Flesch reading ease {score.ease:.0f}; SMOG grade {score.smog:.1f}{estimate}."
    )


def _graded(text: str, grade: float) -> str:
    return f"{escape(text)} <i>({grade:.1f})</i>"


def _list(title: str, items: list[str]) -> list[str]:
    if not items:
        return []
    return [f"<h3>{title}</h3><ul>", *(f"<li>{item}</li>" for item in items), "</ul>"]
