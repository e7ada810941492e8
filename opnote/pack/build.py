"""From a draft to a pack: every expression is resolved against the form and compiled."""

from __future__ import annotations

import graphlib
import re
from collections.abc import Iterator, Mapping

from opnote.pack import type as t
from opnote.pack.compiled import Expression
from opnote.pack.compiled_wording import Wording
from opnote.pack.draft import CheckDraft, Draft
from opnote.pack.expression import ExpressionError, compile_expression, compile_rows
from opnote.pack.form import TEXTS, Field, Form, Place
from opnote.pack.pack import (
    WORDING_TABLES,
    Check,
    Element,
    Modifier,
    Pack,
    Risk,
    Said,
    Standard,
    SurvivalStudy,
    Target,
    data_tables,
    limit_words,
)
from opnote.pack.problem import PackError, did_you_mean
from opnote.pack.scope import Scope
from opnote.pack.view import Rule

_EXPRESSIONS = ("shown_when", "required_when", "computed")
_SAID_VALUE = re.compile(r"\{([^{}]*)\}")


def build_pack(draft: Draft) -> Pack:
    """Compile a draft.

    Raises: PackError with all problems of the draft and of its expressions.
    """
    builder = _Builder(draft)
    rules = builder.rules()
    checks = builder.checks()
    risks = builder.risks()
    survival = builder.survival()
    standards = builder.standards()
    if draft.is_broken:
        raise PackError(draft.problems)
    pages = sorted(draft.pages.values(), key=lambda page: page.order)
    form = Form(
        procedures=draft.procedures,
        titles=draft.titles,
        editions=draft.editions,
        pages=tuple(pages),
        limits=draft.limits,
        figures=draft.figures,
        milestones=tuple(draft.milestones),
    )
    return Pack(
        form=form,
        scope=builder.scope,
        rules=rules,
        checks=checks,
        risks=risks,
        survival=survival,
        figures_of=draft.figures_of,
        glossary=tuple(draft.glossary.values()),
        plans=tuple(draft.plans.values()),
        standards=standards,
        wordings={name: Wording(name, code) for name, code in draft.wordings.items()},
        wording_fields=wording_fields(draft),
        reviews=tuple(draft.reviews),
        warnings=tuple(draft.warnings),
    )


def wording_fields(draft: Draft) -> Mapping[str, Field]:
    """What wordings may name: the form's fields, the tables of data, and the columns of both."""
    tables = data_tables(WORDING_TABLES)
    columns = {column.path: column for table in tables.values() for column in table.columns}
    return {**draft.fields, **tables, **columns}


