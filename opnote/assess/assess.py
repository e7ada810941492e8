"""From a view of a case to its findings: a pure function."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from itertools import chain

from opnote.pack.form import Field
from opnote.pack.given import (
    DECIDED,
    GIVEN_TO_READ,
    OPERATED,
    SHEET,
    changes_since_given,
    last_given,
)
from opnote.pack.pack import Check, Element, Pack, Standard
from opnote.pack.view import Rule, View, date_words, quantity_words
from opnote.record import Quantity
from opnote.record.record import Origin

LEVELS = ("contradiction", "gap", "adverse", "unusual", "due")
"""In the order in which they stop signing."""

_ORIGIN_WORDS: Mapping[Origin, str] = {
    Origin.LISTED: "came from the list",
    Origin.PRESET: "was preset",
    Origin.CARRIED_OVER: "was carried over",
}


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that stands between a case and its signature, or once did.

    `fact` says what is so, `remedy` what settles it; a document prints the fact alone. `fields`
    are concrete paths to look at, `source` is where the rule comes from, `settled` is true when a
    reason was given, a check booked, or "not recorded, because ..." answered. `basis` is the fact
    with the values that were looked at: what a reason was given for.
    """

    id: str
    level: str
    fact: str
    fields: tuple[str, ...]
    source: str
    settled: bool = False
    remedy: str = ""
    basis: str = ""

    @property
    def message(self) -> str:
        """The fact and its remedy, for the person at the desk."""
        return f"{self.fact} {self.remedy}".rstrip()


@dataclass(frozen=True, slots=True)
class Score:
    """How a case meets one published standard."""

    standard: Standard
    met: int
    of: int
    missing: tuple[Element, ...]


@dataclass(frozen=True, slots=True)
class _Work:
    """The findings of one view by what they were found by, to be taken over by the next.

    Shape: `gaps` and `unusual` by the path of the field or table, `checks` in the order of the
    pack's checks.
    """

    pack: Pack
    view: View
    gaps: Mapping[str, tuple[Finding, ...]]
    unusual: Mapping[str, tuple[Finding, ...]]
    outdated: tuple[Finding, ...]
    checks: tuple[tuple[Finding, ...], ...]


@dataclass(frozen=True, slots=True)
class Assessment:
    """All findings of a case, in the order of their levels."""

    findings: tuple[Finding, ...]
    work: _Work | None = field(default=None, compare=False, repr=False)

    @property
    def open(self) -> tuple[Finding, ...]:
        """What is not settled yet."""
        return tuple(finding for finding in self.findings if not finding.settled)

    @property
    def is_ready(self) -> bool:
        """True when nothing stands between the case and its signature."""
        return not self.open


def assess(pack: Pack, view: View, before: Assessment | None = None) -> Assessment:
    """Find what is missing, contradicts itself, went badly, is rare, or is due later.

    `before` is an earlier assessment of the case: what reads nothing that has changed since is
    taken from it. The findings are the same without it.
    """
    earlier = None if before is None else before.work
    if earlier is None or earlier.pack is not pack:
        work = _all_work(pack, view)
    else:
        work = _work_after(earlier, view)
    findings = [
        *chain.from_iterable(work.gaps.values()),
        *_leftovers(view),
        *work.outdated,
        *_sheet_giving(view),
        *_unconfirmed(pack, view),
        *chain.from_iterable(work.unusual.values()),
        *chain.from_iterable(work.checks),
    ]
    findings.sort(key=lambda finding: LEVELS.index(finding.level))
    return Assessment(tuple(findings), work)


def _all_work(pack: Pack, view: View) -> _Work:
    layout = {rule.field.path: columns for rule, columns in pack.layout}
    return _Work(
        pack,
        view,
        {path: tuple(_gaps(pack, view, path, columns)) for path, columns in layout.items()},
        {path: tuple(_unusual_values(view, path, columns)) for path, columns in layout.items()},
        tuple(_outdated_sheet(pack, view)),
        tuple(tuple(_found_by(check, view)) for check in pack.checks),
    )


