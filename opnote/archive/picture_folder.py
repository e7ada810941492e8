"""The pictures of a theatre list: a folder beside its cases, each file named by what it holds.

A case holds only the names. As a name follows from the bytes, two cases can't get into each
other's way, a case may be called otherwise, and a file that was damaged is known by its name.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from functools import lru_cache
from pathlib import Path
from typing import Final

from opnote.archive.folder import CASE_SUFFIX, ArchiveError
from opnote.pack.value_json import PICTURE_NAME
from opnote.record.atomic import write_atomically

FOLDER: Final = "pictures"
SUFFIX: Final = ".jpg"


class PictureFolder:
    """The pictures of the cases in one folder."""

    def __init__(self, cases: Path) -> None:
        """Take the pictures of the cases in a folder; nothing is made until one is kept."""
        self._cases = cases
        self.folder = cases / FOLDER
        # Each is read once: a document is composed at every keystroke.
        self._read = lru_cache(maxsize=32)(_whole)
        self.brought_in: set[str] = set()
        """The names that were kept here since this folder was opened."""

    def keep(self, data: bytes) -> str:
        """Keep the bytes of a JPEG; gives the name by which they are found again.

        Raises: ArchiveError: the folder or the disk refuses.
        """
        name = hashlib.sha256(data).hexdigest() + SUFFIX
        try:
            self.folder.mkdir(exist_ok=True)
            write_atomically(self.folder / name, data)
        except OSError as error:
            raise ArchiveError(
                f"{self.folder}: the picture can't be kept ({error.strerror or error}); "
                "free some space or ask who owns the folder, then bring it in again"
            ) from error
        self.brought_in.add(name)
        return name

    def bytes_of(self, name: str) -> bytes | None:
        """The bytes of a kept picture; None when it isn't there, or isn't what it was."""
        if not PICTURE_NAME.fullmatch(name):
            return None
        try:
            return self._read(self.folder / name)
        except (OSError, ValueError):
            return None

    def drop_unused(self, names: Collection[str], in_use: Collection[str]) -> None:
        """Remove those of the names that are neither in use nor named by any file of the cases.

        Such is a picture whose margin with the patient's name was cut off afterwards. What can't
        be made sure of stays.
        """
        unsure = set(names) - set(in_use)
        if not unsure:
            return
        try:
            for path in self._cases.iterdir():
                if path.suffix.lower() == CASE_SUFFIX:
                    unsure -= names_in(path.read_text(encoding="utf-8", errors="replace"))
            for name in unsure:
                (self.folder / name).unlink(missing_ok=True)
                self.brought_in.discard(name)
            if not any(self.folder.iterdir()):
                self.folder.rmdir()
        except OSError:
            return


def names_in(text: str) -> set[str]:
    """The names of pictures in the text of a case file."""
    return set(PICTURE_NAME.findall(text))


def _whole(path: Path) -> bytes:
    """The bytes of a file whose name says what they must be. Raises: OSError, ValueError."""
    data = path.read_bytes()
    if hashlib.sha256(data).hexdigest() != path.stem:
        raise ValueError("not what it was")
    return data
