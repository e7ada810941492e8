"""One page of the case: built once, then only shown, hidden and brought up to date."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from PySide6.QtCore import QCoreApplication, QEvent, QPoint, Qt, Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QFrame, QLabel, QScrollArea, QSplitter, QVBoxLayout, QWidget

from opnote.desk import theme
from opnote.desk.desk import Desk
from opnote.desk.field_list import ROW_GAP, FieldList
from opnote.desk.field_row import FieldRow
from opnote.desk.lock import lock
from opnote.desk.onward import AFTER_ROWS, first_to_answer, next_to_answer
from opnote.desk.plan_row import PlanRow
from opnote.desk.remark import RemarkPart, remark_of
from opnote.desk.rows_table import RowsTable
from opnote.pack.form import Field, Page

Question = FieldRow | RowsTable
_MOST_CHARACTERS = 130
_MOST_LAYOUTS = 6
"""A scroll bar that comes or goes changes the width, and that the height."""
_MOST_OF_A_PAGE = 0.75
"""How much of the page an answer that is taller than it fills when it counts as seen."""


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
        self._led_to = ""
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
        """Put the focus on the first question that must be answered, else on the first one.

        On the first one, too, before it is known what must be answered.
        """
        self._led_to = ""
        path = None
        if self._desk.is_finding:
            path = first_to_answer(self._desk.state, self._desk.page_of, self.page.id)
        first = next(self.questions(), None) if path is None else self.question_at(path)
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

    def lay_out(self) -> None:
        """Put everything in its place now, before the page is painted."""
        outward = (self._sheet, self.viewport(), *reversed(self._around()))
        calm = 0
        for _ in range(_MOST_LAYOUTS):
            before = (self._sheet.geometry(), self.viewport().geometry())
            # From the inside out, as what is laid out anew asks the same of what is around it.
            for widget in (*reversed(self._sheet.findChildren(QWidget)), *outward):
                QCoreApplication.sendPostedEvents(widget, QEvent.Type.LayoutRequest)
            is_calm = before == (self._sheet.geometry(), self.viewport().geometry())
            calm = calm + 1 if is_calm else 0
            if calm > 1:
                return

    def _around(self) -> list[QWidget]:
        """The widgets around the page that share its pane, from outside in."""
        found: list[QWidget] = [self]
        while (outer := found[0].parentWidget()) and not isinstance(outer, QSplitter):
            found.insert(0, outer)
        return found

    def paths_on_screen(self) -> Iterator[str]:
        """The paths whose answers are wholly in view; of one too tall for that, most of it."""
        for question in self.questions():
            if self._is_on_screen(question):
                yield question.path

    def _is_on_screen(self, question: Question) -> bool:
        shown, room = _what_shows_the_value(question), self.viewport().height()
        top = shown.mapTo(self.viewport(), QPoint(0, 0)).y()
        bottom = top + shown.height()
        if shown.height() <= room:
            return top >= 0 and bottom <= room
        return room > 0 and min(bottom, room) - max(top, 0) >= _MOST_OF_A_PAGE * room

    def bring_up(self, path: str) -> None:
        """Scroll a question that is not wholly on screen to the top, with what follows below it."""
        question = self.question_at(path)
        self.lay_out()
        if question is not None and not self._is_on_screen(question):
            at = _what_shows_the_value(question).mapTo(self._sheet, QPoint(0, 0)).y()
            self.verticalScrollBar().setValue(at - ROW_GAP)

    def go_on_from(self, path: str) -> None:
        """Put the focus on the next question of this page that must be answered, if any."""
        self._led_to = ""
        following = self._following(path)
        if following is not None:
            following.focus_first()
            self._led_to = following.path

    def _following(self, path: str, within: str = "") -> Question | None:
        state = self._desk.state
        found = next_to_answer(state, self._desk.page_of, path, within)
        return None if found is None else self.question_at(found)

    def _on_left_by_enter(self, left: Question) -> None:
        led_to, self._led_to = self._led_to, ""
        if left.path == led_to and not left.is_answered:
            # The answer before has led here already: this Enter was meant for it.
            return
        if isinstance(left, FieldRow):
            table = next((p for p in self._parts if p.isAncestorOf(left)), None)
            within = table.path if isinstance(table, RowsTable) else ""
            following = self._following(left.path, within)
            if following is None and isinstance(table, RowsTable):
                # After the last row comes the button that adds another.
                table.focus_add()
                return
        else:
            if left.enter_unfolds():
                return
            following = self._following(left.path + AFTER_ROWS)
        if following is not None:
            following.focus_first()
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


def _what_shows_the_value(question: Question) -> QWidget:
    """Without the label and the notes, which say nothing of what was answered."""
    if isinstance(question, FieldRow) and question.editor is not None:
        return question.editor
    return question


def _path_of(field: Field) -> str:
    return field.path
