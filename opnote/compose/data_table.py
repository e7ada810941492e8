"""The rows that wordings walk besides the form's tables: risks, explanations, booked checks."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final, TypeAlias

from opnote.assess import Assessment
from opnote.assess.assess import label_of
from opnote.compose.risk_words import risk_rows, sheet_rows, survival_rows
from opnote.pack.given import changes_since_given, last_given
from opnote.pack.pack import Pack, plain_rows
from opnote.pack.view import View, date_words

Rows: TypeAlias = list[dict[str, Any]]


class DataTables(Mapping[str, Rows]):
    """The tables of a case by name, each worked out when it is asked for.

    `before` are those of an earlier state: a table is taken from it where none of the fields that
    decide it is among the `changed`.
    """

    def __init__(
        self,
        pack: Pack,
        view: View,
        assessment: Assessment,
        before: DataTables | None = None,
        changed: frozenset[str] = frozenset(),
    ) -> None:
        self._pack = pack
        self._view = view
        self._assessment = assessment
        self._rows: dict[str, Rows] = {}
        if before is not None:
            self._rows.update(self._unchanged(before, changed))

    def _unchanged(self, before: DataTables, changed: frozenset[str]) -> Iterator[tuple[str, Rows]]:
        is_given_anew = before._view.record.given != self._view.record.given
        for name, rows in before._rows.items():
            if name in ("risks", "survival"):
                holds = self._pack.figure_reads.isdisjoint(changed)
            else:
                holds = (
                    name == "sheet_changes"
                    and not is_given_anew
                    and self._pack.told_fields.isdisjoint(changed)
                )
            if holds:
                yield name, rows

    def changed_since(self, before: DataTables) -> set[str]:
        """The tables that were asked for before and hold other rows now."""
        return {
            name
            for name, rows in before._rows.items()
            if self[name] is not rows and self[name] != rows
        }

    def __contains__(self, name: object) -> bool:
        return name in _TABLES

    def __iter__(self) -> Iterator[str]:
        return iter(_TABLES)

    def __len__(self) -> int:
        return len(_TABLES)

    def __getitem__(self, name: str) -> Rows:
        if name not in self._rows:
            self._rows[name] = plain_rows(_TABLES[name](self._pack, self._view, self._assessment))
        return self._rows[name]


def _explanations(pack: Pack, view: View, assessment: Assessment) -> Rows:
    reasons = view.record.reasons
    return [
        {"level": f.level, "message": f.fact, "reason": reasons[f.id]}
        for f in assessment.findings
        if f.settled and f.id in reasons
    ]


def _booked(pack: Pack, view: View, assessment: Assessment) -> Rows:
    due = view.record.due
    return [
        {
            "id": f.id,
            "message": f.fact,
            "at": f"{date_words(due[f.id].at)}, {due[f.id].at:%H:%M}",
            "by": due[f.id].by,
        }
        for f in assessment.findings
        if f.settled and f.id in due
    ]


def _unanswered(pack: Pack, view: View, assessment: Assessment) -> Rows:
    return [
        {"label": label_of(view.concrete[path].field, path, view), "because": because}
        for path, because in view.record.unanswered.items()
        if because.strip() and not view.is_hidden(path) and not view.is_recorded(path)
    ]


def _given_sheet(pack: Pack, view: View, assessment: Assessment) -> Rows:
    given = last_given(view)
    return [] if given is None else [{"on": date_words(given.on), "edition": given.edition}]


def _sheet_changes(pack: Pack, view: View, assessment: Assessment) -> Rows:
    return [
        {"label": change.label, "before": change.before, "now": change.now}
        for change in changes_since_given(pack, view)
    ]


_TABLES: Final[Mapping[str, Callable[[Pack, View, Assessment], Rows]]] = {
    "risks": lambda pack, view, _: risk_rows(pack.risks, view),
    "survival": lambda pack, view, _: survival_rows(pack.survival, view),
    "sheet": lambda pack, view, _: sheet_rows(pack, view),
    "given_sheet": _given_sheet,
    "sheet_changes": _sheet_changes,
    "explanations": _explanations,
    "booked": _booked,
    "unanswered": _unanswered,
}
