"""A list that was read, before anything is made of it: its rows, what is wrong, what is to be."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from PySide6.QtCore import QAbstractTableModel, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPalette
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QHBoxLayout,
    QLabel,
    QLayout,
    QPushButton,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from opnote.desk import theme
from opnote.desk.column_heads import ColumnHeads, RowHeads
from opnote.desk.line_edit import LineEdit
from opnote.desk.list_model import Index
from opnote.desk.listing import LEFT_OUT, MADE, MEND, TWICE, Listing
from opnote.desk.reading import Habits, Order, read_date
from opnote.desk.subject_bar import SIDE
from opnote.desk.tick_box import TickBox
from opnote.pack.view import and_list

_CHILDREN = Qt.FindChildOption.FindDirectChildrenOnly
_WIDEST = 30
"""A column is at most so many characters wide to begin with."""


class _Rows(QAbstractTableModel):
    """The cells as they are understood; the heads of the rows say what becomes of them."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.listing: Listing | None = None
        self._widget = parent

    def show_listing(self, listing: Listing) -> None:
        self.beginResetModel()
        self.listing = listing
        self.endResetModel()

    def rowCount(self, parent: Index | None = None) -> int:
        is_below = parent is not None and parent.isValid()
        return 0 if is_below or self.listing is None else self.listing.row_count

    def columnCount(self, parent: Index | None = None) -> int:
        is_below = parent is not None and parent.isValid()
        return 0 if is_below or self.listing is None else self.listing.column_count

    def flags(self, index: Index) -> Qt.ItemFlag:
        return Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEditable

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        listing = self.listing
        if listing is None:
            return None
        if orientation is Qt.Orientation.Horizontal:
            return listing.heading(section) if role == Qt.ItemDataRole.DisplayRole else None
        return self._about_row(listing, section, role) if section < listing.row_count else None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        listing, row, column = self.listing, index.row(), index.column()
        if listing is None or not 0 <= row < listing.row_count:
            return None
        trouble = listing.trouble_at(row, column)
        if role == Qt.ItemDataRole.EditRole:
            return listing.text(row, column)
        if role == Qt.ItemDataRole.DisplayRole:
            words = " ".join(listing.understood(row, column).split())
            return f"\N{MULTIPLICATION X} {words}" if trouble else words
        if role == Qt.ItemDataRole.ToolTipRole:
            return trouble or f"In the list: {listing.text(row, column)}"
        if role == Qt.ItemDataRole.AccessibleTextRole:
            words = listing.understood(row, column)
            return trouble or f"{listing.heading(column)}: {words or 'empty'}"
        if role == Qt.ItemDataRole.ForegroundRole:
            return self._ink(listing, row, column, bool(trouble))
        return None

    def _ink(self, listing: Listing, row: int, column: int, is_wrong: bool) -> object:
        if is_wrong:
            return theme.inks(self._widget).wrong
        if listing.fields[column] is None or listing.state(row) in (LEFT_OUT, TWICE):
            return self._widget.palette().color(QPalette.ColorRole.PlaceholderText)
        return None

    def _about_row(self, listing: Listing, row: int, role: int) -> object:
        state = listing.state(row)
        if role == Qt.ItemDataRole.DisplayRole:
            mark = "\N{MULTIPLICATION X} " if state == MEND else ""
            return f"{listing.number(row)}   {mark}{state}"
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            return listing.about(row) or f"row {listing.number(row)}: {state}"
        if role == Qt.ItemDataRole.ForegroundRole and state != MADE:
            found = theme.inks(self._widget)
            return found.wrong if state == MEND else found.attention
        return None

    def setData(self, index: Index, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:
        if self.listing is None or role != Qt.ItemDataRole.EditRole:
            return False
        row, column, text = index.row(), index.column(), str(value)
        if text != self.listing.text(row, column):
            self.listing.set_text(row, column, text)
            self.all_changed()
        return True

    def all_changed(self) -> None:
        last = self.index(self.rowCount() - 1, self.columnCount() - 1)
        self.dataChanged.emit(self.index(0, 0), last)
        self.headerDataChanged.emit(Qt.Orientation.Vertical, 0, self.rowCount() - 1)


class _Table(QTableView):
    """Return edits a cell, Tab leaves the table."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        is_enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        index = self.currentIndex()
        if is_enter and index.isValid() and self.state() != QTableView.State.EditingState:
            self.edit(index)
        else:
            super().keyPressEvent(event)


class ListingPane(QWidget):
    """Shows a list that was read, and makes nothing itself.

    Signals: make_wanted() when its cases shall be made; left() when it shall be put away.
    """

    make_wanted = Signal()
    left = Signal()

    def __init__(self, parent: QWidget, habits: Habits) -> None:
        """Show lists where days are written as `habits` say."""
        super().__init__(parent)
        self.listing: Listing | None = None
        self._habits = habits
        self.setBackgroundRole(QPalette.ColorRole.AlternateBase)
        self.setAutoFillBackground(True)
        self._title = QLabel(self)
        self._title.setFont(theme.font(1.15, bold=True))
        self._summary = self._line()
        self._heading = TickBox("&First row is a heading", self)
        self._month_first = TickBox("&Month before day", self)
        self._day_label = QLabel("&Date of the list", self)
        self._day = LineEdit(self, 14)
        self._day.setAccessibleName("Date of the list")
        self._day_label.setBuddy(self._day)
        self._day_words = QLabel(self)
        self._rows = _Rows(self)
        self.table = _Table(self)
        self._heads = ColumnHeads(self.table)
        self._note = self._line()
        self._next = self._button("&Next to mend", self.go_to_next)
        self._without = self._button("Make it &without this value", self._on_without)
        self._leave = self._button("&Leave this row out", self._on_leave)
        self._make = self._button("", self.make_wanted)
        self._close = self._button("Put the list away", self.left)
        self._unused = self._line()
        self._unused.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self._build_table()
        self._lay_out()
        self._heading.clicked.connect(self._on_heading)
        self._month_first.clicked.connect(self._on_month_first)
        self._day.textEdited.connect(self._on_day_edited)
        self._heads.field_chosen.connect(self._on_field_chosen)
        self._rows.dataChanged.connect(self._refresh)

    def _line(self) -> QLabel:
        label = QLabel(self)
        label.setWordWrap(True)
        label.setTextFormat(Qt.TextFormat.PlainText)
        return label

    def _button(self, words: str, slot: object) -> QPushButton:
        button = QPushButton(words, self)
        button.setAutoDefault(False)
        button.clicked.connect(slot)
        return button

    def _build_table(self) -> None:
        table = self.table
        table.setModel(self._rows)
        table.setHorizontalHeader(self._heads)
        table.setVerticalHeader(RowHeads(table))
        table.setAccessibleName("The rows of the list")
        # The corner would choose all cells at once, which is of no use here: plain ground.
        for corner in table.findChildren(QAbstractButton, options=_CHILDREN):
            corner.setStyleSheet(
                "QTableCornerButton::section { background: palette(alternate-base); border: none }"
            )
        table.setCornerButtonEnabled(False)
        table.verticalHeader().viewport().setBackgroundRole(QPalette.ColorRole.AlternateBase)
        table.setTabKeyNavigation(False)
        table.setWordWrap(False)
        table.setShowGrid(False)
        table.setAlternatingRowColors(True)
        table.setFrameShape(QTableView.Shape.NoFrame)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        triggers = QAbstractItemView.EditTrigger
        table.setEditTriggers(
            triggers.DoubleClicked | triggers.EditKeyPressed | triggers.AnyKeyPressed
        )
        table.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        theme.slim(table)
        table.selectionModel().currentChanged.connect(self._refresh_note)

    def _lay_out(self) -> None:
        options = QHBoxLayout()
        options.setSpacing(16)
        for widget in (self._heading, self._month_first, self._day_label):
            options.addWidget(widget)
        options.setSpacing(8)
        options.addWidget(self._day)
        options.addWidget(self._day_words)
        options.addStretch(1)
        mend = QHBoxLayout()
        mend.setSpacing(8)
        mend.addWidget(self._note, 1)
        for button in (self._next, self._without, self._leave):
            mend.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        foot = QHBoxLayout()
        foot.setSpacing(8)
        foot.addWidget(self._unused, 1)
        foot.addWidget(self._close)
        foot.addWidget(self._make)
        column = QVBoxLayout(self)
        column.setContentsMargins(20, 12, 16, 12)
        column.setSpacing(8)
        column.addWidget(self._title)
        column.addWidget(self._summary)
        column.addLayout(options)
        column.addWidget(self.table, 1)
        column.addLayout(mend)
        column.addLayout(foot)
        # Two lines are kept free, so that the table doesn't jump when a message comes.
        self._note.setMinimumHeight(2 * self.fontMetrics().height() + 4)
        self._note.setAlignment(Qt.AlignmentFlag.AlignTop)

    def show_listing(self, listing: Listing, title: str) -> None:
        """Show a list that was read."""
        self.listing = listing
        self._title.setText(title)
        self._fit_rows()
        self._rows.show_listing(listing)
        self._day.setText("")
        self._day_words.setText("")
        self._take_columns()
        self._refresh()
        self._begin_at_top()

    def renew(self) -> None:
        """The rows have changed from outside: some were made, or the folder holds more."""
        if self.listing is not None:
            self._rows.show_listing(self.listing)
            self._refresh()
            self._begin_at_top()

    def show_known(self) -> None:
        """The folder holds more than was known: say so beside the rows, wherever one is."""
        focus = QApplication.focusWidget()
        # Not in a cell that is being edited: pressing for the cases looks again.
        if focus is None or not self.table.viewport().isAncestorOf(focus):
            self._rows.all_changed()

    def restyle(self) -> None:
        """Follow the text size and the colours."""
        self._title.setFont(theme.font(1.15, bold=True))
        self._note.setMinimumHeight(2 * self.fontMetrics().height() + 4)
        theme.slim(self.table)
        if self.listing is not None:
            self._fit_rows()
            self._take_columns()
            self._refresh()
        for layout in self.findChildren(QLayout):
            layout.invalidate()
        self.updateGeometry()

    def _fit_rows(self) -> None:
        self.table.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + 14)

    def _begin_at_top(self) -> None:
        if self._rows.rowCount():
            self.table.setCurrentIndex(self._rows.index(0, 0))
        self.table.setFocus()

    def _take_columns(self) -> None:
        assert self.listing is not None
        headings = [self.listing.heading(c) for c in range(self.listing.column_count)]
        self._heads.set_columns(headings, self.listing.targets)
        self._heads.show_fields(self.listing.fields)
        self.table.resizeColumnsToContents()
        widest = theme.columns(self, _WIDEST)
        for column in range(self.listing.column_count):
            cells = min(widest, self.table.columnWidth(column))
            self.table.setColumnWidth(column, max(cells, self._heads.width_for(column)))
        before: QWidget = self._day
        for widget in (*self._heads.boxes, self.table, self._next, self._without, self._leave):
            QWidget.setTabOrder(before, widget)
            before = widget

    # What a person does

    def go_to_next(self) -> bool:
        """Go to the next cell that must be mended, from the one in hand and round."""
        assert self.listing is not None
        places = [(t.row, max(0, t.column)) for t in self.listing.troubles()]
        current = self.table.currentIndex()
        here = (current.row(), current.column())
        after = [place for place in sorted(places) if place > here] or sorted(places)
        if not after:
            return False
        index = self._rows.index(*after[0])
        self.table.setCurrentIndex(index)
        self.table.scrollTo(index)
        self.table.setFocus()
        return True

    def _on_field_chosen(self, column: int, path: str) -> None:
        assert self.listing is not None
        self.listing.set_field(column, path)
        self._rows.all_changed()

    def _on_heading(self) -> None:
        assert self.listing is not None
        self.listing.set_heading(self._heading.isChecked())
        self._rows.show_listing(self.listing)
        self._take_columns()
        self._refresh()

    def _on_month_first(self) -> None:
        assert self.listing is not None
        self.listing.set_month_first(self._month_first.isChecked())
        self._read_day(self._day.text())
        self._rows.all_changed()

    def _on_day_edited(self, text: str) -> None:
        self._read_day(text)
        self._rows.all_changed()

    def _read_day(self, text: str) -> None:
        """Read the date of the list as the dates in it are read."""
        assert self.listing is not None
        order = Order.MONTH_FIRST if self.listing.month_first else Order.DAY_FIRST
        reading = read_date(text, self.listing.today, replace(self._habits, order=order))
        self._day_words.setText(reading.understood or reading.problem)
        self.listing.set_day(reading.value if isinstance(reading.value, date) else None)

    def _on_without(self) -> None:
        assert self.listing is not None
        index = self.table.currentIndex()
        if index.isValid():
            self.listing.make_without(index.row(), index.column())
            self._rows.all_changed()

    def _on_leave(self) -> None:
        assert self.listing is not None
        index = self.table.currentIndex()
        if index.isValid():
            is_out = self.listing.state(index.row()) == LEFT_OUT
            self.listing.leave_out(index.row(), not is_out)
            self._rows.all_changed()

    # What it shows

    def _refresh(self) -> None:
        listing = self.listing
        if listing is None:
            return
        self._heads.show_fields(listing.fields)
        self._heading.setChecked(listing.has_heading)
        self._month_first.setChecked(listing.month_first)
        for widget in (self._day_label, self._day, self._day_words):
            widget.setVisible(listing.needs_day)
        self._summary.setText(_summary(listing))
        count = listing.count(MADE)
        these = f"Make &these {count} cases" if count > 1 else "Make &this case"
        self._make.setText(these if count else "Make &the cases")
        self._make.setEnabled(count > 0)
        self._next.setEnabled(bool(listing.troubles()))
        unused = [f'"{heading}"' for heading in listing.unused()]
        self._unused.setText(f"Not used: {', '.join(unused)}." if unused else "")
        self._refresh_note()

    def _refresh_note(self) -> None:
        listing, index = self.listing, self.table.currentIndex()
        row, column = index.row(), index.column()
        if listing is None or not 0 <= row < listing.row_count:
            self._note.setText("")
            self._without.setEnabled(False)
            self._leave.setEnabled(False)
            return
        trouble = listing.trouble_at(row, column)
        self._note.setText(trouble or listing.about(row))
        self._without.setEnabled(bool(trouble))
        is_out = listing.state(row) == LEFT_OUT
        self._leave.setText("Take this row &in" if is_out else "&Leave this row out")
        self._leave.setEnabled(True)


def _summary(listing: Listing) -> str:
    """What would become of the rows, and that nothing is made yet."""
    if not listing.names_people:
        return "Say above the columns which holds the name or the number of the patient."
    parts = [
        f"{count} {words}"
        for state, words in (
            (MADE, "will be made"),
            (MEND, "to mend"),
            (TWICE, "there already"),
            (LEFT_OUT, "left out"),
        )
        if (count := listing.count(state))
    ]
    noun = "row" if listing.row_count == 1 else "rows"
    made = "Nothing is made before you press the button."
    if listing.needs_day and listing.day is None:
        made = f"No column holds the date: write it below. {made}"
    if sideless := listing.count_without(SIDE):
        made = f"Without a side: {sideless}. {made}"
    return f"{listing.row_count} {noun}: {and_list(parts)}. {made}"
