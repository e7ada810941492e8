"""Loading a pack: read the files, validate them, resolve every name, compile.

All problems of all stages are collected; loading stops only where the next stage would be
nonsense without the one before.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from opnote.pack.build import build_pack
from opnote.pack.files import Files, procedures_in, shipped_root
from opnote.pack.pack import Pack
from opnote.pack.problem import PackError, Problem, did_you_mean
from opnote.pack.read_forms import read_draft
from opnote.pack.read_wordings import read_wordings


def load_pack(
    procedures: Sequence[str],
    roots: Sequence[Path] | None = None,
    today: date | None = None,
) -> Pack:
    """Read, check and compile everything about these procedures.

    `roots` are folders that hold `forms/` and `templates/`, the first in front of the others;
    `today` is the day by which editions are judged past their review; an old edition is a warning.
    Raises: PackError with all problems, each with file, line and remedy.
    """
    return read_pack(procedures, roots).as_of(today or date.today())


def read_pack(procedures: Sequence[str], roots: Sequence[Path] | None = None) -> Pack:
    """As `load_pack`, without looking at the day, so that it can be kept.

    Raises: PackError, as `load_pack`.
    """
    files = Files(tuple(roots or (shipped_root(),)))
    known = procedures_in(files.roots)
    unknown = [name for name in procedures if name not in known]
    if unknown or not procedures:
        name = unknown[0] if unknown else ""
        remedy = did_you_mean(name, known)
        raise PackError([Problem(f"forms/{name}", 1, f"unknown procedure '{name}'", remedy)])
    draft = read_draft(tuple(procedures), files)
    if draft.is_broken:
        raise PackError(draft.problems)
    read_wordings(draft, files)
    try:
        return build_pack(draft)
    except PackError as error:
        raise PackError(dict.fromkeys(error.problems)) from error