def _work_after(earlier: _Work, view: View) -> _Work:
    """The work on a view, done anew only where something has changed."""
    pack, old, new = earlier.pack, earlier.view.record, view.record
    changed = view.changed_since(earlier.view)
    asked = set().union(*(pack.asked_by.get(path, ()) for path in changed))
    checked = set().union(*(pack.checked_by.get(path, ()) for path in changed))
    is_settled_anew = (old.reasons, old.facts, old.due, old.unanswered) != (
        new.reasons,
        new.facts,
        new.due,
        new.unanswered,
    )
    if is_settled_anew:
        # An answer settles only what was found.
        asked.update(path for path, found in earlier.gaps.items() if found)
        asked.update(path for path, found in earlier.unusual.items() if found)
        checked.update(number for number, found in enumerate(earlier.checks) if found)
    gaps, unusual, checks = dict(earlier.gaps), dict(earlier.unusual), list(earlier.checks)
    for rule, columns in pack.layout:
        path = rule.field.path
        if path in asked:
            gaps[path] = tuple(_gaps(pack, view, path, columns))
            unusual[path] = tuple(_unusual_values(view, path, columns))
    texts = {path for path in view.texts if view.concrete[path].field.path in changed}
    for number in checked:
        check, beside = pack.checks[number], pack.text_checks.get(number)
        if beside is None or is_settled_anew or not beside.isdisjoint(changed):
            checks[number] = tuple(_found_by(check, view))
        else:
            checks[number] = _found_in_texts(check, view, texts, earlier.checks[number])
    outdated = earlier.outdated
    if is_settled_anew or old.given != new.given or any(pack.fields[p].told for p in changed):
        outdated = tuple(_outdated_sheet(pack, view))
    return _Work(pack, view, gaps, unusual, outdated, tuple(checks))


def _places(view: View, path: str, columns: Sequence[Rule]) -> Iterator[tuple[str, Rule]]:
    """A field; a table followed by its columns row by row."""
    yield path, view.concrete[path]
    for row in view.rows.get(path, ()):
        for column in columns:
            yield f"{path}.{row}.{column.field.name}", column


def contradictions(pack: Pack, view: View) -> tuple[Finding, ...]:
    """Only what can't both be true: for values that are no case yet, of which all else is open."""
    checks = (check for check in pack.checks if check.level == "contradiction")
    return tuple(chain.from_iterable(_found_by(check, view) for check in checks))


def label_of(field: Field, path: str, view: View) -> str:
    """A field's label as a message names it; a column with the number of its row."""
    if not field.table:
        return field.label
    row = path[len(field.table) + 1 :].partition(".")[0]
    table = view.concrete[field.table].field
    rows = view.rows.get(field.table, ())
    if len(rows) < 2:
        return f"{table.row_label}: {field.label}"
    return f"{table.row_label} {rows.index(row) + 1}: {field.label}"


def _gaps(pack: Pack, view: View, entry: str, columns: Sequence[Rule]) -> Iterator[Finding]:
    for path, rule in _places(view, entry, columns):
        if view.is_recorded(path) or not view.is_required(path):
            continue
        because = view.record.unanswered.get(path, "").strip()
        label = label_of(rule.field, path, view)
        said = f"not recorded, because {because}" if because else "not recorded"
        yield Finding(
            f"gap:{path}",
            "gap",
            f"{label}: {said}.",
            (path,),
            _asked_by(pack, rule.field, view),
            # Whose operation it is, and on which side, can't be left open for a reason.
            bool(because) and not rule.field.must,
        )


def _asked_by(pack: Pack, field: Field, view: View) -> str:
    """The standards that ask for a field in this case: of the rules for consent, those chosen."""
    asked = sorted(
        {
            standard.title
            for standard in pack.standards
            for element in standard.elements
            if f"{standard.id}.{element.id}" in field.meets
            and (element.applies_when is None or element.applies_when.run(view, {}) is True)
        }
    )
    return "; ".join(asked) if asked else "required by the form"


def _leftovers(view: View) -> Iterator[Finding]:
    for path, leftover in view.record.leftover.items():
        yield Finding(
            f"leftover:{path}",
            "gap",
            f"{path}: '{leftover.value}' from edition {leftover.edition} has no place now"
            f" ({leftover.because}).",
            (path,),
            "the form's present edition",
            remedy="Enter it anew or let it go.",
        )


