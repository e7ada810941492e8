"""Reading the figures of the risk sheet into a draft, and what their own keys contradict."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from opnote.pack.draft import Draft, RiskDraft, SurvivalDraft
from opnote.pack.form import Place
from opnote.pack.pack import Audit, Nearest, Review
from opnote.pack.problem import Problem, did_you_mean
from opnote.pack.schema import AuditIn, RiskIn, RisksFileIn, SurvivalIn
from opnote.pack.toml_file import TomlFile
from opnote.reckon.survival import Point, survival_at

_SLACK = 0.5
"""How far an estimate may lie outside its published interval by rounding. Units: per cent."""


def read_risks(draft: Draft, file: TomlFile, content: RisksFileIn) -> None:
    """Take the risks, audits and survival studies of one `risks.toml`."""
    for index, risk in enumerate(content.risk):
        _read_risk(draft, file, index, risk)
    for index, audit in enumerate(content.audit):
        _read_audit(draft, file.place(("audit", index, "risk")), audit)
    _warn_of_missed_rows(draft, file, content.audit)
    _compare_studies(draft)
    for index, study in enumerate(content.survival):
        _read_study(draft, file, index, study)
    if content.edition is not None and content.review_by is not None:
        review = Review(content.edition, content.review_by, file.place(("review_by",)))
        draft.reviews.append(review)
        draft.figures_of = review


def _read_risk(draft: Draft, file: TomlFile, index: int, given: RiskIn) -> None:
    place = file.place(("risk", index, "id"))
    if given.id in draft.risks:
        draft.problem(place, f"the risk '{given.id}' is there twice", "keep one")
    for message, remedy in _risk_faults(given):
        draft.problem(place, f"the risk '{given.id}' {message}", remedy)
    kept = given.model_dump(exclude={"applies_when", "raised", "lowered", "nearest"})
    kept["nearest"] = None if given.nearest is None else Nearest(**given.nearest.model_dump())
    draft.risks[given.id] = RiskDraft(
        given.applies_when,
        kept,
        tuple(
            (modifier.words, key == "raised", modifier.when, file.place(("risk", index, key, n)))
            for key, modifiers in (("raised", given.raised), ("lowered", given.lowered))
            for n, modifier in enumerate(modifiers)
        ),
        place,
        file.place(("risk", index, "applies_when")),
    )


def _read_audit(draft: Draft, place: Place, given: AuditIn) -> None:
    if given.risk not in draft.risks:
        draft.problem(place, f"unknown risk '{given.risk}'", did_you_mean(given.risk, draft.risks))
    if given.events > given.patients:
        draft.problem(
            place,
            f"more events ({given.events}) than patients ({given.patients})",
            "correct one of them",
        )
    years = [int(year) for year in _YEAR.findall(given.period)]
    if years != sorted(years):
        draft.problem(place, f"the period '{given.period}' ends before it begins", "swap its years")
    audits = draft.audits.setdefault(given.risk, [])
    if any((each.whose, each.period) == (given.whose, given.period) for each in audits):
        draft.problem(
            place,
            f"the audit of '{given.risk}' by '{given.whose}', {given.period}, is there twice",
            "keep one",
        )
    audits.append(Audit(given.whose, given.events, given.patients, given.period, given.definition))


_YEAR = re.compile(r"\b(?:19|20)\d\d\b")
_STUDY = ("title", "source", "population", "definition")
"""What two rows share that tell the same study."""
_FIGURE = ("events", "patients", "low", "high", "per", "range_low", "range_high", "interval")


def _warn_of_missed_rows(draft: Draft, file: TomlFile, audits: list[AuditIn]) -> None:
    """An audit is printed beside its own risk alone, also where another row has its title."""
    audited = {audit.risk for audit in audits}
    for index, audit in enumerate(audits):
        known = draft.risks.get(audit.risk)
        if known is None:
            continue
        title = known.content["title"]
        missed = [
            name
            for name, risk in draft.risks.items()
            if risk.content["title"] == title and name not in audited
        ]
        if missed:
            place = file.place(("audit", index, "risk"))
            draft.warnings.append(
                Problem(
                    place.file,
                    place.line,
                    f"the audit of '{audit.risk}' is not printed where '{title}' is told by "
                    + ", ".join(f"'{name}'" for name in missed),
                    "add an audit for each that you counted",
                    is_warning=True,
                )
            )


def _compare_studies(draft: Draft) -> None:
    """The figure of one study that stands in two rows is the same in both."""
    first: dict[tuple[str, ...], str] = {}
    for name, risk in draft.risks.items():
        if risk.content["events"] is None and risk.content["low"] is None:
            continue
        study = tuple(str(risk.content[key]) for key in _STUDY)
        other = first.setdefault(study, name)
        then = draft.risks[other].content
        if any(risk.content[key] != then[key] for key in _FIGURE):
            draft.problem(
                risk.place,
                f"the risk '{name}' tells another figure than '{other}' of the same study",
                "change both, or name another source",
            )


def _read_study(draft: Draft, file: TomlFile, index: int, given: SurvivalIn) -> None:
    place = file.place(("survival", index, "points"))
    if given.id in draft.survival:
        draft.problem(place, f"the study '{given.id}' is there twice", "keep one")
    points = []
    for point in given.points:
        if len(point) not in (2, 3):
            draft.problem(
                place, "a point is [years, per cent] or [years, per cent, people]", "correct it"
            )
            return
        at_risk = point[2] if len(point) == 3 else None
        if at_risk is not None and not (at_risk == int(at_risk) and 0 <= at_risk <= given.people):
            draft.problem(
                place, f"{at_risk:g} of {given.people} people can't be followed", "correct it"
            )
            return
        points.append(Point(point[0], point[1] / 100, None if at_risk is None else int(at_risk)))
    try:
        survival_at(points, 0)
    except ValueError as error:
        draft.problem(place, str(error), "put the points in the order of their times")
    if not (math.isfinite(points[-1].at) and points[-1].at > 0):
        draft.problem(place, "no point lies after the start", "give one with its years")
    draft.survival[given.id] = SurvivalDraft(
        given.applies_when,
        {
            **given.model_dump(exclude={"applies_when", "points"}),
            "points": tuple(points),
        },
        place,
        file.place(("survival", index, "applies_when")),
    )


def _risk_faults(given: RiskIn) -> Iterator[tuple[str, str]]:
    yield from _figure_faults(given)
    if given.applies_when is not None and not given.for_whom:
        yield "has a condition without words for it", "say in for_whom whom it is told"
    if given.nearest is not None and given.nearest.events > given.nearest.patients:
        yield "has a nearest study with more events than patients", "correct it"
    if given.interval is not None:
        yield from _interval_faults(given, given.interval)


def _figure_faults(given: RiskIn) -> Iterator[tuple[str, str]]:
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
    if given.high is not None and given.per is not None and given.high > given.per:
        yield f"affects more people ({given.high:g}) than there are ({given.per})", "correct it"
    spread = (given.range_low, given.range_high)
    if spread != (None, None) and (None in spread or given.per is None):
        yield "has an incomplete spread", "give range_low, range_high and per"
    if (
        given.range_low is not None
        and given.range_high is not None
        and given.range_low > given.range_high
    ):
        yield "has a spread that ends before it begins", "swap range_low and range_high"
    if given.range_high is not None and given.per is not None and given.range_high > given.per:
        yield f"has a spread of more people than there are ({given.per})", "correct it"
    if spread != (None, None) and not given.range_definition:
        yield "has a spread without what was counted in it", "give range_definition"
    if has_counts and has_range:
        yield "has two figures, events of patients and a range", "keep the better one"
    if (has_counts or has_range) and not given.follow_up:
        yield "has a figure without a follow-up", "say how long people were followed"
    if (has_counts or has_range) and not given.definition:
        yield "has a figure without what was counted", "give definition"
    if given.picture and not (has_counts or (has_range and given.low == given.high)):
        yield "has a picture without a single figure", "take the picture away"


def _interval_faults(given: RiskIn, interval: tuple[float, float]) -> Iterator[tuple[str, str]]:
    if given.per is None:
        yield "has an interval without 'per'", "say of how many people it speaks"
        return
    if interval[0] > interval[1]:
        yield "has an interval that ends before it begins", "swap its numbers"
        return
    if not 0 <= interval[0] <= interval[1] <= given.per:
        yield f"has an interval outside 0 to {given.per}", "correct it"
        return
    if given.events is not None and given.patients:
        estimate = 100 * given.events / given.patients
    elif given.low is not None and given.low == given.high:
        estimate = 100 * given.low / given.per
    else:
        yield "has an interval without a single figure", "take it away"
        return
    low, high = (100 * end / given.per for end in interval)
    if not low - _SLACK <= estimate <= high + _SLACK:
        yield (
            f"has an interval that doesn't hold its figure ({estimate:.3g} per cent)",
            "correct it",
        )
