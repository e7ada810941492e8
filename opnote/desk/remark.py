"""The remark at the foot of a page: a quiet line until somebody wants to write one."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QHBoxLayout, QToolButton, QWidget

from opnote.desk import theme
from opnote.desk.desk import Desk
from opnote.desk.field_list import FieldList
from opnote.desk.field_row import LABEL_CHARACTERS, FieldRow
from opnote.pack.form import REMARK, Field, Page
from opnote.record import UNSET

KEYS = "Ctrl+R"


def remark_of(page: Page) -> Field | None:
    """The field of a page's remark; None when the page has none."""
    return next((field for field in page.fields if field.path == f"{REMARK}{page.id}"), None)


class RemarkPart(FieldList):
    """The question of the remark, folded away while it is empty and not asked for."""

    def __init__(self, field: Field, desk: Desk, parent: QWidget) -> None:
        super().__init__([field], lambda each: each.path, desk, parent)
        self._desk = desk
        self._row = self.rows[field.path]
        self._is_open = False
        self._add = QToolButton(self)
        self._add.setText(self.tr("Add a remark"))
        self._add.setAccessibleName(f"{self._add.text()}: {field.label}")
        self._add.setToolTip(KEYS)
        self._add.setAutoRaise(True)
        self._add.setFont(theme.font(0.92))
        # Tab goes from the last question to the next page; the key is for those without a mouse.
        self._add.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        palette = QPalette()
        faint = self.palette().color(QPalette.ColorRole.PlaceholderText)
        palette.setColor(QPalette.ColorRole.ButtonText, faint)
        self._add.setPalette(palette)
        self._add.clicked.connect(self.unfold)
        line = QHBoxLayout()
        line.setContentsMargins(theme.columns(self, LABEL_CHARACTERS) + 8, 0, 0, 0)
        line.addWidget(self._add)
        line.addStretch(1)
        self._column.addLayout(line)

    def load(self) -> None:
        """Another case is shown: fold what it has no remark for."""
        self._is_open = False
        super().load()
        self._fold()

    def refresh(self, revealed: bool) -> None:
        """The case has changed; a folded remark costs nothing."""
        if self._row.isAncestorOf(self.window().focusWidget()):
            # What is emptied may be written anew: it doesn't go from under the fingers.
            self._is_open = True
        if self._is_shown:
            super().refresh(revealed)
        self._fold()

    def question_at(self, path: str) -> FieldRow | None:
        """The question, unfolded, when it is the one of this path."""
        if path in self.rows:
            self._open()
        return super().question_at(path)

    def unfold(self) -> None:
        """Show the box and put the focus into it."""
        self._open()
        if self._row.is_asked:
            self._row.focus_first()

    def _open(self) -> None:
        self._is_open = True
        super().refresh(revealed=False)
        self._fold()

    @property
    def _is_shown(self) -> bool:
        record = self._desk.state.record
        return self._is_open or record.value(self._row.path) is not UNSET

    def _fold(self) -> None:
        exists = self._row.path not in self._desk.state.view.hidden
        if not self._is_shown and not self._row.isHidden():
            self._row.setVisible(False)
        can_be_added = exists and not self._is_shown
        if can_be_added is self._add.isHidden():
            self._add.setVisible(can_be_added)
