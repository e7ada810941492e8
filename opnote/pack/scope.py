"""The names that expressions may use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from opnote.pack.form import Field, Limit


@dataclass(frozen=True, slots=True)
class Scope:
    """The names an expression may use: the form's paths, its limits, and the rows in hand."""

    fields: Mapping[str, Field]
    limits: Mapping[str, Limit]
    rows: Mapping[str, Field] = field(default_factory=dict)

    groups: frozenset[str] = field(default=frozenset(), repr=False, compare=False)

    def __post_init__(self) -> None:
        if not self.groups:
            # Once for a form: whoever adds a row to a scope hands them on.
            dotted = (p.partition(".") for p, f in self.fields.items() if not f.table)
            groups = frozenset(first for first, dot, _ in dotted if dot)
            object.__setattr__(self, "groups", groups)

    def with_row(self, name: str, table: Field) -> Scope:
        """This scope with one more row in hand."""
        return Scope(self.fields, self.limits, {**self.rows, name: table}, self.groups)

    def is_group(self, name: str) -> bool:
        """Whether a name is the first part of a dotted path: `tourniquet` of `tourniquet.used`."""
        return name in self.groups
