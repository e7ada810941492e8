"""Bringing several pictures into a table at once: by files, by dropping, by pasting."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import QEvent, QMimeData, QObject, Qt
from PySide6.QtGui import (
    QDragEnterEvent,
    QDropEvent,
    QGuiApplication,
    QImage,
    QKeyEvent,
    QKeySequence,
    QPalette,
)
from PySide6.QtWidgets import QFileDialog, QLabel, QLayout, QVBoxLayout, QWidget

from opnote.archive.folder import ArchiveError
from opnote.desk import theme
from opnote.desk.desk import Desk
from opnote.desk.editor.picture import NOTHING_OFFERED, PassingButton
from opnote.desk.photograph import FILTER, PictureRefused, is_offered, offered, taken_in
from opnote.pack.form import Field
from opnote.record import add_row

MOST_PICTURES: Final = 24
"""Six pages of a note; a mistaken drop of a whole folder brings in no more."""


class PictureIntake(QObject):
    """Stands under a table of pictures; each picture becomes a row and a step of undo."""

    def __init__(
        self, field: Field, column: Field, desk: Desk, table: QWidget, added: Callable[[int], None]
    ) -> None:
        """Take pictures for a table; `added` is told how many rows were added."""
        super().__init__(table)
        self._table = table
        self._field = field
        self._column = column
        self._desk = desk
        self._added = added
        self._paste = PassingButton("Paste a picture", table)
        self._paste.setAccessibleName(f"{field.label}: paste a picture")
        self._paste.clicked.connect(self.paste)
        self._words = QLabel("or drop pictures here", table)
        self._words.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self._wrong = QLabel(table)
        self._wrong.setWordWrap(True)
        self._wrong.setTextFormat(Qt.TextFormat.PlainText)
        self._wrong.setVisible(False)
        table.setAcceptDrops(True)
        table.installEventFilter(self)

    @classmethod
    def made_for(
        cls, field: Field, desk: Desk, table: QWidget, added: Callable[[int], None]
    ) -> PictureIntake | None:
        """The intake of a table that holds pictures; None for any other."""
        column = next((each for each in field.columns if each.kind == "picture"), None)
        return None if column is None else cls(field, column, desk, table, added)

    def stand_in(self, actions: QLayout, below: QVBoxLayout) -> None:
        """Take a place among the actions of the table; what went wrong is said below them."""
        actions.addWidget(self._paste)
        actions.addWidget(self._words)
        below.addWidget(self._wrong)

    def forget(self) -> None:
        """Another case is shown: what could not be taken in was none of its pictures."""
        self._say([])

    def controls(self) -> Sequence[QWidget]:
        """What Tab visits, in order."""
        return (self._paste,)

    def choose(self) -> None:
        """Ask for files."""
        chosen, _ = QFileDialog.getOpenFileNames(self._table, "Choose pictures", "", FILTER)
        if chosen:
            self.take([Path(name) for name in chosen])

    def paste(self) -> None:
        """Take the pictures that were copied."""
        self._take_from(QGuiApplication.clipboard().mimeData())

    def take(self, offers: Sequence[Path | QImage]) -> None:
        """Make a row of each picture that can be kept; the lines say which can't and why."""
        problems: list[str] = []
        count = 0
        for offer in offers:
            rows = self._desk.state.view.rows.get(self._field.path, ())
            if len(rows) >= MOST_PICTURES:
                most = f"A case holds {MOST_PICTURES} pictures at most"
                problems.append(f"{most}; the others were left out.")
                break
            try:
                name = self._desk.case.pictures.keep(taken_in(offer))
            except (PictureRefused, ArchiveError) as refused:
                problems.append(str(refused))
                continue
            label = f"adding a {self._field.row_label.lower()}"
            self._desk.apply(add_row(self._field.path, label, {self._column.name: name}), None)
            count += 1
        if count:
            self._added(count)
        self._say(problems)

    def _take_from(self, mime: QMimeData) -> None:
        offers = offered(mime)
        if offers:
            self.take(offers)
        else:
            self._say([NOTHING_OFFERED])

    def _say(self, problems: Sequence[str]) -> None:
        mark = "\N{BLACK UP-POINTING TRIANGLE} "
        self._wrong.setText("\n".join(mark + problem for problem in problems))
        self._wrong.setVisible(bool(problems))
        self._paste.setAccessibleDescription(" ".join(problems))
        palette = QPalette()
        palette.setColor(QPalette.ColorRole.WindowText, theme.inks(self._table).wrong)
        self._wrong.setPalette(palette)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """What is dropped on the table, or pasted while it has the focus, is for here."""
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
