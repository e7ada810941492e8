"""The pages of the case: where one is, and where something is still open."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QAccessible, QPainter, QPalette, QPen
from PySide6.QtWidgets import (
    QFrame,
    QListWidget,
    QListWidgetItem,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from opnote.desk import theme
from opnote.desk.mark import draw_mark, level_colour

if TYPE_CHECKING:
    from opnote.desk.desk import Desk
    from opnote.pack.form import Page

_LEVEL: Final = Qt.ItemDataRole.UserRole
_PAGE: Final = Qt.ItemDataRole.UserRole + 1
_MARGIN: Final = 9
Index = QModelIndex | QPersistentModelIndex


class _PageDelegate(QStyledItemDelegate):
    """Draws a page's title with the shape of what is the matter with it."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """One line."""
        return QSize(80, option.fontMetrics.height() + 8)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """The present page has a bar of the accent and heavier letters."""
        palette = option.palette
        rect = option.rect
        is_here = bool(option.state & QStyle.StateFlag.State_Selected)
        painter.save()
        if is_here:
            painter.fillRect(rect, palette.color(QPalette.ColorRole.AlternateBase))
            painter.fillRect(
                rect.x(), rect.y(), 3, rect.height(), palette.color(QPalette.ColorRole.Accent)
            )
        elif option.state & QStyle.StateFlag.State_MouseOver:
            painter.fillRect(rect, palette.color(QPalette.ColorRole.Midlight))
        level = index.data(_LEVEL)
        side = option.fontMetrics.height() - 3
        top = rect.y() + (rect.height() - side) / 2
        box = QRectF(rect.x() + _MARGIN, top, side, side)
        self._paint_level(painter, box, level, option.widget)
        painter.setFont(theme.scaled_font(option.font, 1, bold=is_here))
        role = QPalette.ColorRole.Text if level or is_here else QPalette.ColorRole.PlaceholderText
        painter.setPen(palette.color(role))
        text = rect.adjusted(_MARGIN + side + 6, 0, -3, 0)
        metrics = painter.fontMetrics()
        words = metrics.elidedText(index.data(), Qt.TextElideMode.ElideRight, text.width())
        painter.drawText(text, Qt.AlignmentFlag.AlignVCenter, words)
        if option.state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(palette.color(QPalette.ColorRole.Accent), 1))
            painter.drawRect(rect.adjusted(0, 0, -1, -1))
        painter.restore()

    def _paint_level(self, painter: QPainter, box: QRectF, level: str, widget: QWidget) -> None:
        if level in ("contradiction", "adverse", "unusual", "due"):
            draw_mark(painter, box, level, level_colour(level, widget))
        elif level:
            draw_mark(painter, box, level, widget.palette().color(QPalette.ColorRole.Dark))
        else:
            painter.setPen(QPen(widget.palette().color(QPalette.ColorRole.Dark), 1.6))
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            left, top, side = box.x(), box.y(), box.width()
            painter.drawPolyline(
                [
                    QPointF(left + side * 0.2, top + side * 0.55),
                    QPointF(left + side * 0.42, top + side * 0.75),
                    QPointF(left + side * 0.82, top + side * 0.25),
                ]
            )


class PageList(QListWidget):
    """The titles of the pages that this case has.

    Signals: page_chosen(page id).
    """

    page_chosen = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setItemDelegate(_PageDelegate(self))
        self.setMouseTracking(True)
        self.setUniformItemSizes(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName("Pages of the case")
        self.viewport().setAutoFillBackground(False)
        theme.slim(self)
        self.itemClicked.connect(self._on_item_chosen)
        self.itemActivated.connect(self._on_item_chosen)

    def set_pages(self, pages: tuple[Page, ...]) -> None:
        """List these pages."""
        self.clear()
        for page in pages:
            item = QListWidgetItem(page.title, self)
            item.setData(_PAGE, page.id)
            item.setData(_LEVEL, "gap")
            _tell(item)

    def show_page(self, page: str) -> None:
        """Mark the page that is shown."""
        for row in range(self.count()):
            if self.item(row).data(_PAGE) == page:
                self.setCurrentRow(row)
                self.scrollToItem(self.item(row))

    def dataChanged(self, first: Index, last: Index, roles: Sequence[int] | None = None) -> None:
        """Draw only the lines that have changed: none takes more or less room than before."""
        if QAccessible.isActive():
            # A screen reader has to be told.
            super().dataChanged(first, last, roles or ())
            return
        self.viewport().update(self.visualRect(first).united(self.visualRect(last)))

    def refresh(self, desk: Desk, shown: set[str]) -> None:
        """The case has changed: `shown` are the pages that it has now."""
        worst: dict[str, str] = {}
        for finding in desk.state.assessment.open if desk.is_finding else ():
            for path in finding.fields:
                worst.setdefault(desk.page_of(path), finding.level)
        for row in range(self.count()):
            item = self.item(row)
            page = item.data(_PAGE)
            level = worst.get(page, "") if desk.is_finding else "gap"
            if item.data(_LEVEL) != level:
                item.setData(_LEVEL, level)
                _tell(item)
            if item.isHidden() is (page in shown):
                item.setHidden(page not in shown)

    def _on_item_chosen(self, item: QListWidgetItem) -> None:
        self.page_chosen.emit(item.data(_PAGE))


def _tell(item: QListWidgetItem) -> None:
    """Say the whole title and how far the page is, to eye and ear."""
    level = str(item.data(_LEVEL))
    words = _WORDS.get(level, level)
    item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{item.text()}, {words}")
    item.setToolTip(f"{item.text()}: {words}")


_WORDS: Final = {
    "": "complete",
    "gap": "something is open",
    "contradiction": "contradiction",
    "adverse": "to explain",
    "unusual": "unusual, to explain",
    "due": "to book",
}