class _Builder:
    def __init__(self, draft: Draft) -> None:
        self._draft = draft
        self.scope = Scope(draft.fields, draft.limits)
        self._check_scope = Scope({**draft.fields, TEXTS.path: TEXTS}, draft.limits)

    def _expression(
        self, source: str | None, scope: Scope, place: Place, wants: type | None = None
    ) -> Expression | None:
        if source is None:
            return None
        try:
            return compile_expression(source, scope, wants)
        except ExpressionError as error:
            self._draft.problem(place, error.message, error.remedy)
            return None

    def rules(self) -> tuple[Rule, ...]:
        """The fields' expressions, in the order in which they depend on one another."""
        rules: dict[str, Rule] = {}
        reads: dict[str, set[str]] = {}
        for path, made in self.scope.fields.items():
            inner = self.scope
            if made.table:
                inner = inner.with_row(made.each, self.scope.fields[made.table])
            places = self._draft.expression_places
            at = {key: places.get((path, key), made.place) for key in _EXPRESSIONS}
            shown = self._expression(made.shown_when, inner, at["shown_when"], t.YesNo)
            required = self._expression(made.required_when, inner, at["required_when"], t.YesNo)
            computed = self._expression(made.computed, inner, at["computed"])
            if computed is not None:
                fault = _computed_fault(made, computed, self.scope)
                if fault:
                    self._draft.problem(
                        at["computed"], f"'{path}': {fault}", "change the kind or the expression"
                    )
            fault_of = self._expression(made.fault, inner, made.place, t.Text)
            fills = tuple(self._fills(made, inner))
            reads[path] = {made.table} if made.table else set()
            for expression in (shown, computed):
                reads[path] |= expression.paths if expression is not None else set()
            read = frozenset(reads[path])
            rules[path] = Rule(made, shown, required, computed, fills, fault_of, read)
        return self._ordered(rules, reads)

    def _fills(self, made: Field, scope: Scope) -> Iterator[tuple[Field, Expression]]:
        """The columns that a scan fills, each with what is read for it."""
        for name, source in made.fills.items():
            path = f"{made.table}.{name}"
            column = self.scope.fields.get(path)
            if column is None or column.is_computed:
                known = [c.name for c in self.scope.fields[made.table].columns]
                self._draft.problem(
                    made.place, f"'{made.path}' fills no column '{name}'", did_you_mean(name, known)
                )
                continue
            read = self._expression(source, scope, made.place)
            if read is not None:
                fault = _computed_fault(column, read, self.scope)
                if fault:
                    self._draft.problem(
                        made.place, f"'{path}': {fault}", "change the kind or the expression"
                    )
                yield column, read

    def _ordered(
        self, rules: Mapping[str, Rule], reads: Mapping[str, set[str]]
    ) -> tuple[Rule, ...]:
        # Sorted, because the order of a set is another one at each start.
        graph = {path: sorted(needed) for path, needed in reads.items()}
        try:
            order = tuple(graphlib.TopologicalSorter(graph).static_order())
        except graphlib.CycleError as error:
            cycle = list(reversed(error.args[1]))
            self._draft.problem(
                self.scope.fields[cycle[0]].place,
                "these fields depend on one another in a circle: " + " -> ".join(cycle),
                "take one of the conditions away",
            )
            return ()
        return tuple(rules[path] for path in order)

    def checks(self) -> tuple[Check, ...]:
        """The checks with their conditions, messages and paths resolved."""
        made = (self._check(draft) for draft in self._draft.checks.values())
        return tuple(check for check in made if check is not None)

    def _check(self, given: CheckDraft) -> Check | None:
        row, table, inner = "", "", self._check_scope
        if given.each is not None:
            try:
                row, found = compile_rows(given.each, inner)
            except ExpressionError as error:
                self._draft.problem(given.places["each"], error.message, error.remedy)
                return None
            table, inner = found.path, inner.with_row(row, found)
        when = self._expression(given.when, inner, given.places["when"], t.YesNo)
        targets = [
            self._target(path, inner, given.places[f"look_at.{number}"])
            for number, path in enumerate(given.look_at)
        ]
        say = self._said(given.say, inner, given.places["say"])
        settle = self._said(given.settle, inner, given.places["settle"])
        for path in given.after:
            self._target(path, self.scope, given.places["id"])
        if when is None:
            return None
        return Check(
            given.id,
            given.ref,
            given.level,
            row,
            table,
            when,
            say,
            settle,
            given.after,
            tuple(target for target in targets if target is not None),
            given.source,
            given.places["id"],
        )

    def _target(self, source: str, scope: Scope, place: Place) -> Target | None:
        words = source.split(".")
        if words[0] in scope.rows:
            return self._row_target(words, scope, place)
        found = scope.fields.get(source)
        if found is None or found.table:
            known = [p for p, f in scope.fields.items() if not f.table]
            known += [f"{n}.{c.name}" for n, row in scope.rows.items() for c in row.columns]
            self._draft.problem(place, f"unknown field '{source}'", did_you_mean(source, known))
            return None
        return Target(source, path=source)

    def _row_target(self, words: list[str], scope: Scope, place: Place) -> Target | None:
        table = scope.rows[words[0]]
        columns: list[Field] = []
        here: Field | None = table
        for index, word in enumerate(words[1:], start=2):
            known = [] if here is None else list(here.columns)
            column = next((c for c in known if c.name == word), None)
            if column is None:
                wrong = ".".join(words[:index])
                names = [".".join((*words[: index - 1], c.name)) for c in known]
                self._draft.problem(place, f"unknown field '{wrong}'", did_you_mean(wrong, names))
                return None
            columns.append(column)
            here = scope.fields.get(column.refers_to) if column.kind == "ref" else None
        return Target(".".join(words), row=words[0], table=table.path, columns=tuple(columns))

    def _said(self, text: str, scope: Scope, place: Place) -> tuple[Said, ...]:
        parts: list[Said] = []
        end = 0
        for found in _SAID_VALUE.finditer(text):
            parts.append(Said(text[end : found.start()]))
            end = found.end()
            source = found[1].strip()
            name = source.removeprefix("limit.")
            if source != name and name in scope.limits:
                parts.append(Said(limit_words(scope, name)))
            elif source != name:
                known = [f"limit.{other}" for other in scope.limits]
                self._draft.problem(place, f"unknown limit '{source}'", did_you_mean(source, known))
            elif "(" in source:
                reckoned = self._expression(source, scope, place, t.Text)
                if reckoned is not None:
                    parts.append(Said(reckoned=reckoned))
            else:
                target = self._target(source, scope, place)
                if target is not None:
                    parts.append(Said(target=target))
        parts.append(Said(text[end:]))
        if any(mark in part.text for part in parts for mark in "{}"):
            self._draft.problem(
                place, "a brace stands alone in the message", "write the path as {patient.name}"
            )
        return tuple(part for part in parts if part != Said())

    def risks(self) -> tuple[Risk, ...]:
        """The risks with their conditions compiled, in their order."""
        made = [
            Risk(
                **draft.content,
                applies_when=self._expression(
                    draft.applies_when, self.scope, draft.condition_place, t.YesNo
                ),
                modifiers=tuple(
                    Modifier(words, is_raising, self._expression(when, self.scope, at, t.YesNo))
                    for words, is_raising, when, at in draft.modifiers
                ),
                audits=tuple(self._draft.audits.get(name, ())),
                place=draft.place,
            )
            for name, draft in self._draft.risks.items()
        ]
        return tuple(sorted(made, key=lambda risk: risk.order))

    def survival(self) -> tuple[SurvivalStudy, ...]:
        """The survival studies with their conditions compiled."""
        return tuple(
            SurvivalStudy(
                **draft.content,
                applies_when=self._expression(
                    draft.applies_when, self.scope, draft.condition_place, t.YesNo
                ),
                place=draft.place,
            )
            for draft in self._draft.survival.values()
        )

    def standards(self) -> tuple[Standard, ...]:
        """The standards, each element with the fields that meet it."""
        meets: dict[str, list[str]] = {}
        for path, made in self.scope.fields.items():
            for element in made.meets:
                meets.setdefault(element, []).append(path)
        return tuple(
            Standard(
                draft.id,
                draft.title,
                draft.source,
                tuple(
                    Element(
                        element.id,
                        element.title,
                        element.code,
                        element.known,
                        self._expression(element.applies_when, self.scope, element.place, t.YesNo),
                        tuple(meets.get(f"{draft.id}.{element.id}", ())),
                        self._expression(element.met_when, self.scope, element.met_place, t.YesNo),
                    )
                    for element in draft.elements
                ),
            )
            for draft in self._draft.standards.values()
        )


def _computed_fault(made: Field, computed: Expression, scope: Scope) -> str:
    wanted = t.type_of(made, scope.fields)
    given = computed.type
    if isinstance(wanted, t.Number) and isinstance(given, t.Number):
        if wanted.unit and given.unit and wanted.unit != given.unit:
            return f"it is computed in {given.unit} but declared in {wanted.unit}"
        return ""
    if isinstance(wanted, t.Text | t.Choice) and isinstance(given, t.Text | t.Choice):
        return ""
    if type(wanted) is type(given):
        return ""
    return f"it is declared as {wanted} but computed as {given}"
