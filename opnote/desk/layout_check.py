"""Holds a window's widgets against what a person must be able to read and hit.

It asks the widgets, not pictures of them, so that it is quick enough for every page at every size.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from PySide6.QtCore import QModelIndex, QPoint, QSize, Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractScrollArea,
    QComboBox,
    QLabel,
    QLineEdit,
    QListView,
    QMenu,
    QMenuBar,
    QPlainTextEdit,
    QStyle,
    QStyleOptionComboBox,
    QTableView,
    QWidget,
)

from opnote.desk import theme
from opnote.desk.floats import FLOATS

_SLACK: Final = 1
"""What rounding may take away. Units: pixels."""


_SLIVER: Final = 14
"""A label narrower than so many characters holds a word or two a line ..."""
_MOST_SLIVERS: Final = 4
"""... which nobody reads for more lines than this."""


@dataclass(frozen=True, slots=True)
class Flaw:
    """Something that a person can't read, hit or reach: its kind, where, and what to look at."""

    kind: str
    where: str
    what: str

    def __str__(self) -> str:
        return f"{self.kind}: {self.where}: {self.what}"


def flaws_in(window: QWidget) -> list[Flaw]:
    """Everything that is clipped, cramped, overlaps, sticks out or scrolls sideways in a window.

    Call it when the layouts have settled; only what is visible is looked at.
    """
    found: list[Flaw] = []
    for widget in visible_below(window):
        children = _laid_out(widget)
        found.extend(_clipped(widget, is_leaf=not children))
        found.extend(_sideways(widget))
        found.extend(_sticking_out(widget, children))
        found.extend(_overlapping(children))
    return found


def visible_below(top: QWidget) -> Iterator[QWidget]:
    """A widget and all that is visible in it; pages that nobody sees are not gone through."""
    if top.isVisible():
        yield top
        for child in _laid_out(top):
            yield from visible_below(child)


def _laid_out(parent: QWidget) -> list[QWidget]:
    return [
        child
        for child in parent.children()
        if isinstance(child, QWidget) and child.isVisible() and not child.isWindow()
    ]


def place_of(widget: QWidget) -> str:
    """A widget by its class, its words and its box, for a message."""
    words = widget.accessibleName() or _words_of(widget)
    corner = widget.mapTo(widget.window(), QPoint(0, 0))
    box = f"{corner.x()},{corner.y()} {widget.width()}x{widget.height()}"
    return f"{type(widget).__name__} {words[:50]!r} at {box}"


def _words_of(widget: QWidget) -> str:
    return widget.text() if isinstance(widget, QLabel | QAbstractButton | QLineEdit) else ""


def _flaw(kind: str, widget: QWidget, what: str) -> Flaw:
    return Flaw(kind, place_of(widget), what)


# Clipped


def _clipped(widget: QWidget, is_leaf: bool) -> Iterator[Flaw]:
    if isinstance(widget, QLabel):
        yield from _clipped_label(widget)
    elif isinstance(widget, QAbstractButton):
        yield from _clipped_line(widget, widget.text().replace("&", ""), widget.width())
        yield from _too_small(widget, widget.minimumSizeHint())
    elif isinstance(widget, QLineEdit):
        margins = widget.textMargins()
        room = widget.width() - margins.left() - margins.right()
        yield from _clipped_line(widget, widget.text() or widget.placeholderText(), room)
    elif isinstance(widget, QPlainTextEdit):
        if widget.viewport().height() < widget.fontMetrics().height():
            yield _flaw("clipped", widget, "no room for one line")
    elif isinstance(widget, QListView):
        yield from _clipped_items(widget)
    elif isinstance(widget, QComboBox):
        yield from _clipped_line(widget, widget.currentText(), _room_of(widget))
    elif isinstance(widget, QMenu | QMenuBar):
        yield from _clipped_entries(widget)
    elif is_leaf:
        # What is drawn by its own hand says what it needs.
        hint = widget.minimumSizeHint()
        if widget.sizePolicy().horizontalPolicy() is widget.sizePolicy().Policy.Fixed:
            hint = widget.sizeHint()
        yield from _too_small(widget, hint)


def _clipped_label(label: QLabel) -> Iterator[Flaw]:
    if not label.text():
        return
    if label.wordWrap():
        needed = label.heightForWidth(label.width())
        if label.height() + _SLACK < needed:
            yield _flaw("clipped", label, f"{label.height()} of {needed} px high")
        yield from _too_small(label, QSize(label.minimumSizeHint().width(), 0))
        lines = needed // label.fontMetrics().height()
        if lines > _MOST_SLIVERS and label.width() < theme.columns(label, _SLIVER):
            yield _flaw("cramped", label, f"{lines} lines in {label.width()} px")
        return
    margins = label.contentsMargins()
    # Where the label leads to a box, the mark of its letter is a line under it.
    words = label.text().replace("&", "") if label.buddy() is not None else label.text()
    parts = words.split("\n")
    for line in parts:
        yield from _clipped_line(label, line, label.width() - margins.left() - margins.right())
    needed = len(parts) * label.fontMetrics().height() + margins.top() + margins.bottom()
    if label.height() + _SLACK < needed:
        yield _flaw("clipped", label, f"{label.height()} of {needed} px high")


