"""Reading a procedure's TOML files into a draft: syntax, schema, and what one file contradicts.

All problems are collected; the draft holds whatever could be read.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from opnote.pack.draft import CheckDraft, Draft, ElementDraft, StandardDraft
from opnote.pack.expression import RESERVED, ExpressionError, check_row_name
from opnote.pack.files import COMMON, Files
from opnote.pack.form import LIMIT, REMARK, Field, FigureUse, Limit, Milestone, Option, Page, Place
from opnote.pack.heading import bare_words
from opnote.pack.pack import WORDING_TABLES, Plan, Review, Term
from opnote.pack.problem import PackError, did_you_mean
from opnote.pack.read_risks import read_risks
from opnote.pack.schema import (
    ChecksFileIn,
    FieldIn,
    FigureIn,
    FormFileIn,
    GlossaryFileIn,
    LimitIn,
    ModelT,
    OptionIn,
    PlanIn,
    RecoveryFileIn,
    RisksFileIn,
    StandardIn,
    validated,
)
from opnote.pack.scope import Scope
from opnote.pack.toml_file import Location, TomlFile, read_toml
from opnote.pack.value_json import ValueProblem, value_from_json
from opnote.reckon.recovery import RULES_OF_KIND
from opnote.record import Value

FIGURE_KINDS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "meniscal_map": {
        "side": (),
        "tears": ("meniscus", "from_mm", "to_mm", "rim_mm", "displaced", "pattern"),
        "stitches": ("tear", "technique", "count", "from_mm", "to_mm"),
        "resections": ("tear", "segment", "arc_mm", "width_mm", "rim_left_mm"),
        "gap": (),
    },
    "recovery_timeline": {"start": ()},
    "icon_arrays": {},
    "survival_curve": {},
}
"""Drawings that exist, the fields that each needs, and the columns of those that are tables."""

FIGURE_LIMITS: Mapping[str, tuple[str, ...]] = {"meniscal_map": ("gap",)}
"""What of a drawing is a limit and no field."""

DATED_FIGURES = ("recovery_timeline",)
"""Drawings that take any number of dates besides, each under the words that stand beside it."""


LISTED_KINDS = ("text", "person", "choice", "date", "time", "integer")
"""Kinds of field that a theatre list can fill."""

_NOT_CARRIED = ("rows", "ref", "scan")


def read_draft(procedures: tuple[str, ...], files: Files) -> Draft:
    """Read all TOML files about these procedures."""
    draft = Draft(procedures)
    reader = _Reader(draft, files)
    reader.forms()
    if draft.is_broken:
        return draft
    reader.figure_paths()
    reader.milestone_paths()
    reader.checks()
    reader.risks()
    reader.plans()
    reader.glossary()
    reader.standards()
    return draft


class _Reader:
    def __init__(self, draft: Draft, files: Files) -> None:
        self._draft = draft
        self._files = files
        self._remarks: dict[str, tuple[str, Place]] = {}

    def _toml(self, name: str, optional: bool = False) -> TomlFile | None:
        path = self._files.find(name)
        if path is None:
            if not optional:
                self._draft.problem(Place(name, 1), "the file is missing", "add it")
            return None
        try:
            return read_toml(path, name)
        except PackError as error:
            self._draft.problems += error.problems
            return None

    def forms(self) -> None:
        """The procedures' forms and the common ones that they include."""
        included: list[str] = []
        for procedure in self._draft.procedures:
            file, content = self._form_file(f"forms/{procedure}/form.toml")
            if file is None or content is None:
                continue
            self._draft.titles[procedure] = content.title or procedure
            self._draft.editions[procedure] = content.edition
            for index, common in enumerate(content.includes):
                if common not in included:
                    included.append(common)
                    self._common(common, file.place(("includes", index)))
            self._add_pages(file, content)
        self._add_remarks()
        self._names_are_free()
        self._headings_are_free()
        self._refs_resolve()

    def _names_are_free(self) -> None:
        """No field or row is called by a word of the language, or as something else is."""
        scope = Scope(self._draft.fields, self._draft.limits)
        for path, made in self._draft.fields.items():
            words = {*path.split(".")} & RESERVED
            if words or path in WORDING_TABLES:
                self._draft.problem(
                    made.place,
                    f"'{path}': '{min(words, default=path)}' is a word of the language",
                    "call the field otherwise",
                )
            if made.kind == "rows" and made.each:
                try:
                    check_row_name(made.each, scope)
                except ExpressionError as error:
                    self._draft.problem(made.place, f"'{path}': {error.message}", error.remedy)

    def _headings_are_free(self) -> None:
        """A heading of a theatre list means one field."""
        known: dict[str, str] = {}
        for path, made in self._draft.fields.items():
            for heading in made.listed_as:
                first = known.setdefault(bare_words(heading), path)
                if first != path:
                    self._draft.problem(
                        made.place,
                        f"'{path}': the heading '{heading}' is that of '{first}' already",
                        "take it out of one of them",
                    )

    def _refs_resolve(self) -> None:
        fields = self._draft.fields
        tables = [path for path, made in fields.items() if made.kind == "rows"]
        for path, made in fields.items():
            if made.kind == "ref" and made.refers_to and made.refers_to not in tables:
                self._draft.problem(
                    made.place,
                    f"'{path}' refers to the unknown table '{made.refers_to}'",
                    did_you_mean(made.refers_to, tables),
                )

    def _common(self, name: str, place: Place) -> None:
        path = f"forms/{COMMON}/{name}.toml"
        if self._files.find(path) is None:
            known = [n.rpartition("/")[2][:-5] for n, _ in self._files.all("forms/common/*.toml")]
            self._draft.problem(place, f"unknown common form '{name}'", did_you_mean(name, known))
            return
        file, content = self._form_file(path)
        if file is not None and content is not None:
            editions = self._draft.editions
            editions[COMMON] = max(editions.get(COMMON, ""), content.edition)
            self._add_pages(file, content)

    def _form_file(self, name: str) -> tuple[TomlFile | None, FormFileIn | None]:
        file = self._toml(name)
        if file is None:
            return None, None
        content, problems = validated(file, FormFileIn)
        self._draft.problems += problems
        if content is not None:
            place = file.place(("review_by",))
            self._draft.reviews.append(Review(content.edition, content.review_by, place))
        return file, content

    def _add_pages(self, file: TomlFile, content: FormFileIn) -> None:
        for page_index, page in enumerate(content.page):
            fields = []
            for index, given in enumerate(page.field):
                location: Location = ("page", page_index, "field", index)
                made = self._field(file, location, given, page.id)
                fields.append(made)
                for each in (made, *made.columns):
                    self._register(each)
            known = self._draft.pages.get(page.id)
            if known is None:
                known = Page(page.id, page.title, page.order, ())
            if page.remark:
                self._note_remark(page.id, page.remark, file.place(("page", page_index, "remark")))
            self._draft.pages[page.id] = replace(known, fields=(*known.fields, *fields))
        for index, limit in enumerate(content.limit):
            self._add_limit(file.place(("limit", index)), limit)
        for index, figure in enumerate(content.figure):
            self._add_figure(file.place(("figure", index)), figure)
        for index, milestone in enumerate(content.milestone):
            place = file.place(("milestone", index))
            self._draft.milestones.append(Milestone(milestone.date, milestone.title, place))

    def _note_remark(self, page: str, label: str, place: Place) -> None:
        first = self._remarks.setdefault(page, (label, place))[1]
        if first != place:
            self._draft.problem(
                place,
                f"the page '{page}' has a remark already, at {first.file}:{first.line}",
                "keep one of them",
            )

    def _add_remarks(self) -> None:
        """After the fields of all files comes the remark, there while any of them is asked."""
        for id, (label, place) in self._remarks.items():
            page = self._draft.pages[id]
            when = [made.shown_when for made in page.fields if not made.is_computed]
            conditions = dict.fromkeys(f"({one})" for one in when if one is not None)
            shown_when = None if None in when else " or ".join(conditions) or None
            path = f"{REMARK}{id}"
            made = Field(
                path, label, "prose", place, page=id, shown_when=shown_when, never_preset=True
            )
            for key in ("shown_when", "required_when", "computed"):
                self._draft.expression_places[path, key] = place
            self._register(made)
            self._draft.pages[id] = replace(page, fields=(*page.fields, made))

    def _register(self, made: Field) -> None:
        first = self._draft.fields.get(made.path)
        if first is not None:
            where = f"{first.place.file}:{first.place.line}"
            self._draft.problem(
                made.place,
                f"the path '{made.path}' is there twice; first at {where}",
                "give one of them another path",
            )
            return
        self._draft.fields[made.path] = made

    def _field(self, file: TomlFile, location: Location, given: FieldIn, page: str) -> Field:
        place = file.place((*location, "path"))
        self._note_expressions(file, location, given.path)
        for message, remedy in _faults(given, is_column=False):
            self._draft.problem(place, f"'{given.path}': {message}", remedy)
        columns = []
        for index, column in enumerate(given.column):
            inside = (*location, "column", index)
            column_place = file.place((*inside, "path"))
            path = f"{given.path}.{column.path}"
            self._note_expressions(file, inside, path)
            for message, remedy in _faults(column, is_column=True):
                self._draft.problem(column_place, f"'{path}': {message}", remedy)
            made = _field_of(column, path, column_place, page)
            columns.append(replace(made, table=given.path, each=given.each))
        made = _field_of(given, given.path, place, page)
        return replace(made, columns=tuple(columns), each=given.each)

    def _note_expressions(self, file: TomlFile, location: Location, path: str) -> None:
        for key in ("shown_when", "required_when", "computed"):
            self._draft.expression_places[path, key] = file.place((*location, key))

    def _add_limit(self, place: Place, limit: LimitIn) -> None:
        if limit.name in self._draft.limits:
            self._draft.problem(place, f"the limit '{limit.name}' is there twice", "keep one")
        self._draft.limits[limit.name] = Limit(
            limit.name, limit.value, limit.unit, limit.source, place
        )

    def _add_figure(self, place: Place, figure: FigureIn) -> None:
        if figure.kind not in FIGURE_KINDS:
            self._draft.problem(
                place,
                f"unknown kind of figure '{figure.kind}'",
                did_you_mean(figure.kind, FIGURE_KINDS),
            )
        elif not self._has_its_uses(figure):
            wanted = ", ".join(FIGURE_KINDS[figure.kind]) or "nothing"
            self._draft.problem(
                place, f"the figure '{figure.name}' uses: {wanted}", "name these and no other"
            )
        self._draft.figures[figure.name] = FigureUse(
            figure.name, figure.kind, figure.caption, dict(figure.uses), place
        )

    @staticmethod
    def _has_its_uses(figure: FigureIn) -> bool:
        wanted = set(FIGURE_KINDS[figure.kind])
        given = set(figure.uses)
        return wanted < given if figure.kind in DATED_FIGURES else wanted == given

    def figure_paths(self) -> None:
        """The fields that figures use exist, with the columns that the drawing needs."""
        fields = self._draft.fields
        for figure in self._draft.figures.values():
            for use, path in figure.uses.items():
                if use in FIGURE_LIMITS.get(figure.kind, ()):
                    limits = [f"{LIMIT}{name}" for name in self._draft.limits]
                    if path not in limits:
                        self._draft.problem(
                            figure.place, f"unknown limit '{path}'", did_you_mean(path, limits)
                        )
                    continue
                if path not in fields:
                    self._draft.problem(
                        figure.place, f"unknown field '{path}'", did_you_mean(path, fields)
                    )
                    continue
                if figure.kind in DATED_FIGURES and fields[path].kind != "date":
                    self._draft.problem(
                        figure.place,
                        f"the figure '{figure.name}' needs dates, but '{path}' is a "
                        f"{fields[path].kind}",
                        "name a date",
                    )
                has = {column.name for column in fields[path].columns}
                for column in FIGURE_KINDS.get(figure.kind, {}).get(use, ()):
                    if column not in has:
                        self._draft.problem(
                            figure.place,
                            f"the figure '{figure.name}' needs a column '{path}.{column}'",
                            did_you_mean(column, has),
                        )

    def milestone_paths(self) -> None:
        """The dates of milestones exist, and are dates."""
        dates = {path for path, made in self._draft.fields.items() if made.kind == "date"}
        for milestone in self._draft.milestones:
            if milestone.path not in dates:
                self._draft.problem(
                    milestone.place,
                    f"'{milestone.path}' is no date of the form",
                    did_you_mean(milestone.path, dates),
                )

    def _beside(
        self, model: type[ModelT], name: str, *before: str
    ) -> Iterator[tuple[TomlFile, ModelT]]:
        """A file that may stand in the folder of each procedure, and in those before them."""
        for folder in (*before, *self._draft.procedures):
            file = self._toml(f"forms/{folder}/{name}.toml", optional=True)
            if file is None:
                continue
            content, problems = validated(file, model)
            self._draft.problems += problems
            if content is not None:
                yield file, content

    def checks(self) -> None:
        """The checks of every procedure and the limits beside them."""
        for file, content in self._beside(ChecksFileIn, "checks", COMMON):
            for index, limit in enumerate(content.limit):
                self._add_limit(file.place(("limit", index)), limit)
            for index, check in enumerate(content.check):
                places = {
                    key: file.place(("check", index, key))
                    for key in ("id", "each", "when", "say", "settle", "look_at")
                }
                for number in range(len(check.look_at)):
                    key = f"look_at.{number}"
                    places[key] = file.place(("check", index, "look_at", number))
                if check.id in self._draft.checks:
                    self._draft.problem(
                        places["id"], f"the check '{check.id}' is there twice", "rename one of them"
                    )
                self._draft.checks[check.id] = CheckDraft(
                    check.id,
                    check.ref,
                    check.level,
                    check.each,
                    check.when,
                    check.say,
                    check.settle,
                    tuple(check.after),
                    tuple(check.look_at),
                    check.source,
                    places,
                )

    def risks(self) -> None:
        """The risks of every procedure."""
        for file, content in self._beside(RisksFileIn, "risks"):
            read_risks(self._draft, file, content)

    def plans(self) -> None:
        """The recovery plans of every procedure."""
        for file, content in self._beside(RecoveryFileIn, "recovery"):
            for index, given in enumerate(content.plan):
                place = file.place(("plan", index, "id"))
                if given.id in self._draft.plans:
                    self._draft.problem(place, f"the plan '{given.id}' is there twice", "keep one")
                values = self._plan_values(file, index, given)
                self._draft.plans[given.id] = Plan(
                    given.id, given.title, given.for_, given.source, values, place
                )

    def glossary(self) -> None:
        """The medical words that patients' documents explain."""
        taken: list[str] = []
        for file, content in self._beside(GlossaryFileIn, "glossary", COMMON):
            for index, given in enumerate(content.term):
                place = file.place(("term", index, "word"))
                for word in (given.word, *given.also):
                    other = next((w for w in taken if _same_word(w, word)), None)
                    if other is not None:
                        said = "" if other == word else f", as '{other}'"
                        self._draft.problem(
                            place, f"the word '{word}' is there twice{said}", "keep one"
                        )
                taken += [given.word, *given.also]
                self._draft.glossary[given.word] = Term((given.word, *given.also), given.plain)

    def _plan_values(self, file: TomlFile, index: int, given: PlanIn) -> dict[str, Value]:
        values: dict[str, Value] = {}
        fields = self._draft.fields
        others = tuple(self._draft.plans.values())
        for path, raw in given.values.items():
            place = file.place(("plan", index, "values", path))
            found = fields.get(path)
            if found is None or found.table or found.kind == "rows":
                self._draft.problem(place, f"unknown field '{path}'", did_you_mean(path, fields))
            elif found.never_preset or found.is_computed:
                self._draft.problem(
                    place, f"'{path}' can't be filled by a plan", "take the line away"
                )
            else:
                if (
                    found.stricter is None
                    and found.kind in RULES_OF_KIND
                    and any(path in plan.values for plan in others)
                ):
                    self._draft.problem(
                        found.place,
                        f"several plans fill '{path}', which of its answers is stricter isn't said",
                        f"add 'stricter = ...', {_rules_of(found.kind)}",
                    )
                try:
                    values[path] = value_from_json(raw, found)
                except ValueProblem as error:
                    self._draft.problem(place, f"'{path}': {error.message}", error.remedy)
        return values

    def standards(self) -> None:
        """The published standards, and that fields and elements name one another."""
        meets = {element for made in self._draft.fields.values() for element in made.meets}
        known: set[str] = set()
        for name, _ in self._files.all("forms/standards/*.toml"):
            file = self._toml(name)
            content, problems = (None, []) if file is None else validated(file, StandardIn)
            self._draft.problems += problems
            if file is None or content is None:
                continue
            known |= {f"{content.id}.{given.id}" for given in content.element}
            if not any(f"{content.id}.{given.id}" in meets for given in content.element):
                # Nothing of the form speaks of what this standard is about.
                continue
            elements = []
            seen: set[str] = set()
            for index, given in enumerate(content.element):
                key = f"{content.id}.{given.id}"
                place = file.place(("element", index, "id"))
                if key in seen:
                    self._draft.problem(place, f"the element '{key}' is there twice", "keep one")
                seen.add(key)
                if key not in meets and given.met_when is None:
                    self._draft.problem(
                        place, f"no field meets '{key}'", f'add meets = ["{key}"] to a field'
                    )
                elements.append(
                    ElementDraft(
                        given.id,
                        given.title,
                        given.code,
                        given.known,
                        given.applies_when,
                        file.place(("element", index, "applies_when")),
                        given.met_when,
                        file.place(("element", index, "met_when")),
                    )
                )
            self._draft.standards[content.id] = StandardDraft(
                content.id, content.title, content.source, tuple(elements)
            )
        for made in self._draft.fields.values():
            for element in made.meets:
                if element not in known:
                    self._draft.problem(
                        made.place,
                        f"'{made.path}' meets the unknown element '{element}'",
                        did_you_mean(element, known),
                    )


