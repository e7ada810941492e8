"""Checking a folder of forms and wordings as a compiler checks a program."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from opnote.pack.files import procedures_in
from opnote.pack.loader import load_pack
from opnote.pack.problem import PackError, Problem


def lint_folder(folder: Path, today: date | None = None) -> tuple[Problem, ...]:
    """Every problem and warning in a folder: each procedure alone, then all of them in one case."""
    known = procedures_in([folder])
    if not known:
        return (Problem("forms", 1, "no procedure here", "add forms/<procedure>/form.toml"),)
    found: set[Problem] = set()
    for procedures in (*((name,) for name in known), known):
        try:
            found.update(load_pack(procedures, [folder], today).warnings)
        except PackError as error:
            found.update(error.problems)
    return tuple(sorted(found))
