"""The right of the window: which document, the paper, and what is still open under it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QRadioButton,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from opnote.desk import theme
from opnote.desk.desk import Desk
from opnote.desk.editor.option_button import RadioOption
from opnote.desk.findings import FindingsPane
from opnote.desk.flow import FlowLayout
from opnote.desk.map_board import MapBoard
from opnote.desk.map_edits import MapEdits
from opnote.desk.paper import Paper
from opnote.desk.sheet_report import SheetLine
from opnote.desk.signing_pane import SigningPane

MAP: Final = "map"
"""Stands in the place of a document's kind: the map of the case, to draw on."""

_SHORT_NAMES: Final[Mapping[str, str]] = {
    "note": "Note",
    "recovery_plan": "Plan",
    "recovery_card": "Card",
}
"""What stands on the buttons, so that all of them stand side by side in a small window."""

DOCUMENT_NAMES: Final[Mapping[str, str]] = {
    "note": "Operative note",
    "risk_sheet": "Risk sheet",
    "recovery_plan": "Recovery plan",
    "recovery_card": "Recovery card",
    "letter": "Letter",
}


class _DocumentButton(RadioOption):
    """One of the documents; arrows go from one to the next."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """The keys of a set of radio buttons."""
        QRadioButton.keyPressEvent(self, event)


class PaperPane(QWidget):
    """Shows one document of the case, composed anew with each change.

    Signals: path_followed(path) when a value or a finding was clicked.
    """

    path_followed = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._desk: Desk | None = None
        self.board: MapBoard | None = None
        self.kind = "note"
        self._switch = QButtonGroup(self)
        buttons = QWidget(self)
        self._switches = FlowLayout(buttons, gap=4)
        for kind, name in DOCUMENT_NAMES.items():
            self._add_switch(kind, _SHORT_NAMES.get(kind, name), name)
        self._switch.buttonToggled.connect(self._on_switched)
        self.paper = Paper(self)
        self.paper.path_followed.connect(self.path_followed)
        self._about = SheetLine(self)
        self.findings = FindingsPane(self)
        self.findings.path_followed.connect(self.path_followed)
        self.signing = SigningPane(self.findings, self)
        self.signing.path_followed.connect(self.path_followed)
        self.signing.turned.connect(self._on_signing_turned)
        self._at_rest: list[int] = []
        sheet = QWidget(self)
        above = QVBoxLayout(sheet)
        above.setContentsMargins(8, 0, 8, 0)
        self._sheets = QStackedWidget(self)
        self._sheets.addWidget(self.paper)
        # With large text in a small window the paper gives way to what is asked under it.
        self._sheets.setMinimumHeight(3 * theme.line_height(self))
        above.addWidget(self._sheets)
        above.addWidget(self._about, 0, Qt.AlignmentFlag.AlignLeft)
        split = QSplitter(Qt.Orientation.Vertical, self)
        split.setChildrenCollapsible(False)
        split.addWidget(sheet)
        split.addWidget(self.signing)
        split.setStretchFactor(0, 7)
        split.setStretchFactor(1, 3)
        self.split = split
        self.fit()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        around = QVBoxLayout()
        around.setContentsMargins(8, 8, 8, 6)
        around.addWidget(buttons)
        column.addLayout(around)
        column.addWidget(split, 1)

    def _on_signing_turned(self, is_asking: bool) -> None:
        """While a signature is asked for it has the room that it needs, and no longer."""
        if is_asking:
            self._at_rest = self.split.sizes()
        elif self._at_rest:
            self.split.setSizes(self._at_rest)
            self._at_rest = []

    def set_desk(self, desk: Desk) -> None:
        """Work on the cases of a desk."""
        self._desk = desk
        self._about.set_desk(desk)
        self.findings.set_desk(desk)
        self.signing.set_desk(desk)
        use = MapEdits.use_in(desk.pack)
        if use is not None:
            self.board = MapBoard(desk, use, self)
            self._sheets.addWidget(self.board)
            self._add_switch(MAP, "Map", "Map of the menisci, to draw on")

    def _add_switch(self, kind: str, words: str, name: str) -> None:
        button = _DocumentButton(words, "", self)
        button.setAccessibleName(name)
        button.setToolTip(name)
        button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        button.setChecked(kind == self.kind)
        button.setProperty("document", kind)
        self._switch.addButton(button)
        self._switches.addWidget(button)

    def fit(self) -> None:
        """The usual room for the paper and for what is open."""
        self.split.setSizes([440, max(200, 7 * theme.line_height(self))])

    def begin_with(self, kind: str) -> None:
        """Show this document once a case is loaded."""
        for button in self._switch.buttons():
            if button.property("document") == kind:
                self.kind = kind
                button.setChecked(True)

    def load(self) -> None:
        """Another case is shown."""
        self.paper.clear_paper()
        if self.board is not None:
            self.board.load()
        self._show_sheet(follow=False)
        self.signing.load()

    def refresh(self, follow: bool) -> None:
        """The case has changed; `follow` when a person has typed something."""
        self._show_sheet(follow)
        self.signing.refresh()

    def _show_sheet(self, follow: bool) -> None:
        assert self._desk is not None
        if self.kind == MAP and self.board is not None:
            self._sheets.setCurrentWidget(self.board)
            self.board.refresh()
        else:
            self._sheets.setCurrentWidget(self.paper)
            self.paper.setAccessibleName(f"Document: {DOCUMENT_NAMES[self.kind]}")
            self.paper.show_document(self._desk.state.document(self.kind), follow)
        self._about.show_kind(self.kind)

    def show_kind(self, kind: str) -> None:
        """Show another document of the case."""
        self.kind = kind
        for button in self._switch.buttons():
            if button.property("document") == kind:
                button.setChecked(True)
        if self._desk is not None:
            self._show_sheet(follow=False)

    def focus_paper(self) -> None:
        """Put the focus on the paper, or on the map in its place."""
        if self.kind == MAP and self.board is not None:
            self.board.canvas.setFocus()
        else:
            self.paper.setFocus()

    def follow(self, path: str) -> None:
        """A question has the focus: show what the paper says of it."""
        self.paper.show_place_of({path})

    def _on_switched(self, button: QWidget, chosen: bool) -> None:
        kind = str(button.property("document"))
        if chosen and kind != self.kind:
            self.show_kind(kind)