def _outdated_sheet(pack: Pack, view: View) -> Iterator[Finding]:
    """The patient was told something else than what is planned now."""
    given = last_given(view)
    changes = changes_since_given(pack, view)
    if given is None or not changes:
        return
    said = "; ".join(f"{each.label}, {each.before}, now {each.now}" for each in changes)
    on = date_words(given.on)
    finding = "given:risk_sheet"
    fact = f"Since the risk sheet was given on {on} the plan has changed: {said}."
    yield Finding(
        finding,
        "adverse",
        fact,
        tuple(change.path for change in changes),
        "GMC, Decision making and consent, 2020",
        _is_explained(finding, fact, view),
        "Tell the patient and give the sheet again, or say why not.",
        fact,
    )


def _sheet_giving(view: View) -> Iterator[Finding]:
    """When the sheet was given, held against what the consent says of it and against the dates."""
    times = view.record.given.get(SHEET, ())
    to_read = view.values.get(GIVEN_TO_READ)
    if not times:
        if to_read is not None and SHEET in to_read:
            yield _about_giving(
                "given:not_recorded",
                "unusual",
                "The consent says that the risk sheet was given to read, and no giving of it is "
                "recorded.",
                "Record it (Case, Risk sheet given to the patient), or say why not.",
                (GIVEN_TO_READ,),
                view,
            )
        return
    first = times[0].on
    if to_read is not None and SHEET not in to_read:
        yield _about_giving(
            "given:not_to_read",
            "unusual",
            f"The risk sheet was given on {date_words(first)}, and the consent names what was "
            f"given to read: {view.said(GIVEN_TO_READ)}.",
            "Correct one, or say why.",
            (GIVEN_TO_READ,),
            view,
        )
    operated = view.values.get(OPERATED)
    path = next((path for path in DECIDED if path in view.values), "")
    if operated is not None and first > operated:
        yield _about_giving(
            "given:too_late",
            "adverse",
            f"The risk sheet was first given on {date_words(first)}, after the operation on "
            f"{view.said(OPERATED)}.",
            "Correct the day, or say why the patient could not read it before.",
            (OPERATED,),
            view,
        )
    elif path and first > view.values[path]:
        yield _about_giving(
            "given:after_decision",
            "unusual",
            f"The risk sheet was first given on {date_words(first)}, and the patient had decided "
            f"before, on {view.said(path)}.",
            "Correct one of the days, or say why.",
            (path,),
            view,
        )


def _about_giving(
    finding: str, level: str, fact: str, remedy: str, fields: tuple[str, ...], view: View
) -> Finding:
    source = "GMC, Decision making and consent, 2020"
    settled = _is_explained(finding, fact, view)
    return Finding(finding, level, fact, fields, source, settled, remedy, fact)


def _unconfirmed(pack: Pack, view: View) -> Iterator[Finding]:
    for path in view.record.origins:
        if path not in view.values or not view.record.is_unconfirmed(path):
            continue
        field = pack.field_at(path)
        if field is None:
            continue
        how = _ORIGIN_WORDS[view.record.origin(path)]
        label = label_of(field, path, view)
        yield Finding(
            f"confirm:{path}",
            "gap",
            f"{label}: {view.said(path)} {how}.",
            (path,),
            "a person confirms what wasn't typed",
            remedy="Confirm it or change it.",
        )


def _unusual_values(view: View, entry: str, columns: Sequence[Rule]) -> Iterator[Finding]:
    for path, rule in _places(view, entry, columns):
        field = rule.field
        if field.usual is None or path not in view.values:
            continue
        value = view.values[path]
        amount = value.amount if isinstance(value, Quantity) else value
        low, high = field.usual
        if isinstance(amount, int | float) and not low <= amount <= high:
            unit = field.unit
            usual = f"{quantity_words(low, '')} to {quantity_words(high, unit)}"
            label = label_of(field, path, view)
            fact = f"{label}: {view.said(path)} is outside the usual {usual}."
            basis = _basis(fact, (path,), view)
            yield Finding(
                f"usual:{path}",
                "unusual",
                fact,
                (path,),
                "usual range of the form",
                _is_explained(f"usual:{path}", basis, view),
                "Correct it, or say why.",
                basis,
            )


