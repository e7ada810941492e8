"""The functions that forms and wordings may call, with the types of their arguments.

A form writes `computed = "zone_of_rim(tear.rim_mm)"`; what it may write is listed here and nowhere
else. Types are words: a unit ("mm", "min", "degrees", "days", "weeks", "years"), "number" (any
unit or none), "date", "time", "datetime", "text" (text or the value of a choice) and "yes_no".
Quantities arrive as bare numbers in the declared unit. No function is called with something unset;
one that has no answer for what it is given returns None, which means unset.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_FLOOR, Decimal
from functools import lru_cache, wraps
from types import MappingProxyType
from typing import ParamSpec, TypeVar

from opnote.reckon import (
    allergy,
    codes,
    dose,
    fixation,
    free_text,
    identifier,
    label,
    menisci,
    notation,
    person,
    side_words,
    tear,
    times,
)

_P = ParamSpec("_P")
_R = TypeVar("_R")


@dataclass(frozen=True, slots=True)
class Function:
    """A function of the expression language.

    Shape: `arguments` holds one type word for each argument of `call`, `result` one for what it
    gives; `says` is one line for people who write forms.
    """

    name: str
    call: Callable[..., object]
    arguments: tuple[str, ...]
    result: str
    says: str


def round_to(value: float, step: float) -> int | float | None:
    """Round to the nearest multiple of a step, halves up; None when the step isn't above 0.

    Worked in decimals, so that 0.15 to steps of 0.1 is 0.2 as on paper.

    Units: those of the value.

    >>> round_to(2.5, 1), round_to(0.15, 0.1), round_to(37, 5)
    (3, 0.2, 35)
    """
    if step <= 0 or not (math.isfinite(value) and math.isfinite(step)):
        return None
    size = Decimal(str(step))
    steps = (Decimal(str(value)) / size + Decimal("0.5")).to_integral_value(ROUND_FLOOR)
    result = steps * size
    return int(result) if result == result.to_integral_value() else float(result)


def _or_unset(call: Callable[_P, _R]) -> Callable[_P, _R | None]:
    """Give None where `call` refuses its arguments: on a form a slip is unset, not a failure."""

    @wraps(call)
    def answer(*args: _P.args, **kwargs: _P.kwargs) -> _R | None:
        try:
            return call(*args, **kwargs)
        except ValueError:
            return None

    return answer


def _part_mm(segment: str) -> Callable[..., object]:
    def length(meniscus: str, start_mm: float, end_mm: float) -> float:
        return menisci.segment_lengths(meniscus, start_mm, end_mm)[segment]

    return _or_unset(length)


def _cooper_cells(
    meniscus: str, posterior_mm: float, body_mm: float, anterior_mm: float, rim_mm: float
) -> str | None:
    """The zone is that of the narrowest third entered: there the tear reaches furthest inward."""
    lengths = dict(zip(menisci.SEGMENTS, (posterior_mm, body_mm, anterior_mm), strict=True))
    widths = [menisci.segment_width_mm(meniscus, name) for name, mm in lengths.items() if mm > 0]
    if not widths:
        return None
    return tear.cooper_cells(meniscus, posterior_mm, body_mm, anterior_mm, rim_mm / min(widths))


def _whole(number: float) -> int:
    """Raise ValueError unless the number is whole: half a week names no date."""
    if number != int(number):
        raise ValueError(f"not a whole number: {number:g}")
    return int(number)


def _date_after_days(start: date, days: float) -> date:
    return times.date_after(start, days=_whole(days))


def _date_after_weeks(start: date, weeks: float) -> date:
    return times.date_after(start, weeks=_whole(weeks))


def _date_after_months(start: date, months: float) -> date:
    return times.date_after(start, months=_whole(months))


def _least_limiter_mm(entry_mm: float) -> float:
    return fixation.least_limiter_mm(entry_mm)[0]


@lru_cache(maxsize=512)
def _read_label(scan: str, on: date) -> label.Label | label.LabelError:
    """Keep what was read, and what couldn't be: a form asks for each part of the same scan."""
    try:
        return label.label_from(scan, on)
    except label.LabelError as error:
        return error.with_traceback(None)


