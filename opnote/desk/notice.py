"""Lines above the pages that say what happened or ask something, and never stand in the way."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import (
    QApplication,
    QBoxLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from opnote.desk import theme

_LEAST: Final = 24
"""So many characters of a line must fit beside its buttons."""

Action = tuple[str, Callable[[], None]]


class _Notice(QWidget):
    """One line with its buttons."""

    def __init__(self, words: str, actions: Sequence[Action], parent: QWidget) -> None:
        super().__init__(parent)
        self.label = label = QLabel(words, self)
        label.setWordWrap(True)
        label.setTextFormat(Qt.TextFormat.PlainText)
        label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._line = line = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        line.setContentsMargins(20, 6, 16, 6)
        line.setSpacing(8)
        line.addWidget(label, 1)
        self._buttons = buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addStretch(1)
        line.addLayout(buttons)
        for name, slot in actions:
            button = QPushButton(name, self)
            button.setAutoDefault(False)
            # A click leaves the focus in the box where one types.
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.clicked.connect(slot)
            buttons.addWidget(button)
        self.setAccessibleName(words)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The buttons go below words that would have too little room beside them."""
        super().resizeEvent(event)
        margins = self._line.contentsMargins()
        room = self.width() - margins.left() - margins.right() - self._line.spacing()
        room -= self._buttons.sizeHint().width()
        needed = min(
            theme.columns(self, _LEAST),
            self.label.fontMetrics().boundingRect(self.label.text()).width(),
        )
        sides = QBoxLayout.Direction
        self._line.setDirection(sides.LeftToRight if room >= needed else sides.TopToBottom)

    def paintEvent(self, event: QPaintEvent) -> None:
        """A bar of the attention colour at the side."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), self.palette().color(QPalette.ColorRole.Base))
        painter.fillRect(QRectF(0, 0, 4, self.height()), theme.inks(self).attention)


class Notices(QWidget):
    """The notices that stand now, one of each subject.

    Signals: left() when a notice is put away that had the focus.
    """

    left = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._notices: dict[str, QWidget] = {}
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(1)

    def say(self, subject: str, words: str, actions: Sequence[Action] = ()) -> None:
        """Show a notice in the place of an older one of its subject; it can be put away."""
        self.place(subject, _Notice(words, actions or [("Close", self._closer(subject))], self))

    def place(self, subject: str, notice: QWidget) -> None:
        """Put a line of another make in the place of an older notice of its subject."""
        self.drop(subject)
        self._notices[subject] = notice
        self._column.addWidget(notice)
        notice.setVisible(True)

    def update_words(self, subject: str, words: str) -> bool:
        """Say how far something is, its buttons untouched; False when no such notice stands."""
        notice = self._notices.get(subject)
        if not isinstance(notice, _Notice):
            return False
        notice.label.setText(words)
        notice.setAccessibleName(words)
        return True

    def drop(self, subject: str) -> None:
        """The notice of a subject has done its duty."""
        notice = self._notices.pop(subject, None)
        if notice is not None:
            focus = QApplication.focusWidget()
            had_focus = focus is not None and notice.isAncestorOf(focus)
            notice.hide()
            if had_focus:
                # Else it would go to whatever comes next, such as the list of cases.
                self.left.emit()
            notice.setParent(None)
            notice.deleteLater()

    def drop_all(self, but: Sequence[str] = ()) -> None:
        """Another case is shown; subjects that begin so are of more than one case, and stay."""
        for subject in [each for each in self._notices if not each.startswith(tuple(but))]:
            self.drop(subject)

    def _closer(self, subject: str) -> Callable[[], None]:
        def close() -> None:
            self.drop(subject)

        return close
