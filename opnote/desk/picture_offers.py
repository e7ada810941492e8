"""How pictures come to a widget from outside, and the line that says which can't be kept."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QEvent, QMimeData, QObject, Qt, Signal
from PySide6.QtGui import (
    QDragEnterEvent,
    QDropEvent,
    QGuiApplication,
    QKeyEvent,
    QKeySequence,
    QPalette,
)
from PySide6.QtWidgets import QLabel, QWidget

from opnote.desk import theme
from opnote.desk.photograph import is_offered, offered

NOTHING_OFFERED: Final = "No picture was copied; copy a picture or a file of one, then paste again."


class PictureOffers(QObject):
    """What is dropped on a widget, or pasted while the focus is in it, is offered as pictures.

    Signals: came(offers) with the files, or the one picture, that were dropped or pasted; refused()
    when none was.
    """

    came = Signal(object)
    refused = Signal()

    def __init__(self, widget: QWidget) -> None:
        super().__init__(widget)
        widget.setAcceptDrops(True)
        widget.installEventFilter(self)

    def paste(self) -> None:
        """Offer what was copied."""
        self._take_from(QGuiApplication.clipboard().mimeData())

    def _take_from(self, mime: QMimeData) -> None:
        offers = offered(mime)
        if offers:
            self.came.emit(offers)
        else:
            self.refused.emit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take what is dropped on the widget, and the keys for pasting."""
        match event:
            case QDropEvent() if event.type() is QEvent.Type.Drop:
                event.setDropAction(Qt.DropAction.CopyAction)
                event.accept()
                self._take_from(event.mimeData())
                return True
            case QDragEnterEvent():
                if is_offered(event.mimeData()):
                    event.setDropAction(Qt.DropAction.CopyAction)
                    event.accept()
                    return True
            case QKeyEvent() if event.type() is QEvent.Type.KeyPress:
                if event.matches(QKeySequence.StandardKey.Paste):
                    self.paste()
                    return True
        return super().eventFilter(watched, event)


class WrongLines(QLabel):
    """A line for each picture that can't be kept; gone while all can."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setVisible(False)

    def say(self, problems: Sequence[str], spoken_by: Sequence[QWidget]) -> None:
        """Show the problems, and have the controls that brought the pictures in speak them."""
        mark = "\N{BLACK UP-POINTING TRIANGLE} "
        self.setText("\n".join(mark + problem for problem in problems))
        self.setVisible(bool(problems))
        palette = QPalette()
        palette.setColor(QPalette.ColorRole.WindowText, theme.inks(self).wrong)
        self.setPalette(palette)
        for control in spoken_by:
            control.setAccessibleDescription(" ".join(problems))
