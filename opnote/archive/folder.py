"""A theatre list as a folder of case files, each with the draft of what was typed since."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import itertools
import json
import os
import platform
import re
import stat
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from opnote.archive import presence
from opnote.record.atomic import write_atomically

CASE_SUFFIX: Final = ".json"
DRAFT_MARK: Final = ".draft"
"""Stands before the suffix of a draft: the draft of `case_a.json` is `case_a.draft.json`."""

MOST_BYTES: Final = 4 * 1024 * 1024
"""A case file holds about ten thousand; more than this was never written by a person."""

SILENT_FOR: Final = timedelta(days=1)
"""A draft from another computer, which can't be asked, is left alone for so long."""

_LONGEST_STEM: Final = 80
_RESERVED: Final = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)", re.IGNORECASE)
"""Names that Windows keeps for devices."""


class ArchiveError(Exception):
    """A case can't be read or written; one line for people, with the file and the remedy."""


class ChangedElsewhere(ArchiveError):
    """Somebody else has written the case file since it was read here."""


@dataclass(frozen=True, slots=True)
class CaseFile:
    """A case of the list: where it is, and its name without the ending."""

    path: Path
    name: str


@dataclass(frozen=True, slots=True)
class Draft:
    """What was typed and not yet written into the case file.

    `is_orphan` is true when the process that wrote it is gone and the case file says something
    else: then somebody should be asked whether to go on with it.
    """

    text: str
    saved_at: datetime
    is_orphan: bool


@dataclass(frozen=True, slots=True)
class _StoredDraft:
    """A draft as its file holds it, with who wrote it and the digest of the file."""

    text: str
    saved_at: datetime
    token: str
    process: int
    computer: str
    digest: str

    @property
    def is_ours(self) -> bool:
        return self.token == presence.own_token()

    @property
    def where(self) -> str:
        """The window that wrote it, in words."""
        computer = "" if self.computer == platform.node() else f" on {self.computer}"
        return f"another window{computer} (process {self.process})"

    def is_held(self, now: datetime) -> bool:
        """True while the process that wrote it may still be at work on it."""
        if self.computer != platform.node():
            return now - self.saved_at < SILENT_FOR
        return presence.is_running(self.token)


def _local_time() -> datetime:
    return datetime.now().astimezone()


