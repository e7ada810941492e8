"""The cases of a folder with their packs: read, drafted and written. Free of Qt.

Records, packs and documents are heavy to import, so this module imports them when the first case is
read, which is after the window is on screen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from opnote.archive.folder import ArchiveError, ChangedElsewhere, Draft, TheatreList
from opnote.archive.picture_folder import PictureFolder, names_in

if TYPE_CHECKING:
    from opnote.pack.pack import Pack
    from opnote.record import Record


class CaseProblem(Exception):
    """A case can't be read or written; the lines say why and what helps.

    `is_changed_elsewhere` is true when somebody else has written the file meanwhile.
    """

    def __init__(self, lines: Sequence[str], *, is_changed_elsewhere: bool = False) -> None:
        super().__init__("\n".join(lines))
        self.lines = tuple(lines)
        self.is_changed_elsewhere = is_changed_elsewhere


@contextmanager
def _told() -> Iterator[None]:
    """What goes wrong in the archive is a problem of the case."""
    try:
        yield
    except ArchiveError as error:
        is_changed = isinstance(error, ChangedElsewhere)
        raise CaseProblem([str(error)], is_changed_elsewhere=is_changed) from error


@dataclass(frozen=True, slots=True)
class ReadCase:
    """A case as it was read, with the draft that somebody should be asked about.

    `is_saved` is false for a case of which there is only a draft.
    """

    path: Path
    record: Record
    pack: Pack
    draft: Draft | None = None
    is_saved: bool = True


class Library:
    """The theatre list of one folder.

    What writes or removes files waits until another thread has done the same.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._list = TheatreList(folder)
        self.pictures = PictureFolder(folder)
        self._packs: dict[tuple[str, ...], Pack] = {}
        self._turn = Lock()

    def paths(self) -> list[Path]:
        """The cases of the folder, those included of which there is only a draft.

        Raises: CaseProblem.
        """
        with _told():
            known = {case.path for case in (*self._list.cases(), *self._list.unsaved())}
        return sorted(known, key=lambda path: path.name.casefold())

    def pack(self, procedures: Sequence[str]) -> Pack:
        """The pack of some procedures, loaded once."""
        from opnote.pack.cache import cached_pack
        from opnote.pack.problem import PackError

        key = tuple(procedures)
        if key not in self._packs:
            try:
                self._packs[key] = cached_pack(key)
            except PackError as error:
                raise CaseProblem([str(problem) for problem in error.problems]) from error
        return self._packs[key]

    def read(self, path: Path) -> ReadCase:
        """Read a case; one that was never written to its file starts from its draft.

        Raises: CaseProblem.
        """
        with _told():
            draft = self._list.draft(path)
            if draft is not None and not path.exists():
                record, pack = self.record_from(draft.text, path)
                return ReadCase(path, record, pack, is_saved=False)
            record, pack = self.record_from(self._list.read(path), path)
        return ReadCase(path, record, pack, draft if draft and draft.is_orphan else None)

    def record_from(self, text: str, path: Path) -> tuple[Record, Pack]:
        """The record of a case file's text.

        Raises: CaseProblem.
        """
        from opnote.pack.case import RecordError, read_case

        try:
            return read_case(text, path.name, self.pack)
        except RecordError as error:
            raise CaseProblem(error.lines) from error

    def new_path(self, stem: str, used: Iterable[Path] = ()) -> Path:
        """A name that no case has yet, and none of those in use.

        Raises: CaseProblem.
        """
        with _told():
            return self._list.new_path(stem, used)

    def write(self, path: Path, record: Record) -> None:
        """Write the case file.

        Raises: CaseProblem.
        """
        text = self._text(record)
        with self._turn, _told():
            self._list.write(path, text)

    def write_draft(
        self, path: Path, record: Record, is_wanted: Callable[[], bool] = lambda: True
    ) -> bool:
        """Keep what was typed beside the case file, unless it isn't wanted any more by then.

        False when it wasn't. Raises: CaseProblem.
        """
        text = self._text(record)
        with self._turn, _told():
            if not is_wanted():
                return False
            self._list.write_draft(path, text)
        return True

    def typed_elsewhere(self, path: Path) -> str:
        """The other window that has typed what the case file doesn't say, in words; "" for none.

        Raises: CaseProblem.
        """
        with _told():
            return self._list.typed_elsewhere(path)

    def keep_draft(self, path: Path) -> Path | None:
        """Keep a draft as a case file of its own; None when there is none.

        Raises: CaseProblem.
        """
        with self._turn, _told():
            return self._list.keep_draft(path)

    def discard_draft(self, path: Path) -> None:
        """Let go of a draft.

        Raises: CaseProblem.
        """
        with self._turn, _told():
            self._list.discard_draft(path)

    def discard_own_draft(self, path: Path) -> None:
        """Let go of a draft if it was written here.

        Raises: CaseProblem.
        """
        with self._turn, _told():
            self._list.discard_own_draft(path)

    def drop_unused_pictures(self, cases: Iterable[tuple[Record, Record]]) -> None:
        """Remove the pictures that were taken out of cases, each as it was read and as it is now.

        To be called when no step can be undone any more.
        """
        begun: set[str] = set()
        in_use: set[str] = set()
        for as_read, as_now in cases:
            begun |= names_in(self._text(as_read))
            in_use |= names_in(self._text(as_now))
        self.pictures.drop_unused(begun | self.pictures.brought_in, in_use)

    def _text(self, record: Record) -> str:
        from opnote.pack.case import case_text

        return case_text(record, self.pack(record.procedures).form)


def clock_words(moment: datetime, now: datetime) -> str:
    """A moment as it is spoken of: the time today, else with its day."""
    if moment.date() == now.date():
        return f"{moment:%H:%M}"
    return f"{moment.day} {moment:%B, %H:%M}"
