"""The risks of a plan in words: only figures whose source was read become numbers.

A risk without such a figure is still named: a number may be withheld, a material risk never. What
is common is counted out of 100 people, what is rare out of 10,000, and the two never stand in one
table: whoever compares two numbers compares them out of the same crowd.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import ceil, floor

from opnote.pack.logic import Truth, truth_of
from opnote.pack.pack import Audit, Modifier, Nearest, Pack, Risk, SurvivalStudy
from opnote.pack.view import View, date_words
from opnote.reckon.frequency import (
    Band,
    band_of_share,
    people_of_share,
    upper_limit_without_events,
    wilson_interval,
)
from opnote.record import UNSET
from opnote.record.value import number_text

NO_FIGURE = "We do not have a good number."
UNDECIDED = "It depends on what is planned."
NEAREST_WORDS = "in the study nearest to this plan"

COMMON, RARE, UNKNOWN = "common", "rare", "unknown"
"""The tables of the sheet: out of 100, out of 10,000, and without a good number."""

PEOPLE_OF_BLOCK = {COMMON: 100, RARE: 10_000}
_LEAST_COMMON = Fraction(1, 100)
_SLIVER = 1e-9
_MOST_PICTURES = 4
"""More would be printed too small to read."""

TODAY_PATHS = ("operation.date", "consent.date")
"""The day on which a sheet is used, as far as the case knows."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A risk that the sheet of this plan doesn't name, and whom it is told."""

    title: str
    for_whom: str


@dataclass(frozen=True, slots=True)
class Pictured:
    """A figure that is drawn: how many of 100 people had it, in which words, and who they were."""

    title: str
    people: int
    had: str
    note: str


def risk_rows(risks: Sequence[Risk], view: View) -> list[dict[str, str]]:
    """The risks that apply to this plan, each with its words; "" where there is nothing to say.

    A risk whose condition isn't known yet is told once and without a figure: what might apply is
    never left out, and a number that may be another person's is never told.
    """
    applying = [(risk, _applies(risk, view)) for risk in risks]
    told = {risk.title for risk, applies in applying if applies is True}
    rows = []
    for risk, applies in applying:
        if applies is True:
            rows.append(_row(risk, view))
            if risk.evidence == "read" and risk.nearest is not None:
                rows.append(_nearest_row(risk.nearest))
        elif applies is UNSET and risk.title not in told:
            told.add(risk.title)
            rows.append(_undecided_row(risk))
    return rows


def left_out(risks: Sequence[Risk], view: View) -> list[LeftOut]:
    """The risks that this plan doesn't have, in their order, with whom they are told.

    A risk that is told with the figure of other people is not left out.
    """
    applying = [(risk, _applies(risk, view)) for risk in risks]
    told = {risk.title for risk, applies in applying if applies is not False}
    return [
        LeftOut(risk.title, risk.for_whom)
        for risk, applies in applying
        if applies is False and risk.title not in told
    ]


def survival_rows(studies: Sequence[SurvivalStudy], view: View) -> list[dict[str, str]]:
    """How long a mend holds, in words, for the studies that apply and were read."""
    return [
        {
            "words": study.words,
            "population": study.population,
            "people": grouped(study.people),
            "definition": study.definition,
            "source": _with_year(study.source, study.year),
        }
        for study in told_studies(studies, view)
    ]


def told_studies(studies: Sequence[SurvivalStudy], view: View) -> list[SurvivalStudy]:
    """The survival studies whose condition is known to hold, and whose source was read."""
    return [
        study
        for study in studies
        if study.evidence == "read"
        and (study.applies_when is None or truth_of(study.applies_when.run(view, {})) is True)
    ]


def sheet_rows(pack: Pack, view: View) -> list[dict[str, str]]:
    """The edition of the figures, and whether its review was due before the sheet is used."""
    review = pack.figures_of
    if review is None:
        return []
    days = [day for path in TODAY_PATHS if isinstance(day := view.values.get(path), date)]
    return [
        {
            "edition": review.edition,
            "review_by": date_words(review.by),
            "is_overdue": "yes" if days and days[0] > review.by else "",
        }
    ]


