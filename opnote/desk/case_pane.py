"""The middle of the window: the subject, the pages, and what can be done with a question."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QPushButton,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from opnote.desk.desk import Desk
from opnote.desk.editor.option_button import CheckOption, RadioOption
from opnote.desk.field_row import FieldRow
from opnote.desk.onward import KEYS as ONWARD_KEYS
from opnote.desk.onward import next_page, to_answer, to_confirm
from opnote.desk.page import PageView, Question
from opnote.desk.rows_table import RowsTable
from opnote.desk.subject_bar import ElidedLabel, SubjectBar
from opnote.pack.normal import normal_answers, rest_is_normal
from opnote.pack.view import View
from opnote.record import confirm

BUILD_PAUSE_MS = 80
"""Between building two pages that nobody has visited yet."""

_NOTHING_LEFT = (
    "Nothing is left to answer or to confirm. Ctrl+Enter shows what else stands before signing."
)
_MOST_NAMED = 4
_NOT_ON_SCREEN = "does not fit on the screen. Scroll to it, or enlarge the window."


class CasePane(QWidget):
    """Shows one page of the open case at a time.

    Signals: page_shown(page id); question_entered(path) when another question has the focus;
    said(words) for a line to the person.
    """

    page_shown = Signal(str)
    said = Signal(str)
    question_entered = Signal(str)
    builds_ahead = True
    """False where few pages are come to: none is then built while nothing else is to be done."""

    def __init__(self, desk: Desk, parent: QWidget) -> None:
        super().__init__(parent)
        self._desk = desk
        self._views: dict[str, PageView] = {}
        self._loaded: set[str] = set()
        self._fresh: set[str] = set()
        self._entered = ""
        self._moves = False
        self._shown: tuple[View, Sequence[str]] | None = None
        self._pages = {page.id: page for page in desk.pack.form.pages}
        self.setBackgroundRole(QPalette.ColorRole.AlternateBase)
        self.setAutoFillBackground(True)
        self._subject = SubjectBar(self)
        self._stack = QStackedWidget(self)
        self._help = ElidedLabel(self)
        self._help.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self._silent = QToolButton(self)
        self._silent.setText("Not recorded, because \N{HORIZONTAL ELLIPSIS}")
        self._silent.setToolTip("Ctrl+B")
        self._silent.setAutoRaise(True)
        self._silent.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._silent.clicked.connect(self.answer_not_recorded)
        self._confirm = QPushButton(self)
        self._confirm.setAutoDefault(False)
        self._confirm.setToolTip(f"{ONWARD_KEYS} confirms them and goes on; Ctrl+K only confirms")
        self._confirm.clicked.connect(self.confirm_shown)
        self._normal = self._step_button("", self.answer_rest_normal, "Ctrl+G")
        self._back = self._step_button("Back", self.go_back, "Ctrl+Up")
        self._on = self._step_button("Next page", self.go_on, "Ctrl+Down")
        foot = QHBoxLayout()
        foot.setContentsMargins(20, 6, 16, 8)
        foot.setSpacing(8)
        foot.addWidget(self._help, 1)
        buttons = (self._silent, self._normal, self._confirm, self._back, self._on)
        for button in buttons:
            foot.addWidget(button)
        # The page keeps its height, whichever of them are there.
        foot.addStrut(max(button.sizeHint().height() for button in buttons))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self._subject)
        column.addWidget(self._stack, 1)
        column.addLayout(foot)
        desk.question_answered.connect(self._on_answered)
        self._builder = QTimer(self)
        self._builder.setInterval(BUILD_PAUSE_MS)
        self._builder.timeout.connect(self._build_one_more)

    def _step_button(self, words: str, slot: object, keys: str) -> QPushButton:
        button = QPushButton(words, self)
        button.setAutoDefault(False)
        button.setToolTip(keys)
        button.setAccessibleName(words)
        button.clicked.connect(slot)
        return button

    @property
    def page(self) -> str:
        """The page that is shown."""
        return self._desk.case.page

    @property
    def path_in_hand(self) -> str:
        """The question with the focus; "" for none."""
        question = self._question_in_hand()
        return "" if question is None else question.path

    def shown_pages(self) -> Sequence[str]:
        """The pages that this case has: those with something to see."""
        view = self._desk.state.view
        # Asked for several times at each change.
        if self._shown is None or self._shown[0] is not view:
            hidden = view.hidden
            shown = tuple(
                page.id
                for page in self._pages.values()
                if any(field.path not in hidden and not field.is_computed for field in page.fields)
            )
            self._shown = (view, shown)
        return self._shown[1]

    def load(self) -> None:
        """Another case is shown."""
        self._loaded.clear()
        self._fresh.clear()
        self._subject.show_state(self._desk.state)
        page = self._desk.case.page
        self._show_page(page if page in self.shown_pages() else next(iter(self._pages)))
        if self._desk.is_finding:
            self.build_ahead()

    def build_ahead(self) -> None:
        """Build the other pages while nothing else is to be done."""
        if self.builds_ahead:
            # Counted from when the page has been painted.
            QTimer.singleShot(0, self, self._builder.start)

    def refresh(self) -> None:
        """The case has changed: only the page on screen is brought up to date."""
        self._subject.show_state(self._desk.state)
        self._fresh.clear()
        self._freshen(self.page)
        came = to_confirm(self._desk.state, self._desk.page_of, self.page)
        if not self._desk.case.seen.issuperset(came):
            # What has just come up stands nowhere yet.
            self._view(self.page).lay_out()
        self._refresh_foot()

    def show_again(self) -> None:
        """Show what the case holds, whatever stands on the page, and where one was."""
        bar = self._view(self.page).verticalScrollBar()
        at = bar.value()
        with self._moving():
            self._loaded.clear()
            self._freshen(self.page)
            bar.setValue(at)

    def show_page(self, page: str) -> None:
        """Go to a page."""
        if page != self.page:
            self._desk.case.revealed.add(self.page)
            self._fresh.discard(self.page)
            self._show_page(page)

    def focus_page(self) -> None:
        """Put the focus on the page that is shown."""
        with self._moving():
            self._view(self.page).focus_first()
        self._refresh_foot()

    def _on_answered(self, path: str) -> None:
        if self._desk.goes_on and self._desk.page_of(path) == self.page:
            self._view(self.page).go_on_from(path)

    def go_on(self) -> None:
        """Go to the next page and its first question."""
        self._step(1)

    def go_back(self) -> None:
        """Go to the page before and its first question."""
        self._step(-1)

    def go_onward(self) -> None:
        """Confirm what the page holds and go to the next page that has work.

        What is still to be answered or confirmed here and was not on screen is shown first.
        """
        unread = [p for p in self._desk.unread_paths() if self._desk.page_of(p) == self.page]
        if unread:
            self.go_to(unread[0])
            self.said.emit(f"What stands in {self._desk.label_of(unread[0])} can't be read.")
        elif not self._show_unseen():
            self.confirm_shown()
            self._go_to_next_page()

    def _show_unseen(self) -> bool:
        """Go to the first of what is to be answered or confirmed here and was not on screen."""
        state, page_of, seen = self._desk.state, self._desk.page_of, self._desk.case.seen
        asked = [path for path in to_answer(state) if page_of(path) == self.page]
        unseen = {*to_confirm(state, page_of, self.page), *asked} - seen
        concrete = state.view.concrete
        first = next((p for p in concrete if p in unseen and not concrete[p].field.is_computed), "")
        if not first:
            return False
        with self._moving():
            view = self._view(self.page)
            view.bring_up(first)
            self.go_to(first)
            view.bring_up(first)  # if the focus has moved it, with what belongs to it
        self._refresh_foot()
        if first not in seen:
            self.said.emit(f"{self._desk.label_of(first)} {_NOT_ON_SCREEN}")
        return True

    def _go_to_next_page(self) -> None:
        page = next_page(self._desk.state, self._desk.page_of, self.shown_pages(), self.page)
        if page is None:
            self.said.emit(_NOTHING_LEFT)
            return
        self.show_page(page)
        self.focus_page()

    def _on_page_finished(self) -> None:
        """Enter on the last question: on to the next page with work, but past no confirming."""
        if self._show_unseen():
            return
        if self._confirm.isVisible():
            self._confirm.setFocus()
        else:
            self._go_to_next_page()

    def go_to(self, path: str) -> bool:
        """Show the question of a path and give it the focus; False when there is none."""
        page = self._desk.page_of(path)
        if not page:
            return False
        with self._moving():
            self.show_page(page)
            view = self._view(page)
            question = view.question_at(path)
            if question is not None:
                view.lay_out()
                question.focus_first()
        self._refresh_foot()
        return question is not None

    def go_to_next_open(self) -> None:
        """Go to the next question that is still open, from here on and round the pages."""
        open_paths = self._open_paths()
        shown = self.shown_pages()
        here = self._view(self.page)
        around = here.question_around(QApplication.focusWidget())
        asked = list(here.questions())
        after = asked[asked.index(around) + 1 :] if around in asked else asked
        if self._focus_open(after, open_paths):
            return
        at = shown.index(self.page) if self.page in shown else 0
        self._go_to_open_on([*shown[at + 1 :], *shown[: at + 1]], open_paths)

    def go_to_first_open(self) -> None:
        """Go to the first question of the case that is still open."""
        self._go_to_open_on(self.shown_pages(), self._open_paths())

    def _open_paths(self) -> set[str]:
        return {
            path
            for finding in self._desk.state.assessment.open
            for path in finding.fields
            if not finding.id.startswith("leftover:")
        }

    def _go_to_open_on(self, pages: Sequence[str], open_paths: set[str]) -> None:
        for page in pages:
            on_page = [path for path in open_paths if self._desk.page_of(path) == page]
            if on_page:
                self.show_page(page)
                questions = list(self._view(page).questions())
                if self._focus_open(questions, open_paths):
                    return
                self.go_to(on_page[0])
                return

    def _focus_open(self, questions: list[Question], open_paths: set[str]) -> bool:
        for question in questions:
            if question.path in open_paths:
                question.focus_first()
                return True
            if isinstance(question, RowsTable):
                folded = [p for p in open_paths if p.startswith(question.path + ".")]
                inside = {row.path for row in question.questions()}
                beyond = sorted(p for p in folded if p not in inside)
                if beyond and not any(p in inside for p in folded):
                    return self.go_to(beyond[0])
        return False

    def reveal(self) -> None:
        """Signing was asked for: show everything that is open on every page."""
        self._desk.case.revealed.update(self._pages)
        self.refresh()

    def answer_not_recorded(self) -> None:
        """Open the line "not recorded, because ..." of the question with the focus."""
        question = self._question_in_hand()
        if isinstance(question, FieldRow) and question.can_be_silent:
            question.ask_why_silent()

    def add_remark(self) -> None:
        """Unfold the remark of the page that is shown."""
        self._view(self.page).add_remark()

    def confirm_shown(self) -> None:
        """Confirm what came from elsewhere and has been on screen on this page."""
        paths = self._confirmable()
        if paths:
            what = "a value" if len(paths) == 1 else f"{len(paths)} values"
            self._desk.apply(confirm(paths, f"confirming {what}"), None)

    def answer_rest_normal(self) -> None:
        """Answer what is left of the page, and has been on screen, with "nothing to note".

        What would contradict an answer that is there stays open, and is named.
        """
        from opnote.assess.assess import contradictions

        state = self._desk.state
        seen = list(self._seen_here())
        edit = rest_is_normal(state.pack, state.view, seen)
        known = {finding.id for finding in contradictions(state.pack, state.view)}
        after = state.pack.view(edit.apply(state.record))
        disputed = {
            path
            for finding in contradictions(state.pack, after)
            if finding.id not in known
            for path in finding.fields
        }.intersection(edit.paths)
        if disputed:
            seen = [path for path in seen if path not in disputed]
            edit = rest_is_normal(state.pack, state.view, seen)
        if edit.paths:
            self._desk.apply(edit, None)
        labels = ", ".join(self._desk.label_of(path) for path in sorted(disputed))
        if labels:
            self.said.emit(f"Left open, as normal would contradict what is recorded: {labels}.")
        elif not edit.paths:
            words = "Nothing on this page, as far as it was seen, is left to call normal."
            asked = to_answer(self._desk.state)
            here = [q.path for q in self._view(self.page).questions() if q.path in asked]
            names = list(dict.fromkeys(map(self._desk.label_of, here)))
            if names:
                more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
                words += f" To be answered one by one: {', '.join(names[:_MOST_NAMED])}{more}."
            self.said.emit(words)

    def follow_focus(self, widget: QWidget) -> None:
        """The focus went to a widget of the page."""
        self._view(self.page).keep_in_view(widget)
        self._refresh_foot()
        path = self.path_in_hand
        if path and path != self._entered:
            self._entered = path
            self.question_entered.emit(path)

    def _confirmable(self) -> list[str]:
        found = to_confirm(self._desk.state, self._desk.page_of, self.page)
        return [path for path in found if path in self._desk.case.seen]

    def _seen_here(self) -> list[str]:
        return [path for path in self._desk.case.seen if self._desk.page_of(path) == self.page]

    @contextmanager
    def _moving(self) -> Iterator[None]:
        """While the page goes from place to place, of which only the last one is painted."""
        before, self._moves = self._moves, True
        try:
            yield
        finally:
            self._moves = before

    def _note_seen(self) -> None:
        """Keep what is on screen, once everything is in its place."""
        view, seen = self._view(self.page), self._desk.case.seen
        if self._moves or seen.issuperset(view.paths_on_screen()):
            return
        with self._moving():
            view.lay_out()
        seen.update(view.paths_on_screen())

    def _refresh_foot(self) -> None:
        self._note_seen()
        question = self._question_in_hand()
        self._help.say("" if question is None else _help_of(question, QApplication.focusWidget()))
        signed = self._desk.state.record.signature is not None
        silent = isinstance(question, FieldRow) and question.can_be_silent and not signed
        self._silent.setVisible(silent)
        seen = () if signed else self._seen_here()
        rest = len(normal_answers(self._desk.pack, self._desk.state.view, seen))
        self._normal.setVisible(rest > 0)
        words = f"The rest is normal ({rest})"
        self._normal.setText(words)
        self._normal.setAccessibleName(words)
        count = len(self._confirmable())
        self._confirm.setVisible(count > 0)
        words = "Confirm this value" if count == 1 else f"Confirm these {count} values"
        self._confirm.setText(f"{words} ({ONWARD_KEYS})")
        self._confirm.setAccessibleName(words)
        shown = self.shown_pages()
        at = shown.index(self.page) if self.page in shown else 0
        self._back.setEnabled(at > 0)
        self._on.setEnabled(at < len(shown) - 1)

    def _question_in_hand(self) -> Question | None:
        return self._view(self.page).question_around(QApplication.focusWidget())

    def _step(self, by: int) -> None:
        shown = self.shown_pages()
        at = shown.index(self.page) if self.page in shown else 0
        if 0 <= at + by < len(shown):
            self.show_page(shown[at + by])
            self.focus_page()

    def _show_page(self, page: str) -> None:
        self._desk.case.page = page
        with self._moving():
            view = self._view(page)
            self._freshen(page)
            self._stack.setCurrentWidget(view)
            self._on_order_changed()
            # First, as a line above the page may come or go with it.
            self.page_shown.emit(page)
            view.lay_out()
            self._refresh_foot()
        # What is on screen is noted once the focus, which may scroll the page, has its place.
        QTimer.singleShot(0, self, self._refresh_foot)

    def _view(self, page: str) -> PageView:
        if page not in self._views:
            view = PageView(self._pages[page], self._desk, self._stack)
            view.finished.connect(self._on_page_finished)
            view.order_changed.connect(self._on_order_changed)
            view.verticalScrollBar().valueChanged.connect(self._on_scrolled)
            self._stack.addWidget(view)
            self._views[page] = view
        return self._views[page]

    def _freshen(self, page: str) -> None:
        """Bring a page up to date if it is not."""
        view = self._view(page)
        if page not in self._loaded:
            self._loaded.add(page)
            view.load()
        elif page not in self._fresh:
            view.refresh()
        self._fresh.add(page)

    def _on_order_changed(self) -> None:
        """After the last question Tab comes to the buttons at the foot."""
        last = self._view(self.page).last_control
        if last is not None:
            for button in (self._normal, self._confirm, self._on, self._back):
                QWidget.setTabOrder(last, button)
                last = button

    def _on_scrolled(self) -> None:
        self._refresh_foot()

    def _build_one_more(self) -> None:
        """Build the next page while nothing else is to be done."""
        page = next((page for page in self.shown_pages() if page not in self._views), None)
        if page is None:
            self._builder.stop()
        else:
            self._view(page)
            self._loaded.add(page)
            self._views[page].load()


def _help_of(question: Question, focus: QWidget | None) -> str:
    """The help of a question, and of the answer that the focus is on, for those without a mouse."""
    of_answer = focus.toolTip() if isinstance(focus, RadioOption | CheckOption) else ""
    return ". ".join(part.rstrip(".") for part in (of_answer, question.field.help) if part)
