"""A pack that was read and validated but not yet compiled: plain data that can be kept on disk."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import CodeType
from typing import Any

from opnote.pack.form import Field, FigureUse, Limit, Milestone, Page, Place
from opnote.pack.pack import Audit, Plan, Review, Term
from opnote.pack.problem import Problem


@dataclass(frozen=True, slots=True)
class CheckDraft:
    """A check before its expressions are compiled; `places` says where each key stands."""

    id: str
    ref: str
    level: str
    each: str | None
    when: str
    say: str
    settle: str
    after: tuple[str, ...]
    look_at: tuple[str, ...]
    source: str
    places: Mapping[str, Place]


@dataclass(frozen=True, slots=True)
class RiskDraft:
    """A risk before its conditions are compiled; `content` are the other keys of `Risk`.

    Shape: `modifiers` are words, whether they raise it, their condition, and its place.
    """

    applies_when: str | None
    content: Mapping[str, Any]
    modifiers: tuple[tuple[str, bool, str | None, Place], ...]
    place: Place
    condition_place: Place


@dataclass(frozen=True, slots=True)
class SurvivalDraft:
    """A survival study before its condition is compiled; `content` as for a risk."""

    applies_when: str | None
    content: Mapping[str, Any]
    place: Place
    condition_place: Place


@dataclass(frozen=True, slots=True)
class ElementDraft:
    """An element of a standard before its condition is compiled."""

    id: str
    title: str
    code: str
    known: str
    applies_when: str | None
    place: Place
    met_when: str | None
    met_place: Place


@dataclass(frozen=True, slots=True)
class StandardDraft:
    """A standard before its conditions are compiled."""

    id: str
    title: str
    source: str
    elements: tuple[ElementDraft, ...]


@dataclass(slots=True)
class Draft:
    """Everything that reading a pack has found: its data, and what is wrong with it.

    Shape: `expression_places` says by path and key where a field's expressions stand.
    """

    procedures: tuple[str, ...]
    editions: dict[str, str] = field(default_factory=dict)
    titles: dict[str, str] = field(default_factory=dict)
    pages: dict[str, Page] = field(default_factory=dict)
    fields: dict[str, Field] = field(default_factory=dict)
    expression_places: dict[tuple[str, str], Place] = field(default_factory=dict)
    limits: dict[str, Limit] = field(default_factory=dict)
    figures: dict[str, FigureUse] = field(default_factory=dict)
    milestones: list[Milestone] = field(default_factory=list)
    checks: dict[str, CheckDraft] = field(default_factory=dict)
    risks: dict[str, RiskDraft] = field(default_factory=dict)
    audits: dict[str, list[Audit]] = field(default_factory=dict)
    survival: dict[str, SurvivalDraft] = field(default_factory=dict)
    figures_of: Review | None = None
    glossary: dict[str, Term] = field(default_factory=dict)
    plans: dict[str, Plan] = field(default_factory=dict)
    standards: dict[str, StandardDraft] = field(default_factory=dict)
    wordings: dict[str, CodeType] = field(default_factory=dict)
    reviews: list[Review] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    warnings: list[Problem] = field(default_factory=list)

    def problem(self, place: Place, message: str, remedy: str = "") -> None:
        """Note what is wrong."""
        self.problems.append(Problem(place.file, place.line, message, remedy))

    @property
    def is_broken(self) -> bool:
        """True when something is wrong."""
        return bool(self.problems)
