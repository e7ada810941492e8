"""The risks of a plan in words: only figures whose source was read become numbers.

A risk without such a figure is still named: a number may be withheld, a material risk never.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import floor

from opnote.pack.logic import Truth, truth_of
from opnote.pack.pack import Risk
from opnote.pack.view import View
from opnote.reckon.frequency import cioms_band, out_of
from opnote.record import UNSET
from opnote.record.value import number_text

NO_FIGURE = "We do not have a good number."
UNDECIDED = "It depends on what is planned."
_DENOMINATORS = (100, 1_000, 10_000, 100_000)
_LEAST_EXACT = Fraction(1, 10)
"""How far whole people may be off the share: 0.135 per cent is 13 in 10,000, not 1 in 1,000."""


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
            rows.append(_row(risk))
        elif applies is UNSET and risk.title not in told:
            told.add(risk.title)
            rows.append(_undecided_row(risk))
    return rows


def _applies(risk: Risk, view: View) -> Truth:
    return True if risk.applies_when is None else truth_of(risk.applies_when.run(view, {}))


def _undecided_row(risk: Risk) -> dict[str, str]:
    return {"title": risk.title, "plain": risk.plain, "figure": UNDECIDED}


def _row(risk: Risk) -> dict[str, str]:
    printable = risk.evidence == "read"
    figure, other, band = _figure(risk) if printable else ("", "", "")
    has_figure = figure != ""
    return {
        "title": risk.title,
        "plain": risk.plain,
        "figure": figure or NO_FIGURE,
        "other_frame": other,
        "spread": _spread(risk) if printable else "",
        "definition": risk.definition if has_figure else "",
        "follow_up": risk.follow_up if has_figure else "",
        "population": risk.population if has_figure else "",
        "remark": risk.remark,
        "source": _source(risk) if has_figure else "",
        "band": band,
    }


def _source(risk: Risk) -> str:
    year = str(risk.year) if risk.year is not None else ""
    return risk.source if not year or year in risk.source else f"{risk.source}, {year}"


def _figure(risk: Risk) -> tuple[str, str, str]:
    """The frequency, the other frame ("91 in 100 have none"), and the CIOMS band."""
    if risk.events is not None and risk.patients is not None:
        whole = _denominator(Fraction(risk.events, risk.patients))
        count = out_of(risk.events, risk.patients, whole)
        band = str(cioms_band(risk.events, risk.patients))
        if not risk.events:
            # Nobody in so few is not nobody in a hundred thousand.
            return f"None of the {grouped(risk.patients)} people in the study had it", "", band
        if not count:
            return f"Fewer than 1 in {grouped(whole)}", "", band
        if count == whole:
            return f"{grouped(risk.events)} in {grouped(risk.patients)}", "", band
        other = f"{grouped(whole - count)} in {grouped(whole)} do not have it"
        return f"{grouped(count)} in {grouped(whole)}", other, band
    if risk.low is None or risk.high is None or risk.per is None:
        return "", "", ""
    if risk.low == risk.high:
        other = f"{number_text(risk.per - risk.low)} in {grouped(risk.per)} do not have it"
        return f"{number_text(risk.low)} in {grouped(risk.per)}", other, ""
    low, high = number_text(risk.low), number_text(risk.high)
    return f"{low} to {high} in {grouped(risk.per)}", "", ""


def _denominator(share: Fraction) -> int:
    """The smallest round number of people in which whole people tell the share well enough."""
    for whole in _DENOMINATORS:
        people = floor(share * whole + Fraction(1, 2))
        if people and abs(people - share * whole) <= _LEAST_EXACT * share * whole:
            return whole
    return _DENOMINATORS[-1]


def _spread(risk: Risk) -> str:
    if risk.range_low is None or risk.range_high is None or risk.per is None:
        return ""
    low = "none" if risk.range_low == 0 else number_text(risk.range_low)
    return f"from {low} to {number_text(risk.range_high)} in {grouped(risk.per)}"


def grouped(count: int) -> str:
    """A count with a comma at the thousands."""
    return f"{count:,}"