def _label_part(name: str) -> Callable[[str, date], object]:
    def part(scan: str, on: date) -> object:
        return getattr(_read_label(scan, on), name, None)

    return part


def _label_fault(scan: str, on: date) -> str | None:
    found = _read_label(scan, on)
    return str(found) if isinstance(found, label.LabelError) else None


def _opcs_codes(side: str, act: str) -> str | None:
    return ", ".join(codes.opcs4(side, act)) or None


def _codes_exclude(one: str, other: str) -> bool:
    return bool(codes.excludes1((one, other)))


@lru_cache(maxsize=512)
def _side_slips(text: str, side: str) -> tuple[side_words.Slip, ...]:
    """Keep what was read: a form asks again for each of its texts after each change of one."""
    if side not in ("left", "right"):
        raise ValueError(f"not one side: {side!r}")
    return side_words.side_slips(text, side=side)


def _names_other_side(text: str, side: str) -> bool:
    return bool(_side_slips(text, side))


def _other_side_words(text: str, side: str) -> str | None:
    return ", ".join(dict.fromkeys(slip.word for slip in _side_slips(text, side))) or None


@lru_cache(maxsize=512)
def _names_other_meniscus(text: str, said: str) -> bool:
    named = [meniscus for meniscus in ("medial", "lateral") if meniscus in said.lower()]
    if not named:
        raise ValueError(f"names no meniscus: {said!r}")
    return bool(side_words.side_slips(text, side=None, menisci=named))


@lru_cache(maxsize=512)
def _names_other_nerve(text: str, approach: str) -> bool:
    return bool(side_words.side_slips(text, side=None, approach=approach))


@lru_cache(maxsize=512)
def _notation_fault(text: str) -> str | None:
    faults = notation.notation_faults(text)
    return "; ".join(dict.fromkeys(f'{each.remedy}, not "{each.found}"' for each in faults)) or None


@lru_cache(maxsize=512)
def _in_allergy(allergies: str, given: str) -> bool:
    return allergy.allergy_conflict(allergies, given) is not None


@lru_cache(maxsize=512)
def _cross_reacts(allergies: str, given: str) -> bool:
    return allergy.cross_reaction(allergies, given) is not None


def _function(
    name: str, call: Callable[..., object], arguments: str, result: str, says: str
) -> Function:
    return Function(name, _or_unset(call), tuple(arguments.split()), result, says)