def _same_word(one: str, other: str) -> bool:
    """Whether two words of a glossary are one: whatever their case, singular or plural."""
    a, b = one.casefold(), other.casefold()
    return a == b or a + "s" == b or a == b + "s" or a + "es" == b or a == b + "es"


def _field_of(given: FieldIn, path: str, place: Place, page: str) -> Field:
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
        fills=dict(given.fills),
        fault=given.fault,
        vouched=given.vouched,
        meets=tuple(given.meets),
        silent=given.silent,
        stricter=given.stricter,
        never_preset=given.never_preset,
        preset=given.preset,
        preset_by=given.preset_by,
        normal=given.normal,
        examined=given.examined,
        must=given.must,
        deliberate=given.deliberate,
        told=given.told,
        carry=given.carry,
        listed_as=tuple(given.listed_as),
        listed_never=dict(given.listed_never),
        refers_to=given.refers_to,
        row_label=given.row_label or given.label,
        none_label=given.none_label,
        none_said=given.none_said,
    )


def _picture_faults(given: FieldIn, is_column: bool) -> Iterator[tuple[str, str]]:
    if given.kind != "picture":
        if given.vouched:
            yield f"a {given.kind} has no 'vouched'", "take the line away"
        known = {column.path for column in given.column}
        for column in given.column:
            if column.kind == "picture" and column.vouched and column.vouched not in known:
                yield (
                    f"'{column.path}' is vouched for in no column '{column.vouched}'",
                    did_you_mean(column.vouched, known),
                )
        return
    if not is_column or not given.vouched:
        yield (
            "a picture is a column and needs 'vouched'",
            "name the column in which a person says that no name can be read in it",
        )
    if not given.never_preset:
        yield "a picture is of one patient", "add 'never_preset = true'"


