"""Finding a field by any word of its label, its page, its help or its answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QListWidget, QListWidgetItem, QWidget

from opnote.desk import theme
from opnote.desk.floats import FLOATS
from opnote.desk.line_edit import LineEdit
from opnote.desk.reading import folded

if TYPE_CHECKING:
    from opnote.pack.form import Form

_MOST = 12


@dataclass(frozen=True, slots=True)
class Place:
    """A field that can be found: where it leads, how it is told, and the words it is found by."""

    path: str
    told: str
    label: str
    words: str


def places_in(form: Form) -> list[Place]:
    """Every field of a form that is asked, columns included."""
    found = []
    for page in form.pages:
        for field in page.fields:
            for each in (field, *field.columns):
                if each.is_computed:
                    continue
                within = f"{page.title}, {field.label}" if each is not field else page.title
                options = " ".join(option.label for option in each.options)
                words = folded(f"{each.label} {within} {each.help} {options}")
                found.append(
                    Place(each.path, f"{each.label}   ({within})", folded(each.label), words)
                )
    return found


def matching(places: Sequence[Place], text: str) -> list[Place]:
    """The places that hold every word of a text, those whose label does first."""
    wanted = folded(text).split()
    if not wanted:
        return []
    hits = [place for place in places if all(word in place.words for word in wanted)]
    hits.sort(key=lambda place: not all(word in place.label for word in wanted))
    return hits[:_MOST]


class FindBox(LineEdit):
    """A box whose hits unfold below it.

    Signals: path_chosen(path); left() when nothing was chosen.
    """

    path_chosen = Signal(str)
    left = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent, 22)
        self._places: list[Place] = []
        self.setPlaceholderText("Find a field")
        self.setToolTip("Ctrl+F")
        self.setAccessibleName("Find a field")
        self._hits: QListWidget | None = None
        self.textEdited.connect(self._on_text_edited)

    def set_form(self, form: Form) -> None:
        """Search this form."""
        self._places = places_in(form)

    def _on_text_edited(self, text: str) -> None:
        hits = matching(self._places, text)
        if self._hits is None:
            self._hits = QListWidget(self.window())
            self._hits.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            self._hits.setProperty(FLOATS, True)
            self._hits.setAccessibleName("Fields found")
            self._hits.itemClicked.connect(self._on_hit_chosen)
        self._hits.clear()
        for place in hits:
            item = QListWidgetItem(place.told, self._hits)
            item.setData(Qt.ItemDataRole.UserRole, place.path)
            item.setData(Qt.ItemDataRole.AccessibleTextRole, place.told)
            item.setToolTip(place.told)
            item.setSizeHint(QSize(100, theme.line_height(self)))
        self._hits.setCurrentRow(0)
        self._hits.setVisible(bool(hits))
        if hits:
            width = max(self.width(), theme.columns(self, 62))
            corner = self.mapTo(self.window(), QPoint(self.width() - width, self.height()))
            row = self._hits.sizeHintForRow(0)
            self._hits.setGeometry(corner.x(), corner.y(), width, row * len(hits) + 6)
            self._hits.raise_()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows choose among the hits, Enter goes there, Escape goes back."""
        key = event.key()
        hits = self._hits
        if key == Qt.Key.Key_Escape:
            self._close()
            self.left.emit()
        elif hits is not None and hits.isVisible() and key in (Qt.Key.Key_Down, Qt.Key.Key_Up):
            step = 1 if key == Qt.Key.Key_Down else -1
            hits.setCurrentRow((hits.currentRow() + step) % hits.count())
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if hits is not None and hits.isVisible() and hits.currentItem() is not None:
                self._on_hit_chosen(hits.currentItem())
        else:
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """The hits go when one looks elsewhere."""
        super().focusOutEvent(event)
        if self._hits is not None and not self._hits.underMouse():
            self._hits.hide()

    def sizeHint(self) -> QSize:
        """As wide as its words."""
        return super().sizeHint()

    def _on_hit_chosen(self, item: QListWidgetItem) -> None:
        path = str(item.data(Qt.ItemDataRole.UserRole))
        self._close()
        self.path_chosen.emit(path)

    def _close(self) -> None:
        self.clear()
        if self._hits is not None:
            self._hits.hide()
