"""The case that was chosen before it was read, and what is said of it until it can be shown."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from opnote.desk.notice import Notices

_WAITS: Final = "waits"
_BROKEN: Final = "case"


class Chosen:
    """Remembers which case shall be shown once it is read, and which can't be read.

    A case comes by itself only while nothing else is done: whoever types into the open one finds
    an offer in its place.
    """

    def __init__(self, notices: Notices, open_case: Callable[[Path], None]) -> None:
        self._notices = notices
        self._open_case = open_case
        self._path: Path | None = None
        self._put_off: Path | None = None
        self._broken: dict[Path, str] = {}

    def begin_list(self, first: Path | None) -> None:
        """Another list is opened, which is to begin with this case."""
        self._path, self._put_off = first, None
        self._broken.clear()

    def expect(self, path: Path) -> None:
        """Show this case, which nobody asked for, once it is read."""
        self._path = path

    def wait_for(self, path: Path) -> None:
        """A case was chosen that isn't read; one that can't be says why again."""
        self.settle()
        if path in self._broken:
            self._notices.say(_BROKEN, self._broken[path])
            return
        self._path = path
        words = f"{path.stem} is still being read. It opens after that, unless you go on here."
        self._notices.say(_WAITS, words)

    def settle(self) -> None:
        """What is on screen is what is wanted."""
        self._path = self._put_off = None
        self._notices.drop(_WAITS)

    def put_off(self) -> None:
        """Work goes on in the open case: no other one takes its place any more."""
        if self._path is not None:
            self._notices.say(_WAITS, f"{self._path.stem} is still being read.")
            self._path, self._put_off = None, self._path

    def came(self, path: Path) -> None:
        """A case was read: open it, or offer it to whoever went on elsewhere."""
        if path == self._path:
            self._open_case(path)
        elif path == self._put_off:
            self._put_off = None
            words = f"{path.stem} is read now."
            self._notices.say(_WAITS, words, [("Open it", lambda: self._open_case(path))])

    def broke(self, path: Path, words: str) -> bool:
        """A case can't be read; true, and it says why, when it was asked for."""
        self._broken[path] = words
        if path not in (self._path, self._put_off):
            return False
        self.settle()
        self._notices.say(_BROKEN, words)
        return True