def pictured(risks: Sequence[Risk], view: View) -> list[Pictured]:
    """What is drawn as a hundred people: common figures that were read, each nearest study too."""
    found: list[Pictured] = []
    for risk in risks:
        share = _share_of(risk)
        if not risk.picture or risk.evidence != "read" or _applies(risk, view) is not True:
            continue
        if share is None or share < _LEAST_COMMON:
            continue
        note = f"Counted among {risk.population}, followed for {risk.follow_up}."
        found.append(Pictured(risk.title, people_of_share(share, 100), risk.picture, note))
        if (near := risk.nearest) is not None:
            people = people_of_share(Fraction(near.events, near.patients), 100)
            note = (
                f"Counted among {near.patients} {near.population}, followed for {near.follow_up}."
            )
            found.append(Pictured(_nearest_title(near), people, f"had {near.definition}", note))
    return found[:_MOST_PICTURES]


def grouped(count: int) -> str:
    """A count with a comma at the thousands."""
    return f"{count:,}"


def _applies(risk: Risk, view: View) -> Truth:
    return True if risk.applies_when is None else truth_of(risk.applies_when.run(view, {}))


def _undecided_row(risk: Risk) -> dict[str, str]:
    return {"title": risk.title, "plain": risk.plain, "block": UNKNOWN, "figure": UNDECIDED}


def _row(risk: Risk, view: View) -> dict[str, str]:
    row = {
        "title": risk.title,
        "plain": risk.plain,
        "block": UNKNOWN,
        "figure": NO_FIGURE,
        "remark": risk.remark,
        **_modifiers(risk.modifiers, view),
    }
    if risk.evidence == "read" and (figure := _figure(risk)):
        row |= figure
        row |= {
            "spread": _spread(risk),
            "definition": risk.definition,
            "follow_up": risk.follow_up,
            "population": _population(risk),
            "source": _with_year(risk.source, risk.year),
        }
    whole = PEOPLE_OF_BLOCK.get(row["block"], 100)
    row["audit"] = " ".join(_audit(audit, whole) for audit in risk.audits)
    return row


def _nearest_row(study: Nearest) -> dict[str, str]:
    """The study whose people are nearest to this plan, beside the pool, with its own size."""
    share = Fraction(study.events, study.patients)
    people = people_of_share(share, 100)
    return {
        "title": _nearest_title(study),
        "plain": f"A study of {study.population}. It is small, so its number is less sure.",
        "block": COMMON,
        "figure": f"{people} in 100",
        "band": _band(share),
        "other_frame": f"{100 - people} in 100 do not have it",
        "interval": _between(*wilson_interval(study.events, study.patients), 100),
        "population": f"{grouped(study.patients)} people, {grouped(study.events)} of whom had it",
        "follow_up": study.follow_up,
        "definition": study.definition,
        "remark": study.remark,
        "source": study.source,
    }


def _nearest_title(study: Nearest) -> str:
    """What was counted, and where: beside the pool it must be clear without it."""
    return f"{study.definition[:1].upper()}{study.definition[1:]}, {NEAREST_WORDS}"


def _with_year(source: str, year: int | None) -> str:
    said = str(year) if year is not None else ""
    return source if not said or said in source else f"{source}, {said}"


def _population(risk: Risk) -> str:
    if risk.patients is None:
        return risk.population
    return f"{risk.population} ({grouped(risk.patients)} people)"


def _share_of(risk: Risk) -> Fraction | None:
    """The one share that a figure gives; None for a range, and without a figure."""
    if risk.events is not None and risk.patients is not None:
        return Fraction(risk.events, risk.patients)
    if risk.low is not None and risk.low == risk.high and risk.per is not None:
        return Fraction(str(risk.low)) / risk.per
    return None


def _figure(risk: Risk) -> dict[str, str]:
    """The frequency out of the people of its block, both frames, the band, and the interval."""
    share = _share_of(risk)
    if share is None:
        return _range_figure(risk)
    if risk.events == 0 and risk.patients is not None:
        return _no_event_figure(risk.patients)
    block = COMMON if share >= _LEAST_COMMON else RARE
    whole = PEOPLE_OF_BLOCK[block]
    people = people_of_share(share, whole)
    if not people or (people == whole and share < 1):
        told = f"Fewer than 1 in {grouped(whole)}"
        if people:
            told = f"More than {grouped(whole - 1)} in {grouped(whole)}"
        return {"block": block, "figure": told, "band": _band(share)}
    return {
        "block": block,
        "figure": f"{grouped(people)} in {grouped(whole)}",
        "other_frame": f"{grouped(whole - people)} in {grouped(whole)} do not have it",
        "band": _band(share),
        "interval": _interval(risk, whole),
    }


