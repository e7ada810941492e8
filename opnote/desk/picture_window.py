"""A closer look at a picture, as large as the screen lets it be."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QRect, QSize, Qt, Signal
from PySide6.QtGui import QImage, QKeyEvent, QPalette
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from opnote.desk.crop_surface import CropSurface

_OF_SCREEN: Final = 0.85


class PictureWindow(QWidget):
    """Shows one picture and lets a part of it be marked.

    Signals: cut_wanted(QRect) when only the marked part is to be kept.
    """

    cut_wanted = Signal(QRect)

    def __init__(self, image: QImage, about: str, parent: QWidget) -> None:
        """Show a picture; `about` says whose it is."""
        super().__init__(parent, Qt.WindowType.Window)
        self.setWindowTitle(about)
        self.setBackgroundRole(QPalette.ColorRole.AlternateBase)
        self.setAutoFillBackground(True)
        screen = self.screen().availableSize()
        room = QSize(int(screen.width() * _OF_SCREEN), int(screen.height() * _OF_SCREEN) - 80)
        self.surface = CropSurface(self, room.boundedTo(image.size() * 2))
        self.surface.setAccessibleName(about)
        self.surface.show_picture(image)
        self.surface.part_changed.connect(self._on_part_changed)
        self._cut = QPushButton("Keep the marked part", self)
        self._cut.clicked.connect(self._on_cut_clicked)
        close = QPushButton("Close", self)
        close.clicked.connect(self.close)
        whose = QLabel(about, self)
        whose.setTextFormat(Qt.TextFormat.PlainText)
        foot = QHBoxLayout()
        foot.addWidget(whose, 1)
        foot.addWidget(self._cut)
        foot.addWidget(close)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 12, 12, 12)
        column.addWidget(self.surface, 1)
        column.addLayout(foot)
        self._on_part_changed()
        # Else a window takes two thirds of the screen at most, and the picture leaves a bare band.
        self.resize(self.sizeHint())

    def _on_part_changed(self) -> None:
        self._cut.setEnabled(self.surface.part is not None)

    def _on_cut_clicked(self) -> None:
        part = self.surface.part
        if part is not None:
            self.cut_wanted.emit(part)
            self.close()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape closes it once the whole picture is marked."""
        if event.key() == Qt.Key.Key_Escape:
            self.close()
        else:
            super().keyPressEvent(event)
