"""Work beside the window: reading cases and writing documents; only results come back."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal


class _Results(QObject):
    came = Signal(object)
    failed = Signal(object)
    ended = Signal()


class Job(QRunnable):
    """Runs a generator on a worker thread and hands on each thing that it yields.

    Signals of `results`: came(thing), failed(exception), ended(). They arrive in the thread that
    made the job.
    """

    def __init__(self, work: Callable[[], Iterator[object]]) -> None:
        super().__init__()
        self.results = _Results()
        self._work = work
        self._wanted = True
        self.setAutoDelete(False)

    def start(self, pool: QThreadPool | None = None) -> None:
        """Begin on a thread of a pool: that of all other work, unless another is given."""
        (pool or QThreadPool.globalInstance()).start(self)

    def forget(self) -> None:
        """Nobody waits for the rest any more."""
        self._wanted = False

    def run(self) -> None:
        """Do the work; whatever goes wrong is told to the window, never swallowed."""
        try:
            for thing in self._work():
                if not self._wanted:
                    return
                self.results.came.emit(thing)
        except Exception as error:
            if self._wanted:
                self.results.failed.emit(error)
        finally:
            if self._wanted:
                self.results.ended.emit()
