"""Writing documents to disk, whole or not at all."""

from __future__ import annotations

from pathlib import Path

from opnote.record import atomic


class ComposeError(Exception):
    """A document couldn't be made or written; one line for people, with the remedy."""


def write_atomically(path: Path, data: bytes) -> None:
    """Write the file so that at every moment it is the old one or the new one, never a part.

    Raises: ComposeError: the folder or the disk refuses; an older file is then left as it was.
    """
    try:
        atomic.write_atomically(path, data)
    except OSError as error:
        raise _refusal(path, error) from error


def _refusal(path: Path, error: OSError) -> ComposeError:
    reason = error.strerror or str(error)
    if path.is_dir():
        return ComposeError(f"{path}: this is a folder; name a file in it with --out")
    if not path.parent.is_dir():
        return ComposeError(
            f"{path}: there is no folder {path.parent} ({reason}); "
            "make it or choose another with --out"
        )
    return ComposeError(f"{path}: can't be written ({reason}); choose another folder with --out")
