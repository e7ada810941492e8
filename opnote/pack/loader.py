"""Loading a pack: read the files, validate them, resolve every name, compile.

All problems of all stages are collected; loading stops only where the next stage would be
nonsense without the one before.
"""

from __future__ import annotations

import graphlib
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

from opnote.pack import type as t
from opnote.pack.expression import (
    Expression,
    ExpressionError,
    Scope,
    compile_expression,
    compile_rows,
)
from opnote.pack.form import Field, FigureUse, Form, Limit, Option, Page, Place
from opnote.pack.pack import (
    DOCUMENTS,
    WORDING_TABLES,
    Check,
    Element,
    Pack,
    Plan,
    Risk,
    Said,
    Standard,
    Target,
    data_tables,
    limit_words,
)
from opnote.pack.problem import PackError, Problem, did_you_mean
from opnote.pack.schema import (
    CheckIn,
    ChecksFileIn,
    FieldIn,
    FigureIn,
    FormFileIn,
    LimitIn,
    OptionIn,
    PlanIn,
    RecoveryFileIn,
    RiskIn,
    RisksFileIn,
    StandardIn,
    validated,
)
from opnote.pack.toml_file import Location, TomlFile, read_toml
from opnote.pack.value_json import ValueProblem, value_from_json
from opnote.pack.view import Rule
from opnote.pack.wording import (
    Source,
    Wording,
    compile_wording,
    merge,
    parse_wording,
    wording_environment,
)
from opnote.pack.wording_check import check_text, check_wording
from opnote.record import Value

COMMON = "common"
FIGURE_KINDS: Mapping[str, tuple[str, ...]] = {"meniscal_map": ("side", "tears", "stitches")}
"""Drawings that exist, with the fields that each needs."""

_SAID_VALUE = re.compile(r"\{([^{}]*)\}")


def shipped_root() -> Path:
    """The folder that holds the shipped `forms/` and `templates/`."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "shipped"
    return inside if inside.is_dir() else package.parent


def procedures_in(roots: Sequence[Path]) -> tuple[str, ...]:
    """The procedures that these folders know, by name."""
    found = {
        path.parent.name
        for root in roots
        for path in (root / "forms").glob("*/form.toml")
        if path.parent.name != COMMON
    }
    return tuple(sorted(found))


@dataclass(frozen=True, slots=True)
class Files:
    """Pack files over several roots: a department's stand in front of the shipped ones."""

    roots: tuple[Path, ...]

    def find(self, name: str) -> Path | None:
        """The first file of that name."""
        return next((root / name for root in self.roots if (root / name).is_file()), None)

    def all(self, pattern: str) -> list[tuple[str, Path]]:
        """Every file that matches, each name once, sorted by name."""
        found: dict[str, Path] = {}
        for root in self.roots:
            for path in root.glob(pattern):
                found.setdefault(path.relative_to(root).as_posix(), path)
        return sorted(found.items())


@dataclass(slots=True)
class Loading:
    """What one loading has found so far."""

    files: Files
    procedures: tuple[str, ...]
    today: date
    problems: list[Problem] = field(default_factory=list)
    editions: dict[str, str] = field(default_factory=dict)
    titles: dict[str, str] = field(default_factory=dict)
    pages: dict[str, Page] = field(default_factory=dict)
    limits: dict[str, Limit] = field(default_factory=dict)
    figures: dict[str, FigureUse] = field(default_factory=dict)
    fields: dict[str, Field] = field(default_factory=dict)
    sources: dict[str, Path] = field(default_factory=dict)

    def toml(self, name: str, optional: bool = False) -> TomlFile | None:
        path = self.files.find(name)
        if path is None:
            if not optional:
                self.problem(Place(name, 1), "the file is missing", "add it")
            return None
        self.sources[name] = path
        try:
            return read_toml(path, name)
        except PackError as error:
            self.problems += error.problems
            return None

    def problem(self, place: Place, message: str, remedy: str = "", warning: bool = False) -> None:
        self.problems.append(Problem(place.file, place.line, message, remedy, warning))

    def stop_if_broken(self) -> None:
        """Raise all problems so far when the next stage couldn't be trusted."""
        if any(not problem.is_warning for problem in self.problems):
            raise PackError(self.problems)

    def expression(
        self, source: str | None, scope: Scope, place: Place, wants: type | None = None
    ) -> Expression | None:
        if source is None:
            return None
        try:
            return compile_expression(source, scope, wants)
        except ExpressionError as error:
            self.problem(place, error.message, error.remedy)
            return None


