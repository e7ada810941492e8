"""A box for one line of text, and the base of the editors that read what is typed into one."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QLabel, QLineEdit, QSizePolicy, QWidget

from opnote.desk import theme
from opnote.desk.editor.editor import Editor, Surroundings
from opnote.desk.flow import FlowLayout
from opnote.desk.reading import Reading, text_of
from opnote.pack.form import Field
from opnote.record import UNSET, Unset, Value


def leaves_undo_alone(event: QEvent) -> bool:
    """True for the keys of undo and redo, which belong to the case and not to a box of text."""
    if event.type() is not QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent):
        return False
    return event.matches(QKeySequence.StandardKey.Undo) or event.matches(
        QKeySequence.StandardKey.Redo
    )


class LineEdit(QLineEdit):
    """One line of text, so many characters wide."""

    def __init__(self, parent: QWidget, characters: int) -> None:
        super().__init__(parent)
        self._characters = characters
        self.setFrame(False)
        self.setTextMargins(6, 0, 6, 0)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.DefaultContextMenu)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        """The size that it wants."""
        return QSize(theme.columns(self, self._characters) + 16, theme.line_height(self))

    def minimumSizeHint(self) -> QSize:
        """The size that it needs."""
        return QSize(theme.columns(self, min(self._characters, 6)) + 16, theme.line_height(self))

    def event(self, event: QEvent) -> bool:
        """Leave undo and redo to the case."""
        if leaves_undo_alone(event):
            event.ignore()
            return False
        return super().event(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw it in the colours of the palette."""
        super().paintEvent(event)
        painter = QPainter(self)
        role = QPalette.ColorRole.Accent if self.hasFocus() else QPalette.ColorRole.Mid
        width = 2 if self.hasFocus() else 1
        pen = QPen(self.palette().color(role), width)
        pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
        painter.setPen(pen)
        inset = width // 2
        painter.drawRect(self.rect().adjusted(inset, inset, -1, -1 if width == 1 else -inset))

    def set_quiet(self, quiet: bool) -> None:
        """Show the text in a lighter ink, or in the usual one."""
        palette = QPalette()
        if quiet:
            faint = self.palette().color(QPalette.ColorRole.PlaceholderText)
            palette.setColor(QPalette.ColorRole.Text, faint)
        self.setPalette(palette)


class LineEditor(Editor):
    """A box, its unit outside it, and what was understood or is wrong beside it."""

    def __init__(
        self, field: Field, surroundings: Surroundings, parent: QWidget, characters: int
    ) -> None:
        super().__init__(field, surroundings, parent)
        self._value: Value | Unset = UNSET
        self._problem = ""
        self._quiet = False
        self.box = LineEdit(self, characters)
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
        self.box.setText(text_of(value))
        self._say("", "")

    def set_quiet(self, quiet: bool) -> None:
        """Show the value in a lighter ink, or in the usual one."""
        if quiet != self._quiet:
            self._quiet = quiet
            self.box.set_quiet(quiet)

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
        label = QLabel(text, self)
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
