"""The pictures of a theatre list: a folder beside its cases, each file named by what it holds.

A case holds only the names. As a name follows from the bytes, two cases can't get into each
other's way, a case may be called otherwise, and a file that was damaged is known by its name.
"""

from __future__ import annotations

import hashlib
import time
from collections.abc import Collection
from functools import lru_cache
from pathlib import Path
from typing import Final

from opnote.archive.folder import CASE_SUFFIX, SILENT_FOR, ArchiveError
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
            unsure -= self._names_in_files()
            for name in unsure:
                (self.folder / name).unlink(missing_ok=True)
                self.brought_in.discard(name)
            self._drop_empty_folder()
        except OSError:
            return

    def drop_forgotten(self) -> None:
        """Remove what a program left behind that was killed before it could let go of it.

        Such is a picture that no file of the cases names and that is as old as a draft must be
        before it is held to be nobody's any more. Where there is no file of a case at all the
        pictures stay: the cases may only be somewhere else.
        """
        try:
            old = {path.name for path in self.folder.iterdir() if _is_old(path)}
            old -= self.brought_in
            if not old or not any(map(_is_of_case, self._cases.iterdir())):
                return
            for name in old - self._names_in_files():
                # Somebody may have brought the same one in again meanwhile.
                if _is_old(self.folder / name):
                    (self.folder / name).unlink()
            self._drop_empty_folder()
        except OSError:
            return

    def _names_in_files(self) -> set[str]:
        """The pictures that the cases and drafts name. Raises: OSError."""
        found: set[str] = set()
        for path in filter(_is_of_case, self._cases.iterdir()):
            found |= names_in(path.read_text(encoding="utf-8", errors="replace"))
        return found

    def _drop_empty_folder(self) -> None:
        if not any(self.folder.iterdir()):
            self.folder.rmdir()


def names_in(text: str) -> set[str]:
    """The names of pictures in the text of a case file."""
    return set(PICTURE_NAME.findall(text))


def _is_of_case(path: Path) -> bool:
    """True for a case file and for a draft."""
    return path.suffix.lower() == CASE_SUFFIX


def _is_old(path: Path) -> bool:
    """True for a picture that nobody can have been at work on lately. Raises: OSError."""
    is_ours = PICTURE_NAME.fullmatch(path.name) is not None
    return is_ours and time.time() - path.stat().st_mtime > SILENT_FOR.total_seconds()


def _whole(path: Path) -> bytes:
    """The bytes of a file whose name says what they must be. Raises: OSError, ValueError."""
    data = path.read_bytes()
    if hashlib.sha256(data).hexdigest() != path.stem:
        raise ValueError("not what it was")
    return data
