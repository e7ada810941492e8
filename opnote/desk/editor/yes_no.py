"""Yes or no; or not examined, of what one examines."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from opnote.desk.editor.choice import OneOfEditor
from opnote.desk.editor.editor import Surroundings
from opnote.desk.editor.options import Answer
from opnote.pack.form import Field
from opnote.record import NOT_EXAMINED


class YesNoEditor(OneOfEditor):
    """Answers a `yes_no` field."""

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent)
        answers = [Answer(True, "Yes"), Answer(False, "No")]
        if field.examined:
            answers.append(Answer(NOT_EXAMINED, "Not examined"))
        self.set_answers(answers, lettered=not field.deliberate)
