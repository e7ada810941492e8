"""One answer that is hit once: a button with its letter."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtGui import QColor, QFontMetrics, QKeyEvent, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QAbstractButton, QCheckBox, QRadioButton, QWidget

from opnote.desk import theme

_PAD = 9
_TICK = 12


def letters_for(labels: Iterable[str]) -> list[str]:
    """A key for each label: its own first letter before any label that only holds it.

    After that an initial of another of its words, else another of its letters; "" where all its
    letters are taken.
    """
    lows = [label.lower() for label in labels]
    found = [""] * len(lows)
    for letters in (r"^[a-z0-9]", r"\b[a-z0-9]", r"[a-z0-9]"):
        for index, low in enumerate(lows):
            if not found[index]:
                free = (c for c in re.findall(letters, low) if c not in found)
                found[index] = next(free, "")
    return found


def _place_of(letter: str, label: str) -> int:
    """Where in the label its letter stands; -1 for none."""
    if not letter:
        return -1
    match = re.search(rf"\b{letter}", label.lower())
    return match.start() if match else label.lower().find(letter)


class _Looks:
    """How both kinds of button are measured and drawn."""

    def __init__(self, button: QAbstractButton, letter: str, ticks: bool) -> None:
        self._button = button
        self._place = _place_of(letter, button.text())
        self._ticks = ticks
        self.quiet = False

    def size(self) -> QSize:
        metrics = QFontMetrics(self._button.font())
        width = metrics.horizontalAdvance(self._button.text()) + 2 * _PAD
        if self._ticks:
            width += _TICK + 6
        return QSize(max(width, 34), theme.line_height(self._button))

    def paint(self) -> None:
        button = self._button
        painter = QPainter(button)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        palette = button.palette()
        chosen = button.isChecked()
        filled = chosen and not self.quiet
        role = QPalette.ColorRole
        fill = palette.color(role.Highlight if filled else role.Button)
        if chosen and self.quiet:
            fill = theme.inks(button).quiet_fill
        edge = palette.color(role.Highlight if chosen or button.underMouse() else role.Dark)
        box = button.rect().adjusted(1, 1, -1, -1)
        # A heavier edge tells a chosen answer that nobody has confirmed, whatever its colour.
        painter.setPen(QPen(edge, 2 if chosen and self.quiet else 1))
        painter.setBrush(fill)
        painter.drawRoundedRect(box, 4, 4)
        ink = palette.color(role.HighlightedText if filled else role.ButtonText)
        left = _PAD
        if self._ticks:
            self._paint_tick(painter, ink, chosen)
            left += _TICK + 6
        painter.setPen(ink)
        text = QRect(left, 0, button.width() - left - 4, button.height())
        metrics = QFontMetrics(button.font())
        label = metrics.elidedText(button.text(), Qt.TextElideMode.ElideRight, text.width() + 4)
        painter.drawText(text, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, label)
        if self._place >= 0:
            self._underline(painter, metrics, left)
        if button.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            inner = palette.color(role.HighlightedText if filled else role.Highlight)
            painter.setPen(QPen(inner, 1.5))
            painter.drawRoundedRect(box.adjusted(2, 2, -2, -2), 2.5, 2.5)

    def _underline(self, painter: QPainter, metrics: QFontMetrics, left: int) -> None:
        label = self._button.text()
        start = left + metrics.horizontalAdvance(label[: self._place])
        end = start + metrics.horizontalAdvance(label[self._place])
        baseline = (self._button.height() + metrics.ascent() - metrics.descent()) // 2 + 2
        colour = painter.pen().color()
        colour.setAlphaF(0.7)
        painter.setPen(QPen(colour, 1))
        painter.drawLine(start, baseline, end - 1, baseline)

    def _paint_tick(self, painter: QPainter, ink: QColor, chosen: bool) -> None:
        top = (self._button.height() - _TICK) // 2
        painter.setPen(QPen(ink, 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(QRect(_PAD, top, _TICK, _TICK), 2, 2)
        if chosen:
            painter.setPen(QPen(ink, 2))
            painter.drawPolyline(
                [
                    QPoint(_PAD + 3, top + 6),
                    QPoint(_PAD + 5, top + 9),
                    QPoint(_PAD + 10, top + 3),
                ]
            )


if TYPE_CHECKING:
    _Button = QAbstractButton
else:
    _Button = object  # the Qt class comes after it in the bases


class _OptionButton(_Button):
    """What both kinds have in common; stands before the Qt class in their bases."""

    ticks: ClassVar[bool]

    def __init__(self, label: str, letter: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setText(label)
        self._looks = _Looks(self, letter, self.ticks)
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)

    def set_quiet(self, quiet: bool) -> None:
        """Draw a chosen answer in a lighter ink."""
        self._looks.quiet = quiet
        self.update()

    def sizeHint(self) -> QSize:
        """The size that it wants."""
        return self._looks.size()

    def minimumSizeHint(self) -> QSize:
        """The size that it needs."""
        return self._looks.size()

    def hitButton(self, pos: QPoint) -> bool:
        """The whole of it can be hit."""
        return self.rect().contains(pos)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw it in the colours of the palette."""
        self._looks.paint()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave the keys to the editor around it."""
        event.ignore()


class RadioOption(_OptionButton, QRadioButton):
    """An answer that excludes the others."""

    ticks = False


class CheckOption(_OptionButton, QCheckBox):
    """An answer that stands beside others."""

    ticks = True
