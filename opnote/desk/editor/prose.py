"""Free text of several lines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QEvent, QSize
from PySide6.QtGui import QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QFrame, QPlainTextEdit, QSizePolicy, QVBoxLayout, QWidget

from opnote.desk import theme
from opnote.desk.editor.editor import Editor, Surroundings
from opnote.desk.line_edit import leaves_undo_alone
from opnote.desk.spelling import ProseMarks
from opnote.pack.form import Field
from opnote.record import UNSET, Unset, Value

_LEAST_LINES: Final = 3
_MOST_LINES: Final = 8


class ProseBox(QPlainTextEdit):
    """A box that grows with its text up to a few lines."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setTabChangesFocus(True)
        self.setUndoRedoEnabled(False)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.document().setDocumentMargin(5)
        self.document().documentLayout().documentSizeChanged.connect(self._on_size_changed)
        self._lines = _LEAST_LINES

    def _on_size_changed(self) -> None:
        lines = int(self.document().size().height())
        lines = max(_LEAST_LINES, min(_MOST_LINES, lines))
        if lines != self._lines:
            self._lines = lines
            self.updateGeometry()

    def sizeHint(self) -> QSize:
        """The size that it wants."""
        height = self.fontMetrics().lineSpacing() * self._lines + 14
        return QSize(theme.columns(self, 60), height)

    def minimumSizeHint(self) -> QSize:
        """The size that it needs."""
        return QSize(theme.columns(self, 20), self.sizeHint().height())

    def event(self, event: QEvent) -> bool:
        """Leave undo and redo to the case."""
        if leaves_undo_alone(event):
            event.ignore()
            return False
        return super().event(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw it in the colours of the palette."""
        super().paintEvent(event)
        painter = QPainter(self.viewport())
        focused = self.hasFocus()
        role = QPalette.ColorRole.Accent if focused else QPalette.ColorRole.Dark
        painter.setPen(QPen(self.palette().color(role), 2 if focused else 1))
        inset = 1 if focused else 0
        painter.drawRect(self.viewport().rect().adjusted(inset, inset, -1, -1))


class ProseEditor(Editor):
    """Answers a `prose` field."""

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent)
        self._value: Value | Unset = UNSET
        self._filling = False
        self._box = ProseBox(self)
        self._box.textChanged.connect(self._on_text_changed)
        if surroundings.spelling is not None:
            self._marks = ProseMarks(self._box, surroundings.spelling)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._box)

    def set_value(self, value: Value | Unset) -> None:
        """Show a value, unless it is the one that is shown."""
        if value == self._value:
            return
        self._value = value
        # The only editor that signals after a change by program too.
        self._filling = True
        self._box.setPlainText("" if value is UNSET else str(value))
        self._filling = False

    def set_quiet(self, quiet: bool) -> None:
        """Show the value in a lighter ink, or in the usual one."""
        palette = QPalette()
        if quiet:
            faint = self.palette().color(QPalette.ColorRole.PlaceholderText)
            palette.setColor(QPalette.ColorRole.Text, faint)
        self._box.setPalette(palette)

    def controls(self) -> Sequence[QWidget]:
        """The widgets that take the focus, in order."""
        return (self._box,)

    def _on_text_changed(self) -> None:
        if self._filling:
            return
        text = self._box.toPlainText()
        value: Value | Unset = text if text.strip() else UNSET
        if value != self._value:
            self._value = value
            self.value_edited.emit(value)
