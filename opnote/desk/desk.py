"""What the widgets of one case share: the session, the clock, and the way to another field."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from opnote.archive.picture_folder import PictureFolder
from opnote.desk.editor.editor import RowName, Surroundings
from opnote.desk.reading import USUAL, Habits, date_words, number_words
from opnote.desk.session import Session, State
from opnote.desk.spelling import Spelling
from opnote.pack.form import Field, Form
from opnote.pack.pack import Pack
from opnote.record import Edit, Quantity

if TYPE_CHECKING:
    from opnote.assess import Finding


@dataclass(eq=False)
class OpenCase:
    """A case with its history, and what belongs to looking at it rather than to the case.

    `unread` holds the texts that stand in boxes and can't be read, by path; `revealed` the pages
    whose gaps are shown, `seen` the paths that have been on screen.
    """

    path: Path | None
    session: Session
    pictures: PictureFolder
    unread: dict[str, str] = field(default_factory=dict)
    revealed: set[str] = field(default_factory=set)
    seen: set[str] = field(default_factory=set)
    page: str = ""

    def unread_labels(self) -> list[str]:
        """What the fields are called whose boxes hold what can't be read."""
        found = (self.session.pack.field_at(path) for path in self.unread_paths())
        return list(dict.fromkeys(field.label for field in found if field is not None))

    def unread_paths(self) -> list[str]:
        """The fields of the case whose boxes hold what can't be read."""
        if not self.unread:
            return []
        view = self.session.state.view
        return sorted(path for path in self.unread if not view.is_hidden(path))