class TheatreList:
    """The cases in one folder.

    What is on disk is at every moment a whole file, the old one or the new one. A file that
    somebody else has changed since it was read here is never written over.
    """

    def __init__(self, folder: Path, clock: Callable[[], datetime] = _local_time) -> None:
        self.folder = folder
        self._clock = clock
        self._known: dict[str, str] = {}
        """Digests of the files as they were last read or written here, by real path."""

    def cases(self) -> tuple[CaseFile, ...]:
        """The case files in the folder, by name.

        Raises: ArchiveError: the folder isn't there or can't be read.
        """
        return tuple(CaseFile(path, path.stem) for path in self._files() if _is_case(path))

    def unsaved(self) -> tuple[CaseFile, ...]:
        """Cases of which there is a draft only: begun, and never written to a case file.

        Raises: ArchiveError: the folder isn't there or can't be read.
        """
        files = self._files()
        begun = (_case_path(path) for path in files if _is_draft(path))
        return tuple(CaseFile(path, path.stem) for path in begun if path not in files)

    def read(self, path: Path) -> str:
        """The text of a case file.

        Raises: ArchiveError: it isn't there, can't be read, is far too large or isn't text.
        """
        text, digest = _contents(path, "choose another case")
        self._known[_key(path)] = digest
        return text

    def write(self, path: Path, text: str) -> None:
        """Write the case file, whole; our draft of it has then done its duty and goes.

        Raises: ArchiveError: the file was changed by somebody else since it was read or written
            here, or exists and was never read here; or the folder or the disk refuses. What was
            on disk is then untouched.
        """
        if not _is_case(path):
            raise _error(
                path, "a case file's name ends in .json, not in .draft.json; choose another name"
            )
        self._write(
            path,
            text,
            if_new="there is a case of that name already; choose another name",
            if_changed="somebody else has changed this case since it was opened here; "
            "save beside it, then compare the two",
        )
        self._drop_draft_of(path, text)

    def write_draft(self, path: Path, text: str) -> None:
        """Keep what was typed since the case file was written, beside it.

        Raises: ArchiveError: the case is open in another window, or there is a draft that nobody
            has looked at; or the folder or the disk refuses.
        """
        beside = _draft_path(path)
        there = _stored_draft(beside)
        if there is not None and not there.is_ours and there.is_held(self._clock()):
            raise _error(
                path,
                f"this case is open in {there.where}; close it there, then go on here",
            )
        stored = {
            "draft_of": path.name,
            "saved_at": self._clock().isoformat(),
            "computer": platform.node(),
            "process": os.getpid(),
            "token": presence.own_token(),
            "case": text,
        }
        look_first = "holds what was typed in another window; open the case again to look at it"
        # json writes only ASCII, so that even half a character, which a paste can bring, is kept.
        self._write(beside, json.dumps(stored, indent=1), if_new=look_first, if_changed=look_first)

    def typed_elsewhere(self, path: Path) -> str:
        """The window that has typed what the case file doesn't say, in words; "" for none.

        One that is gone counts unless its draft was looked at here.
        Raises: ArchiveError: the draft can't be read, or isn't one.
        """
        beside = _draft_path(path)
        there = _stored_draft(beside)
        if there is None or there.is_ours or _says(path, there.text):
            return ""
        is_news = there.digest != self._known.get(_key(beside))
        return there.where if is_news or there.is_held(self._clock()) else ""

    def draft(self, path: Path) -> Draft | None:
        """The draft of a case, whoever wrote it; None when there is none.

        A draft that was looked at may be written over.
        Raises: ArchiveError: it can't be read, or isn't a draft.
        """
        beside = _draft_path(path)
        stored = _stored_draft(beside)
        if stored is None:
            return None
        self._known[_key(beside)] = stored.digest
        is_held = stored.is_ours or stored.is_held(self._clock())
        return Draft(
            stored.text, stored.saved_at, is_orphan=not is_held and not _says(path, stored.text)
        )

    def discard_draft(self, path: Path) -> None:
        """Remove the draft of a case, if there is one.

        Raises: ArchiveError: the folder refuses.
        """
        beside = _draft_path(path)
        with _refusals(beside):
            beside.unlink(missing_ok=True)
        self._known.pop(_key(beside), None)

    def discard_own_draft(self, path: Path) -> None:
        """Remove the draft of a case if this process wrote it; one of somebody else stays.

        Raises: ArchiveError: it can't be read, or the folder refuses.
        """
        stored = _stored_draft(_draft_path(path))
        if stored is not None and stored.is_ours:
            self.discard_draft(path)

    def keep_draft(self, path: Path) -> Path | None:
        """Keep a draft as a case file of its own, so that another may take its place.

        Gives the new file; None when there is no draft. Raises: ArchiveError: as `write`.
        """
        stored = _stored_draft(_draft_path(path))
        if stored is None:
            return None
        kept = self.new_path(f"{path.stem}_earlier_draft")
        self.write(kept, stored.text)
        self.discard_draft(path)
        return kept

    def new_path(self, stem: str, used: Iterable[Path] = ()) -> Path:
        """A name for a case that no case and no draft has, made from some words.

        `used` are names that were given out and stand in no file yet.
        Raises: ArchiveError: the folder isn't there or can't be read.
        """
        taken = {path.name.casefold() for path in (*self._files(), *used)}
        plain = plain_stem(stem)
        for number in itertools.count(1):
            path = self.folder / f"{plain}{'' if number == 1 else f'_{number}'}{CASE_SUFFIX}"
            if not {path.name.casefold(), _draft_path(path).name.casefold()} & taken:
                return path
        raise AssertionError("there are more numbers than files")

    def _files(self) -> list[Path]:
        with _refusals(self.folder, "choose another folder"):
            entries = sorted(self.folder.iterdir(), key=lambda path: (path.name.casefold(), path))
            return [path for path in entries if path.is_file()]

    def _write(self, path: Path, text: str, *, if_new: str, if_changed: str) -> None:
        """Write the file unless that would lose what it holds: then refuse in those words."""
        data = _encoded(path, text)
        known = self._known.get(_key(path))
        with _refusals(path):
            there = _bytes_of(path) if path.exists() else None
            if there not in (None, data) and _digest(there) != known:
                if known is None:
                    raise _error(path, if_new)
                raise _error(path, if_changed, ChangedElsewhere)
            write_atomically(path, data)
        self._known[_key(path)] = _digest(data)

    def _drop_draft_of(self, path: Path, text: str) -> None:
        # The case is safe by now: a draft that can't be read or removed is no reason to alarm.
        with contextlib.suppress(ArchiveError):
            stored = _stored_draft(_draft_path(path))
            if stored is not None and (stored.is_ours or stored.text == text):
                self.discard_draft(path)


