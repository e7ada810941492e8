"""The amount of a drug as people write it."""

from __future__ import annotations

import re

_GRAMS = {
    "g": 1.0,
    "gram": 1.0,
    "grams": 1.0,
    "mg": 1e-3,
    "milligram": 1e-3,
    "milligrams": 1e-3,
}
_DOSE = re.compile(r"\s*(\d{1,5}(?:[.,]\d{1,3})?|\d{1,3},\d{3})\s*([a-z]+)\b.*", re.I | re.S)
_THOUSANDS = re.compile(r"[1-9]\d{0,2},\d{3}")


def grams(text: str) -> float | None:
    """The mass at the beginning of a text; None when it doesn't begin with one in g or mg.

    A comma is a decimal comma, but for one before three digits of milligrams: "1,200 mg" is
    thousands, as nobody weighs a thousandth of a milligram.

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
    amount = float(number.replace(",", "" if is_thousands else "."))
    return round(amount * per_unit, 6)
