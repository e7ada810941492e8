"""Writing the documents of one case, or of a whole list that can be stopped on the way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QObject, Signal

from opnote.desk.job import Job
from opnote.desk.notice import Notices

if TYPE_CHECKING:
    from opnote.compose.photograph import PictureSource
    from opnote.desk.session import State
    from opnote.pack.pack import Pack
    from opnote.record import Record

_SUBJECT: Final = "list export"
_MOST_NAMED: Final = 3


def write_documents(state: State, folder: Path, stem: str, *, is_large: bool) -> Iterator[Path]:
    """Write each document in each format, on a worker; gives their paths.

    is_large: what the patient reads is set in large print.
    Raises: ComposeError: a file can't be written.
    """
    # Late: the window is painted before documents are needed.
    from opnote.compose.document import in_large_print
    from opnote.compose.formats import formats_of, write_document
    from opnote.pack.pack import DOCUMENTS

    for kind in DOCUMENTS:
        document = in_large_print(state.document(kind)) if is_large else state.document(kind)
        for ending in formats_of(document):
            path = folder / f"{stem}.{kind}.{ending}"
            write_document(document, path)
            yield path


@dataclass(frozen=True, slots=True)
class _Begun:
    """The worker has come to a case; the first is 1."""

    number: int


@dataclass(frozen=True, slots=True)
class _Done:
    """All documents of a case are written."""


@dataclass(frozen=True, slots=True)
class _Failed:
    """The documents of one case can't be composed."""

    name: str
    why: str


Cases = Mapping[Path, tuple["Pack", "Record"]]


class ListExport(QObject):
    """Writes the documents of every case of a list on a worker, and tells how far it is.

    Signals: ended() when it is done, was stopped or can't go on.
    """

    ended = Signal()

    def __init__(self, notices: Notices, parent: QObject) -> None:
        super().__init__(parent)
        self._notices = notices
        self._job: Job | None = None
        self._stop = Event()
        self._folder = Path()
        self._count = 0
        self._written = 0
        self._complete = 0
        self._failures: list[_Failed] = []
        self._unread: list[str] = []
        self._broke_off = ""

    @property
    def is_running(self) -> bool:
        """True while the worker writes."""
        return self._job is not None

    def start(
        self,
        listed: Sequence[Path],
        cases: Cases,
        folder: Path,
        *,
        is_large: bool,
        pictures: PictureSource,
    ) -> None:
        """Begin to write into a folder; `cases` holds those of the list that could be read."""
        if self.is_running:
            return
        wanted = {path: cases[path] for path in listed if path in cases}
        self._stop = Event()
        self._folder = folder
        self._count, self._written, self._complete = len(wanted), 0, 0
        self._failures = []
        self._unread = [path.stem for path in listed if path not in cases]
        self._broke_off = ""
        self._say_progress(0)
        work = partial(_write_all, wanted, folder, self._stop, pictures, is_large=is_large)
        self._job = Job(work)
        self._job.results.came.connect(self._on_came)
        self._job.results.failed.connect(self._on_failed)
        self._job.results.ended.connect(self._on_ended)
        self._job.start()

    def stop(self) -> None:
        """Stop after the document in hand."""
        if self.is_running and not self._stop.is_set():
            self._stop.set()
            self._notices.say(_SUBJECT, self.tr("Stopping after the document in hand."), [])

    def _say_progress(self, number: int) -> None:
        words = self.tr("Writing the documents: {number} of {count} cases")
        words = words.format(number=number, count=self._count)
        if not self._notices.update_words(_SUBJECT, words):
            self._notices.say(_SUBJECT, words, [(self.tr("Stop"), self.stop)])

    def _on_came(self, thing: object) -> None:
        if isinstance(thing, Path):
            self._written += 1
        elif isinstance(thing, _Done):
            self._complete += 1
        elif isinstance(thing, _Failed):
            self._failures.append(thing)
        elif isinstance(thing, _Begun) and not self._stop.is_set():
            self._say_progress(thing.number)

    def _on_failed(self, error: object) -> None:
        # What follows the semicolon is for the command line.
        self._broke_off = str(error).partition("; ")[0]

    def _on_ended(self) -> None:
        self._job = None
        self._notices.say(_SUBJECT, self._outcome())
        self.ended.emit()

    def _outcome(self) -> str:
        said = []
        if self._broke_off:
            words = self.tr("It could not go on: {why}. Choose another folder.")
            said.append(words.format(why=self._broke_off))
        elif self._stop.is_set() and self._complete + len(self._failures) < self._count:
            said.append(self.tr("Stopped."))
        noun = self.tr("document") if self._written == 1 else self.tr("documents")
        words = self.tr("{documents} written to {folder}; {done} of {count} cases whole.")
        said.append(
            words.format(
                documents=f"{self._written} {noun}",
                folder=self._folder,
                done=self._complete,
                count=self._count,
            )
        )
        for failure in self._failures[:_MOST_NAMED]:
            said.append(f"{failure.name}: {failure.why}.")
        if len(self._failures) > _MOST_NAMED:
            more = len(self._failures) - _MOST_NAMED
            said.append(self.tr("{more} more cases failed.").format(more=more))
        if self._unread:
            names = ", ".join(self._unread)
            said.append(self.tr("Left out, because it can't be read: {names}.").format(names=names))
        return " ".join(said)


def _write_all(
    cases: Cases, folder: Path, stop: Event, pictures: PictureSource, *, is_large: bool
) -> Iterator[object]:
    """On a worker: each path that was written, and where one case ends and the next begins."""
    from opnote.compose.files import ComposeError
    from opnote.desk.session import State

    for number, (path, (pack, record)) in enumerate(cases.items(), 1):
        if stop.is_set():
            return
        yield _Begun(number)
        try:
            state = State(pack, record, pictures)
            for written in write_documents(state, folder, path.stem, is_large=is_large):
                yield written
                if stop.is_set():
                    break
            else:
                yield _Done()
        except ComposeError:
            raise  # no other case can be written there either
        except Exception as error:
            yield _Failed(path.stem, str(error))