def _is_draft(path: Path) -> bool:
    return path.name.lower().endswith(DRAFT_MARK + CASE_SUFFIX)


def _is_case(path: Path) -> bool:
    return (
        path.suffix.lower() == CASE_SUFFIX and not path.name.startswith(".") and not _is_draft(path)
    )


def _draft_path(path: Path) -> Path:
    return path.with_name(path.stem + DRAFT_MARK + path.suffix)


def _case_path(draft: Path) -> Path:
    return draft.with_name(draft.stem[: -len(DRAFT_MARK)] + draft.suffix)


def _key(path: Path) -> str:
    return os.path.realpath(path)


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _bytes_of(path: Path) -> bytes:
    """The first MOST_BYTES of a file, and one more if there are more."""
    if not stat.S_ISREG(path.stat().st_mode):
        # A folder has no text, and a pipe would be waited for without end.
        raise _error(path, "this is no ordinary file; choose another name")
    with path.open("rb") as file:
        return file.read(MOST_BYTES + 1)


def _contents(path: Path, remedy: str) -> tuple[str, str]:
    """The text of a file and the digest of its bytes."""
    with _refusals(path, remedy):
        data = _bytes_of(path)
    if len(data) > MOST_BYTES:
        raise _error(path, f"larger than any case file ({MOST_BYTES} bytes); {remedy}")
    try:
        return data.decode("utf-8-sig"), _digest(data)
    except UnicodeDecodeError as error:
        raise _error(
            path, f"byte {error.start + 1} isn't text in UTF-8, so not a case file; {remedy}"
        ) from error


def _says(path: Path, text: str) -> bool:
    """True when the case file is there and holds this text."""
    with contextlib.suppress(ArchiveError):
        return _contents(path, "")[0] == text
    return False


def _stored_draft(beside: Path) -> _StoredDraft | None:
    """The draft in a file; None when there is no file."""
    remedy = "move it out of the folder"
    with _refusals(beside, remedy):
        if not beside.exists():
            return None
    text, digest = _contents(beside, remedy)
    try:
        stored = json.loads(text)
        return _StoredDraft(
            text=_text(stored["case"]),
            saved_at=datetime.fromisoformat(stored["saved_at"]).astimezone(),
            token=_text(stored["token"]),
            process=int(stored["process"]),
            computer=_text(stored["computer"]),
            digest=digest,
        )
    except (ValueError, TypeError, KeyError, RecursionError, OverflowError) as error:
        raise _error(beside, f"isn't a draft that opnote has written; {remedy}") from error


def _encoded(path: Path, text: str) -> bytes:
    try:
        data = text.encode()
    except UnicodeEncodeError as error:
        raise _error(
            path,
            f"character {error.start + 1} ({text[error.start]!a}) is half a character and "
            "can't be written; delete it and type it again",
        ) from error
    if len(data) > MOST_BYTES:
        raise _error(
            path, f"more than a case file may hold ({MOST_BYTES} bytes); shorten the longest text"
        )
    return data


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError("not a text")
    return value


def plain_stem(stem: str) -> str:
    """Words as a file name that every system takes, without dots that would change its ending."""
    words = re.findall(r"[\w-]+", unicodedata.normalize("NFC", stem))
    plain = "_".join(words)[:_LONGEST_STEM].strip("_-") or "case"
    return f"case_{plain}" if _RESERVED.fullmatch(plain) else plain


def _error(path: Path, words: str, kind: type[ArchiveError] = ArchiveError) -> ArchiveError:
    shown = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in str(path))
    return kind(f"{shown}: {words}")


@contextlib.contextmanager
def _refusals(path: Path, remedy: str = "save in another folder") -> Iterator[None]:
    """Say what the system refuses in a line for people."""
    try:
        yield
    except OSError as error:
        match error.errno:
            case errno.ENOENT | errno.ENOTDIR:
                words = f"it isn't there, or its folder isn't; {remedy}"
            case errno.ENOSPC | errno.EDQUOT:
                words = "the disk is full; free some space, then save again"
            case errno.EACCES | errno.EPERM | errno.EROFS:
                words = f"no permission ({error.strerror}); ask who owns the folder, or {remedy}"
            case _:
                words = f"the system refuses ({error.strerror or error}); {remedy}"
        raise _error(path, words) from error
