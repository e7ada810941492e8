"""A box to tick whose frame can be seen in the dark as well."""

from __future__ import annotations

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QCheckBox, QStyle, QStyleOptionButton


class TickBox(QCheckBox):
    """The style frames a box in a shade of the ground, which in the dark is that of the ground."""

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the frame over that of the style."""
        super().paintEvent(event)
        option = QStyleOptionButton()
        self.initStyleOption(option)
        box = self.style().subElementRect(QStyle.SubElement.SE_CheckBoxIndicator, option, self)
        painter = QPainter(self)
        painter.setPen(QPen(self.palette().color(QPalette.ColorRole.PlaceholderText), 1))
        painter.drawRect(QRectF(box).adjusted(0.5, 0.5, -0.5, -0.5))
