"""A loaded pack: everything opnote knows about the procedures of one case."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date
from functools import cached_property
from typing import Any

from opnote.pack.compiled import Expression, Rows
from opnote.pack.compiled_wording import Wording
from opnote.pack.form import TEXTS, Field, Form, Place
from opnote.pack.problem import Problem
from opnote.pack.scope import Scope
from opnote.pack.view import Layout, Rule, View, quantity_words
from opnote.reckon.survival import Point
from opnote.record import UNSET, Record, Value

DOCUMENTS = ("note", "risk_sheet", "recovery_plan", "recovery_card", "letter")
"""The documents of a case."""


@dataclass(frozen=True, slots=True)
class Target:
    """A path as a check names it, found anew in each case: `tears`, `s.entry_mm`, `s.tear.rim_mm`.

    Shape: `row` is the row name it starts from ("" for a path of the form), `table` that row's
    table, `columns` the columns to follow, of which all but the last are refs.
    """

    source: str
    path: str = ""
    row: str = ""
    table: str = ""
    columns: tuple[Field, ...] = ()

    @property
    def reads(self) -> frozenset[str]:
        """The fields by which it is found, and the one that it names."""
        if not self.row:
            return frozenset((self.path,))
        return frozenset((self.table, *(column.path for column in self.columns)))

    def concrete(self, view: View, rows: Rows) -> str:
        """The path in this case; that of the row itself where a ref leads nowhere."""
        if not self.row:
            return self.path
        if self.table == TEXTS.path:
            return rows[self.row]
        path = f"{self.table}.{rows[self.row]}"
        for index, column in enumerate(self.columns):
            path = f"{path}.{column.name}"
            if index < len(self.columns) - 1:
                found = view.values.get(path, UNSET)
                if found is UNSET:
                    return path
                path = f"{column.refers_to}.{found}"
        return path


@dataclass(frozen=True, slots=True)
class Said:
    """A piece of a message: plain words, a limit, a value of the case, or reckoned words."""

    text: str = ""
    target: Target | None = None
    reckoned: Expression | None = None

    @property
    def reads(self) -> frozenset[str]:
        """The fields that it is made of."""
        if self.reckoned is not None:
            return self.reckoned.paths
        return frozenset() if self.target is None else self.target.reads

    def words(self, view: View, rows: Rows) -> str:
        """The piece in this case; "not recorded" for a value that isn't there."""
        if self.reckoned is not None:
            found = self.reckoned.run(view, rows)
            return "not recorded" if found is UNSET else str(found)
        if self.target is None:
            return self.text
        if self.target.table == TEXTS.path:
            return view.text_column(rows[self.target.row], self.target.columns[0].name)
        return view.said(self.target.concrete(view, rows)) or "not recorded"


@dataclass(frozen=True, slots=True)
class Check:
    """One compiled check."""

    id: str
    ref: str
    level: str
    row: str
    table: str
    when: Expression
    say: tuple[Said, ...]
    settle: tuple[Said, ...]
    after: tuple[str, ...]
    look_at: tuple[Target, ...]
    source: str
    place: Place

    @property
    def reads(self) -> frozenset[str]:
        """The fields that decide whether it fires, for which rows, and what it says."""
        said = (part.reads for part in (*self.say, *self.settle))
        looked_at = (target.reads for target in self.look_at)
        row = (self.table,) if self.row else ()
        return self.when.paths.union(row, self.after, *said, *looked_at)

    def firings(self, view: View, only: Collection[str] | None = None) -> Iterator[Rows]:
        """The rows in hand for each time that the check fires; no rows when it has none.

        `only` are the rows that are looked at, all unless told.
        """
        if not self.row:
            if self.when.run(view, {}) is True:
                yield {}
            return
        rows = view.texts if self.table == TEXTS.path else view.rows.get(self.table, ())
        for row in rows:
            inside = {self.row: row}
            if (only is None or row in only) and self.when.run(view, inside) is True:
                yield inside


@dataclass(frozen=True, slots=True)
class Term:
    """A medical word, the other ways in which it is written, and what it means to a patient."""

    words: tuple[str, ...]
    plain: str


@dataclass(frozen=True, slots=True)
class Review:
    """An edition and the day by which it is to be looked at again."""

    edition: str
    by: date
    place: Place


@dataclass(frozen=True, slots=True)
class Nearest:
    """The study whose people are nearest to those a risk is told to. Units: people."""

    events: int
    patients: int
    population: str
    follow_up: str
    definition: str
    remark: str
    source: str


@dataclass(frozen=True, slots=True)
class Modifier:
    """What makes a risk higher or lower; `when` says for whom, None: for anybody who has it."""

    words: str
    is_raising: bool
    when: Expression | None


