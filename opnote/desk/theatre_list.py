"""The cases of the day at the side: name, side, and in plain words how far each is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from PySide6.QtCore import (
    QModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetrics, QPainter, QPalette, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from opnote.desk import theme
from opnote.desk.list_model import ITEM, Index, ListModel
from opnote.desk.mark import draw_side

DRAFT_WAITING: Final = "draft waiting"
"""Somebody should be asked about a draft: the one thing of it that stands in the line."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One case of the list; `side` is the stored value, `state` a few plain words.

    `lacks` is the state with what is open by name, `order` and `at` where the case stands in the
    day, `draft` says that something waits that its file doesn't hold. A signed case counts as
    ready: nothing of it can be finished.
    """

    path: Path
    name: str
    side: str = ""
    side_words: str = ""
    state: str = ""
    lacks: str = ""
    order: str = ""
    at: str = ""
    draft: str = ""
    is_ready: bool = False
    is_signed: bool = False

    @property
    def place(self) -> str:
        """Where it stands in the day: "2 at 09:15"; "" when nobody said."""
        return " at ".join(part for part in (self.order, self.at) if part)


class EntriesModel(ListModel[Entry]):
    """The cases of the folder in order."""

    def put(self, entry: Entry) -> None:
        """Show what is known of one case now."""
        for row, known in enumerate(self.items):
            if known.path == entry.path:
                if known != entry:
                    self.items[row] = entry
                    self.dataChanged.emit(self.index(row), self.index(row))
                return
        self.beginInsertRows(QModelIndex(), len(self.items), len(self.items))
        self.items.append(entry)
        self.endInsertRows()

    def rename(self, old: Path, new: Path) -> None:
        """A case has another file."""
        row = self.row_of(old)
        if row >= 0:
            self.items[row] = replace(self.items[row], path=new)

    def put_in_order(self) -> None:
        """Put the cases in the order of their files."""
        self.set_items(sorted(self.items, key=lambda entry: entry.path.name.casefold()))

    def row_of(self, path: Path) -> int:
        """The line of a case; -1 for none."""
        return next((i for i, e in enumerate(self.items) if e.path == path), -1)

    def words(self, item: Entry, role: int) -> str | None:
        """The name, read out with the side and how far the case is."""
        if role == Qt.ItemDataRole.DisplayRole:
            return item.name
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            place = f"listed {item.place}" if item.place else ""
            lacks = item.lacks or item.state
            parts = (item.name, item.side_words, place, item.draft, lacks)
            return ", ".join(part for part in parts if part)
        return None


class _EntryDelegate(QStyledItemDelegate):
    """Draws a case in two lines: its name; its side with its shape, and its state."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Two lines."""
        return QSize(100, 2 * option.fontMetrics.height() + 14)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """The open case has a bar of the accent."""
        entry = index.data(ITEM)
        palette = option.palette
        rect = option.rect
        line = option.fontMetrics.height()
        is_open = bool(option.state & QStyle.StateFlag.State_Selected)
        painter.save()
        if is_open:
            painter.fillRect(rect, palette.color(QPalette.ColorRole.AlternateBase))
            painter.fillRect(
                rect.x(), rect.y(), 3, rect.height(), palette.color(QPalette.ColorRole.Accent)
            )
        elif option.state & QStyle.StateFlag.State_MouseOver:
            painter.fillRect(rect, palette.color(QPalette.ColorRole.Midlight))
        left = rect.x() + 12
        width = rect.width() - 18
        bold = theme.scaled_font(option.font, 1, bold=is_open)
        painter.setFont(bold)
        painter.setPen(palette.color(QPalette.ColorRole.Text))
        faint = palette.color(QPalette.ColorRole.PlaceholderText)
        small = theme.scaled_font(option.font, 0.92)
        time_width = QFontMetrics(small).horizontalAdvance(entry.at) + 8 if entry.at else 0
        ascent = rect.y() + 5 + painter.fontMetrics().ascent()
        name = painter.fontMetrics().elidedText(
            " ".join(part for part in (entry.order, entry.name) if part),
            Qt.TextElideMode.ElideRight,
            width - time_width,
        )
        painter.drawText(left, ascent, name)
        painter.setFont(small)
        painter.setPen(faint)
        painter.drawText(left + width - time_width + 8, ascent, entry.at)
        top = rect.y() + 7 + line
        words_left = left
        if entry.side:
            shape = QRectF(left, top + 1, line * 1.1, line - 3)
            draw_side(painter, shape, entry.side, faint, filled=False)
            words_left += round(line * 1.1) + 6
        waits = entry.draft if entry.draft == DRAFT_WAITING else ""
        words = ", ".join(part for part in (waits, entry.side_words, entry.state) if part)
        room = QRect(words_left, top, rect.right() - words_left - 4, line)
        words = painter.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, room.width())
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, words)
        if option.state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(palette.color(QPalette.ColorRole.Accent), 1))
            painter.drawRect(rect.adjusted(0, 0, -1, -1))
        painter.restore()


class TheatreListView(QListView):
    """The cases of the folder.

    Signals: case_chosen(path).
    """

    case_chosen = Signal(object)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.entries = EntriesModel(self)
        self.setModel(self.entries)
        self.setItemDelegate(_EntryDelegate(self))
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setMouseTracking(True)
        self.setUniformItemSizes(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName("Theatre list")
        self.viewport().setAutoFillBackground(False)
        theme.slim(self)
        self.clicked.connect(self._on_chosen)
        self.activated.connect(self._on_chosen)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the open case in sight."""
        super().resizeEvent(event)
        self.scrollTo(self.currentIndex())

    def show_open(self, path: Path | None) -> None:
        """Mark the case that is open."""
        row = -1 if path is None else self.entries.row_of(path)
        if row >= 0:
            self.setCurrentIndex(self.entries.index(row))
        else:
            self.clearSelection()

    def _on_chosen(self, index: Index) -> None:
        entry = self.entries.item(index.row())
        if entry is not None:
            self.case_chosen.emit(entry.path)
