"""The head of a table that is read: what the list calls each column, and the field it goes to."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRect, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFocusEvent, QKeyEvent, QPainter, QPalette, QWheelEvent
from PySide6.QtWidgets import QApplication, QComboBox, QHeaderView, QTableView, QWidget

from opnote.desk import theme
from opnote.pack.form import Field

NOT_USED = "Not used"
_GAP = 4
_STEPS = (
    Qt.Key.Key_Down,
    Qt.Key.Key_Up,
    Qt.Key.Key_PageDown,
    Qt.Key.Key_PageUp,
    Qt.Key.Key_Home,
    Qt.Key.Key_End,
    Qt.Key.Key_Return,
    Qt.Key.Key_Enter,
)
_FAINT = QPalette.ColorRole.PlaceholderText


class FieldBox(QComboBox):
    """Chooses the field of a column.

    Signals: chosen(column, path), "" for no field; entered(column) when it has got the focus.
    """

    chosen = Signal(int, str)
    entered = Signal(int)

    def __init__(self, column: int, targets: Sequence[Field], parent: QWidget) -> None:
        super().__init__(parent)
        self._column = column
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.addItem(NOT_USED, "")
        for target in targets:
            self.addItem(target.label, target.path)
        self.activated.connect(self._on_activated)

    def show_path(self, path: str) -> None:
        """Show where the column goes now."""
        self.setCurrentIndex(max(0, self.findData(path)))
        role = QPalette.ColorRole.ButtonText if path else QPalette.ColorRole.PlaceholderText
        palette = QPalette()
        palette.setColor(QPalette.ColorRole.ButtonText, QApplication.palette().color(role))
        self.setPalette(palette)

    def _on_activated(self, index: int) -> None:
        self.chosen.emit(self._column, str(self.itemData(index)))

    def wheelEvent(self, event: QWheelEvent) -> None:
        """A wheel never changes a value."""
        event.ignore()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Open at a key, so that on the way to a field no other one is taken from its column."""
        if event.key() in _STEPS or event.text().strip():
            self.showPopup()
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Come into view."""
        super().focusInEvent(event)
        self.entered.emit(self._column)


class ColumnHeads(QHeaderView):
    """A heading and under it the box of its field, for every column.

    Signals: field_chosen(column of the list, path).
    """

    field_chosen = Signal(int, str)

    def __init__(self, table: QTableView) -> None:
        super().__init__(Qt.Orientation.Horizontal, table)
        self._table = table
        self.boxes: list[FieldBox] = []
        self._headings: list[str] = []
        self.setSectionsClickable(False)
        self.sectionResized.connect(self._place)
        self.geometriesChanged.connect(self._place)
        table.horizontalScrollBar().valueChanged.connect(self._place)

    def set_columns(self, headings: Sequence[str], targets: Sequence[Field]) -> None:
        """Make a box for each column of a list."""
        for box in self.boxes:
            box.hide()
            box.deleteLater()
        self._headings = list(headings)
        self.boxes = [FieldBox(i, targets, self.viewport()) for i in range(len(headings))]
        for box, heading in zip(self.boxes, headings, strict=True):
            box.setAccessibleName(f'Field of the column "{heading}"')
            box.chosen.connect(self.field_chosen)
            box.entered.connect(self._on_entered)
            box.show()
        self._place()

    def show_fields(self, fields: Sequence[Field | None]) -> None:
        """Show where each column goes now."""
        for box, found in zip(self.boxes, fields, strict=True):
            box.show_path("" if found is None else found.path)

    def width_for(self, column: int) -> int:
        """The width that a column's head needs. Units: result in pixels."""
        words = self.fontMetrics().horizontalAdvance(self._headings[column]) + 16
        chosen = self.boxes[column]
        return max(words, chosen.fontMetrics().horizontalAdvance(chosen.currentText()) + 44)

    def sizeHint(self) -> QSize:
        """A line of words above a box."""
        return QSize(super().sizeHint().width(), self._line() + theme.line_height(self) + _GAP)

    def paintSection(self, painter: QPainter, rect: QRect, logicalIndex: int) -> None:
        """The words, small; the box draws itself."""
        painter.save()
        painter.fillRect(rect, self.palette().color(QPalette.ColorRole.AlternateBase))
        painter.setPen(self.palette().color(QPalette.ColorRole.PlaceholderText))
        line = QRect(rect.x() + 6, rect.y(), rect.width() - 8, self._line())
        words = self._headings[logicalIndex]
        words = painter.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, line.width())
        painter.drawText(line, Qt.AlignmentFlag.AlignVCenter, words)
        painter.restore()

    def _line(self) -> int:
        return self.fontMetrics().height() + 8

    def _place(self) -> None:
        for column, box in enumerate(self.boxes):
            left = self.sectionViewportPosition(column)
            height = theme.line_height(self)
            box.setGeometry(left + 1, self._line(), self.sectionSize(column) - 3, height)

    def _on_entered(self, column: int) -> None:
        model = self._table.model()
        if model.rowCount():
            row = max(0, self._table.rowAt(0))
            self._table.scrollTo(model.index(row, column))


class RowHeads(QHeaderView):
    """The number of each row and what becomes of it, which stay in sight."""

    def __init__(self, table: QTableView) -> None:
        super().__init__(Qt.Orientation.Vertical, table)
        self.setSectionsClickable(False)
        self.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)

    def sizeHint(self) -> QSize:
        """Room for the longest words."""
        rows = range(self.count())
        words = (self.fontMetrics().horizontalAdvance(self._words(row)) for row in rows)
        return QSize(max(words, default=0) + 20, super().sizeHint().height())

    def paintSection(self, painter: QPainter, rect: QRect, logicalIndex: int) -> None:
        """Plain words on the ground of the pane."""
        role = Qt.ItemDataRole.ForegroundRole
        ink = self.model().headerData(logicalIndex, Qt.Orientation.Vertical, role)
        painter.save()
        painter.fillRect(rect, self.palette().color(QPalette.ColorRole.AlternateBase))
        painter.setPen(ink if isinstance(ink, QColor) else self.palette().color(_FAINT))
        align = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(rect.adjusted(4, 0, -4, 0), align, self._words(logicalIndex))
        painter.restore()

    def _words(self, row: int) -> str:
        return str(self.model().headerData(row, Qt.Orientation.Vertical))
