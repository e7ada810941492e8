"""The amount of a drug as people write it."""

from __future__ import annotations

import re

from opnote.reckon.pattern import late

_GRAMS = {
    "g": 1.0,
    "gram": 1.0,
    "grams": 1.0,
    "mg": 1e-3,
    "milligram": 1e-3,
    "milligrams": 1e-3,
}
_DOSE = late(
    r"\s*(\d{1,5}(?:[.,]\d{1,3})?)\s*([a-z]+)\b(?!\s*(?:[/+x*×]|per\b|and\b)).*", re.I | re.S
)
_UNITS = late(r"\s*\d[\d.,]*\s*(?:million |mega|M)?\s*(?:units|IU|mega)\b.*", re.I | re.S)
_THOUSANDS = late(r"[1-9]\d{0,2}[.,]\d{3}")


def grams(text: str) -> float | None:
    """The mass at the beginning of a text; None when it doesn't begin with one in g or mg.

    Either mark is a decimal mark, but before three digits of milligrams it stands between
    thousands: nobody weighs a thousandth of a milligram. A dose per kilogram, and a sum of doses,
    is no mass.

    Units: result in g.
    Source: SI prefixes (BIPM, SI Brochure, 9th edition, table 7).

    >>> grams("2 g"), grams("600 mg IV"), grams("1,5 g"), grams("1,200 mg"), grams("20")
    (2.0, 0.6, 1.5, 1.2, None)
    """
    found = _DOSE.fullmatch(text)
    if found is None:
        return None
    number, unit = found[1], found[2].lower()
    per_unit = _GRAMS.get(unit)
    if per_unit is None:
        return None
    is_thousands = per_unit < 1 and _THOUSANDS.fullmatch(number) is not None
    amount = float(re.sub("[.,]", "" if is_thousands else ".", number))
    return round(amount * per_unit, 6)


def is_dose(text: str) -> bool:
    """Whether a text begins with an amount that was given: in g, mg or units.

    Source: common practice.

    >>> is_dose("2 g"), is_dose("4 million units"), is_dose("30 mg/kg"), is_dose("2")
    (True, True, False, False)
    """
    return grams(text) is not None or _UNITS.fullmatch(text) is not None
