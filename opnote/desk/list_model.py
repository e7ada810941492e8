"""The lines of a list, for the views that draw them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Generic, TypeVar

from PySide6.QtCore import QAbstractListModel, QModelIndex, QObject, QPersistentModelIndex, Qt

Index = QModelIndex | QPersistentModelIndex
ItemT = TypeVar("ItemT")

ITEM: Final = Qt.ItemDataRole.UserRole
"""The role under which a delegate finds the item of a line."""


class ListModel(QAbstractListModel, Generic[ItemT]):
    """Items in order; what they say is up to the kind of list."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.items: list[ItemT] = []

    def set_items(self, items: Sequence[ItemT]) -> None:
        """List these."""
        self.beginResetModel()
        self.items = list(items)
        self.endResetModel()

    def item(self, row: int) -> ItemT | None:
        """The item of a line."""
        return self.items[row] if 0 <= row < len(self.items) else None

    def words(self, item: ItemT, role: int) -> str | None:
        """What an item says in a role."""
        raise NotImplementedError

    def rowCount(self, parent: Index | None = None) -> int:
        """One line an item."""
        return 0 if parent is not None and parent.isValid() else len(self.items)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """The words of an item, and the item itself."""
        item = self.item(index.row())
        if item is None or role == ITEM:
            return item
        return self.words(item, role)
