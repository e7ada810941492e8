"""Bringing several pictures into a table at once: by files, by dropping, by pasting."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import QObject
from PySide6.QtGui import QImage, QPalette
from PySide6.QtWidgets import QFileDialog, QLabel, QLayout, QVBoxLayout, QWidget

from opnote.archive.folder import ArchiveError
from opnote.desk.desk import Desk
from opnote.desk.passing_button import PassingButton
from opnote.desk.photograph import FILTER, PictureRefused, taken_in
from opnote.desk.picture_offers import NOTHING_OFFERED, PictureOffers, WrongLines
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
        offers = PictureOffers(table)
        offers.came.connect(self.take)
        offers.refused.connect(self._on_refused)
        self._paste = PassingButton("Paste a picture", table)
        self._paste.setAccessibleName(f"{field.label}: paste a picture")
        self._paste.clicked.connect(offers.paste)
        self._words = QLabel("or drop pictures here", table)
        self._words.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self._wrong = WrongLines(table)

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

    def _on_refused(self) -> None:
        self._say([NOTHING_OFFERED])

    def _say(self, problems: Sequence[str]) -> None:
        self._wrong.say(problems, (self._paste,))
