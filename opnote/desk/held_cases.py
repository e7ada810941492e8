"""The cases of the list that is open: read, opened, and the one on screen. Free of Qt."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from opnote.desk.library import Library, ReadCase

if TYPE_CHECKING:
    from opnote.desk.desk import OpenCase
    from opnote.pack.pack import Pack
    from opnote.record import Record


class HeldCases:
    """What the parts of the window know of the list and its cases.

    `library` is the list that is open, `read` its cases as their files have them, `opened` those
    that were on screen, with all that was done to them since, and `shown` the one on screen.
    """

    def __init__(self) -> None:
        self.library: Library | None = None
        self.read: dict[Path, ReadCase] = {}
        self.opened: dict[Path, OpenCase] = {}
        self.shown: OpenCase | None = None

    def begin(self, library: Library) -> None:
        """Another list is open; nothing of it is read yet."""
        self.library = library
        self.read.clear()
        self.opened.clear()
        self.shown = None

    @property
    def shown_path(self) -> Path | None:
        """The file of the case on screen; None when none is."""
        return None if self.shown is None else self.shown.path

    @property
    def shown_read(self) -> ReadCase | None:
        """The case on screen as its file has it."""
        path = self.shown_path
        return None if path is None else self.read.get(path)

    def records(self) -> dict[Path, tuple[Pack, Record]]:
        """Every case that was read, as it is now, with its pack."""
        known = {path: (read.pack, read.record) for path, read in self.read.items()}
        for path, case in self.opened.items():
            known[path] = (case.session.pack, case.session.record)
        return known

    def rename(self, old: Path, new: Path) -> None:
        """A case has got another file."""
        read = self.read.pop(old)
        self.read[new] = ReadCase(new, read.record, read.pack)
        case = self.opened.pop(old)
        self.opened[new] = case
        case.path = new

    def settle_draft(self, path: Path) -> None:
        """The draft that was found beside a case has been used, kept or thrown away."""
        read = self.read[path]
        self.read[path] = ReadCase(path, read.record, read.pack)
