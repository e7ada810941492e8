"""A layout that puts its widgets side by side and goes on below where the width ends."""

from __future__ import annotations

from PySide6.QtCore import QMargins, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget


class FlowLayout(QLayout):
    """Items in reading order, each as wide as it wants to be."""

    def __init__(self, parent: QWidget | None = None, gap: int = 4) -> None:
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        self._gap = gap
        self._known: tuple[int, int] | None = None
        self.setContentsMargins(QMargins(0, 0, 0, 0))

    def addItem(self, item: QLayoutItem) -> None:
        """Take an item at the end."""
        self._items.append(item)

    def count(self) -> int:
        """How many items there are."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        """The item at a place; None beyond the last."""
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        """Give an item away; None beyond the last."""
        self.invalidate()
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        """It takes no more room than it needs."""
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        """The height follows from the width."""
        return True

    def heightForWidth(self, width: int) -> int:
        """The height that the items need within a width."""
        if self._known is None or self._known[0] != width:
            self._known = (width, self._arranged(QRect(0, 0, width, 0), moving=False))
        return self._known[1]

    def invalidate(self) -> None:
        """Forget what was measured."""
        self._known = None
        super().invalidate()

    def setGeometry(self, rect: QRect) -> None:
        """Put the items in their places."""
        super().setGeometry(rect)
        self._arranged(rect, moving=True)

    def sizeHint(self) -> QSize:
        """The size that it wants."""
        shown = [item.sizeHint() for item in self._items if not item.isEmpty()]
        width = sum(size.width() for size in shown) + self._gap * max(0, len(shown) - 1)
        return QSize(width, max((size.height() for size in shown), default=0))

    def minimumSize(self) -> QSize:
        """Room for the largest item."""
        size = QSize()
        for item in self._items:
            if not item.isEmpty():
                size = size.expandedTo(item.minimumSize())
        return size

    def _arranged(self, rect: QRect, moving: bool) -> int:
        """Put the items in their places, or only find out how high that would be."""
        x, y, height = rect.x(), rect.y(), 0
        for item in self._items:
            if item.isEmpty():
                continue
            size = item.sizeHint()
            size.setWidth(min(size.width(), rect.width()))
            if x > rect.x() and x + size.width() > rect.right() + 1:
                x, y, height = rect.x(), y + height + self._gap, 0
            if item.hasHeightForWidth():
                # What is wider than the whole line goes on below.
                size.setHeight(item.heightForWidth(size.width()))
            if moving:
                item.setGeometry(QRect(x, y, size.width(), size.height()))
            x += size.width() + self._gap
            height = max(height, size.height())
        return y + height - rect.y()
