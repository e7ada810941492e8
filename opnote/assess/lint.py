"""Checking a folder of forms and wordings as a compiler checks a program."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

from opnote.assess.assess import assess
from opnote.pack.files import procedures_in
from opnote.pack.given import OPERATED
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.pack.plan import plan_paths, start_from
from opnote.pack.problem import PackError, Problem
from opnote.record import set_value


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
    """What the checks say to a plan as soon as it fills an empty case, and what it can't fill."""
    for plan in pack.plans:
        empty = pack.new_record()
        if OPERATED in pack.fields:
            # The days that a plan leads to are reckoned from some day.
            empty = set_value(OPERATED, _SOME_DAY, "").apply(empty)
        filled = start_from(plan, pack).apply(empty)
        for path in plan.values.keys() - filled.values.keys():
            if _is_hidden_by_plans(path, pack):
                yield Problem(
                    plan.place.file,
                    plan.place.line,
                    f"the plan '{plan.id}' fills '{path}', which its other answers hide",
                    "take the line away, or change what hides it",
                )
        for finding in assess(pack, pack.view(filled)).findings:
            if finding.level in _SAID_TO_PLANS:
                yield Problem(
                    plan.place.file,
                    plan.place.line,
                    f"the plan '{plan.id}' {_SAID_TO_PLANS[finding.level]}: "
                    f"{finding.fact.rstrip('.')}",
                    finding.remedy or "correct its values",
                    is_warning=finding.level == "unusual",
                )


_SOME_DAY = date(2026, 3, 9)
_SAID_TO_PLANS = {
    "contradiction": "contradicts itself",
    "adverse": "is remarked on",
    "unusual": "is unusual",
}


def _is_hidden_by_plans(path: str, pack: Pack) -> bool:
    """True when only what plans fill decides whether a field is shown."""
    rule = next(rule for rule in pack.rules if rule.field.path == path)
    return rule.shown_when is not None and rule.shown_when.paths <= plan_paths(pack)