def load_pack(
    procedures: Sequence[str],
    roots: Sequence[Path] | None = None,
    today: date | None = None,
) -> Pack:
    """Read, check and compile everything about these procedures.

    `today` is the day by which editions are judged past their review; an old edition is a warning.
    Raises: PackError with all problems, each with file, line and remedy.
    """
    files = Files(tuple(roots or (shipped_root(),)))
    known = procedures_in(files.roots)
    unknown = [name for name in procedures if name not in known]
    if unknown or not procedures:
        name = unknown[0] if unknown else ""
        raise PackError(
            [
                Problem(
                    f"forms/{name}", 1, f"unknown procedure '{name}'", did_you_mean(name, known)
                )
            ]
        )
    loading = Loading(files, tuple(procedures), today or date.today())
    _read_forms(loading)
    loading.stop_if_broken()
    checks = _read_limits_and_checks(loading)
    form = _form(loading)
    scope = Scope(loading.fields, loading.limits)
    rules = _rules(loading, scope)
    loading.stop_if_broken()
    standards = _standards(loading, scope)
    compiled_checks = _checks(loading, scope, checks)
    risks = _risks(loading, scope)
    plans = _plans(loading)
    environment = wording_environment()
    wording_fields = {**loading.fields, **data_tables(WORDING_TABLES)}
    wordings = _wordings(loading, wording_fields, environment)
    loading.stop_if_broken()
    return Pack(
        form=form,
        scope=scope,
        rules=rules,
        checks=compiled_checks,
        risks=risks,
        plans=plans,
        standards=standards,
        wordings=wordings,
        wording_fields=wording_fields,
        environment=environment,
        warnings=tuple(sorted(loading.problems)),
    )


# Forms


def _read_forms(loading: Loading) -> None:
    included: list[str] = []
    for procedure in loading.procedures:
        name = f"forms/{procedure}/form.toml"
        file, content = _form_file(loading, name)
        if file is None or content is None:
            continue
        loading.titles[procedure] = content.title or procedure
        loading.editions[procedure] = content.edition
        for index, common in enumerate(content.includes):
            if common in included:
                continue
            included.append(common)
            common_name = f"forms/{COMMON}/{common}.toml"
            if loading.files.find(common_name) is None:
                known = [n.rpartition("/")[2][:-5] for n, _ in loading.files.all("forms/common/*.toml")]
                loading.problem(
                    file.place(("includes", index)),
                    f"unknown common form '{common}'",
                    did_you_mean(common, known),
                )
                continue
            common_file, common_content = _form_file(loading, common_name)
            if common_file is not None and common_content is not None:
                loading.editions[COMMON] = max(
                    loading.editions.get(COMMON, ""), common_content.edition
                )
                _add_pages(loading, common_file, common_content)
        _add_pages(loading, file, content)


def _form_file(loading: Loading, name: str) -> tuple[TomlFile | None, FormFileIn | None]:
    file = loading.toml(name)
    if file is None:
        return None, None
    content, problems = validated(file, FormFileIn)
    loading.problems += problems
    if content is not None and content.review_by < loading.today:
        loading.problem(
            file.place(("review_by",)),
            f"edition {content.edition} was to be reviewed by {content.review_by}",
            "review it and set a new date",
            warning=True,
        )
    return file, content