_LIST = (
    _function(
        "zone_of_rim",
        tear.zone_of_rim,
        "mm",
        "number",
        "ISAKOS zone (1, 2 or 3) from the width of the rim left outside the tear",
    ),
    _function(
        "cooper_cells",
        _cooper_cells,
        "text mm mm mm mm",
        "text",
        "cells of Cooper's grid (meniscus, length in posterior horn, body, anterior horn, rim)",
    ),
    _function(
        "minutes_between",
        times.minutes_between,
        "time time",
        "min",
        "minutes from one clock time to another, right over midnight; negative if earlier",
    ),
    _function(
        "minutes_after",
        times.minutes_after,
        "datetime date time",
        "min",
        "minutes from a clock time on a date to a moment; negative if the moment is earlier",
    ),
    _function(
        "clock_shift_min",
        times.clock_shift_min,
        "date time time text",
        "min",
        "minutes by which the clocks of a time zone changed between two times of a day; 0 mostly",
    ),
    _function(
        "days_between",
        times.days_between,
        "date date",
        "days",
        "days from one date to another; negative if earlier",
    ),
    _function(
        "age_years",
        times.age_years,
        "date date",
        "years",
        "completed years from the date of birth to a date",
    ),
    _function(
        "date_after_days",
        _date_after_days,
        "date number",
        "date",
        "the date so many days later",
    ),
    _function(
        "date_after_weeks",
        _date_after_weeks,
        "date number",
        "date",
        "the date so many weeks later",
    ),
    _function(
        "date_after_months",
        _date_after_months,
        "date number",
        "date",
        "the date so many calendar months later; the month's last day if there is no such day",
    ),
    _function(
        "posterior_mm",
        _part_mm("posterior_horn"),
        "text mm mm",
        "mm",
        "how much of a tear (meniscus, start, end) lies in the posterior horn",
    ),
    _function(
        "body_mm",
        _part_mm("body"),
        "text mm mm",
        "mm",
        "how much of a tear (meniscus, start, end) lies in the body",
    ),
    _function(
        "anterior_mm",
        _part_mm("anterior_horn"),
        "text mm mm",
        "mm",
        "how much of a tear (meniscus, start, end) lies in the anterior horn",
    ),
    _function(
        "arc_length_mm",
        menisci.outer_length_mm,
        "text",
        "mm",
        "mean outer length of a meniscus from root to root",
    ),
    _function(
        "segment_width_mm",
        menisci.segment_width_mm,
        "text text",
        "mm",
        "mean width of a meniscus in posterior_horn, body or anterior_horn",
    ),
    _function(
        "circumference_percent",
        menisci.circumference_percent,
        "text mm",
        "number",
        "how many per cent of the outer rim of a meniscus a length is",
    ),
    _function(
        "excised_percent",
        menisci.excised_percent,
        "text mm mm",
        "number",
        "per cent of a whole meniscus that a resection (length, width) took, roughly",
    ),
    _function(
        "covered_mm",
        fixation.covered_mm,
        "number mm",
        "mm",
        "length of tear that a row of stitches (number, spacing) holds",
    ),
    _function(
        "cover_ratio",
        fixation.cover_ratio,
        "number mm mm",
        "number",
        "covered length of a row (number, spacing) over a length of tear; 1 is just covered",
    ),
    _function(
        "density_mm",
        fixation.density_mm,
        "mm number",
        "mm",
        "length of tear for each stitch (length, number of stitches)",
    ),
    _function(
        "expected_count",
        fixation.expected_count,
        "mm mm",
        "number",
        "stitches that a length needs at a spacing",
    ),
    _function(
        "allowed_gap_mm",
        fixation.allowed_gap_mm,
        "text mm mm",
        "mm",
        "widest gap without remark at a place (meniscus, from, to); longer over the hiatus",
    ),
    _function(
        "crosses_hiatus",
        menisci.crosses_hiatus,
        "text mm mm",
        "yes_no",
        "whether a stretch (meniscus, from, to) lies over the popliteus hiatus",
    ),
    _function(
        "least_limiter_mm",
        _least_limiter_mm,
        "mm",
        "mm",
        "lowest setting of the needle's depth stop for an entry point",
    ),
    _function(
        "depth_past_capsule_mm",
        fixation.depth_past_capsule_mm,
        "mm mm",
        "mm",
        "estimated travel of a needle past the capsule (limiter, entry); negative: inside it",
    ),
    _function(
        "nhs_number_is_valid",
        identifier.nhs_number_is_valid,
        "text",
        "yes_no",
        "whether a text is an NHS number with the right check digit",
    ),
    _function(
        "identifier_is_valid",
        identifier.identifier_is_valid,
        "text text",
        "yes_no",
        "whether an identifier (kind, text) has no known fault; kinds are nhs, hospital, dk_cpr...",
    ),
    _function(
        "identifier_fault",
        identifier.identifier_fault,
        "text text",
        "text",
        "what is wrong with an identifier (kind, text); unset if nothing is",
    ),
    _function(
        "identifier_shown",
        identifier.identifier_shown,
        "text text",
        "text",
        "an identifier (kind, text) in the groups in which it is written",
    ),
    _function(
        "label_device",
        _label_part("device_identifier"),
        "text date",
        "text",
        "the device identifier in a scanned label (scan, date of the operation)",
    ),
    _function(
        "label_lot",
        _label_part("lot"),
        "text date",
        "text",
        "the lot in a scanned label (scan, date of the operation)",
    ),
    _function(
        "label_serial",
        _label_part("serial"),
        "text date",
        "text",
        "the serial number in a scanned label (scan, date of the operation)",
    ),
    _function(
        "label_made",
        _label_part("made"),
        "text date",
        "date",
        "the date of manufacture in a scanned label (scan, date of the operation)",
    ),
    _function(
        "label_expires",
        _label_part("expires"),
        "text date",
        "date",
        "the last day on which a scanned label may be used (scan, date of the operation)",
    ),
    _function(
        "label_fault",
        _label_fault,
        "text date",
        "text",
        "why a scanned label can't be read (scan, date of the operation); unset if it can",
    ),
    _function(
        "icd10cm_code",
        codes.icd10cm,
        "text text text text text",
        "text",
        "ICD-10-CM code of a tear (side, meniscus, pattern, acute or old, segment), to confirm",
    ),
    _function(
        "icd10_who_code",
        codes.icd10_who,
        "text",
        "text",
        "code of a tear in WHO's ICD-10 (acute or old), to confirm",
    ),
    _function(
        "pcs_code",
        codes.icd10pcs,
        "text text text",
        "text",
        "ICD-10-PCS code of an act (side, act, approach), to confirm",
    ),
    _function(
        "opcs_codes",
        _opcs_codes,
        "text text",
        "text",
        "OPCS-4 codes of an arthroscopic act and its side (side, act), to confirm",
    ),
    _function(
        "side_of_code",
        codes.side_of_code,
        "text",
        "text",
        "left or right, where a code speaks of a side",
    ),
    _function(
        "codes_exclude",
        _codes_exclude,
        "text text",
        "yes_no",
        "whether two ICD-10-CM codes call one tear both current and old",
    ),
    _function(
        "round_to",
        round_to,
        "number number",
        "number",
        "a number rounded to the nearest multiple of a step, halves up",
    ),
    _function("absolute", abs, "number", "number", "a number without its sign"),
    _function("least", min, "number number", "number", "the smaller of two numbers"),
    _function("most", max, "number number", "number", "the larger of two numbers"),
)

