"""A file is there whole, or the old one still is."""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from opnote.record.atomic import write_atomically


def refusing(code: int) -> Callable[..., None]:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(code, os.strerror(code))

    return refuse


def test_file_holds_exactly_the_bytes(tmp_path: Path) -> None:
    path = tmp_path / "case.json"
    path.write_bytes(b"older and longer")
    write_atomically(path, b"new")
    assert path.read_bytes() == b"new"
    assert os.listdir(tmp_path) == ["case.json"]


@pytest.mark.parametrize(
    ("call", "code"),
    [
        ("fsync", errno.ENOSPC),
        ("replace", errno.EACCES),
        ("replace", errno.EROFS),
    ],
)
def test_refusal_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, code: int
) -> None:
    path = tmp_path / "case.json"
    path.write_bytes(b"signed")
    monkeypatch.setattr(os, call, refusing(code))
    with pytest.raises(OSError, match=os.strerror(code)) as caught:
        write_atomically(path, b"new")
    assert caught.value.errno == code
    assert path.read_bytes() == b"signed"
    assert os.listdir(tmp_path) == ["case.json"]


def test_interruption_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    path = tmp_path / "case.json"
    path.write_bytes(b"signed")
    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_atomically(path, b"new")
    assert path.read_bytes() == b"signed"
    assert os.listdir(tmp_path) == ["case.json"]


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no SIGKILL")
def test_killed_process_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "case.json"
    path.write_bytes(b"signed")
    killed_at_the_worst_moment = (
        "import os, signal, sys\n"
        "from pathlib import Path\n"
        "from opnote.record.atomic import write_atomically\n"
        "os.replace = lambda *_: os.kill(os.getpid(), signal.SIGKILL)\n"
        "write_atomically(Path(sys.argv[1]), b'half')\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", killed_at_the_worst_moment, str(path)], check=False
    )
    assert done.returncode < 0
    assert path.read_bytes() == b"signed"


def test_folder_that_cannot_be_synced_is_no_failure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def sync_files_only(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EINVAL, "not on this share")

    monkeypatch.setattr(os, "fsync", sync_files_only)
    write_atomically(tmp_path / "case.json", b"new")
    assert (tmp_path / "case.json").read_bytes() == b"new"


def test_file_kept_private_stays_private(tmp_path: Path) -> None:
    path = tmp_path / "case.json"
    path.write_bytes(b"old")
    path.chmod(0o600)
    write_atomically(path, b"new")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_file_marked_read_only_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "case.json"
    path.write_bytes(b"signed")
    path.chmod(0o444)
    with pytest.raises(PermissionError, match="read-only"):
        write_atomically(path, b"new")
    assert path.read_bytes() == b"signed"
    assert os.listdir(tmp_path) == ["case.json"]


def test_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    target = tmp_path / "shared" / "case.json"
    target.write_bytes(b"old")
    link = tmp_path / "case.json"
    link.symlink_to(target)
    write_atomically(link, b"new")
    assert link.is_symlink()
    assert target.read_bytes() == b"new"


def test_name_of_greatest_length_can_be_written(tmp_path: Path) -> None:
    path = tmp_path / ("n" * 250 + ".json")
    write_atomically(path, b"new")
    assert path.read_bytes() == b"new"


@pytest.mark.parametrize("place", ["nowhere/case.json", "a_file/case.json", "a_folder"])
def test_place_that_is_no_place_is_refused(tmp_path: Path, place: str) -> None:
    (tmp_path / "a_file").write_bytes(b"")
    (tmp_path / "a_folder").mkdir()
    before = sorted(os.listdir(tmp_path))
    with pytest.raises(OSError, match=r"."):
        write_atomically(tmp_path / place, b"new")
    assert sorted(os.listdir(tmp_path)) == before
