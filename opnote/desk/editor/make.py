"""The editor for a field, made from its kind."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from PySide6.QtWidgets import QWidget

from opnote.desk.editor.choice import ChoiceEditor
from opnote.desk.editor.choices import ChoicesEditor
from opnote.desk.editor.date import DateEditor
from opnote.desk.editor.editor import Editor, Surroundings
from opnote.desk.editor.moment import MomentEditor
from opnote.desk.editor.number import NumberEditor
from opnote.desk.editor.person import PersonEditor
from opnote.desk.editor.picture import PictureEditor
from opnote.desk.editor.prose import ProseEditor
from opnote.desk.editor.ref import RefEditor
from opnote.desk.editor.scan import ScanEditor
from opnote.desk.editor.text import TextEditor
from opnote.desk.editor.time import TimeEditor
from opnote.desk.editor.yes_no import YesNoEditor
from opnote.pack.form import Field

_EDITORS: Final[Mapping[str, Callable[[Field, Surroundings, QWidget], Editor]]] = {
    "text": TextEditor,
    "prose": ProseEditor,
    "choice": ChoiceEditor,
    "grade": ChoiceEditor,
    "choices": ChoicesEditor,
    "yes_no": YesNoEditor,
    "integer": NumberEditor,
    "quantity": NumberEditor,
    "date": DateEditor,
    "time": TimeEditor,
    "datetime": MomentEditor,
    "person": PersonEditor,
    "ref": RefEditor,
    "scan": ScanEditor,
    "picture": PictureEditor,
}

SHORT_KINDS: Final = frozenset({"integer", "quantity", "time"})
"""Kinds whose box is so short that two stand side by side."""


def make_editor(field: Field, surroundings: Surroundings, parent: QWidget) -> Editor:
    """The editor of a field of any kind but `rows`."""
    return _EDITORS[field.kind](field, surroundings, parent)