class Desk(QObject):
    """The open case as its widgets see it.

    `goes_on` is true when an answer that is whole (a letter, a time) is to lead to the next;
    `is_finding` is false while the first page is shown, which does not wait for the findings.

    Signals: unread_changed() when a text that can't be read has come or gone;
    question_answered(path) when such an answer was given.
    """

    unread_changed = Signal()
    question_answered = Signal(str)

    def __init__(
        self,
        pack: Pack,
        now: Callable[[], datetime],
        parent: QObject,
        spelling: Spelling | None = None,
        habits: Habits = USUAL,
    ) -> None:
        super().__init__(parent)
        self.pack = pack
        self.goes_on = False
        self.is_finding = True
        self._case: OpenCase | None = None
        self._indexed: tuple[State, dict[str, list[Finding]]] | None = None
        self._pages = {f.path: page.id for page in pack.form.pages for f in page.fields}
        self._within = _told_apart(pack.form)
        self.surroundings = Surroundings(
            now, self._people, self._row_names, lambda: self.case.pictures, spelling, habits
        )

    @property
    def has_case(self) -> bool:
        """True when a case is shown."""
        return self._case is not None

    @property
    def case(self) -> OpenCase:
        """The case that is shown."""
        assert self._case is not None, "no case is open"
        return self._case

    def show_case(self, case: OpenCase) -> None:
        """From now on the widgets show this case."""
        self._case = case

    @property
    def state(self) -> State:
        """The record with everything that follows from it."""
        return self.case.session.state

    def apply(self, edit: Edit, by: object | None) -> None:
        """Ask the session for a change."""
        self.case.session.apply(edit, by)

    def note_unread(self, path: str, text: str) -> None:
        """What stands in the box of a field can't be read; "" when it can."""
        unread = self.case.unread
        if text == unread.get(path, ""):
            return
        if text:
            unread[path] = text
        else:
            del unread[path]
        self.unread_changed.emit()

    def unread_paths(self) -> list[str]:
        """The fields of the case whose boxes hold what can't be read."""
        return self.case.unread_paths()

    def label_of(self, path: str) -> str:
        """What a field is called; a table's row by its number."""
        found = self.pack.field_at(path)
        return path if found is None else found.label

    def said(self, path: str) -> str:
        """The value at a path in words, its numbers and days as they are written here.

        Documents have their own style, whatever the computer.
        """
        view, habits = self.state.view, self.surroundings.habits
        words = view.said(path)
        value = view.values.get(path)
        if isinstance(value, datetime):
            return f"{date_words(value, habits)}, {value:%H:%M}"
        if isinstance(value, date):
            return date_words(value, habits)
        number = value.amount if isinstance(value, Quantity) else value
        if isinstance(number, float):
            return words.replace(number_words(number), number_words(number, habits), 1)
        return words

    def within(self, field: Field) -> str:
        """What tells a field from another of the same label on its page; "" when none is."""
        return self._within.get(field.path, "")

    def findings_at(self, path: str) -> Sequence[Finding]:
        """The findings that name this path, in the order of their levels."""
        if not self.is_finding:
            return ()
        state = self.state
        if self._indexed is None or self._indexed[0] is not state:
            by_path: dict[str, list[Finding]] = {}
            for finding in state.assessment.findings:
                for named in finding.fields:
                    by_path.setdefault(named, []).append(finding)
            self._indexed = (state, by_path)
        return self._indexed[1].get(path, ())

    def tells(self, finding: Finding, path: str) -> bool:
        """True when a finding is told beside this field: the first that it names on the page."""
        hidden = self.state.view.hidden
        page = self.page_of(path)
        on_page = (p for p in finding.fields if self.page_of(p) == page and p not in hidden)
        return next(on_page, "") == path

    def page_of(self, path: str) -> str:
        """The id of the page that a field, or the row of a table, stands on; "" for none."""
        found = self.pack.field_at(path)
        if found is None:
            table = path.rpartition(".")[0]
            return self._pages.get(table, "")
        return self._pages.get(found.table or found.path, "")

    def _people(self) -> Sequence[str]:
        view = self.state.view
        names = {
            str(value)
            for path, value in view.values.items()
            if view.concrete[path].field.kind == "person"
        }
        return sorted(names)

    def _row_names(self, table: str) -> Sequence[RowName]:
        rows = self.state.view.rows.get(table, ())
        return [RowName(row, self.row_name(table, row)) for row in rows]

    def row_name(self, table: str, row: str) -> str:
        """A row by its number and its first two choices: "Tear 1: Medial, Bucket handle"."""
        table_field = self.pack.fields[table]
        rows = self.state.view.rows.get(table, ())
        number = f" {rows.index(row) + 1}" if len(rows) > 1 else ""
        said = [
            option.label
            for column in table_field.columns
            if column.kind in ("choice", "grade")
            and (option := column.option(self._text_at(f"{table}.{row}.{column.name}")))
        ]
        name = f"{table_field.row_label or table_field.label}{number}"
        return f"{name}: {', '.join(said[:2])}" if said else name

    def row_summary(self, table: str, row: str) -> str:
        """What a row says, in the labels of its choices and in its numbers."""
        said = []
        for column in self.pack.fields[table].columns:
            path = f"{table}.{row}.{column.name}"
            value = self.state.view.values.get(path)
            if value is None or column.is_computed:
                continue
            if column.kind in ("choice", "grade"):
                option = column.option(str(value))
                said.append(option.label if option else str(value))
            elif column.kind in ("text", "person", "prose"):
                said.append(str(value))
            elif column.kind in ("quantity", "integer", "date", "time"):
                said.append(f"{column.label.lower()} {self.said(path)}")
        return ", ".join(said)

    def _text_at(self, path: str) -> str:
        value = self.state.view.values.get(path)
        return value if isinstance(value, str) else ""


def _told_apart(form: Form) -> dict[str, str]:
    """The row or the group of each field whose label stands on its page more than once."""
    found = {}
    for page in form.pages:
        asked = [each for field in page.fields for each in (field, *field.columns)]
        labels = Counter(each.label for each in asked)
        rows = {field.path: field.row_label or field.label for field in page.fields}
        for each in asked:
            if labels[each.label] > 1:
                found[each.path] = rows.get(each.table, "") or each.group
    return found
