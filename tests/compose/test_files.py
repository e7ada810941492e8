"""A file is there whole, or the old one still is."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

import pytest

from opnote.compose.document import Document
from opnote.compose.files import ComposeError, write_atomically
from opnote.compose.formats import FORMATS, write_document


def refuse(code: int) -> object:
    def refusing(*_: object, **__: object) -> None:
        raise OSError(code, os.strerror(code))

    return refusing


def test_file_holds_exactly_the_bytes(tmp_path: Path) -> None:
    path = tmp_path / "note.docx"
    path.write_bytes(b"older and longer")
    write_atomically(path, b"new")
    assert path.read_bytes() == b"new"
    assert os.listdir(tmp_path) == ["note.docx"]


@pytest.mark.parametrize(
    ("call", "code", "reason"),
    [
        ("fsync", errno.ENOSPC, "No space left on device"),
        ("replace", errno.EACCES, "Permission denied"),
        ("replace", errno.EROFS, "Read-only file system"),
    ],
)
def test_refusal_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, code: int, reason: str
) -> None:
    path = tmp_path / "note.docx"
    path.write_bytes(b"signed")
    monkeypatch.setattr(os, call, refuse(code))
    with pytest.raises(ComposeError) as caught:
        write_atomically(path, b"new")
    assert path.read_bytes() == b"signed"
    assert os.listdir(tmp_path) == ["note.docx"]
    message = str(caught.value)
    assert message.startswith(f"{path}: ")
    assert reason in message
    assert "--out" in message
    assert "\n" not in message


def test_folder_that_is_a_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("I am a file")
    with pytest.raises(ComposeError, match=r"there is no folder .*out .*--out"):
        write_atomically(tmp_path / "out" / "note.docx", b"new")


def test_folder_that_is_missing_is_named(tmp_path: Path) -> None:
    with pytest.raises(ComposeError, match=r"there is no folder .*nowhere"):
        write_atomically(tmp_path / "nowhere" / "note.docx", b"new")


def test_path_that_is_a_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "note.docx").mkdir()
    with pytest.raises(ComposeError, match="this is a folder"):
        write_atomically(tmp_path / "note.docx", b"new")
    assert os.listdir(tmp_path) == ["note.docx"]


def test_name_of_greatest_length_can_be_written(tmp_path: Path) -> None:
    path = tmp_path / ("n" * 250 + ".docx")
    write_atomically(path, b"new")
    assert path.read_bytes() == b"new"


def test_file_kept_private_stays_private(tmp_path: Path) -> None:
    path = tmp_path / "note.txt"
    path.write_text("old")
    path.chmod(0o600)
    write_atomically(path, b"new")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


@pytest.mark.parametrize(
    ("ending", "start"),
    [("docx", b"PK"), ("pdf", b"%PDF"), ("html", b"<!DOCTYPE html>"), ("txt", b"Mr Perc")],
)
def test_ending_chooses_the_format(
    note: Document, tmp_path: Path, ending: str, start: bytes
) -> None:
    path = tmp_path / f"note.{ending.upper()}"
    write_document(note, path)
    assert path.read_bytes().startswith(start)
    assert FORMATS[ending](note) == path.read_bytes()


def test_unknown_ending_says_which_are_known(note: Document, tmp_path: Path) -> None:
    with pytest.raises(ComposeError, match=r"'\.odt'; use one of \.docx, \.pdf, \.html, \.txt"):
        write_document(note, tmp_path / "note.odt")