def _add_pages(loading: Loading, file: TomlFile, content: FormFileIn) -> None:
    for page_index, page in enumerate(content.page):
        fields = []
        for index, given in enumerate(page.field):
            location: Location = ("page", page_index, "field", index)
            made = _field(loading, file, location, given, page.id)
            fields.append(made)
            _register(loading, made)
            for column in made.columns:
                _register(loading, column)
        known = loading.pages.get(page.id)
        if known is None:
            loading.pages[page.id] = Page(page.id, page.title, page.order, tuple(fields))
        else:
            loading.pages[page.id] = replace(known, fields=(*known.fields, *fields))
    for index, limit in enumerate(content.limit):
        _add_limit(loading, file.place(("limit", index)), limit)
    for index, figure in enumerate(content.figure):
        _add_figure(loading, file.place(("figure", index)), figure)


def _register(loading: Loading, made: Field) -> None:
    first = loading.fields.get(made.path)
    if first is not None:
        loading.problem(
            made.place,
            f"the path '{made.path}' is there twice; first at {first.place.file}:{first.place.line}",
            "give one of them another path",
        )
        return
    loading.fields[made.path] = made


def _field(
    loading: Loading, file: TomlFile, location: Location, given: FieldIn, page: str
) -> Field:
    place = file.place((*location, "path"))
    table = given.path if given.kind == "rows" else ""
    columns = tuple(
        _column(loading, file, (*location, "column", index), column, page, given)
        for index, column in enumerate(given.column)
    )
    made = _plain_field(given, given.path, place, page)
    for message, remedy in _faults(given, is_column=False):
        loading.problem(place, f"'{given.path}': {message}", remedy)
    return replace(made, columns=columns, each=given.each, table="" if table else made.table)


def _column(
    loading: Loading,
    file: TomlFile,
    location: Location,
    given: FieldIn,
    page: str,
    table: FieldIn,
) -> Field:
    place = file.place((*location, "path"))
    path = f"{table.path}.{given.path}"
    for message, remedy in _faults(given, is_column=True):
        loading.problem(place, f"'{path}': {message}", remedy)
    return replace(_plain_field(given, path, place, page), table=table.path, each=table.each)


def _plain_field(given: FieldIn, path: str, place: Place, page: str) -> Field:
    return Field(
        path=path,
        label=given.label,
        kind=given.kind,
        place=place,
        page=page,
        group=given.group,
        help=given.help,
        unit=given.unit,
        least=given.least,
        most=given.most,
        usual=given.usual,
        decimals=given.decimals,
        options=tuple(_option(option) for option in given.options),
        exclusive=tuple(given.exclusive),
        said_yes=given.said_yes,
        said_no=given.said_no,
        required=given.required,
        required_when=given.required_when,
        shown_when=given.shown_when,
        computed=given.computed,
        meets=tuple(given.meets),
        silent=given.silent,
        never_preset=given.never_preset,
        deliberate=given.deliberate,
        refers_to=given.refers_to,
        row_label=given.row_label or given.label,
        none_label=given.none_label,
        none_said=given.none_said,
    )


def _option(given: OptionIn) -> Option:
    label = given.label
    keeps_case = label[:2].isupper() or not label[:1].isalpha()
    said = given.said
    if said is None:
        said = label if keeps_case else label[:1].lower() + label[1:]
    return Option(given.value, label, said, given.help)


