"""Documents leave the window: written into a folder, printed, or given to the patient."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QLocale, QObject, QSettings, Signal
from PySide6.QtWidgets import QFileDialog

from opnote.desk.export import ListExport, write_documents
from opnote.desk.held_cases import HeldCases
from opnote.desk.job import Job
from opnote.desk.notice import Notices

if TYPE_CHECKING:
    from opnote.desk.printing import Printing
    from opnote.desk.window import Window

_LARGE: Final = "large_print"
_SUBJECT: Final = "export"


class Writing(QObject):
    """Writes and prints the documents of the case on screen, and of the whole list.

    Signals: written(count) when the documents of a case are there.
    """

    written = Signal(int)

    def __init__(
        self, window: Window, held: HeldCases, notices: Notices, settings: QSettings
    ) -> None:
        super().__init__(window)
        self._window = window
        self._held = held
        self._notices = notices
        self._settings = settings
        self._job: Job | None = None
        self._paths: list[Path] = []
        self._printing: Printing | None = None
        self.of_list = ListExport(notices, self)
        self.of_list.ended.connect(self._on_ended)

    @property
    def is_large(self) -> bool:
        """True when what the patient gets is in large print."""
        return bool(self._settings.value(_LARGE, False, type=bool))

    def set_large(self, is_large: bool) -> None:
        """Large print for the patient, or the usual one."""
        self._settings.setValue(_LARGE, is_large)

    @property
    def is_writing(self) -> bool:
        """True while documents are written."""
        return self._job is not None or self.of_list.is_running

    def _is_still_writing(self) -> bool:
        """True, and it says so, while documents are written: two at once could mix their files."""
        if self.is_writing:
            words = "Documents are still being written: ask again when they are there."
            self._notices.say("writing", words)
        return self.is_writing

    def stop(self) -> None:
        """The window closes: nobody waits for the rest."""
        if self._job is not None:
            self._job.forget()
        self.of_list.stop()

    def choose_folder(self) -> None:
        """Ask for a folder and write all documents of the case into it."""
        if self._held.shown is None or self._is_still_writing():
            return
        chosen = QFileDialog.getExistingDirectory(self._window, "Write the documents into")
        if chosen:
            self.write_to(Path(chosen))

    def write_to(self, folder: Path) -> None:
        """Write all documents of the case, in all formats."""
        case = self._held.shown
        if case is None or case.path is None or self._is_still_writing():
            return
        self._notices.say(_SUBJECT, "Writing the documents\N{HORIZONTAL ELLIPSIS}", [])
        self._paths = []
        state, stem = case.session.state, case.path.stem
        self._job = Job(partial(write_documents, state, folder, stem, is_large=self.is_large))
        self._job.results.came.connect(self._on_came)
        self._job.results.failed.connect(self._on_failed)
        self._job.results.ended.connect(self._on_case_ended)
        self._job.start()

    def _on_came(self, path: object) -> None:
        if isinstance(path, Path):
            self._paths.append(path)

    def _on_failed(self, error: object) -> None:
        self._paths = []
        # What follows the semicolon is for the command line.
        why = str(error).partition("; ")[0]
        self._notices.say(
            _SUBJECT, f"The documents can't be written: {why}. Choose another folder."
        )

    def _on_case_ended(self) -> None:
        self._job = None
        self._on_ended()
        if self._paths:
            count, folder = len(self._paths), self._paths[0].parent
            self._notices.say(_SUBJECT, f"{count} documents written to {folder}")
            self.written.emit(count)

    def _on_ended(self) -> None:
        for subject in ("writing", "close"):
            self._notices.drop(subject)

    def choose_folder_of_list(self) -> None:
        """Ask for a folder and write the documents of every case of the list into it."""
        if self._is_still_writing():
            return
        if not self._window.has_read_all() or self._held.library is None:
            self._notices.say(_SUBJECT, "The list is still being read, or none is open.")
            return
        words = "Write the documents of the list into"
        chosen = QFileDialog.getExistingDirectory(self._window, words)
        if chosen:
            self.write_list_to(Path(chosen))

    def write_list_to(self, folder: Path) -> None:
        """Write all documents of every case of the list, as the cases are now."""
        if self._held.library is None or self._is_still_writing():
            return
        self.of_list.start(
            self._window.listed_paths(),
            self._held.records(),
            folder,
            is_large=self.is_large,
            pictures=self._held.library.pictures.bytes_of,
        )

    @property
    def printing(self) -> Printing:
        """What puts pages on a printer."""
        # Late, so that the window is on screen before what only printing needs is imported.
        from opnote.desk.printing import Printing

        if self._printing is None:
            self._printing = Printing(self._notices, self._window)
        return self._printing

    def print_document(self) -> None:
        """Print the document that is on the paper."""
        if self._held.shown is not None:
            state, kind = self._held.shown.session.state, self._window.shown_document()
            self.printing.ask_and_print(state, kind, is_large=self.is_large)

    def look_before_printing(self) -> None:
        """Show the pages of the document that is on the paper as they would be printed."""
        if self._held.shown is not None:
            state, kind = self._held.shown.session.state, self._window.shown_document()
            self.printing.look(state, kind, is_large=self.is_large)

    def give_sheet(self) -> None:
        """Ask on which day the patient was given the risk sheet, as it now stands."""
        # Late: the window is painted before the pack is needed.
        from opnote.desk.giving import ask_when_given
        from opnote.desk.habits import habits_of

        if self._held.shown is not None:
            habits = habits_of(QLocale())
            ask_when_given(self._held.shown.session, self._notices, self._window.today(), habits)
