"""The line at the top: the menus, what can be undone, whether all is saved, and the find box."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QHBoxLayout, QMenu, QPushButton, QWidget

from opnote.desk.find_box import FindBox
from opnote.desk.menu_line import MenuLine

if TYPE_CHECKING:
    from opnote.desk.session import Session

Keys = QKeySequence.StandardKey | str | None


class TopLine(QWidget):
    """Holds the menus and tells the state of the case; what an entry does is given to it."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.menus = MenuLine(self)
        self.find_box = FindBox(self)
        self.undo_button = QPushButton("Undo", self)
        self.save_button = QPushButton("Save", self)
        for button in (self.undo_button, self.save_button):
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            button.setFlat(True)
        self._undo: QAction | None = None
        self._redo: QAction | None = None
        line = QHBoxLayout(self)
        line.setContentsMargins(4, 2, 8, 2)
        line.setSpacing(6)
        line.addWidget(self.menus, 0, Qt.AlignmentFlag.AlignVCenter)
        line.addStretch(1)
        for widget in (self.undo_button, self.save_button, self.find_box):
            line.addWidget(widget)

    def entry(
        self, menu: QMenu, words: str, work: Callable[[], object], keys: Keys = None
    ) -> QAction:
        """Add an entry to a menu."""
        action = QAction(words, self.window())
        if isinstance(keys, str):
            action.setShortcut(QKeySequence(keys))
        elif keys is not None:
            action.setShortcuts(keys)
        action.triggered.connect(work)
        menu.addAction(action)
        return action

    def entry_to_tick(
        self, menu: QMenu, words: str, work: Callable[[bool], object], is_ticked: bool
    ) -> QAction:
        """Add an entry that is on or off."""
        action = QAction(words, self.window())
        action.setCheckable(True)
        action.setChecked(is_ticked)
        action.toggled.connect(work)
        menu.addAction(action)
        return action

    def add_undo(self, menu: QMenu, undo: Callable[[], object], redo: Callable[[], object]) -> None:
        """Add the entries that take steps back and bring them again."""
        standard: Final = QKeySequence.StandardKey
        self._undo = self.entry(menu, "Undo", undo, standard.Undo)
        self._redo = self.entry(menu, "Redo", redo, standard.Redo)
        self.undo_button.clicked.connect(undo)

    def show_history(self, session: Session | None, unread: Sequence[str]) -> None:
        """Say what can be undone and whether all is saved; `unread` are texts in boxes."""
        undo = None if session is None else session.undo_label
        redo = None if session is None else session.redo_label
        for control, verb, label in (
            (self._undo, "Undo", undo),
            (self._redo, "Redo", redo),
            (self.undo_button, "Undo", undo),
        ):
            if control is not None:
                control.setText(f"{verb} {label}" if label else verb)
                control.setEnabled(label is not None)
        can_save = session is not None and not session.is_saved
        words = "Save" if can_save or session is None else "Saved"
        if unread and words == "Saved":
            words = f"Not all is read: {unread[0]}"
        self.save_button.setText(words)
        self.save_button.setEnabled(words != "Saved" and session is not None)