def _faults(given: FieldIn, is_column: bool) -> Iterator[tuple[str, str]]:
    """What a field's own keys contradict."""
    if given.kind in ("choice", "choices", "grade") and not given.options:
        yield f"a {given.kind} needs options", "add 'options = [...]'"
    if given.options and given.kind not in ("choice", "choices", "grade"):
        yield f"a {given.kind} has no options", "make it a choice, or take them away"
    values = [option.value for option in given.options]
    for value in sorted({v for v in values if values.count(v) > 1}):
        yield f"the option '{value}' is there twice", "keep one"
    for value in given.exclusive:
        if value not in values:
            yield f"exclusive names no option '{value}'", did_you_mean(value, values)
    if given.kind == "quantity" and not given.unit:
        yield "a quantity needs a unit", "add 'unit = \"mm\"'"
    if given.kind == "rows" and (is_column or not given.each or not given.column):
        yield "a table needs 'each' and columns, and can't stand in another", "add them"
    if given.column and given.kind != "rows":
        yield f"a {given.kind} has no columns", "make it 'kind = \"rows\"'"
    if is_column and "." in given.path:
        yield "a column's path has no dot", "leave the table's name out"
    if given.kind == "ref" and (not given.refers_to or not is_column):
        yield "a ref is a column and needs 'refers_to'", "name the table it refers to"
    if bool(given.none_label) != bool(given.none_said):
        yield "none_label and none_said belong together", "give both or neither"
    if given.computed is not None and given.required:
        yield "a computed field can't be required", "require what it is computed from"
    low, high = given.least, given.most
    if low is not None and high is not None and low > high:
        yield "'least' is more than 'most'", "swap them"


def _add_limit(loading: Loading, place: Place, limit: LimitIn) -> None:
    if limit.name in loading.limits:
        loading.problem(place, f"the limit '{limit.name}' is there twice", "keep one")
    loading.limits[limit.name] = Limit(limit.name, limit.value, limit.unit, limit.source, place)


def _add_figure(loading: Loading, place: Place, figure: FigureIn) -> None:
    if figure.kind not in FIGURE_KINDS:
        loading.problem(
            place, f"unknown kind of figure '{figure.kind}'", did_you_mean(figure.kind, FIGURE_KINDS)
        )
    elif set(figure.uses) != set(FIGURE_KINDS[figure.kind]):
        wanted = ", ".join(FIGURE_KINDS[figure.kind])
        loading.problem(place, f"the figure '{figure.name}' needs: {wanted}", "add what is missing")
    loading.figures[figure.name] = FigureUse(
        figure.name, figure.kind, figure.caption, dict(figure.uses), place
    )


def _form(loading: Loading) -> Form:
    for figure in loading.figures.values():
        for path in figure.uses.values():
            if path not in loading.fields:
                loading.problem(
                    figure.place, f"unknown field '{path}'", did_you_mean(path, loading.fields)
                )
    pages = sorted(loading.pages.values(), key=lambda page: page.order)
    return Form(
        procedures=loading.procedures,
        titles=loading.titles,
        editions=loading.editions,
        pages=tuple(pages),
        limits=loading.limits,
        figures=loading.figures,
    )


# Rules


def _rules(loading: Loading, scope: Scope) -> tuple[Rule, ...]:
    """The fields' expressions compiled, in the order in which they depend on one another."""
    rules: dict[str, Rule] = {}
    reads: dict[str, set[str]] = {}
    for path, made in scope.fields.items():
        if made.kind == "ref":
            target = scope.fields.get(made.refers_to)
            if target is None or target.kind != "rows":
                tables = [p for p, f in scope.fields.items() if f.kind == "rows"]
                loading.problem(
                    made.place,
                    f"'{path}' refers to the unknown table '{made.refers_to}'",
                    did_you_mean(made.refers_to, tables),
                )
                return ()
    for path, made in scope.fields.items():
        inner = scope
        if made.table:
            inner = scope.with_row(made.each, scope.fields[made.table])
        place = made.place
        shown = loading.expression(made.shown_when, inner, place, t.YesNo)
        required = loading.expression(made.required_when, inner, place, t.YesNo)
        computed = loading.expression(made.computed, inner, place)
        if computed is not None:
            fault = _computed_fault(made, computed, scope)
            if fault:
                loading.problem(place, f"'{path}': {fault}", "change the kind or the expression")
        rules[path] = Rule(made, shown, required, computed)
        reads[path] = {made.table} if made.table else set()
        for expression in (shown, computed):
            reads[path] |= expression.paths if expression is not None else set()
    try:
        order = tuple(graphlib.TopologicalSorter(reads).static_order())
    except graphlib.CycleError as error:
        cycle = list(reversed(error.args[1]))
        place = scope.fields[cycle[0]].place
        loading.problem(
            place,
            "these fields depend on one another in a circle: " + " -> ".join(cycle),
            "take one of the conditions away",
        )
        return ()
    position = {path: index for index, path in enumerate(order)}
    return tuple(sorted(rules.values(), key=lambda rule: position[rule.field.path]))


