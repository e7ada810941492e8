"""The panes of the open case, made for one pack and kept while cases of that pack are shown."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from datetime import datetime
from functools import partial
from importlib import import_module
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from opnote.desk.case_pane import CasePane
from opnote.desk.collector import release_collector
from opnote.desk.desk import Desk, OpenCase
from opnote.desk.job import Job
from opnote.desk.layout import USUAL_DOCUMENT
from opnote.desk.onward import came_from_elsewhere
from opnote.desk.page_list import PageList
from opnote.desk.reading import USUAL, Habits
from opnote.desk.session import Change, State
from opnote.desk.spelling import Spelling
from opnote.pack.pack import DOCUMENTS, Pack

if TYPE_CHECKING:
    from opnote.desk.paper_pane import PaperPane

_PAPER: Final = "opnote.desk.paper_pane"
_FIRST_PAUSE_MS: Final = 60
"""Between the first page on screen and the loading of what stands beside it."""
_LEAST_WIDTH: Final = 256
"""What the paper needs, so that the page stays where it is when it comes. Units: pixels."""


class Workspace(QObject):
    """Brings each change of the session to the panes, in the turn of the keystroke.

    The first page can be typed into while the paper and the findings are still being loaded.

    Signals: completed() when the paper and the findings of a case that had to wait are there.
    """

    completed = Signal()

    def __init__(
        self,
        pack: Pack,
        now: Callable[[], datetime],
        pages: PageList,
        parent: QWidget,
        spelling: Spelling | None = None,
        habits: Habits = USUAL,
        document: str = USUAL_DOCUMENT,
    ) -> None:
        """Make the pages; `document` is the kind of document that is shown first."""
        super().__init__(parent)
        self.pack = pack
        self._document = document
        self.desk = Desk(pack, now, self, spelling, habits)
        self.case_pane = CasePane(self.desk, parent)
        self.right = QWidget(parent)
        self.right.setMinimumWidth(_LEAST_WIDTH)
        around = QVBoxLayout(self.right)
        around.setContentsMargins(0, 0, 0, 0)
        self._paper: PaperPane | None = None
        self._loading: Job | None = None
        self.pages = pages
        pages.set_pages(pack.form.pages)
        pages.page_chosen.connect(self._on_page_chosen)
        self.case_pane.page_shown.connect(self._on_page_shown)

    @property
    def paper_pane(self) -> PaperPane:
        """The paper with what is open, loaded here and now for whoever can't wait."""
        if self._paper is None:
            self._paper = self._made_paper()
            self._complete()
        return self._paper

    @property
    def is_behind(self) -> bool:
        """True for the moment in which the first case has no paper yet."""
        return self._paper is None

    @property
    def document(self) -> str:
        """The kind of document that is shown."""
        return self._document if self._paper is None else self._paper.kind

    def show_case(self, case: OpenCase) -> None:
        """Show a case of this pack; the paper may come a moment later."""
        self.desk.show_case(case)
        self.desk.is_finding = self._paper is not None or _is_loaded()
        self.pages.refresh(self.desk, set(self.case_pane.shown_pages()))
        self.case_pane.load()
        if self.desk.is_finding:
            self.paper_pane.load()
        else:
            # Counted from when what is waiting, the painting of the page, has been done.
            QTimer.singleShot(0, self, self._load_soon)

    def _load_soon(self) -> None:
        QTimer.singleShot(_FIRST_PAUSE_MS, self, self._load)

    def _load(self) -> None:
        """Load what the first page didn't wait for, and work it out, beside the window."""
        if self._paper is None and self._loading is None:
            self._loading = Job(partial(_work_out, self.desk.state, self._document))
            self._loading.results.ended.connect(self._on_loaded)
            self._loading.results.failed.connect(self._on_loaded)
            self._loading.start()

    def _on_loaded(self) -> None:
        # What can't be worked out says so where it is shown.
        _ = self.paper_pane

    def _made_paper(self) -> PaperPane:
        from opnote.desk.paper_pane import PaperPane

        paper = PaperPane(self.right)
        paper.set_desk(self.desk)
        paper.begin_with(self._document)
        layout = self.right.layout()
        assert layout is not None
        layout.addWidget(paper)
        # At once, so that what is drawn knows how much room it has.
        paper.show()
        layout.activate()
        self.case_pane.question_entered.connect(paper.follow)
        paper.path_followed.connect(self._on_path_followed)
        paper.findings.next_wanted.connect(self.case_pane.go_to_next_open)
        return paper

    def _complete(self) -> None:
        """The paper has come: show it, and what was found on the pages."""
        if not self.desk.has_case:
            return
        if not self.desk.is_finding:
            self.desk.is_finding = True
            self.case_pane.refresh()
            self.pages.refresh(self.desk, set(self.case_pane.shown_pages()))
            self.paper_pane.load()
            self.case_pane.build_ahead()
            release_collector()
        self.completed.emit()

    def take_down(self) -> None:
        """Other panes take the place of these."""
        self.pages.page_chosen.disconnect(self._on_page_chosen)
        if self._loading is not None:
            self._loading.forget()
        for pane in (self.case_pane, self.right):
            pane.setParent(None)
            pane.deleteLater()

    def go_to(self, path: str) -> bool:
        """Show a field and give it the focus."""
        return self.case_pane.go_to(path)

    def refresh(self, change: Change) -> None:
        """The open case has changed."""
        self.desk.case.seen -= came_from_elsewhere(change.old, change.new)
        self.case_pane.refresh()
        if self._paper is not None:
            self._paper.refresh(follow=change.by is not None)
        self.pages.refresh(self.desk, set(self.case_pane.shown_pages()))

    def _on_page_chosen(self, page: str) -> None:
        self.case_pane.show_page(page)
        self.case_pane.focus_page()

    def _on_page_shown(self, page: str) -> None:
        self.pages.show_page(page)

    def _on_path_followed(self, path: str) -> None:
        self.case_pane.go_to(path)


def _is_loaded() -> bool:
    """True when making the paper needs no loading."""
    return hasattr(sys.modules.get(_PAPER), "PaperPane")


def _work_out(state: State, document: str) -> Iterator[object]:
    """Load the paper and what it needs, and work out what it will show; on a worker."""
    import_module(_PAPER)
    _ = state.assessment
    if document in DOCUMENTS:
        state.document(document)
    yield from ()
