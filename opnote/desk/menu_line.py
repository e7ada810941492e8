"""The menus, as plain words on the desk."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QMenuBar, QSizePolicy, QWidget


class MenuLine(QMenuBar):
    """A menu bar that shares its line with other widgets."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setNativeMenuBar(False)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Preferred)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Words without the style's line under them."""
        painter = QPainter(self)
        palette = self.palette()
        align = Qt.AlignmentFlag.AlignCenter.value | Qt.TextFlag.TextShowMnemonic.value
        for action in self.actions():
            rect = self.actionGeometry(action)
            role = QPalette.ColorRole.WindowText
            if action is self.activeAction():
                painter.fillRect(rect, palette.color(QPalette.ColorRole.Highlight))
                role = QPalette.ColorRole.HighlightedText
            painter.setPen(palette.color(role))
            painter.drawText(rect, align, action.text())
