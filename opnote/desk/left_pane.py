"""The left of the window: the cases of the day, and the pages of the one that is open."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QLabel, QSplitter, QVBoxLayout, QWidget

from opnote.desk import theme
from opnote.desk.page_list import PageList
from opnote.desk.theatre_list import TheatreListView

_FEW_CASES = 5
"""Cases that are in sight however many pages there are."""


class LeftPane(QWidget):
    """Two lists, one above the other."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.list_title = QLabel("Theatre list", self)
        self.cases = TheatreListView(self)
        self.pages = PageList(self)
        self._page_title = QLabel("Pages", self)
        self.restyle()
        for title in (self.list_title, self._page_title):
            title.setForegroundRole(QPalette.ColorRole.PlaceholderText)
            title.setContentsMargins(12, 10, 8, 4)
        above = QWidget(self)
        upper = QVBoxLayout(above)
        upper.setContentsMargins(0, 0, 0, 0)
        upper.setSpacing(0)
        upper.addWidget(self.list_title)
        upper.addWidget(self.cases, 1)
        below = QWidget(self)
        lower = QVBoxLayout(below)
        lower.setContentsMargins(0, 0, 0, 0)
        lower.setSpacing(0)
        lower.addWidget(self._page_title)
        lower.addWidget(self.pages, 1)
        self.split = QSplitter(Qt.Orientation.Vertical, self)
        self.split.setChildrenCollapsible(False)
        self.split.addWidget(above)
        self.split.addWidget(below)
        self.split.setStretchFactor(1, 1)
        self.split.splitterMoved.connect(self._on_moved)
        self.is_arranged = False
        self.has_case = False
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.split)
        self._page_title.setVisible(False)

    def show_folder(self, folder: Path | None) -> None:
        """Say which list it is."""
        self.list_title.setToolTip("" if folder is None else str(folder))

    def restyle(self) -> None:
        """Follow the text size."""
        for title in (self.list_title, self._page_title):
            title.setFont(theme.font(0.95, bold=True))

    def fit(self) -> None:
        """Give the list the room its cases need, a few at least, once the pages have theirs.

        `is_arranged` is true when a person has given them room, which then stays; `has_case` while
        a case is open, whose pages they are.
        """
        for part in (self._page_title, self.pages):
            part.setVisible(self.has_case and self.pages.count() > 0)
        if self.is_arranged:
            return
        count = self.cases.entries.rowCount()
        row = self.cases.sizeHintForRow(0) if count else theme.line_height(self)
        title = self.list_title.sizeHint().height()
        for_pages = title + sum(self.pages.sizeHintForRow(r) for r in range(self.pages.count()))
        seen = max(_FEW_CASES, (self.height() - for_pages - title) // max(1, row))
        wanted = title + max(1, min(count, seen)) * row + 4
        self.split.setSizes([wanted, max(100, self.height() - wanted)])

    def _on_moved(self) -> None:
        self.is_arranged = True

    def paintEvent(self, event: QPaintEvent) -> None:
        """A shade deeper than the desk."""
        QPainter(self).fillRect(QRect(0, 0, self.width(), self.height()), theme.inks(self).rail)