def _computed_fault(made: Field, computed: Expression, scope: Scope) -> str:
    wanted = t.type_of(made, dict(scope.fields))
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


# Checks, risks, plans, standards


def _read_limits_and_checks(loading: Loading) -> list[tuple[TomlFile, int, CheckIn]]:
    found = []
    names = [f"forms/{COMMON}/checks.toml"]
    names += [f"forms/{procedure}/checks.toml" for procedure in loading.procedures]
    for name in names:
        file = loading.toml(name, optional=True)
        if file is None:
            continue
        content, problems = validated(file, ChecksFileIn)
        loading.problems += problems
        if content is None:
            continue
        for index, limit in enumerate(content.limit):
            _add_limit(loading, file.place(("limit", index)), limit)
        found += [(file, index, check) for index, check in enumerate(content.check)]
    return found


def _checks(
    loading: Loading, scope: Scope, checks: Iterable[tuple[TomlFile, int, CheckIn]]
) -> tuple[Check, ...]:
    result: dict[str, Check] = {}
    for file, index, given in checks:
        place = file.place(("check", index, "id"))
        if given.id in result:
            loading.problem(place, f"the check '{given.id}' is there twice", "rename one of them")
        row, table, inner = "", "", scope
        if given.each is not None:
            try:
                row, found = compile_rows(given.each, scope)
            except ExpressionError as error:
                loading.problem(file.place(("check", index, "each")), error.message, error.remedy)
                continue
            table, inner = found.path, scope.with_row(row, found)
        when = loading.expression(
            given.when, inner, file.place(("check", index, "when")), t.YesNo
        )
        look_at = [
            _target(loading, path, inner, file.place(("check", index, "look_at")))
            for path in given.look_at
        ]
        say = _said(loading, given.say, inner, file.place(("check", index, "say")))
        if when is None or None in look_at:
            continue
        targets = tuple(target for target in look_at if target is not None)
        result[given.id] = Check(
            given.id, given.ref, given.level, row, table, when, say, targets, given.source, place
        )
    return tuple(result.values())


def _target(loading: Loading, source: str, scope: Scope, place: Place) -> Target | None:
    words = source.split(".")
    if words[0] in scope.rows:
        table = scope.rows[words[0]]
        columns: list[Field] = []
        here: Field | None = table
        for index, word in enumerate(words[1:], start=2):
            known = [] if here is None else list(here.columns)
            column = next((c for c in known if c.name == word), None)
            if column is None:
                wrong = ".".join(words[:index])
                near = did_you_mean(wrong, (".".join((*words[: index - 1], c.name)) for c in known))
                loading.problem(place, f"unknown field '{wrong}'", near)
                return None
            columns.append(column)
            here = scope.fields.get(column.refers_to) if column.kind == "ref" else None
        return Target(source, row=words[0], table=table.path, columns=tuple(columns))
    found = scope.fields.get(source)
    if found is None or found.table:
        known_paths = [p for p, f in scope.fields.items() if not f.table]
        known_paths += [f"{n}.{c.name}" for n, row in scope.rows.items() for c in row.columns]
        loading.problem(place, f"unknown field '{source}'", did_you_mean(source, known_paths))
        return None
    return Target(source, path=source)


