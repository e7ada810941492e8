"""Files that are written whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import shutil
from pathlib import Path
from typing import Final

PART_SUFFIX: Final = ".part"
"""How the name of a file that is still being written ends; it also starts with a dot."""


def write_atomically(path: Path, data: bytes) -> None:
    """Write the file so that at every moment it is the old one or the new one, never a part.

    When this returns, the file and its name are on the disk. A file that exists keeps its
    permissions; where the path is a link, what it points to is replaced and the link stays.
    Raises: OSError: the folder or the disk refuses, or the file is marked read-only; an older
        file is then left as it was.
    """
    target = Path(os.path.realpath(path))
    _respect_read_only(target)
    # Opened by name rather than by tempfile, whose files only their maker may read; of a fixed
    # length, so that a name of the greatest length can be written as well.
    temporary = target.with_name(f".{secrets.token_hex(8)}{PART_SUFFIX}")
    try:
        with temporary.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        with contextlib.suppress(FileNotFoundError):
            shutil.copymode(target, temporary)
        os.replace(temporary, target)
    except BaseException:
        # Also when a person interrupts: half a file is of use to nobody.
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise
    _put_name_on_disk(target.parent)


def _respect_read_only(target: Path) -> None:
    """Replacing asks only the folder for permission, and nobody at all for root."""
    with contextlib.suppress(FileNotFoundError):
        if not target.stat().st_mode & 0o222:
            raise PermissionError(errno.EACCES, "the file is read-only", str(target))


def _put_name_on_disk(folder: Path) -> None:
    """Make a new name in the folder outlast a power cut, where the system can do that.

    Windows has no such call, and some network shares refuse it. The file is complete by then, so
    that is no failure to write.
    """
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
