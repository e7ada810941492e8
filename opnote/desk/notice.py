"""Lines above the pages that say what happened or ask something, and never stand in the way."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from opnote.desk import theme

Action = tuple[str, Callable[[], None]]


class _Notice(QWidget):
    """One line with its buttons."""

    def __init__(self, words: str, actions: Sequence[Action], parent: QWidget) -> None:
        super().__init__(parent)
        self.label = label = QLabel(words, self)
        label.setWordWrap(True)
        label.setTextFormat(Qt.TextFormat.PlainText)
        label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        line = QHBoxLayout(self)
        line.setContentsMargins(20, 6, 16, 6)
        line.setSpacing(8)
        line.addWidget(label, 1)
        for name, slot in actions:
            button = QPushButton(name, self)
            button.setAutoDefault(False)
            button.clicked.connect(slot)
            line.addWidget(button)
        self.setAccessibleName(words)

    def paintEvent(self, event: QPaintEvent) -> None:
        """A bar of the attention colour at the side."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), self.palette().color(QPalette.ColorRole.Base))
        painter.fillRect(QRectF(0, 0, 4, self.height()), theme.inks(self).attention)


class Notices(QWidget):
    """The notices that stand now, one of each subject."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._notices: dict[str, _Notice] = {}
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(1)

    def say(self, subject: str, words: str, actions: Sequence[Action] = ()) -> None:
        """Show a notice in the place of an older one of its subject; it can be put away."""
        self.drop(subject)
        notice = _Notice(words, actions or [("Close", self._closer(subject))], self)
        self._notices[subject] = notice
        self._column.addWidget(notice)
        notice.setVisible(True)

    def update_words(self, subject: str, words: str) -> bool:
        """Say how far something is, its buttons untouched; False when no such notice stands."""
        notice = self._notices.get(subject)
        if notice is None:
            return False
        notice.label.setText(words)
        notice.setAccessibleName(words)
        return True

    def drop(self, subject: str) -> None:
        """The notice of a subject has done its duty."""
        notice = self._notices.pop(subject, None)
        if notice is not None:
            notice.hide()
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