_OF_PROSE = (
    _function(
        "names_other_side",
        _names_other_side,
        "text text",
        "yes_no",
        "whether a text (text, side) seems to speak of the other knee",
    ),
    _function(
        "other_side_words",
        _other_side_words,
        "text text",
        "text",
        "the words in a text (text, side) that seem to speak of the other knee; unset when none",
    ),
    _function(
        "names_other_meniscus",
        _names_other_meniscus,
        "text text",
        "yes_no",
        "whether a text (text, menisci torn or treated) calls the other one torn or treated",
    ),
    _function(
        "names_other_nerve",
        _names_other_nerve,
        "text text",
        "yes_no",
        "whether a text (text, medial or lateral approach) guards the nerve of the other approach",
    ),
    _function(
        "same_name",
        person.same_name,
        "text text",
        "yes_no",
        "whether two ways of writing a name may be of one person",
    ),
    _function(
        "mentions",
        lru_cache(maxsize=2048)(free_text.mentions),
        "text text",
        "yes_no",
        "whether a text names one of some words (text, words with commas) and doesn't deny it",
    ),
    _function(
        "most_counted",
        lru_cache(maxsize=512)(free_text.most_counted),
        "text text",
        "number",
        "the largest number that a text gives to some nouns (text, nouns with commas)",
    ),
    _function(
        "counted_in_all",
        lru_cache(maxsize=512)(free_text.counted_in_all),
        "text text",
        "number",
        "the number that a text gives to some nouns as the total (text, nouns with commas)",
    ),
    _function(
        "notation_fault",
        _notation_fault,
        "text",
        "text",
        "what to write instead of doses and abbreviations that get misread; unset when none",
    ),
    _function(
        "in_allergy",
        _in_allergy,
        "text text",
        "yes_no",
        "whether something given belongs to what an allergy names (allergies, given)",
    ),
    _function(
        "names_known_drug",
        allergy.names_known_drug,
        "text",
        "yes_no",
        "whether a text of allergies names anything that can be compared with what was given",
    ),
    _function(
        "cross_reacts",
        _cross_reacts,
        "text text",
        "yes_no",
        "whether something given only may react with an allergy (allergies, given)",
    ),
    _function(
        "grams", dose.grams, "text", "number", "the mass in g that a dose names, such as 2 g"
    ),
    _function(
        "is_dose",
        dose.is_dose,
        "text",
        "yes_no",
        "whether a dose is a number with g, mg or units",
    ),
)

FUNCTIONS: Mapping[str, Function] = MappingProxyType(
    {each.name: each for each in (*_LIST, *_OF_PROSE)}
)
"""The functions by name."""
