"""A box for one line of text."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QEvent, QPointF, QSize, Qt
from PySide6.QtGui import (
    QFocusEvent,
    QFontMetricsF,
    QKeyEvent,
    QKeySequence,
    QPainter,
    QPaintEvent,
    QPalette,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QLineEdit, QSizePolicy, QWidget

from opnote.desk import theme

_CURSOR_REACH: Final = 5
"""What Qt adds to the left of a cursor, for input methods."""
_WAVE_STEP: Final = 2
_WAVE_HEIGHT: Final = 2


def leaves_undo_alone(event: QEvent) -> bool:
    """True for the keys of undo and redo, which belong to the case and not to a box of text."""
    if event.type() is not QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent):
        return False
    return event.matches(QKeySequence.StandardKey.Undo) or event.matches(
        QKeySequence.StandardKey.Redo
    )


class LineEdit(QLineEdit):
    """One line of text, so many characters wide."""

    def __init__(self, parent: QWidget, characters: int, most: int = 0) -> None:
        """Make a box so many characters wide, which grows with its text up to `most`."""
        super().__init__(parent)
        self._least = self._characters = characters
        self._most = max(characters, most)
        self._waves: Sequence[tuple[int, int]] = ()
        self._tip: str | None = None
        self.textChanged.connect(self._on_text_changed)
        self.setFrame(False)
        self.setTextMargins(6, 0, 6, 0)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.DefaultContextMenu)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    def _on_text_changed(self, text: str) -> None:
        # In steps, so that the box doesn't creep under one's fingers.
        wanted = max(self._least, min(self._most, (len(text) // 8 + 2) * 8))
        if wanted != self._characters:
            self._characters = wanted
            self.updateGeometry()
        self._tell_whole_text()

    def _tell_whole_text(self) -> None:
        """What is longer than the box stands in its tool tip."""
        margins = self.textMargins()
        room = self.width() - margins.left() - margins.right()
        text = self.text()
        is_cut = self.fontMetrics().horizontalAdvance(text) > room
        if is_cut and self._tip is None:
            self._tip = self.toolTip()
        if self._tip is not None:
            self.setToolTip(text if is_cut else self._tip)
        if not is_cut:
            self._tip = None

    def resizeEvent(self, event: QResizeEvent) -> None:
        """More or less of the text is seen."""
        super().resizeEvent(event)
        self._tell_whole_text()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """What was typed is shown from its beginning once one has gone on."""
        super().focusOutEvent(event)
        passing = (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason)
        if event.reason() not in passing:
            self.setCursorPosition(0)

    def show_text(self, text: str) -> None:
        """Show a text that nobody is typing, from its beginning."""
        self.setText(text)
        if not self.hasFocus():
            self.setCursorPosition(0)

    def sizeHint(self) -> QSize:
        """The size that it wants."""
        return QSize(theme.columns(self, self._characters) + 16, theme.line_height(self))

    def minimumSizeHint(self) -> QSize:
        """The size that it needs."""
        return QSize(theme.columns(self, min(self._characters, 6)) + 16, theme.line_height(self))

    def event(self, event: QEvent) -> bool:
        """Leave undo and redo to the case."""
        if leaves_undo_alone(event):
            event.ignore()
            return False
        return super().event(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw it in the colours of the palette."""
        super().paintEvent(event)
        painter = QPainter(self)
        role = QPalette.ColorRole.Accent if self.hasFocus() else QPalette.ColorRole.Dark
        width = 2 if self.hasFocus() else 1
        pen = QPen(self.palette().color(role), width)
        pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
        painter.setPen(pen)
        inset = width // 2
        painter.drawRect(self.rect().adjusted(inset, inset, -1, -1 if width == 1 else -inset))
        if self._waves:
            self._draw_waves(painter)

    def set_waves(self, waves: Sequence[tuple[int, int]]) -> None:
        """Draw wavy lines under parts of the text. Units: from and to in characters."""
        if waves != self._waves:
            self._waves = waves
            self.update()

    def _draw_waves(self, painter: QPainter) -> None:
        metrics = QFontMetricsF(self.font())
        text = self.text()
        # Where the text begins follows from the cursor, as a long text is shifted.
        at_cursor = self.cursorRect().x() + _CURSOR_REACH
        left = at_cursor - metrics.horizontalAdvance(text[: self.cursorPosition()])
        top = (self.height() + metrics.height()) / 2 - metrics.descent() + 1
        painter.setClipRect(self.rect().adjusted(4, 0, -4, 0))
        painter.setPen(QPen(theme.inks(self).wrong, 1))
        for start, end in self._waves:
            first = round(left + metrics.horizontalAdvance(text[:start]))
            last = round(left + metrics.horizontalAdvance(text[:end]))
            points = [
                QPointF(x, top + _WAVE_HEIGHT * (index % 2))
                for index, x in enumerate(range(first, last + 1, _WAVE_STEP))
            ]
            painter.drawPolyline(points)

    def set_quiet(self, quiet: bool) -> None:
        """Show the text in a lighter ink, or in the usual one."""
        palette = QPalette()
        if quiet:
            faint = self.palette().color(QPalette.ColorRole.PlaceholderText)
            palette.setColor(QPalette.ColorRole.Text, faint)
        self.setPalette(palette)
