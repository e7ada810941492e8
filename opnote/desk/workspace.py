"""The panes of the open case, made for one pack and kept while cases of that pack are shown."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from opnote.desk.case_pane import CasePane
from opnote.desk.desk import Desk, OpenCase
from opnote.desk.onward import came_from_elsewhere
from opnote.desk.page_list import PageList
from opnote.desk.paper_pane import PaperPane
from opnote.desk.reading import USUAL, Habits
from opnote.desk.session import Change
from opnote.desk.spelling import Spelling
from opnote.pack.pack import Pack


class Workspace(QObject):
    """Brings each change of the session to the panes, in the turn of the keystroke."""

    def __init__(
        self,
        pack: Pack,
        now: Callable[[], datetime],
        pages: PageList,
        parent: QWidget,
        spelling: Spelling | None = None,
        habits: Habits = USUAL,
    ) -> None:
        super().__init__(parent)
        self.pack = pack
        self.desk = Desk(pack, now, self, spelling, habits)
        self.case_pane = CasePane(self.desk, parent)
        self.paper_pane = PaperPane(parent)
        self.paper_pane.set_desk(self.desk)
        self.pages = pages
        pages.set_pages(pack.form.pages)
        pages.page_chosen.connect(self._on_page_chosen)
        self.case_pane.page_shown.connect(self._on_page_shown)
        self.case_pane.question_entered.connect(self.paper_pane.follow)
        self.paper_pane.path_followed.connect(self._on_path_followed)
        findings = self.paper_pane.findings
        findings.next_wanted.connect(self.case_pane.go_to_next_open)
        findings.reveal_wanted.connect(self.case_pane.reveal)

    def show_case(self, case: OpenCase) -> None:
        """Show a case of this pack."""
        self.desk.show_case(case)
        self.pages.refresh(self.desk, set(self.case_pane.shown_pages()))
        self.case_pane.load()
        self.paper_pane.load()

    def take_down(self) -> None:
        """Other panes take the place of these."""
        self.pages.page_chosen.disconnect(self._on_page_chosen)
        for pane in (self.case_pane, self.paper_pane):
            pane.setParent(None)
            pane.deleteLater()

    def go_to(self, path: str) -> bool:
        """Show a field and give it the focus."""
        return self.case_pane.go_to(path)

    def refresh(self, change: Change) -> None:
        """The open case has changed."""
        self.desk.case.seen -= came_from_elsewhere(change.old, change.new)
        self.case_pane.refresh()
        self.paper_pane.refresh(follow=change.by is not None)
        self.pages.refresh(self.desk, set(self.case_pane.shown_pages()))

    def _on_page_chosen(self, page: str) -> None:
        self.case_pane.show_page(page)
        self.case_pane.focus_page()

    def _on_page_shown(self, page: str) -> None:
        self.pages.show_page(page)

    def _on_path_followed(self, path: str) -> None:
        self.case_pane.go_to(path)
