"""One case at one moment. Nothing here knows what a field means; the form does."""

from __future__ import annotations

import enum
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from types import MappingProxyType
from typing import Any

from opnote.record.signature import Addendum, BegunAddendum, Signature
from opnote.record.value import UNSET, Unset, Value


def _empty() -> Mapping[str, Any]:
    return MappingProxyType({})


class Origin(enum.StrEnum):
    """How a value came to be."""

    TYPED = "typed"
    LISTED = "listed"
    PRESET = "preset"
    CARRIED_OVER = "carried_over"
    SCANNED = "scanned"
    DRAWN = "drawn"
    COMPUTED = "computed"


NEEDS_CONFIRMATION = frozenset({Origin.LISTED, Origin.PRESET, Origin.CARRIED_OVER})


@dataclass(frozen=True, slots=True)
class Due:
    """A check booked for after signing: when, and by whom."""

    at: datetime
    by: str


@dataclass(frozen=True, slots=True)
class Told:
    """One answer that a patient was told: its value as a case file writes it, and its words."""

    value: str
    words: str


@dataclass(frozen=True, slots=True)
class Given:
    """A document that a patient was given: when, with figures of which edition, and what it said.

    Shape: `said` maps the path of what the patient was told to what it was at that time.
    """

    on: date
    edition: str
    said: Mapping[str, Told]


@dataclass(frozen=True, slots=True)
class Leftover:
    """A value that the present edition of the form has no place for; kept, never dropped.

    `value` is the JSON of the case file; `because` says why it did not fit, `edition` names the
    edition of the form it was written with.
    """

    value: Any
    because: str
    edition: str


@dataclass(frozen=True, slots=True)
class Record:
    """The values of a case at one moment.

    Shape: `values` maps a path to its value: `side`, `patient.name`, `tears.r1.length_mm`.
    `rows` maps the path of a table to its row ids in order; an absent table is unset, an empty
    tuple is the answer "none". Row ids are never used twice in a case. `origins` names only what
    was not typed. `unanswered` maps a path to the reason why it is not recorded. `reasons` and
    `due` are keyed by finding id; `facts` says for each of them what was so when a person settled
    the finding: it holds only as long as that is still so. `given` is keyed by document, the
    last giving last. A signed case has a `signature`, its `addenda` in order, and perhaps one that
    is `begun`.
    """

    procedures: tuple[str, ...]
    editions: Mapping[str, str] = field(default_factory=_empty)
    values: Mapping[str, Value] = field(default_factory=_empty)
    rows: Mapping[str, tuple[str, ...]] = field(default_factory=_empty)
    origins: Mapping[str, Origin] = field(default_factory=_empty)
    confirmed: frozenset[str] = frozenset()
    reasons: Mapping[str, str] = field(default_factory=_empty)
    facts: Mapping[str, str] = field(default_factory=_empty)
    unanswered: Mapping[str, str] = field(default_factory=_empty)
    due: Mapping[str, Due] = field(default_factory=_empty)
    leftover: Mapping[str, Leftover] = field(default_factory=_empty)
    given: Mapping[str, tuple[Given, ...]] = field(default_factory=_empty)
    next_row: int = 1
    signature: Signature | None = None
    addenda: tuple[Addendum, ...] = ()
    begun: BegunAddendum | None = None

    def value(self, path: str) -> Value | Unset:
        """What was entered at a path, hidden or not; UNSET when nothing was."""
        return self.values.get(path, UNSET)

    def origin(self, path: str) -> Origin:
        """How the value at a path came to be."""
        return self.origins.get(path, Origin.TYPED)

    def is_unconfirmed(self, path: str) -> bool:
        """True when the value was listed, preset or carried over and nobody has confirmed it."""
        return (
            path in self.values
            and self.origin(path) in NEEDS_CONFIRMATION
            and path not in self.confirmed
        )

    def with_changes(self, **changes: Any) -> Record:
        """The same case with some parts replaced; mappings are sealed."""
        sealed: dict[str, Any] = {
            name: MappingProxyType(part) if isinstance(part, dict) else part
            for name, part in changes.items()
        }
        return replace(self, **sealed)
