"""A person by name, completed from the people of the case."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QStringListModel, Qt
from PySide6.QtWidgets import QCompleter, QWidget

from opnote.desk.editor.editor import Surroundings
from opnote.desk.editor.line import LineEditor
from opnote.desk.reading import Reading
from opnote.pack.form import Field
from opnote.record import UNSET

_CHARACTERS: Final = 30


class PersonEditor(LineEditor):
    """Answers a `person` field; names already in the case are offered as one types."""

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent, _CHARACTERS)
        self._names: QStringListModel | None = None

    def read(self, text: str) -> Reading:
        """Understand a text."""
        return Reading(text if text.strip() else UNSET)

    def _on_text_edited(self, text: str) -> None:
        self._offer_names()
        super()._on_text_edited(text)

    def _offer_names(self) -> None:
        names = [name for name in self.surroundings.people() if name != self._value]
        if self._names is None:
            self._names = QStringListModel(self)
            completer = QCompleter(self._names, self)
            completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
            completer.setFilterMode(Qt.MatchFlag.MatchContains)
            completer.activated.connect(self._on_name_chosen)
            self.box.setCompleter(completer)
        if self._names.stringList() != names:
            self._names.setStringList(names)

    def _on_name_chosen(self, name: str) -> None:
        super()._on_text_edited(name)
