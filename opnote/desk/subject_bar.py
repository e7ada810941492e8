"""Whose knee it is, above the pages: name, identifier, and the side as a word with its shape."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from opnote.desk import theme
from opnote.desk.mark import draw_side
from opnote.desk.signed_word import signed_word

if TYPE_CHECKING:
    from opnote.desk.session import State
    from opnote.record import Record

NAME: Final = "patient.name"
NUMBER: Final = "patient.number"
SIDE: Final = "side"


class ElidedLabel(QLabel):
    """Words that end in dots where the room ends; the whole is in the tool tip."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._whole = ""
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def say(self, text: str) -> None:
        """Show these words."""
        if text != self._whole:
            self._whole = text
            self.setText(text)
            self.setToolTip(text)
            self.setAccessibleName(text)

    def minimumSizeHint(self) -> QSize:
        """Room for a few letters."""
        return QSize(theme.columns(self, 8), super().minimumSizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw as much as there is room for."""
        painter = QPainter(self)
        painter.setPen(self.palette().color(self.foregroundRole()))
        words = QFontMetrics(self.font()).elidedText(
            self._whole, Qt.TextElideMode.ElideRight, self.width()
        )
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignVCenter, words)


class SideBadge(QWidget):
    """The side in capitals on a shape that points to it."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._side = ""
        self._words = "SIDE NOT RECORDED"
        self.setFont(theme.font(1.15, bold=True))
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(self._words)

    def say(self, side: str, words: str) -> None:
        """Show a side, "" for none, in these words."""
        if (side, words) != (self._side, self._words):
            self._side, self._words = side, words
            self.setAccessibleName(words)
            self.updateGeometry()
            self.update()

    def sizeHint(self) -> QSize:
        """Room for the words and the point."""
        metrics = QFontMetrics(self.font())
        height = metrics.height() + 10
        return QSize(metrics.horizontalAdvance(self._words) + 2 * height, height)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the shape and the words."""
        painter = QPainter(self)
        known = self._side in ("left", "right")
        colour = (
            self.palette().color(QPalette.ColorRole.Highlight)
            if known
            else theme.inks(self).attention
        )
        draw_side(painter, QRectF(self.rect()), self._side, colour, filled=known)
        ink = self.palette().color(QPalette.ColorRole.HighlightedText) if known else colour
        painter.setPen(ink)
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, self._words)


class SubjectBar(QWidget):
    """Stands above the pages on every page."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._name = ElidedLabel(self)
        self._name.setFont(theme.font(1.25, bold=True))
        self._number = QLabel(self)
        self._number.setTextFormat(Qt.TextFormat.PlainText)
        self._number.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self._state = QLabel(self)
        self._state.setVisible(False)
        self._side = SideBadge(self)
        line = QHBoxLayout(self)
        line.setContentsMargins(20, 8, 16, 8)
        line.setSpacing(12)
        line.addWidget(self._name, 1)
        # One below the other: the name beside them needs the room.
        about = QVBoxLayout()
        about.setSpacing(0)
        about.addWidget(self._number)
        about.addWidget(self._state)
        line.addLayout(about)
        line.addWidget(self._side)

    def show_state(self, state: State) -> None:
        """Show the patient and the side of a case."""
        values = state.view.values
        self._name.say(str(values.get(NAME, "Name not recorded")))
        self._number.setText(str(values.get(NUMBER, "No hospital number")))
        self._say_signed(state.record)
        field = state.pack.fields.get(SIDE)
        side = str(values.get(SIDE, ""))
        option = field.option(side) if field is not None else None
        self._side.say(side, f"{option.label.upper()} KNEE" if option else "SIDE NOT RECORDED")

    def _say_signed(self, record: Record) -> None:
        """Say of a signed case that it is; one that was changed after that stands out."""
        is_whole = record.signature is None or record.signature.is_whole
        words = ("Signed" if record.signature else "") if is_whole else "Changed after\nsigning"
        if words == self._state.text():
            return
        self._state.setText(words)
        self._state.setAccessibleName(signed_word(record))
        self._state.setVisible(bool(words))
        self._state.setFont(theme.font(0.88, bold=not is_whole))
        palette = QPalette()
        if not is_whole:
            palette.setColor(QPalette.ColorRole.WindowText, theme.inks(self).wrong)
        self._state.setPalette(palette)
