"""One page of the case: built once, then only shown, hidden and brought up to date."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from PySide6.QtCore import QPoint, QRect, Qt, Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QFrame, QLabel, QScrollArea, QVBoxLayout, QWidget

from opnote.desk import theme
from opnote.desk.desk import Desk
from opnote.desk.field_list import ROW_GAP, FieldList
from opnote.desk.field_row import FieldRow
from opnote.desk.lock import lock
from opnote.desk.plan_row import PlanRow
from opnote.desk.remark import RemarkPart, remark_of
from opnote.desk.rows_table import RowsTable
from opnote.pack.form import Field, Page

Question = FieldRow | RowsTable
_MOST_CHARACTERS = 130


class PageView(QScrollArea):
    """The questions of one page.

    Signals: finished() when Enter asks for what comes after the last question; order_changed()
    when Tab goes another way.
    """

    finished = Signal()
    order_changed = Signal()

    def __init__(self, page: Page, desk: Desk, parent: QWidget) -> None:
        super().__init__(parent)
        self.page = page
        self._desk = desk
        self._parts: list[FieldList | RowsTable] = []
        self._last: QWidget | None = None
        self._remark: RemarkPart | None = None
        self._ordered: list[QWidget] = []
        self._is_locked = False
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._sheet = QWidget(self)
        self._sheet.setBackgroundRole(QPalette.ColorRole.AlternateBase)
        self._sheet.setAutoFillBackground(True)
        self.viewport().setBackgroundRole(QPalette.ColorRole.AlternateBase)
        column = QVBoxLayout(self._sheet)
        column.setContentsMargins(20, 8, 16, 4)
        column.setSpacing(ROW_GAP)
        self._title = QLabel(page.title, self._sheet)
        self._title.setFont(theme.font(1.35, bold=True))
        self._title.setContentsMargins(0, 0, 0, 4)
        column.addWidget(self._title)
        self._plans = PlanRow(page, desk, self._sheet) if PlanRow.is_for(page, desk.pack) else None
        if self._plans is not None:
            column.addWidget(self._plans)
        for part in self._made_parts():
            part.setMaximumWidth(theme.columns(self, _MOST_CHARACTERS))
            column.addWidget(part)
            part.left_by_enter.connect(self._on_left_by_enter)
            self._parts.append(part)
        column.addStretch(1)
        self.setWidget(self._sheet)
        theme.slim(self)
        self.setAccessibleName(page.title)

    def _made_parts(self) -> Iterator[FieldList | RowsTable]:
        """Runs of plain fields, and the tables between them."""
        run: list[Field] = []
        remark = remark_of(self.page)
        for field in self.page.fields:
            if field is remark:
                continue
            if field.kind != "rows":
                run.append(field)
                continue
            if run:
                yield FieldList(run, _path_of, self._desk, self._sheet)
                run = []
            table = RowsTable(field, self._desk, self._sheet, titled=field.label != self.page.title)
            table.order_changed.connect(self._set_tab_order)
            yield table
        if run:
            yield FieldList(run, _path_of, self._desk, self._sheet)
        if remark is not None:
            self._remark = RemarkPart(remark, self._desk, self._sheet)
            yield self._remark

    def load(self) -> None:
        """Another case is shown."""
        for part in self._parts:
            part.load()
        self.refresh()
        self._set_tab_order()
        self.verticalScrollBar().setValue(0)

    def refresh(self) -> None:
        """The case has changed."""
        revealed = self.page.id in self._desk.case.revealed
        for part in self._parts:
            part.refresh(revealed)
        if self._plans is not None:
            self._plans.refresh()
        if self._controls() != self._ordered:
            self._set_tab_order()
        self._lock()

    def _lock(self) -> None:
        """Nothing of a signed case can be changed; the page is of the next case again."""
        is_signed = self._desk.state.record.signature is not None
        if is_signed or self._is_locked:
            self._is_locked = is_signed
            lock(self._sheet, is_locked=is_signed)

    def questions(self) -> Iterator[Question]:
        """What can be answered now, in order; a table stands before its unfolded row's fields."""
        for part in self._parts:
            if isinstance(part, FieldList):
                yield from (row for row in part.rows.values() if row.is_asked)
            elif part.is_asked:
                yield part
                yield from (row for row in part.questions() if row.is_asked)

    def question_at(self, path: str) -> Question | None:
        """The question of a path, made visible; None when this page has none."""
        for part in self._parts:
            if isinstance(part, FieldList):
                found = part.question_at(path)
                if found is not None:
                    return found
            elif path == part.path:
                return part
            elif path.startswith(part.path + "."):
                return part.question_at(path) or part
        return None

    def add_remark(self) -> None:
        """Unfold the remark of the page and put the focus into it."""
        if self._remark is not None:
            self._remark.unfold()

    @property
    def last_control(self) -> QWidget | None:
        """Where Tab leaves the page."""
        return self._last

    def focus_first(self) -> None:
        """Put the focus on the first question."""
        first = next(self.questions(), None)
        if first is not None:
            first.focus_first()

    def question_around(self, widget: QWidget | None) -> Question | None:
        """The question that a widget is part of; None when it is part of none."""
        while widget is not None and widget is not self._sheet:
            if isinstance(widget, FieldRow | RowsTable):
                return widget
            widget = widget.parentWidget()
        return None

    def keep_in_view(self, widget: QWidget) -> None:
        """Scroll so that the question around the focus is on screen."""
        question = self.question_around(widget)
        shown = question if isinstance(question, FieldRow) else widget
        self.ensureWidgetVisible(shown, 0, 12)

    def paths_on_screen(self) -> Iterator[str]:
        """The paths whose questions are in view."""
        seen = QRect(QPoint(0, 0), self.viewport().size())
        for question in self.questions():
            top = question.mapTo(self.viewport(), QPoint(0, 0))
            if seen.intersects(QRect(top, question.size())):
                yield question.path

    def go_on_from(self, path: str) -> None:
        """Put the focus on the next question of this page that nobody has answered, if any."""
        asked = list(self.questions())
        at = next((i for i, question in enumerate(asked) if question.path == path), len(asked))
        for question in asked[at + 1 :]:
            if not question.is_answered:
                question.focus_first()
                return

    def _on_left_by_enter(self, left: Question) -> None:
        asked = list(self.questions())
        if isinstance(left, FieldRow):
            at = asked.index(left)
            following = asked[at + 1 :]
            table = next((p for p in self._parts if p.isAncestorOf(left)), None)
            # After the last column comes the button that adds another row.
            if isinstance(table, RowsTable) and not (
                following
                and isinstance(following[0], FieldRow)
                and table.isAncestorOf(following[0])
            ):
                table.focus_add()
                return
        else:
            if left.enter_unfolds():
                return
            inside = [row for row in left.questions() if row.is_asked]
            following = asked[asked.index(left) + 1 + len(inside) :]
        if following:
            following[0].focus_first()
        else:
            self.finished.emit()

    def _controls(self) -> list[QWidget]:
        """What Tab visits, in order; answers to findings come and go with them."""
        controls: list[QWidget] = [] if self._plans is None else self._plans.controls()
        for part in self._parts:
            controls.extend(part.controls())
        return controls

    def _set_tab_order(self) -> None:
        self._ordered = controls = self._controls()
        _chain(controls)
        self._lock()  # the questions of a row come when it is unfolded
        self._last = controls[-1] if controls else None
        self.order_changed.emit()


def _chain(controls: Sequence[QWidget]) -> None:
    for before, after in pairwise(controls):
        QWidget.setTabOrder(before, after)


def _path_of(field: Field) -> str:
    return field.path