def _said(loading: Loading, text: str, scope: Scope, place: Place) -> tuple[Said, ...]:
    parts: list[Said] = []
    end = 0
    for found in _SAID_VALUE.finditer(text):
        parts.append(Said(text[end : found.start()]))
        end = found.end()
        source = found[1].strip()
        if source.startswith("limit."):
            name = source.removeprefix("limit.")
            if name in scope.limits:
                parts.append(Said(limit_words(scope, name)))
            else:
                known = [f"limit.{other}" for other in scope.limits]
                loading.problem(place, f"unknown limit '{source}'", did_you_mean(source, known))
            continue
        target = _target(loading, source, scope, place)
        if target is not None:
            parts.append(Said(target=target))
    parts.append(Said(text[end:]))
    return tuple(part for part in parts if part.text or part.target)


def _risks(loading: Loading, scope: Scope) -> tuple[Risk, ...]:
    result: dict[str, Risk] = {}
    for procedure in loading.procedures:
        file = loading.toml(f"forms/{procedure}/risks.toml", optional=True)
        if file is None:
            continue
        content, problems = validated(file, RisksFileIn)
        loading.problems += problems
        for index, given in enumerate(content.risk if content is not None else ()):
            place = file.place(("risk", index, "id"))
            if given.id in result:
                loading.problem(place, f"the risk '{given.id}' is there twice", "keep one")
            for message, remedy in _risk_faults(given):
                loading.problem(place, f"the risk '{given.id}' {message}", remedy)
            applies = loading.expression(
                given.applies_when, scope, file.place(("risk", index, "applies_when")), t.YesNo
            )
            plain = given.model_dump(exclude={"applies_when"})
            result[given.id] = Risk(**plain, applies_when=applies, place=place)
    return tuple(sorted(result.values(), key=lambda risk: risk.order))


def _risk_faults(given: RiskIn) -> Iterator[tuple[str, str]]:
    has_counts = given.events is not None or given.patients is not None
    has_range = given.low is not None or given.high is not None
    if has_counts and (given.events is None or given.patients is None):
        yield "has events without patients, or patients without events", "give both"
    if given.events is not None and given.patients is not None and given.events > given.patients:
        yield f"has more events ({given.events}) than patients ({given.patients})", "correct it"
    if has_range and (given.low is None or given.high is None or given.per is None):
        yield "has an incomplete range", "give low, high and per"
    if given.low is not None and given.high is not None and given.low > given.high:
        yield "has a range that ends before it begins", "swap low and high"
    if (has_counts or has_range) and not given.follow_up:
        yield "has a figure without a follow-up", "say how long people were followed"


def _plans(loading: Loading) -> tuple[Plan, ...]:
    result: dict[str, Plan] = {}
    for procedure in loading.procedures:
        file = loading.toml(f"forms/{procedure}/recovery.toml", optional=True)
        if file is None:
            continue
        content, problems = validated(file, RecoveryFileIn)
        loading.problems += problems
        for index, given in enumerate(content.plan if content is not None else ()):
            place = file.place(("plan", index, "id"))
            if given.id in result:
                loading.problem(place, f"the plan '{given.id}' is there twice", "keep one")
            values = _plan_values(loading, file, index, given)
            result[given.id] = Plan(given.id, given.title, given.for_, given.source, values)
    return tuple(result.values())


def _plan_values(
    loading: Loading, file: TomlFile, index: int, given: PlanIn
) -> dict[str, Value]:
    values: dict[str, Value] = {}
    for path, raw in given.values.items():
        place = file.place(("plan", index, "values", path))
        found = loading.fields.get(path)
        if found is None or found.table:
            loading.problem(place, f"unknown field '{path}'", did_you_mean(path, loading.fields))
        elif found.never_preset or found.is_computed:
            loading.problem(place, f"'{path}' can't be filled by a plan", "take the line away")
        else:
            try:
                values[path] = value_from_json(raw, found)
            except ValueProblem as error:
                loading.problem(place, f"'{path}': {error.message}", error.remedy)
    return values