@dataclass(frozen=True, slots=True)
class Audit:
    """A department's or a surgeon's own counted results. Units: people."""

    whose: str
    events: int
    patients: int
    period: str
    definition: str


@dataclass(frozen=True, slots=True)
class SurvivalStudy:
    """Published points of how long something held.

    `words` is the sentence for the patient; `held` goes on after "people of 100".

    Units: the points are in years and proportions from 0 to 1; `people` were in the study.
    """

    id: str
    title: str
    held: str
    words: str
    applies_when: Expression | None
    points: tuple[Point, ...]
    people: int
    population: str
    definition: str
    source: str
    year: int | None
    evidence: str
    place: Place


@dataclass(frozen=True, slots=True)
class Risk:
    """One risk of the risk sheet, with its figure and where it comes from.

    Units: `events` of `patients`, or `low` to `high` of `per` people; `range_low` to `range_high`
    of `per` is the spread over studies, `interval` the published 95 per cent interval of `per`.
    Shape: `for_whom` says in words what `applies_when` asks; `picture` is what those who had it
    did, for a drawing of a hundred people, "" for none.
    """

    id: str
    order: int
    title: str
    plain: str
    applies_when: Expression | None
    for_whom: str
    events: int | None
    patients: int | None
    low: float | None
    high: float | None
    per: int | None
    range_low: float | None
    range_high: float | None
    range_definition: str
    interval: tuple[float, float] | None
    nearest: Nearest | None
    modifiers: tuple[Modifier, ...]
    audits: tuple[Audit, ...]
    picture: str
    follow_up: str
    definition: str
    population: str
    remark: str
    source: str
    year: int | None
    evidence: str
    place: Place


@dataclass(frozen=True, slots=True)
class Plan:
    """A recovery plan that fills fields of the case, to be confirmed by a person."""

    id: str
    title: str
    suits: str
    source: str
    values: Mapping[str, Value]
    place: Place


@dataclass(frozen=True, slots=True)
class Element:
    """One element of a published standard, and the fields or the condition that meet it."""

    id: str
    title: str
    code: str
    known: str
    applies_when: Expression | None
    fields: tuple[str, ...]
    met_when: Expression | None


@dataclass(frozen=True, slots=True)
class Standard:
    """A published standard as a list of elements."""

    id: str
    title: str
    source: str
    elements: tuple[Element, ...]


