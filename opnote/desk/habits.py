"""How numbers and days are written in a locale, as far as reading and showing them needs it."""

from __future__ import annotations

from PySide6.QtCore import QLocale

from opnote.desk.reading import USUAL, Habits, Order


def habits_of(locale: QLocale) -> Habits:
    """The habits of a locale; of the one without a country, those that the program has itself.

    Source: the Unicode CLDR, as Qt brings it.
    """
    if locale.language() is QLocale.Language.C:
        return USUAL
    long_format = locale.dateFormat(QLocale.FormatType.LongFormat)
    numbers = range(1, 13)
    short = QLocale.FormatType.ShortFormat
    months = tuple(locale.monthName(month) for month in numbers)
    short_months = tuple(locale.monthName(month, short).rstrip(".") for month in numbers)
    if not all(name.isalpha() and 3 <= len(name) <= 12 for name in (*months, *short_months)):
        # Months that are numbered or written in two words can't be read back.
        months, short_months = USUAL.months, USUAL.short_months
    return Habits(
        order=_order(locale.dateFormat(short)),
        decimal="," if locale.decimalPoint() == "," else ".",
        months=months,
        short_months=short_months,
        day_names=tuple(locale.dayName(day, short).rstrip(".") for day in range(1, 8)),
        day_mark="." if "d." in long_format else "",
    )


def _order(short_format: str) -> Order:
    """Which number comes first in a format such as "dd.MM.yy"."""
    first = next((letter for letter in short_format if letter in "dMy"), "d")
    return {"d": Order.DAY_FIRST, "M": Order.MONTH_FIRST, "y": Order.YEAR_FIRST}[first]