def _standards(loading: Loading, scope: Scope) -> tuple[Standard, ...]:
    meets: dict[str, list[str]] = {}
    for path, made in scope.fields.items():
        for element in made.meets:
            meets.setdefault(element, []).append(path)
    result = []
    known: set[str] = set()
    for name, _ in loading.files.all("forms/standards/*.toml"):
        file = loading.toml(name)
        content = None
        if file is not None:
            content, problems = validated(file, StandardIn)
            loading.problems += problems
        if file is None or content is None:
            continue
        elements = []
        for index, given in enumerate(content.element):
            key = f"{content.id}.{given.id}"
            place = file.place(("element", index, "id"))
            if key in known:
                loading.problem(place, f"the element '{key}' is there twice", "keep one")
            known.add(key)
            if key not in meets:
                loading.problem(
                    place, f"no field meets '{key}'", f"add meets = [\"{key}\"] to a field"
                )
            applies = loading.expression(
                given.applies_when, scope, file.place(("element", index, "applies_when")), t.YesNo
            )
            elements.append(
                Element(
                    given.id,
                    given.title,
                    given.code,
                    given.known,
                    applies,
                    tuple(meets.get(key, ())),
                )
            )
        result.append(Standard(content.id, content.title, content.source, tuple(elements)))
    for made in scope.fields.values():
        for element in made.meets:
            if element not in known:
                loading.problem(
                    made.place,
                    f"'{made.path}' meets the unknown element '{element}'",
                    did_you_mean(element, known),
                )
    return tuple(result)


# Wordings


def _wordings(
    loading: Loading, fields: Mapping[str, Field], environment: Any
) -> dict[str, Wording]:
    phrases = [
        source
        for folder in (COMMON, *loading.procedures)
        if (source := _wording(loading, f"templates/{folder}/phrases.md", environment, True))
    ]
    said: set[str] = set()
    result = {}
    for document in DOCUMENTS:
        skeleton = _wording(loading, f"templates/{COMMON}/{document}.md", environment, False)
        parts = [
            source
            for procedure in loading.procedures
            if (
                source := _wording(
                    loading, f"templates/{procedure}/{document}.md", environment, True
                )
            )
        ]
        if skeleton is None:
            continue
        merged, problems = merge(document, skeleton, parts, phrases)
        loading.problems += [p for p in problems if p not in loading.problems]
        found = check_wording(merged, fields, loading.limits, loading.figures)
        loading.problems += [p for p in found.problems if p not in loading.problems]
        said |= found.said
        if not found.problems:
            result[document] = compile_wording(merged, fields, loading.limits, environment)
    if len(result) == len(DOCUMENTS):
        _unsaid(loading, said)
    return result


def _wording(
    loading: Loading, name: str, environment: Any, optional: bool
) -> Source | None:
    path = loading.files.find(name)
    if path is None:
        if not optional:
            loading.problem(Place(name, 1), "the file is missing", "add it")
        return None
    loading.sources[name] = path
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        loading.problem(Place(name, 1), f"can't be read ({error})", "save it as UTF-8")
        return None
    loading.problems += [p for p in check_text(name, text) if p not in loading.problems]
    try:
        return parse_wording(name, text, environment)
    except PackError as error:
        loading.problems += [p for p in error.problems if p not in loading.problems]
        return None


def _unsaid(loading: Loading, said: set[str]) -> None:
    """Both directions: what is asked is said by a document, or declared silent."""
    for path, made in loading.fields.items():
        if path not in said and not made.silent and made.kind != "ref":
            loading.problem(
                made.place,
                f"no document says '{path}'",
                "print it in a wording, or give the field a reason: silent = \"...\"",
            )