@dataclass(frozen=True)
class Pack:
    """The forms, checks, risks and wordings of a case's procedures, valid and compiled.

    Shape: `rules` stand in the order of their dependence; `scope` holds every path of the form,
    columns included.
    """

    form: Form
    scope: Scope
    rules: tuple[Rule, ...]
    checks: tuple[Check, ...]
    risks: tuple[Risk, ...]
    survival: tuple[SurvivalStudy, ...]
    figures_of: Review | None
    glossary: tuple[Term, ...]
    plans: tuple[Plan, ...]
    standards: tuple[Standard, ...]
    wordings: Mapping[str, Wording]
    wording_fields: Mapping[str, Field]
    reviews: tuple[Review, ...] = ()
    warnings: tuple[Problem, ...] = ()

    @property
    def fields(self) -> Mapping[str, Field]:
        """Every field by path; columns stand as `tears.length_mm`."""
        return self.scope.fields

    def __reduce__(self) -> tuple[Callable[..., Pack], tuple[object, ...]]:
        # Without what was worked out from the fields meanwhile.
        return Pack, tuple(getattr(self, each.name) for each in fields(self))

    def as_of(self, day: date) -> Pack:
        """This pack with a warning for each edition that was to be reviewed before a day."""
        past = (
            Problem(
                review.place.file,
                review.place.line,
                f"edition {review.edition} was to be reviewed by {review.by}",
                "review it and set a new date",
                is_warning=True,
            )
            for review in self.reviews
            if review.by < day
        )
        return replace(self, warnings=(*self.warnings, *past))

    def view(self, record: Record, before: View | None = None) -> View:
        """What of a record counts on this form; faster from a view of a record much like it."""
        return View(record, self.rules, self.layout, before)

    @cached_property
    def layout(self) -> Layout:
        """The rules in the order of the form, each with those of its columns."""
        by_path = {rule.field.path: rule for rule in self.rules}
        return tuple(
            (by_path[made.path], tuple(by_path[column.path] for column in made.columns))
            for made in self.form.fields
        )

    def field_at(self, path: str) -> Field | None:
        """The field of a concrete path such as `tears.r3.length_mm`; None when there is none."""
        found = self.scope.fields.get(path)
        if found is not None:
            return found
        table, _, rest = path.rpartition(".")
        return self.scope.fields.get(f"{table.rpartition('.')[0]}.{rest}")

    @cached_property
    def references(self) -> Mapping[str, tuple[str, ...]]:
        """For each table the columns that refer to it."""
        found: dict[str, tuple[str, ...]] = {}
        for path, each in self.scope.fields.items():
            if each.kind == "ref":
                found[each.refers_to] = (*found.get(each.refers_to, ()), path)
        return found

    @cached_property
    def asked_by(self) -> Mapping[str, frozenset[str]]:
        """For each field the fields and tables of which it decides what is asked and usual."""
        found: dict[str, set[str]] = {}
        conditions = {
            f"{standard.id}.{element.id}": element.applies_when.paths
            for standard in self.standards
            for element in standard.elements
            if element.applies_when is not None
        }
        for rule, columns in self.layout:
            for each in (rule, *columns):
                read = {each.field.path}
                if each.required_when is not None:
                    read |= each.required_when.paths
                # A gap names the standards that ask for it in this case.
                read.update(*(conditions.get(element, ()) for element in each.field.meets))
                for path in self.with_tables(read):
                    found.setdefault(path, set()).add(rule.field.path)
        return {path: frozenset(asked) for path, asked in found.items()}

    @cached_property
    def checked_by(self) -> Mapping[str, frozenset[int]]:
        """For each field the checks that look at it, by their numbers in `checks`."""
        found: dict[str, set[int]] = {}
        for number, check in enumerate(self.checks):
            for path in self.with_tables(check.reads):
                found.setdefault(path, set()).add(number)
        return {path: frozenset(numbers) for path, numbers in found.items()}

    @cached_property
    def text_checks(self) -> Mapping[int, frozenset[str]]:
        """The checks that look at each free text by itself, with what else they look at."""
        found = {}
        for number, check in enumerate(self.checks):
            if check.table == TEXTS.path:
                beside = (path for path in check.reads if path.split(".")[0] != TEXTS.path)
                found[number] = self.with_tables(beside)
        return found

    @cached_property
    def figure_reads(self) -> frozenset[str]:
        """The fields that decide which risks and studies apply to a plan, and what raises them."""
        conditions = [study.applies_when for study in self.survival]
        for risk in self.risks:
            conditions += [risk.applies_when, *(modifier.when for modifier in risk.modifiers)]
        paths = frozenset[str]().union(*(each.paths for each in conditions if each is not None))
        return self.with_tables(paths)

    @cached_property
    def told_fields(self) -> frozenset[str]:
        """The fields of which a patient is told."""
        return frozenset(field.path for field in self.form.fields if field.told)

    def with_tables(self, paths: Iterable[str]) -> frozenset[str]:
        """Fields with the tables of those that are columns, whose rows they are found by.

        The table of free text stands for every text of the form.
        """
        read = set(paths)
        if any(path == TEXTS.path or path.startswith(f"{TEXTS.path}.") for path in read):
            read.update(p for p, f in self.scope.fields.items() if f.kind in ("text", "prose"))
        tables = (self.scope.fields[path].table for path in read if path in self.scope.fields)
        return frozenset(read.union(filter(None, tables)))

    def new_record(self) -> Record:
        """An empty case of these procedures."""
        return Record(procedures=self.form.procedures, editions=dict(self.form.editions))


def limit_words(scope: Scope, name: str) -> str:
    """A limit as words with its unit."""
    limit = scope.limits[name]
    return quantity_words(limit.value, limit.unit)


def data_tables(tables: Mapping[str, Sequence[str]]) -> dict[str, Field]:
    """Tables that wordings may walk but no form holds, such as the risks; all columns are texts."""
    nowhere = Place("", 0)
    result = {}
    for path, names in tables.items():
        columns = tuple(
            Field(f"{path}.{name}", name, "text", nowhere, table=path, each="row") for name in names
        )
        result[path] = Field(path, path, "rows", nowhere, columns=columns)
    return result


WORDING_TABLES: Mapping[str, Sequence[str]] = {
    "risks": (
        "title",
        "plain",
        "block",
        "figure",
        "other_frame",
        "band",
        "interval",
        "spread",
        "audit",
        "yours",
        "raised",
        "lowered",
        "definition",
        "follow_up",
        "population",
        "remark",
        "source",
    ),
    "survival": ("words", "population", "people", "definition", "source"),
    "sheet": ("edition", "review_by", "is_overdue"),
    "given_sheet": ("on", "edition"),
    "sheet_changes": ("label", "before", "now"),
    "explanations": ("level", "message", "reason"),
    "booked": ("id", "message", "at", "by"),
    "unanswered": ("label", "because"),
}
"""What wordings may walk besides the form: the risks of the plan and how long a mend holds, the
edition of their figures, the sheet that was given and what has changed since, explained findings,
booked checks, and what was answered "not recorded, because ..."."""


def plain_rows(rows: Sequence[Mapping[str, str]]) -> list[dict[str, Any]]:
    """Rows of such a table; an empty text counts as not there."""
    return [{name: text for name, text in row.items() if text} for row in rows]
