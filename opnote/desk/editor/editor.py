"""What every editor of a field can do."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QWidget

from opnote.archive.picture_folder import PictureFolder
from opnote.desk.reading import USUAL, Habits
from opnote.desk.spelling import Spelling
from opnote.pack.form import Field
from opnote.record import Unset, Value


@dataclass(frozen=True, slots=True)
class RowName:
    """A row of a table by its id, and how it is called."""

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What an editor may ask of the case around it."""

    now: Callable[[], datetime]
    people: Callable[[], Sequence[str]]
    rows: Callable[[str], Sequence[RowName]]
    pictures: Callable[[], PictureFolder]
    spelling: Spelling | None = None
    habits: Habits = USUAL


class Editor(QWidget):
    """Shows one value and says when a person has changed it.

    Each kind answers `set_value`, `set_quiet` and `controls`; a widget can't be an ABC, as its
    metaclass is that of Qt.

    Signals: value_edited(value) after each keystroke or click of a person, UNSET when the answer
    was taken away or can't be read; never after `set_value`. taken_back() when the last of them
    was no person's doing. answered() when a letter chose the one answer, or a time was typed to its
    last digit, and no other character followed so fast that a scanner must have sent it.
    """

    value_edited = Signal(object)
    taken_back = Signal()
    answered = Signal()

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(parent)
        self.field = field
        self.surroundings = surroundings

    def set_value(self, value: Value | Unset) -> None:
        """Show a value; nothing happens when it is the one that is shown."""
        raise NotImplementedError

    def set_quiet(self, quiet: bool) -> None:
        """Show the value in a lighter ink: it came from elsewhere and nobody has confirmed it."""
        raise NotImplementedError

    def set_spoken(self, name: str, description: str) -> None:
        """Give the controls the name and the description that a screen reader says."""
        for control in self.controls():
            control.setAccessibleName(name)
            control.setAccessibleDescription(description)

    def controls(self) -> Sequence[QWidget]:
        """The widgets that take the focus, in order."""
        raise NotImplementedError

    def buddy(self) -> QWidget:
        """The control that the label belongs to."""
        return self.controls()[0]

    def focus_first(self) -> None:
        """Put the focus where the answer is given."""
        self.buddy().setFocus(Qt.FocusReason.TabFocusReason)

    def refresh(self) -> None:
        """The surroundings have changed."""

    @property
    def problem(self) -> str:
        """Why what stands in the box is no answer; "" when it is one."""
        return ""

    @property
    def unread(self) -> str:
        """The text that stands in the box and can't be read; "" when there is none."""
        return ""

    def put_unread(self, text: str) -> None:
        """Put back a text that couldn't be read."""
