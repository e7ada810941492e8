"""Reads the cases of a list beside the window: first the one that is wanted, then the others."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import Final

from PySide6.QtCore import QObject, QTimer, Signal

from opnote.desk.entry import entry_of
from opnote.desk.held_cases import HeldCases
from opnote.desk.job import Job
from opnote.desk.library import CaseProblem, Library, ReadCase
from opnote.desk.theatre_list import Entry

_AFTER_FIRST_MS: Final = 200
"""Between the first case on screen and the reading of the others, and as often as it must wait."""


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A case that can't be read, and why."""

    path: Path
    words: str


@dataclass(frozen=True, slots=True)
class _Came:
    """What came from the worker for a list; None at the end of its work."""

    library: Library
    thing: object


class CaseReader(QObject):
    """Reads a list on a worker, as long as it is the one that is open.

    Signals: came(thing) with a ReadCase, what the list says of a case (Entry), or an Unreadable;
    failed(error) for what nobody foresaw; read_all() at the end.
    """

    came = Signal(object)
    failed = Signal(object)
    read_all = Signal()

    def __init__(self, held: HeldCases, is_busy: Callable[[], bool], parent: QObject) -> None:
        """Read for a window; the rest of a list waits while the window is busy."""
        super().__init__(parent)
        self._held = held
        self._is_busy = is_busy
        self._job: Job | None = None
        self._rest: list[Path] = []
        self.has_read_all = True

    def begin(self, library: Library, first: Path | None, rest: Sequence[Path]) -> None:
        """Read a list, `first` before the rest."""
        self.forget()
        self._rest = list(rest)
        self.has_read_all = False
        self._start(library, partial(_read_first, library, first))

    def forget(self) -> None:
        """Nobody waits for what is still being read."""
        if self._job is not None:
            self._job.forget()

    def _start(self, library: Library, work: Callable[[], Iterator[object]]) -> None:
        if library is not self._held.library:
            return  # another list was opened meanwhile, or the window was closed
        self._job = Job(partial(_of_list, library, work))
        self._job.results.came.connect(self._on_came)
        self._job.results.failed.connect(self.failed)
        self._job.start()

    def _start_rest(self, library: Library, work: Callable[[], Iterator[object]]) -> None:
        if self._is_busy() and library is self._held.library:
            QTimer.singleShot(_AFTER_FIRST_MS, self, partial(self._start_rest, library, work))
        else:
            self._start(library, work)

    def _on_came(self, came: _Came) -> None:
        # What was on its way when another list was opened still arrives: each says whose it is.
        if came.library is not self._held.library:
            return
        if came.thing is not None:
            self.came.emit(came.thing)
        else:
            self._on_ended(came.library)

    def _on_ended(self, library: Library) -> None:
        """Read the rest once the first case is on screen and would not be held up."""
        rest, self._rest = self._rest, []
        if rest:
            opened = self._held.opened
            unlisted = [read for path, read in self._held.read.items() if path not in opened]
            work = partial(_read_rest, library, rest, unlisted)
            QTimer.singleShot(_AFTER_FIRST_MS, self, partial(self._start_rest, library, work))
        else:
            self.has_read_all = True
            self.read_all.emit()


def _of_list(library: Library, work: Callable[[], Iterator[object]]) -> Iterator[_Came]:
    for thing in work():
        yield _Came(library, thing)
    yield _Came(library, None)


def _read_first(library: Library, path: Path | None) -> Iterator[object]:
    """Read the case that the window waits for, on a worker."""
    if path is None:
        return
    # The window's panes are imported here too, so that they are there when the case is.
    import_module("opnote.desk.workspace")
    yield _read_one(library, path)


def _read_rest(
    library: Library, paths: Sequence[Path], unlisted: Sequence[ReadCase]
) -> Iterator[object]:
    """Read the other cases in order; for all, also what the list says of them, on a worker.

    `unlisted` were read before without it.
    """
    yield from map(_entry_of_read, unlisted)
    for path in paths:
        read = _read_one(library, path)
        yield read
        if isinstance(read, ReadCase):
            yield _entry_of_read(read)


def _read_one(library: Library, path: Path) -> ReadCase | Unreadable:
    try:
        return library.read(path)
    except CaseProblem as problem:
        return Unreadable(path, str(problem))


def _entry_of_read(read: ReadCase) -> Entry:
    from opnote.desk.session import State

    return entry_of(read, State(read.pack, read.record), is_saved=read.is_saved)
