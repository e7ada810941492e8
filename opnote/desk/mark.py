"""The shapes of severity and side, drawn so that none is told by its colour alone."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from opnote.desk import theme

LEVEL_WORDS: Final[Mapping[str, str]] = {
    "contradiction": "Contradiction",
    "gap": "Open",
    "adverse": "To explain",
    "unusual": "Unusual",
    "due": "To book",
}


def level_colour(level: str, widget: QWidget) -> QColor:
    """The colour of a level on a widget's ground."""
    found = theme.inks(widget)
    return found.wrong if level == "contradiction" else found.attention


def draw_mark(painter: QPainter, box: QRectF, level: str, colour: QColor) -> None:
    """Draw the shape of a level into a square."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colour, 1.6))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    box = box.adjusted(1, 1, -1, -1)
    centre = box.center()
    match level:
        case "contradiction":
            painter.setBrush(colour)
            painter.drawPolygon(_polygon(centre, box.width() / 2, 8, 22.5))
            painter.setPen(QPen(theme.ink_on(colour), 1.8))
            reach = box.width() / 5
            painter.drawLine(centre + QPointF(-reach, -reach), centre + QPointF(reach, reach))
            painter.drawLine(centre + QPointF(-reach, reach), centre + QPointF(reach, -reach))
        case "adverse":
            painter.setBrush(colour)
            painter.drawPolygon(
                QPolygonF([QPointF(centre.x(), box.top()), box.bottomRight(), box.bottomLeft()])
            )
        case "unusual":
            painter.drawPolygon(_polygon(centre, box.width() / 2, 4, 0))
        case "due":
            painter.drawEllipse(box)
            painter.drawLine(centre, QPointF(centre.x(), box.top() + 2))
            painter.drawLine(centre, QPointF(box.right() - 2.5, centre.y()))
        case _:
            painter.drawEllipse(box.adjusted(1, 1, -1, -1))
    painter.restore()


def _polygon(centre: QPointF, radius: float, corners: int, turned: float) -> QPolygonF:
    points = []
    for corner in range(corners):
        angle = math.radians(turned + 360 / corners * corner)
        points.append(centre + QPointF(radius * math.cos(angle), radius * math.sin(angle)))
    return QPolygonF(points)


class LevelMark(QWidget):
    """The shape of a finding's level, beside its words."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._level = "gap"
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def set_level(self, level: str) -> None:
        """Show the shape of this level."""
        if level != self._level:
            self._level = level
            self.update()

    def sizeHint(self) -> QSize:
        """The size that it wants."""
        side = self.fontMetrics().height()
        return QSize(side, side)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw it in the colours of the palette."""
        painter = QPainter(self)
        draw_mark(
            painter,
            QRectF(self.rect()).adjusted(1, 1, -1, -1),
            self._level,
            level_colour(self._level, self),
        )


def draw_side(painter: QPainter, box: QRectF, side: str, colour: QColor, filled: bool) -> None:
    """Draw the ground of a side's word: pointed to the left or to the right, or broken edges.

    A left knee's shape points left, a right knee's right; a side not recorded has a dashed box.
    """
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    pen = QPen(colour, 1.5)
    if side not in ("left", "right"):
        pen.setStyle(Qt.PenStyle.DashLine)
    painter.setPen(pen)
    painter.setBrush(colour if filled else Qt.BrushStyle.NoBrush)
    box = box.adjusted(1, 1, -1, -1)
    point = box.height() / 2
    if side == "left":
        shape = [
            QPointF(box.left(), box.center().y()),
            QPointF(box.left() + point, box.top()),
            box.topRight(),
            box.bottomRight(),
            QPointF(box.left() + point, box.bottom()),
        ]
    elif side == "right":
        shape = [
            QPointF(box.right(), box.center().y()),
            QPointF(box.right() - point, box.top()),
            box.topLeft(),
            box.bottomLeft(),
            QPointF(box.right() - point, box.bottom()),
        ]
    else:
        shape = [box.topLeft(), box.topRight(), box.bottomRight(), box.bottomLeft()]
    painter.drawPolygon(QPolygonF(shape))
    painter.restore()
