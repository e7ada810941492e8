"""Whether a process that once wrote something is still running.

The number of a process can't tell: it is given out again, at the latest when the computer starts
anew after a power cut, which is when the answer matters most. So each process holds a lock on a
file with a name of its own, and the system lets go of the lock when the process ends, however it
ends.
"""

from __future__ import annotations

import atexit
import contextlib
import functools
import re
import secrets
import sys
import tempfile
from pathlib import Path
from typing import BinaryIO

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

_TOKEN = re.compile(r"[0-9a-f]{32}")


@functools.cache
def own_token() -> str:
    """The name of this process, known to no other; from now on others can see that it runs."""
    token = secrets.token_hex(16)
    # Without a place for the lock this process seems to be gone, and its drafts are offered to the
    # next one: a question too many, and nothing lost.
    with contextlib.suppress(OSError):
        _hold(_lock_path(token))
    return token


def is_running(token: str) -> bool:
    """True while the process of that name runs on this computer."""
    if not _TOKEN.fullmatch(token):
        return False
    try:
        path = _lock_path(token)
        file = path.open("r+b")
    except FileNotFoundError:
        return False
    except OSError:
        return True  # it belongs to somebody else, who alone can tell
    with file:
        if not _is_locked_by_us(file):
            return True
    with contextlib.suppress(OSError):
        path.unlink()
    return False


def _lock_path(token: str) -> Path:
    return Path(tempfile.gettempdir()) / f"opnote-{token}.lock"


def _hold(path: Path) -> None:
    file = path.open("x+b")
    file.write(b"\n")  # Windows locks bytes, not files
    file.flush()
    _is_locked_by_us(file)
    atexit.register(_let_go, file, path)


def _let_go(file: BinaryIO, path: Path) -> None:
    file.close()
    with contextlib.suppress(OSError):
        path.unlink()


def _is_locked_by_us(file: BinaryIO) -> bool:
    """Lock the file, unless another process has done so."""
    try:
        if sys.platform == "win32":
            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
