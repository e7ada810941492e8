"""The side, entered once more at signing: by a click, or an arrow and then Space, by no letter."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QSizePolicy, QWidget

from opnote.desk.editor.option_button import RadioOption
from opnote.pack.form import Option

_ON = (Qt.Key.Key_Right, Qt.Key.Key_Down)
_BACK = (Qt.Key.Key_Left, Qt.Key.Key_Up)
_CHOOSING = (Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter)


class SideAgain(QWidget):
    """The answers side by side, none chosen at first.

    Tab comes to the row as a whole, where no key chooses: an arrow points to an answer, and only
    then Space or Enter takes it.

    Signals: chosen() when an answer was taken.
    """

    chosen = Signal()

    def __init__(self, options: Sequence[Option], question: str, parent: QWidget) -> None:
        super().__init__(parent)
        self._values = [option.value for option in options]
        self._group = QButtonGroup(self)
        self.buttons: list[RadioOption] = []
        row = QHBoxLayout(self)
        row.setContentsMargins(4, 4, 4, 4)
        row.setSpacing(6)
        for option in options:
            button = RadioOption(option.label, "", self)
            button.setAccessibleName(f"{question} {option.label}")
            button.clicked.connect(self.chosen)
            self._group.addButton(button)
            self.buttons.append(button)
            row.addWidget(button)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(question)
        self.setAccessibleDescription("Point to the answer with an arrow, then press Space.")

    @property
    def side(self) -> str:
        """The side that was chosen; "" while none is."""
        at = next((i for i, button in enumerate(self.buttons) if button.isChecked()), -1)
        return self._values[at] if at >= 0 else ""

    def clear(self) -> None:
        """Take the answer back: it must be given anew."""
        self._group.setExclusive(False)
        for button in self.buttons:
            button.setChecked(False)
        self._group.setExclusive(True)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows point, Space and Enter choose what is pointed to; letters do nothing."""
        at = next((i for i, button in enumerate(self.buttons) if button.hasFocus()), -1)
        last = len(self.buttons) - 1
        key = event.key()
        if key in _ON:
            # The right arrow points to the right: with two answers, to the second at once.
            self._point_to(min(last, at + 1) if at >= 0 or last > 1 else last)
        elif key in _BACK:
            self._point_to(max(0, at - 1))
        elif key in _CHOOSING and at >= 0:
            self.buttons[at].click()
        else:
            event.ignore()

    def _point_to(self, at: int) -> None:
        self.buttons[at].setFocus(Qt.FocusReason.OtherFocusReason)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """The row has a frame of its own while no answer is pointed to."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """The frame goes."""
        super().focusOutEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the frame of the focus."""
        if self.hasFocus():
            painter = QPainter(self)
            painter.setPen(QPen(self.palette().color(QPalette.ColorRole.Accent), 2))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 4, 4)
