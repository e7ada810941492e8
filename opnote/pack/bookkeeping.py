"""What a case file keeps beside its values: reasons, bookings, answers "not recorded", origins.

Each entry names a field or a finding. One that names nothing says what no document would print:
it is refused, or set aside when another edition wrote the file.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from opnote.pack.pack import Pack
from opnote.pack.problem import did_you_mean
from opnote.record import Origin

NO_FIELD = "the form has no such field"
_OF_FIELDS = ("usual", "gap", "confirm", "leftover")
"""Findings that name a field behind a colon, apart from the checks of the form."""
_OF_SHEET = ("risk_sheet", "not_recorded", "not_to_read", "too_late", "after_decision")
"""Findings about a sheet that was given."""
_EXPLAINED = ("adverse", "unusual")
_BOOKED = ("due",)


@dataclass(frozen=True, slots=True)
class Fault:
    """One entry that can't stay: its part of the file, its name, why, and what helps."""

    part: str
    name: str
    because: str
    remedy: str

    def __str__(self) -> str:
        said = f"{self.part}.{self.name}: {self.because}"
        return f"{said}; {self.remedy}" if self.remedy else said


@dataclass(frozen=True, slots=True)
class Entries:
    """The entries of a file as it was read; of `due` only the names matter here."""

    rows: Mapping[str, tuple[str, ...]]
    unanswered: Mapping[str, str]
    confirmed: frozenset[str]
    origins: Mapping[str, Origin]
    reasons: Mapping[str, str]
    due: Mapping[str, Any]


def faults_of(entries: Entries, pack: Pack) -> Iterator[Fault]:
    """Every entry that names nothing of the form or of the rows."""
    for part, paths in (
        ("unanswered", entries.unanswered),
        ("confirmed", entries.confirmed),
        ("origins", entries.origins),
    ):
        for path in sorted(paths):
            yield from _about_field(part, path, entries, pack)
    for name in entries.reasons:
        yield from _about_finding("reasons", name, _EXPLAINED, "takes no reason", pack)
    for name in entries.due:
        yield from _about_finding("due", name, _BOOKED, "is not booked for later", pack)


def _about_field(part: str, path: str, entries: Entries, pack: Pack) -> Iterator[Fault]:
    field = pack.field_at(path)
    if field is None or (field.table and path == field.path):
        known = [f.path for f in pack.form.fields]
        near = did_you_mean(path, known)
        yield Fault(part, path, NO_FIELD, near or "take the line away")
    elif field.is_computed:
        yield Fault(part, path, "is worked out by opnote", "take the line away")
    elif field.table:
        row = path[len(field.table) + 1 :].partition(".")[0]
        if row not in entries.rows.get(field.table, ()):
            because = f"'{field.table}' has no row '{row}'"
            yield Fault(part, path, because, "name one that is there")


def _about_finding(
    part: str, name: str, levels: tuple[str, ...], otherwise: str, pack: Pack
) -> Iterator[Fault]:
    head, _, rest = name.partition(":")
    checks = {check.id: check.level for check in pack.checks}
    if head in _OF_FIELDS:
        if pack.field_at(rest) is None:
            yield Fault(part, name, NO_FIELD, "take the line away")
        elif head != "usual" or part == "due":
            yield Fault(part, name, f"such a finding {otherwise}", "take the line away")
    elif head == "given":
        if rest not in _OF_SHEET or part == "due":
            yield Fault(part, name, "there is no such finding", "take the line away")
    elif head not in checks:
        near = did_you_mean(head, checks)
        yield Fault(part, name, "there is no such check", near or "take the line away")
    elif checks[head] not in levels:
        yield Fault(part, name, f"the check {otherwise}", "take the line away")
