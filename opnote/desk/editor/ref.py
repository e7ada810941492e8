"""A row of another table."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QLabel, QWidget

from opnote.desk.editor.choice import OneOfEditor
from opnote.desk.editor.editor import RowName, Surroundings
from opnote.desk.editor.options import Answer
from opnote.pack.form import Field


class RefEditor(OneOfEditor):
    """Answers a `ref` field: a button for each row that there is."""

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent)
        self._known: tuple[RowName, ...] | None = None
        self._nothing = QLabel("There is no row to name yet.", self)
        self.flow.addWidget(self._nothing)
        self.refresh()

    def refresh(self) -> None:
        """Offer the rows that there are now."""
        rows = tuple(self.surroundings.rows(self.field.refers_to))
        if rows == self._known:
            return
        self._known = rows
        self._nothing.setVisible(not rows)
        self.set_answers([Answer(row.id, row.name) for row in rows], lettered=False)

    def controls(self) -> Sequence[QWidget]:
        """The widgets that take the focus, in order."""
        return self.buttons or (self,)
