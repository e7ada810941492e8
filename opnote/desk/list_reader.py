"""Reading a list into cases: from a file or the clipboard, through the pane, into the folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QLocale, QObject
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QFileDialog

from opnote.archive.table import Table, TableError, read_table, table_of
from opnote.desk.library import CaseProblem, ReadCase

if TYPE_CHECKING:
    from opnote.desk.listing import Listing
    from opnote.desk.listing_pane import ListingPane
    from opnote.desk.window import Window

SUBJECT: Final = "listing"
_FILES: Final = "Lists (*.csv *.tsv *.txt);;All files (*)"


class ListReader(QObject):
    """Shows a list in place of the pages, and makes its cases when that is asked for."""

    def __init__(self, window: Window) -> None:
        super().__init__(window)
        self._window = window
        self._pane: ListingPane | None = None
        self._came_from: Path | None = None

    @property
    def listing(self) -> Listing | None:
        """The list that waits; None when there is none."""
        return None if self._pane is None else self._pane.listing

    @property
    def is_out_of_sight(self) -> bool:
        """True when a list waits and something else is shown."""
        return self.listing is not None and self._pane is not None and not self._pane.isVisible()

    def choose(self) -> None:
        """Ask for a file and read it."""
        chosen, _ = QFileDialog.getOpenFileName(self._window, "Read a list", "", _FILES)
        if chosen:
            self.read(Path(chosen))

    def read(self, path: Path) -> None:
        """Read the list of a file."""
        try:
            self._show(read_table(path), f"List read from {path.name}")
        except TableError as error:
            self._window.say(SUBJECT, str(error))

    def paste(self) -> None:
        """Read the list that was copied in a spreadsheet."""
        text = QGuiApplication.clipboard().text()
        if not text.strip():
            words = "The clipboard holds no text: copy the rows of the list, then paste again."
            self._window.say(SUBJECT, words)
            return
        try:
            self._show(table_of(text), "List from the clipboard")
        except TableError as error:
            self._window.say(SUBJECT, f"The clipboard: {error}")

    def _show(self, table: Table, title: str) -> None:
        # Late: the window is painted before the pack is needed.
        from opnote.desk.habits import habits_of
        from opnote.desk.listing import Listing
        from opnote.desk.listing_pane import ListingPane
        from opnote.desk.reading import Order

        habits = habits_of(QLocale())
        pack = self._window.pack_for_new()
        if pack is None:
            return
        listing = Listing(
            table,
            pack,
            self._window.today(),
            month_first=habits.order is Order.MONTH_FIRST,
            known=self._window.known_cases(),
        )
        if self._pane is None:
            self._pane = ListingPane(self._window, habits)
            self._pane.make_wanted.connect(self.make)
            self._pane.left.connect(self.put_away)
        self._came_from = self._window.current_path()
        self._window.show_instead(self._pane)
        self._pane.show_listing(listing, title)

    def go_back(self) -> None:
        """Show the list that waits once more."""
        if self._pane is not None and self._pane.listing is not None:
            self._came_from = self._window.current_path()
            self._window.show_instead(self._pane)
            self._pane.listing.set_known(self._window.known_cases())
            self._pane.renew()
            self._pane.table.setFocus()

    def note_all_read(self) -> None:
        """The cases of the folder are known now, and with them which rows it holds already."""
        if self._pane is not None and self._pane.listing is not None:
            self._pane.listing.set_known(self._window.known_cases())
            self._pane.show_known()
            if self._pane.isVisible():
                self._window.drop_notice(SUBJECT)

    def restyle(self) -> None:
        """The text size or the colours have changed."""
        if self._pane is not None:
            self._pane.restyle()

    def remind(self) -> None:
        """A case is shown; say so if a list still waits behind it."""
        if self.listing is not None:
            actions = [("Go back to it", self.go_back), ("Put it away", self._forget)]
            words = "The list that was read waits to be made into cases."
            self._window.say(SUBJECT, words, actions)

    def put_away(self) -> None:
        """Let go of the list, and show the case that was open before."""
        self._forget()
        self._window.come_back(self._came_from)

    def _forget(self) -> None:
        if self._pane is not None:
            self._pane.listing = None
        self._window.drop_notice(SUBJECT)

    def make(self) -> None:
        """Make the cases of the rows that have nothing to mend."""
        pane, listing, library = self._pane, self.listing, self._window.library_for_new()
        if pane is None or listing is None or library is None:
            return
        if not self._window.has_read_all():
            words = "The cases of this folder are still being read: press again in a moment."
            self._window.say(SUBJECT, words)
            return
        promised = len(listing.made())
        listing.set_known(self._window.known_cases())
        wanted = listing.made()
        if len(wanted) != promised:
            pane.renew()
            words = "The cases of the folder have changed: look at the rows, then press again."
            self._window.say(SUBJECT, words)
            return
        reads: list[ReadCase] = []
        rows: list[int] = []
        problem = ""
        for made in wanted:
            try:
                path = library.new_path(made.stem)
                library.write(path, made.record)
            except CaseProblem as error:
                problem = f" The rest is not: {error}"
                break
            reads.append(ReadCase(path, made.record, listing.pack))
            rows.append(made.row)
        noun = "case" if len(reads) == 1 else "cases"
        words = f"{len(reads)} {noun} made from the list.{problem}"
        self._window.take_in(reads)
        listing.drop(rows)
        listing.set_known(self._window.known_cases())
        if problem or listing.troubles():
            pane.renew()
            if not problem:
                words += " What is left must be mended or left out."
            self._window.say(SUBJECT, words)
            return
        if listing.row_count:
            words += f" Not made: {'; '.join(map(listing.about, range(listing.row_count)))}."
        self._forget()
        self._window.come_back(reads[0].path)
        self._window.say("made", words)
