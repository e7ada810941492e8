"""Checking a folder of forms and wordings as a compiler checks a program."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

from opnote.assess.assess import assess
from opnote.pack.files import procedures_in
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.pack.plan import start_from
from opnote.pack.problem import PackError, Problem


def lint_folder(folder: Path, today: date | None = None) -> tuple[Problem, ...]:
    """Every problem and warning in a folder: each procedure alone, then all of them in one case."""
    known = procedures_in([folder])
    if not known:
        return (Problem("forms", 1, "no procedure here", "add forms/<procedure>/form.toml"),)
    found: set[Problem] = set()
    for procedures in (*((name,) for name in known), known):
        try:
            pack = load_pack(procedures, [folder], today)
        except PackError as error:
            found.update(error.problems)
        else:
            found.update(pack.warnings)
            found.update(_plan_problems(pack))
    return tuple(sorted(found))


def _plan_problems(pack: Pack) -> Iterator[Problem]:
    """Plans that the checks call contradictory as soon as they fill an empty case."""
    for plan in pack.plans:
        filled = start_from(plan, pack).apply(pack.new_record())
        for finding in assess(pack, pack.view(filled)).findings:
            if finding.level == "contradiction":
                yield Problem(
                    plan.place.file,
                    plan.place.line,
                    f"the plan '{plan.id}' contradicts itself: {finding.fact.rstrip('.')}",
                    finding.remedy or "correct its values",
                )
