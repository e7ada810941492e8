"""Questions one below the other, with their group titles; short ones in pairs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from opnote.desk import theme
from opnote.desk.desk import Desk
from opnote.desk.editor.make import SHORT_KINDS
from opnote.desk.field_row import FieldRow, Place, label_width
from opnote.pack.form import Field

ROW_GAP = 6
_PAIR_CHARACTERS = 90
_MOST_COMPUTED = 2
_FIRST_CHARACTERS = 20
"""The width of the first answer on a line of two, so that the second ones stand in a column."""


def is_shown_to_people(field: Field) -> bool:
    """False for what is only worked out to decide about other fields."""
    return not (field.is_computed and (field.silent or field.kind == "yes_no"))


def in_lines(fields: Sequence[Field], in_pairs: bool = True) -> Iterator[tuple[Field, ...]]:
    """The fields of each line: short ones that come and go together stand side by side."""
    line: list[Field] = []
    for field in fields:
        if line and not (in_pairs and _go_together(line, field)):
            yield tuple(line)
            line = []
        line.append(field)
    if line:
        yield tuple(line)


def _go_together(line: Sequence[Field], second: Field) -> bool:
    first = line[0]
    if first.group != second.group or first.kind == "rows":
        return False
    if first.is_computed:
        return second.is_computed and len(line) < _MOST_COMPUTED
    if len(line) > 1:
        return False
    if second.is_computed:
        return first.kind in SHORT_KINDS
    return (
        first.kind in SHORT_KINDS
        and second.kind in SHORT_KINDS
        and first.shown_when in (None, second.shown_when)
    )


def _place(field: Field, index: int) -> Place:
    if index == 0:
        return Place.FIRST
    return Place.TRAILING if field.is_computed else Place.SECOND


class _Line(QWidget):
    """Two questions side by side; there while one of them is."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.rows: list[FieldRow] = []
        self._layout = QHBoxLayout()
        self._layout.setSpacing(8)
        self._below = QVBoxLayout()
        self._below.setContentsMargins(label_width(self) + 12, 0, 0, 0)
        self._below.setSpacing(0)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addLayout(self._layout)
        column.addLayout(self._below)

    def add(self, row: FieldRow) -> None:
        """Put a question at the end of the line."""
        if not self.rows:
            wide = label_width(self) + 12
            row.setMinimumWidth(wide + theme.columns(self, _FIRST_CHARACTERS))
        self.rows.append(row)
        # What is over goes to the last one.
        self._layout.addWidget(row, len(self.rows) - 1)
        # Half a line is too narrow for sentences.
        self._below.addWidget(row.notes)

    def settle(self) -> None:
        """Go when both questions have gone."""
        hidden = all(row.isHidden() for row in self.rows)
        if hidden is not self.isHidden():
            self.setVisible(not hidden)


class FieldList(QWidget):
    """The fields of a page, or the columns of one row of a table.

    Signals: left_by_enter(row) when Enter asks for what comes after a question.
    """

    left_by_enter = Signal(object)

    def __init__(
        self, fields: Sequence[Field], path_of: Callable[[Field], str], desk: Desk, parent: QWidget
    ) -> None:
        super().__init__(parent)
        self._rows: dict[str, FieldRow] = {}
        self._lines: list[_Line] = []
        self._in_lines: list[Sequence[FieldRow]] = []
        self._titles: list[tuple[QLabel, list[FieldRow]]] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(ROW_GAP)
        shown = [field for field in fields if is_shown_to_people(field)]
        group = ""
        # With large text in a small window each question has a line of its own.
        in_pairs = theme.columns(self, _PAIR_CHARACTERS) <= self.window().width() // 2
        for line in in_lines(shown, in_pairs):
            if line[0].group and line[0].group != group:
                self._add_title(line[0].group)
            group = line[0].group
            rows = [
                FieldRow(field, path_of(field), desk, self, _place(field, index))
                for index, field in enumerate(line)
            ]
            if group:
                self._titles[-1][1].extend(rows)
            self._add_line(rows)
            for row in rows:
                row.left_by_enter.connect(self._on_left_by_enter)
                self._rows[row.path] = row

    @property
    def rows(self) -> Mapping[str, FieldRow]:
        """The questions by path, in order."""
        return self._rows

    def question_at(self, path: str) -> FieldRow | None:
        """The question of a path; None when it is none of these."""
        return self._rows.get(path)

    def controls(self) -> list[QWidget]:
        """What Tab visits, in reading order: the notes of a line come below all of it."""
        found: list[QWidget] = []
        for line in self._in_lines:
            for row in line:
                found.extend(row.controls())
            for row in line:
                found.extend(row.note_controls())
        return found

    def load(self) -> None:
        """Another case is shown."""
        for row in self._rows.values():
            row.load()
        self._settle()

    def refresh(self, revealed: bool) -> None:
        """The case has changed."""
        for row in self._rows.values():
            row.refresh(revealed)
        self._settle()

    def _settle(self) -> None:
        for line in self._lines:
            line.settle()
        for title, rows in self._titles:
            hidden = all(row.isHidden() for row in rows)
            if hidden is not title.isHidden():
                title.setVisible(not hidden)

    def _add_title(self, words: str) -> None:
        title = QLabel(words, self)
        title.setFont(theme.font(0.95, bold=True))
        title.setContentsMargins(0, 6 if self._titles or self._rows else 0, 0, 0)
        self._column.addWidget(title)
        self._titles.append((title, []))

    def _add_line(self, rows: Sequence[FieldRow]) -> None:
        self._in_lines.append(rows)
        if len(rows) == 1:
            self._column.addWidget(rows[0])
            return
        line = _Line(self)
        for row in rows:
            line.add(row)
        self._lines.append(line)
        self._column.addWidget(line)

    def _on_left_by_enter(self) -> None:
        self.left_by_enter.emit(self.sender())
