"""How the window was left: the widths of its parts, the size of its text, and what it showed."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Final

from PySide6.QtCore import QObject, QSettings
from PySide6.QtWidgets import QSplitter

USUAL_TEXT_SIZE: Final = 1
USUAL_DOCUMENT: Final = "note"
_GROUP: Final = "layout"


class Layout(QObject):
    """Remembers in the settings what a person has arranged.

    `document` is the kind of document on the paper; `case` and `page` are where one was.
    """

    def __init__(self, settings: QSettings, parent: QObject) -> None:
        super().__init__(parent)
        self._settings = settings
        self.document = self._text("document", USUAL_DOCUMENT)
        self.case = self._text("case")
        self.page = self._text("page")

    @property
    def text_size(self) -> int:
        """The step of the text size, the usual one being 1."""
        words = self._text("text_size")
        return int(words) if words.isdecimal() else USUAL_TEXT_SIZE

    def note_text_size(self, step: int) -> None:
        """Another size of text was chosen."""
        self._settings.setValue(f"{_GROUP}/text_size", step)

    def note_place(self, case: Path | None, page: str, document: str) -> None:
        """The window closes while it shows this."""
        self.case, self.page, self.document = str(case or ""), page, document
        for key, words in (("case", self.case), ("page", page), ("document", document)):
            self._settings.setValue(f"{_GROUP}/{key}", words)

    def page_of(self, case: Path) -> str:
        """The page that was shown of a case at the last close; "" when it was another case."""
        return self.page if str(case) == self.case else ""

    def case_in(self, folder: Path) -> Path | None:
        """The case that was shown at the last close, if it is still in this folder."""
        case = Path(self.case)
        return case if self.case and case.parent == folder and case.is_file() else None

    def keep(self, name: str, split: QSplitter) -> bool:
        """Give a splitter the sizes it had, and remember each that a person gives it.

        False when it has its usual ones.
        """
        split.splitterMoved.connect(partial(self._on_moved, name, split))
        return self.put_back(name, split)

    def put_back(self, name: str, split: QSplitter) -> bool:
        """Give a splitter the sizes it had; False when none are remembered."""
        kept = self._text(f"split/{name}").split()
        if len(kept) != split.count() or not all(size.isdecimal() for size in kept):
            return False
        split.setSizes([int(size) for size in kept])
        return True

    def forget(self) -> None:
        """Go back to what is usual; the place in the list stays."""
        for key in ("split", "text_size"):
            self._settings.remove(f"{_GROUP}/{key}")
        self._settings.remove("geometry")
        self.document = USUAL_DOCUMENT

    def _on_moved(self, name: str, split: QSplitter, *_handle: int) -> None:
        sizes = " ".join(str(size) for size in split.sizes())
        self._settings.setValue(f"{_GROUP}/split/{name}", sizes)

    def _text(self, key: str, default: str = "") -> str:
        return str(self._settings.value(f"{_GROUP}/{key}", default))
