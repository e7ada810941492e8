"""Where a note is signed: whose it is, which side once more, who signs, and one button."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from opnote.desk import theme
from opnote.desk.entry import PATIENT_NAME, SIDE
from opnote.desk.line_edit import LineEdit
from opnote.desk.session import State
from opnote.desk.side_again import SideAgain
from opnote.desk.tick_box import TickBox
from opnote.pack.given import OPERATED

AUTHOR: Final = "author.name"
NUMBER: Final = "patient.number"
OTHER_SIDE: Final = "operation.other_side"
QUESTION: Final = "Which knee was operated on?"


class Refusal(QLabel):
    """One line that says why nothing was signed; gone while there is nothing to say."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        palette = QPalette()
        palette.setColor(QPalette.ColorRole.WindowText, theme.inks(self).wrong)
        self.setPalette(palette)
        self.setVisible(False)

    def say(self, words: str, spoken_by: QWidget) -> None:
        """Show a line, "" for none, and have a control speak it."""
        self.setText(f"\N{BLACK UP-POINTING TRIANGLE} {words}" if words else "")
        self.setVisible(bool(words))
        spoken_by.setAccessibleDescription(words)


def name_line(words: str, parent: QWidget) -> tuple[LineEdit, QHBoxLayout]:
    """The box for the name of who signs, and the line on which it stands behind its label."""
    box = LineEdit(parent, 30)
    box.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
    box.setAccessibleName(words)
    label = QLabel(words, parent)
    label.setBuddy(box)
    line = QHBoxLayout()
    line.setSpacing(8)
    line.addWidget(label)
    line.addWidget(box, 1)
    return box, line


class WholePanel(QWidget):
    """A panel that is never lower than the lines that stand in it, however often they wrap."""

    def minimumSizeHint(self) -> QSize:
        """Room for all of it in the width that it has."""
        layout = self.layout()
        least = super().minimumSizeHint()
        if layout is None or not layout.hasHeightForWidth():
            return least
        return QSize(least.width(), layout.totalHeightForWidth(max(self.width(), least.width())))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """In another width it may need another height."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.updateGeometry()


class SignPanel(WholePanel):
    """Asks for what a signature needs; nothing on it says which side the case records.

    Signals: given(by, side) when the button was pressed and nothing is lacking, `side` being "" for
    an operation without one; put_off() when it is not signed now; path_followed(path) to correct
    something.
    """

    given = Signal(str, str)
    put_off = Signal()
    path_followed = Signal(str)

    def __init__(self, state: State, parent: QWidget) -> None:
        super().__init__(parent)
        self._whose = _line(self, bold=True)
        self._what = _line(self)
        self._other = _line(self)
        self._other.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self._other.setText("This note is about one knee; the other has a note of its own.")
        field = state.pack.fields.get(SIDE)
        question = _line(self, bold=True)
        question.setText(QUESTION)
        self.side: SideAgain | None = None
        if field is not None:
            self.side = SideAgain(field.options, QUESTION, self)
            self.side.chosen.connect(self._on_chosen)
            question.setBuddy(self.side)
        question.setVisible(self.side is not None)
        self.name, by = name_line("Signed by", self)
        self.name.textEdited.connect(self._on_name_edited)
        self.own = TickBox("This is my name; I read the note", self)
        self._sign = QPushButton("Sign the note", self)
        later = QPushButton("Not now", self)
        self._sign.clicked.connect(self._on_sign_clicked)
        later.clicked.connect(self.put_off)
        self._refusal = Refusal(self)
        self._go = QPushButton(self)
        self._go.setVisible(False)
        self._go.clicked.connect(self._on_go_clicked)
        for button in (self._sign, later, self._go):
            button.setAutoDefault(False)
        buttons = QHBoxLayout()
        buttons.addWidget(self._sign)
        buttons.addWidget(later)
        buttons.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 8, 8, 8)
        column.setSpacing(6)
        column.addWidget(self._whose)
        column.addWidget(self._what)
        column.addWidget(self._other)
        column.addWidget(question)
        if self.side is not None:
            column.addWidget(self.side)
        column.addLayout(by)
        column.addWidget(self.own)
        column.addWidget(self._refusal)
        column.addWidget(self._go, 0, Qt.AlignmentFlag.AlignLeft)
        column.addLayout(buttons)
        column.addStretch(1)
        self.setAccessibleName("Sign the note")
        for before, after in pairwise((self.own, self._go, self._sign, later)):
            QWidget.setTabOrder(before, after)
        self.show_state(state)
        self.name.show_text(str(state.view.values.get(AUTHOR, "")))

    def show_state(self, state: State) -> None:
        """Say whose note it is, as the case says it now."""
        values = state.view.values
        parts = (str(values.get(path, "")) for path in (PATIENT_NAME, NUMBER))
        self._whose.setText(", ".join(part for part in parts if part))
        titles = [state.pack.form.titles[name] for name in state.record.procedures]
        self._what.setText(", ".join([*titles, state.view.said(OPERATED)]))
        self._other.setVisible(values.get(OTHER_SIDE) is True)

    def focus_first(self) -> None:
        """Put the focus on the question, where no answer is pointed to yet."""
        first = self.name if self.side is None else self.side
        first.setFocus(Qt.FocusReason.TabFocusReason)

    def sign(self) -> None:
        """Sign, or say what is lacking for it."""
        self._sign.click()

    def refuse(self, words: str, go: str = "", path: str = "") -> None:
        """Say why nothing was signed, with a button that leads to a path."""
        self._refusal.say(words, self._sign)
        self._go.setText(go)
        self._go.setProperty("path", path)
        self._go.setVisible(bool(go))

    def refuse_side(self, words: str, go: str) -> None:
        """The side is not that of the case: it must be given once more."""
        self.refuse(words, go, SIDE)
        if self.side is not None:
            self.side.clear()
            self.side.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_chosen(self) -> None:
        self.refuse("")

    def _on_name_edited(self) -> None:
        self.own.setChecked(False)
        self.refuse("")

    def _on_go_clicked(self) -> None:
        self.path_followed.emit(str(self._go.property("path")))

    def _on_sign_clicked(self) -> None:
        by = " ".join(self.name.text().split())
        side = "" if self.side is None else self.side.side
        if self.side is not None and not side:
            self.refuse("Not signed: answer which knee was operated on.")
            self.side.setFocus(Qt.FocusReason.OtherFocusReason)
        elif not by:
            self.refuse("Not signed: write the name of who signs.")
            self.name.setFocus(Qt.FocusReason.OtherFocusReason)
        elif not self.own.isChecked():
            self.refuse("Not signed: tick that this is your name.")
            self.own.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self.given.emit(by, side)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape puts it off; Enter presses the button that has the focus."""
        focus = QApplication.focusWidget()
        if event.key() == Qt.Key.Key_Escape:
            self.put_off.emit()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and isinstance(
            focus, QPushButton
        ):
            focus.click()
        else:
            event.ignore()


def _line(parent: QWidget, *, bold: bool = False) -> QLabel:
    label = QLabel(parent)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    if bold:
        label.setFont(theme.font(1, bold=True))
    return label