def _option(given: OptionIn) -> Option:
    label = given.label
    keeps_case = label[:2].isupper() or not label[:1].isalpha()
    said = given.said
    if said is None:
        said = label if keeps_case else label[:1].lower() + label[1:]
    return Option(given.value, label, said, given.help, tuple(given.listed_as))


def _rules_of(kind: str) -> str:
    return " or ".join(f"'{rule}'" for rule in RULES_OF_KIND.get(kind, ()))


def _faults(given: FieldIn, is_column: bool) -> Iterator[tuple[str, str]]:
    """What a field's own keys contradict."""
    if ":" in given.label:
        yield f"the label '{given.label}' holds a colon", "take it away: the window sets its own"
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
    if is_column and given.path == "id":
        yield "each row has an 'id' already", "call the column otherwise"
    if is_column and "." in given.path:
        yield "a column's path has no dot", "leave the table's name out"
    if given.kind == "ref" and (not given.refers_to or not is_column):
        yield "a ref is a column and needs 'refers_to'", "name the table it refers to"
    if (given.kind == "scan") != bool(given.fills) or (given.kind == "scan" and not is_column):
        yield "a scan is a column and needs 'fills'", "name the columns that it fills"
    yield from _picture_faults(given, is_column)
    if bool(given.none_label) != bool(given.none_said):
        yield "none_label and none_said belong together", "give both or neither"
    if given.computed is not None and given.required:
        yield "a computed field can't be required", "require what it is computed from"
    low, high = given.least, given.most
    if low is not None and high is not None and low > high:
        yield "'least' is more than 'most'", "swap them"
    if given.usual is not None and given.usual[0] > given.usual[1]:
        yield "'usual' ends before it begins", "swap its numbers"
    if given.carry and (given.never_preset or given.computed is not None):
        why = "a person must enter it" if given.never_preset else "it is worked out"
        yield f"can't be carried over from case to case, as {why}", "take 'carry' away"
    elif given.carry and given.kind in _NOT_CARRIED:
        yield f"a {given.kind} can't be carried over", "carry its columns, or take 'carry' away"
    if given.listed_as and (
        is_column or given.computed is not None or given.kind not in LISTED_KINDS
    ):
        kinds = ", ".join(LISTED_KINDS)
        yield "can't be filled from a theatre list", f"take 'listed_as' away; a list fills: {kinds}"
    if not given.listed_as and (
        given.listed_never or any(option.listed_as for option in given.options)
    ):
        yield "words of a list, but no heading", "add 'listed_as = [...]' to the field"
    if given.stricter is not None and given.stricter not in RULES_OF_KIND.get(given.kind, ()):
        rules = _rules_of(given.kind)
        remedy = f"write {rules}" if rules else "take the line away"
        yield f"stricter = '{given.stricter}' doesn't fit a {given.kind}", remedy
    if given.preset and (given.never_preset or given.computed is not None):
        yield "a usual practice can't fill this", "take 'preset' away, or the other key"
    if given.preset and given.kind in ("rows", "ref", "scan"):
        yield f"a usual practice can't fill a {given.kind}", "take 'preset' away"
    if given.normal and (given.kind not in ("choice", "grade") or given.normal not in values):
        remedy = did_you_mean(given.normal, values) or "make it a choice, or take the line away"
        yield f"normal names no option '{given.normal}'", remedy
    if given.examined and given.kind != "yes_no":
        yield f"a {given.kind} can't be answered 'not examined'", "make that one of its options"
    deciding = {column.path for column in given.column if column.kind == "choice"}
    if given.preset_by and given.preset_by not in deciding:
        yield f"preset_by names no choice '{given.preset_by}'", "name a column that is a choice"
    if any(column.preset for column in given.column) and not given.preset_by:
        yield "which row a usual practice fills isn't said", "add 'preset_by' to the table"
    if given.preset_by and any(c.preset and c.path == given.preset_by for c in given.column):
        yield f"'{given.preset_by}' decides and can't be preset itself", "take its 'preset' away"
    for key in ("least", "most", "usual"):
        if getattr(given, key) is not None and given.kind not in ("integer", "quantity"):
            yield f"a {given.kind} has no '{key}'", "make it a number, or take the line away"