def _found_in_texts(
    check: Check, view: View, changed: Collection[str], earlier: Sequence[Finding]
) -> tuple[Finding, ...]:
    """What a check finds in free texts, of which only some were changed."""
    found = {finding.id: finding for finding in _found_by(check, view, changed)}
    kept = {finding.id: finding for finding in earlier}
    ids = ((path, f"{check.id}:{path}") for path in view.texts)
    both = ((found if path in changed else kept).get(name) for path, name in ids)
    return tuple(finding for finding in both if finding is not None)


def _found_by(check: Check, view: View, only: Collection[str] | None = None) -> Iterator[Finding]:
    """What a check finds, in all its rows or in some."""
    for rows in check.firings(view, only):
        finding_id = f"{check.id}:{rows[check.row]}" if check.row else check.id
        fields = tuple(dict.fromkeys(t.concrete(view, rows) for t in check.look_at))
        fact = "".join(part.words(view, rows) for part in check.say)
        remedy = "".join(part.words(view, rows) for part in check.settle)
        basis = _basis(fact, fields, view)
        settled = _is_settled(check, finding_id, basis, fields, view)
        yield Finding(finding_id, check.level, fact, fields, check.source, settled, remedy, basis)


def _basis(fact: str, fields: Sequence[str], view: View) -> str:
    return "; ".join([fact, *(f"{path}: {view.said(path)}" for path in fields)])


def _is_settled(
    check: Check, finding_id: str, basis: str, fields: tuple[str, ...], view: View
) -> bool:
    match check.level:
        case "adverse" | "unusual":
            return _is_explained(finding_id, basis, view)
        case "due":
            booked = view.record.due.get(finding_id)
            if booked is None or not booked.by.strip() or not _still_holds(finding_id, basis, view):
                return False
            return not _is_too_early(check, booked.at, view)
        case "gap":
            missing = [path for path in fields if not view.is_recorded(path)]
            answered = [path for path in missing if view.record.unanswered.get(path, "").strip()]
            return bool(missing) and answered == missing
        case _:
            return False


def _is_explained(finding_id: str, basis: str, view: View) -> bool:
    given = view.record.reasons.get(finding_id, "").strip()
    return bool(given) and _still_holds(finding_id, basis, view)


def _still_holds(finding_id: str, basis: str, view: View) -> bool:
    """What was settled is what is so now; a file written by hand need not say what it settled."""
    return view.record.facts.get(finding_id, basis) == basis


def _is_too_early(check: Check, booked: datetime, view: View) -> bool:
    """A check that is due later can't be booked for before the operation's end."""
    values = [view.values.get(path) for path in check.after]
    day = next((value for value in values if isinstance(value, date)), None)
    clock = next((value for value in values if isinstance(value, time)), time())
    return day is not None and booked < datetime.combine(day, clock)


def scores_of(pack: Pack, view: View) -> tuple[Score, ...]:
    """Hold a case against each published standard of which something applies to it."""
    places: dict[str, list[str]] = {}
    for path, rule in view.concrete.items():
        places.setdefault(rule.field.path, []).append(path)
    absent = {
        path
        for path, field in pack.fields.items()
        if field.table and (field.table in view.hidden or view.rows.get(field.table) == ())
    }
    absent.update(path for path, at in places.items() if view.hidden.issuperset(at))
    scores = (_score(standard, view, places, absent) for standard in pack.standards)
    return tuple(score for score in scores if score.of)


def _score(
    standard: Standard,
    view: View,
    places: Mapping[str, Sequence[str]],
    absent: Collection[str],
) -> Score:
    """An element is met when one of its fields is filled and no required one is empty, and when
    its own condition is true.

    It doesn't apply when its condition is false, or when all its fields are absent: hidden in this
    case, or columns of a table that was answered "none".
    """
    missing = []
    of = 0
    for element in standard.elements:
        if element.applies_when is not None and element.applies_when.run(view, {}) is False:
            continue
        paths = [path for field in element.fields for path in places.get(field, ())]
        visible = [path for path in paths if path not in view.hidden]
        if element.fields and all(field in absent for field in element.fields):
            continue
        of += 1
        filled = any(view.is_recorded(path) for path in visible)
        lacking = any(view.is_required(path) and not view.is_recorded(path) for path in visible)
        said = element.met_when is None or element.met_when.run(view, {}) is True
        if (element.fields and not filled) or lacking or not said:
            missing.append(element)
    return Score(standard, of - len(missing), of, tuple(missing))