def _range_figure(risk: Risk) -> dict[str, str]:
    if risk.low is None or risk.high is None or risk.per is None:
        return {}
    low, high = (Fraction(str(end)) / risk.per for end in (risk.low, risk.high))
    block = COMMON if high >= _LEAST_COMMON else RARE
    whole = PEOPLE_OF_BLOCK[block]
    first, last = people_of_share(low, whole), people_of_share(high, whole)
    if not last:
        return {"block": block, "figure": f"Fewer than 1 in {grouped(whole)}"}
    start = grouped(first) if first else "fewer than 1"
    figure = f"{start} to {grouped(last)} in {grouped(whole)}"
    return {"block": block, "figure": figure.capitalize()}


def _no_event_figure(patients: int) -> dict[str, str]:
    """Nobody in so few is not nobody at all: the upper limit is told with it."""
    limit = upper_limit_without_events(patients)
    block = COMMON if limit >= _LEAST_COMMON else RARE
    whole = PEOPLE_OF_BLOCK[block]
    most = max(1, people_of_share(limit, whole))
    return {
        "block": block,
        "figure": f"None of {grouped(patients)} people",
        "interval": f"It may still happen to up to {grouped(most)} in {grouped(whole)}",
    }


def _band(share: Fraction) -> str:
    band = band_of_share(share)
    return "" if band is Band.NOT_KNOWN else str(band)


def _interval(risk: Risk, whole: int) -> str:
    """The published interval, or that of the count by itself."""
    if risk.interval is not None and risk.per is not None:
        low, high = (float(end) / risk.per for end in risk.interval)
    elif risk.events is not None and risk.patients is not None:
        low, high = wilson_interval(risk.events, risk.patients)
    else:
        return ""
    return _between(low, high, whole)


def _between(low: float, high: float, whole: int) -> str:
    """An interval in whole people, rounded outward: it must not look narrower than it is."""
    first, last = _outward(low, high, whole)
    return (
        f"The true number may lie between {grouped(first)} and {grouped(last)} in {grouped(whole)}"
    )


def _outward(low: float, high: float, whole: int) -> tuple[int, int]:
    # A published 18 per cent is 18 people, not 19 for a sliver of a binary fraction.
    return floor(low * whole + _SLIVER), ceil(high * whole - _SLIVER)


def _spread(risk: Risk) -> str:
    if risk.range_low is None or risk.range_high is None or risk.per is None:
        return ""
    low = "none" if risk.range_low == 0 else number_text(risk.range_low)
    ends = f"from {low} to {number_text(risk.range_high)} in {grouped(risk.per)}"
    return f"{ends} ({risk.range_definition})"


def _audit(audit: Audit, whole: int) -> str:
    """The own results out of the people of the table that they stand in."""
    share = Fraction(audit.events, audit.patients)
    first, last = _outward(*wilson_interval(audit.events, audit.patients), whole)
    return (
        f"{audit.whose}, {audit.period}: {grouped(audit.events)} of {grouped(audit.patients)} "
        f"{audit.definition}, or {grouped(people_of_share(share, whole))} in {grouped(whole)} "
        f"(likely range {grouped(first)} to {grouped(last)})."
    )


def _modifiers(modifiers: Sequence[Modifier], view: View) -> dict[str, str]:
    """What raises and lowers a risk; what this patient has is said apart."""
    yours, others = _yours(modifiers, view)
    said = []
    for is_raising, way in ((True, "higher"), (False, "lower")):
        words = [modifier.words for modifier in yours if modifier.is_raising is is_raising]
        if words:
            said.append(f"For you it may be {way}: {', '.join(words)}.")
    return {
        "yours": " ".join(said),
        "raised": _either([each.words for each in others if each.is_raising]),
        "lowered": _either([each.words for each in others if not each.is_raising]),
    }


def _either(words: Sequence[str]) -> str:
    return " or ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


def _yours(modifiers: Sequence[Modifier], view: View) -> tuple[list[Modifier], list[Modifier]]:
    yours = [
        modifier
        for modifier in modifiers
        if modifier.when is not None and truth_of(modifier.when.run(view, {})) is True
    ]
    return yours, [modifier for modifier in modifiers if modifier not in yours]