def _clipped_line(widget: QWidget, text: str, room: int) -> Iterator[Flaw]:
    """One line that is wider than its room must be whole in the tool tip and for the ear."""
    needed = widget.fontMetrics().horizontalAdvance(text)
    if needed <= room + _SLACK:
        return
    if isinstance(widget, QLineEdit):
        # A box is heard by its question; what it holds is read out as its value.
        told = text in widget.toolTip() or text == widget.placeholderText()
    else:
        told = text in widget.toolTip() and text in widget.accessibleName()
    if not told:
        yield _flaw("clipped", widget, f"{room} of {needed} px for {text!r}, and told nowhere else")


def _too_small(widget: QWidget, needed: QSize) -> Iterator[Flaw]:
    if widget.width() + _SLACK < needed.width() or widget.height() + _SLACK < needed.height():
        what = f"needs {needed.width()}x{needed.height()}"
        yield _flaw("clipped", widget, what)


def _clipped_items(view: QListView) -> Iterator[Flaw]:
    """A line of a list that may be cut must be whole in its tool tip and for the ear."""
    model = view.model()
    for row in range(model.rowCount()):
        if view.isRowHidden(row):
            continue
        index = model.index(row, view.modelColumn(), QModelIndex())
        words = str(index.data(Qt.ItemDataRole.DisplayRole) or "")
        box = view.visualRect(index)
        if view.fontMetrics().horizontalAdvance(words) <= box.width() * 0.6:
            continue
        for role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            if words not in str(index.data(role) or ""):
                yield _flaw("clipped", view, f"line {words!r} lacks its {role.name}")


def _room_of(box: QComboBox) -> int:
    """How wide the words of a box that unfolds may be; only the chosen ones must be seen whole."""
    option = QStyleOptionComboBox()
    box.initStyleOption(option)
    part = QStyle.SubControl.SC_ComboBoxEditField
    room = box.style().subControlRect(QStyle.ComplexControl.CC_ComboBox, option, part, box)
    return room.width()


def _clipped_entries(menu: QMenu | QMenuBar) -> Iterator[Flaw]:
    """Every entry of a menu must be there, whole and inside it."""
    for action in menu.actions():
        if action.isSeparator() or not action.isVisible():
            continue
        words = action.text().replace("&", "")
        box = menu.actionGeometry(action)
        needed = menu.fontMetrics().horizontalAdvance(words)
        if not menu.rect().contains(box) or box.width() + _SLACK < needed:
            room = menu.rect().intersected(box)
            what = f"{room.width()}x{room.height()} of {needed}x{box.height()} px for {words!r}"
            yield _flaw("clipped", menu, what)


# Beside, beyond and over one another


def _sideways(widget: QWidget) -> Iterator[Flaw]:
    if isinstance(widget, QAbstractScrollArea):
        bar = widget.horizontalScrollBar()
        lines_end_by_themselves = isinstance(widget, QLineEdit | QAbstractItemView)
        if isinstance(widget, QTableView):
            # Its columns are those of a file, however many; what a row is about stays in sight.
            return
        if bar.isVisible() or (bar.maximum() > 0 and not lines_end_by_themselves):
            yield _flaw("sideways", widget, f"{bar.maximum()} px wider than its room")


def _sticking_out(parent: QWidget, children: Sequence[QWidget]) -> Iterator[Flaw]:
    area = parent.parentWidget()
    if isinstance(area, QAbstractScrollArea) and area.viewport() is parent:
        # It scrolls up and down; sideways is seen by the bar.
        return
    room = parent.rect().adjusted(-_SLACK, -_SLACK, _SLACK, _SLACK)
    for child in children:
        if not room.contains(child.geometry()) and not child.property(FLOATS):
            yield _flaw("sticks out", child, f"beyond {place_of(parent)}")


def _overlapping(children: Sequence[QWidget]) -> Iterator[Flaw]:
    boxes = [
        (child, child.geometry())
        for child in children
        if not child.property(FLOATS) and not child.size().isEmpty()
    ]
    for (one, box), (other, other_box) in combinations(boxes, 2):
        common = box.intersected(other_box)
        if common.width() > _SLACK and common.height() > _SLACK:
            yield _flaw("overlaps", one, place_of(other))
