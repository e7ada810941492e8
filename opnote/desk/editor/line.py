"""The base of the editors that read what is typed into one line."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from opnote.desk import theme
from opnote.desk.editor.editor import Editor, Surroundings
from opnote.desk.flow import FlowLayout
from opnote.desk.line_edit import LineEdit
from opnote.desk.reading import Reading, text_of
from opnote.pack.form import Field
from opnote.record import UNSET, Unset, Value


class _Beside(QLabel):
    """Words on one line; on several where there is less room than that."""

    def __init__(self, text: str, parent: QWidget) -> None:
        super().__init__(text, parent)
        self.setWordWrap(True)

    def sizeHint(self) -> QSize:
        """One line: a label that may wrap would rather be square."""
        line = self.fontMetrics().size(0, self.text())
        return line.expandedTo(QSize(0, self.minimumHeight()))


class LineEditor(Editor):
    """A box, its unit outside it, and what was understood or is wrong beside it."""

    def __init__(
        self,
        field: Field,
        surroundings: Surroundings,
        parent: QWidget,
        characters: int,
        most: int = 0,
    ) -> None:
        super().__init__(field, surroundings, parent)
        self._value: Value | Unset = UNSET
        self._problem = ""
        self._quiet = False
        self.box = LineEdit(self, characters, most)
        self.box.textEdited.connect(self._on_text_edited)
        self._beside: QLabel | None = None
        self._row = FlowLayout(self, gap=6)
        self._row.addWidget(self.box)
        if field.unit:
            self._row.addWidget(self._beside_box(field.unit))
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def read(self, text: str) -> Reading:
        """Understand a text."""
        raise NotImplementedError

    def set_value(self, value: Value | Unset) -> None:
        """Show a value, unless it is the one that is shown."""
        if value == self._value and not self._problem:
            return
        self._value, self._problem = value, ""
        self.box.show_text(text_of(value, self.surroundings.habits))
        self._say("", "")

    def set_quiet(self, quiet: bool) -> None:
        """Show the value in a lighter ink, or in the usual one."""
        if quiet != self._quiet:
            self._quiet = quiet
            self.box.set_quiet(quiet)

    def focus_first(self) -> None:
        """Put the focus into the box, its text selected, so that typing replaces it."""
        super().focus_first()
        self.box.selectAll()

    def controls(self) -> Sequence[QWidget]:
        """The widgets that take the focus, in order."""
        return (self.box,)

    @property
    def problem(self) -> str:
        """Why what stands in the box is no answer; "" when it is one."""
        return self._problem

    @property
    def unread(self) -> str:
        """The text that stands in the box and can't be read; "" when there is none."""
        return self.box.text() if self._problem else ""

    def put_unread(self, text: str) -> None:
        """Put back a text that couldn't be read."""
        self.box.setText(text)
        self._take(text)

    def _on_text_edited(self, text: str) -> None:
        self._take(text)
        self.value_edited.emit(self._value)

    def _take(self, text: str) -> None:
        reading = self.read(text)
        self._value, self._problem = reading.value, reading.problem
        self._say(reading.understood, reading.problem)

    def _beside_box(self, text: str) -> QLabel:
        label = _Beside(text, self)
        label.setTextFormat(Qt.TextFormat.PlainText)
        label.setMinimumHeight(theme.line_height(self))
        return label

    def _say(self, understood: str, problem: str) -> None:
        text = problem or understood
        if self._beside is None:
            if not text:
                return
            self._beside = self._beside_box("")
            self._row.addWidget(self._beside)
            self._beside.setVisible(True)
        self._beside.setText(f"\N{BLACK UP-POINTING TRIANGLE} {text}" if problem else text)
        palette = QPalette()
        colour = (
            theme.inks(self).wrong
            if problem
            else self.palette().color(QPalette.ColorRole.PlaceholderText)
        )
        palette.setColor(QPalette.ColorRole.WindowText, colour)
        self._beside.setPalette(palette)
