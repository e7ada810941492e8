"""Packs kept on disk between two starts, by the content of their files.

What is kept is a checked pack with its compiled expressions and wordings, in a folder that only
this user can reach: it is read back with `pickle` and `marshal`, which must never read a stranger's
bytes.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import os
import pickle
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from opnote import __version__
from opnote.pack.files import shipped_root
from opnote.pack.pack import Pack
from opnote.record.atomic import write_atomically

_MOST_KEPT = 20


def cached_pack(
    procedures: Sequence[str],
    roots: Sequence[Path] | None = None,
    today: date | None = None,
    folder: Path | None = None,
) -> Pack:
    """The pack of these procedures: from the cache where nothing changed, else read anew.

    `folder` is where packs are kept, the user's cache folder unless told. Raises: PackError.
    """
    found_roots = tuple(roots or (shipped_root(),))
    folder = folder or user_folder("OPNOTE_CACHE", "cache")
    path = folder / f"{_digest(procedures, found_roots)}.pack"
    pack = _kept(path)
    if pack is None:
        # Late, because validating needs pydantic, which takes longer to load than a kept pack.
        from opnote.pack.loader import read_pack

        pack = read_pack(procedures, found_roots)
        _keep(pack, path)
    return pack.as_of(today or date.today())


def user_folder(variable: str, kind: str) -> Path:
    """The user's own folder for "cache" or "data"; an environment variable may name another."""
    told = os.environ.get(variable)
    if told:
        return Path(told)
    home = Path.home()
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", home / "AppData" / "Local")) / "opnote" / kind
    if sys.platform == "darwin":
        library = "Caches" if kind == "cache" else "Application Support"
        return home / "Library" / library / "opnote"
    usual = {"cache": ("XDG_CACHE_HOME", ".cache"), "data": ("XDG_DATA_HOME", ".local/share")}
    name, below = usual[kind]
    return Path(os.environ.get(name) or home / below) / "opnote"


def _digest(procedures: Sequence[str], roots: Sequence[Path]) -> str:
    """A name for what a pack is made from: the programs, and every file's name and content."""
    programs = (__version__, sys.version)
    digest = hashlib.sha256(repr((programs, tuple(procedures))).encode())
    for root in roots:
        for folder, ending in (("forms", "*.toml"), ("templates", "*.md")):
            for path in sorted((root / folder).glob(f"*/{ending}")):
                digest.update(path.relative_to(root).as_posix().encode() + b"\0")
                try:
                    content = path.read_bytes()
                except OSError:
                    continue  # reading the pack says what is wrong with it
                digest.update(hashlib.sha256(content).digest())
    # The program's own files count too: a checkout changes without a new version. Jinja's compiler
    # stands for its version, since asking for that loads the whole of it.
    jinja = importlib.util.find_spec("jinja2")
    assert jinja is not None
    assert jinja.origin is not None
    rooms = (Path(__file__).parents[1] / room for room in ("pack", "record", "reckon"))
    makers = [path for room in rooms for path in sorted(room.glob("*.py"))]
    for path in (*makers, Path(jinja.origin).with_name("compiler.py")):
        told = path.stat()
        digest.update(f"{told.st_mtime_ns} {told.st_size} ".encode())
    return digest.hexdigest()[:40]


def _kept(path: Path) -> Pack | None:
    try:
        if not _is_private(path.parent):
            return None
        pack = pickle.loads(path.read_bytes())
        return pack if isinstance(pack, Pack) else None
    except Exception:
        # Whatever is wrong with a kept pack, the files it was made from are still there.
        return None


def _keep(pack: Pack, path: Path) -> None:
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        if not _is_private(path.parent):
            return
        write_atomically(path, pickle.dumps(pack, pickle.HIGHEST_PROTOCOL))
        kept = sorted(path.parent.glob("*.pack"), key=lambda other: other.stat().st_mtime)
        for old in kept[:-_MOST_KEPT]:
            old.unlink()


def _is_private(folder: Path) -> bool:
    """True when nobody else can write to a folder."""
    if sys.platform == "win32":
        return True
    found = folder.stat()
    return found.st_uid == os.getuid() and not found.st_mode & 0o022
