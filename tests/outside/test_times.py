"""Theatre times, ages and dates against worked cases done by hand."""

from datetime import date, time

import pytest

from opnote.reckon.times import age_years, date_after, days_between, minutes_between


@pytest.mark.parametrize(
    ("start", "end", "minutes"),
    [
        # Antibiotic to incision: within 60 min, ASHP/IDSA/SIS/SHEA guideline 2013.
        (time(8, 0), time(8, 45), 45),
        (time(7, 30), time(8, 45), 75),
        (time(7, 0), time(8, 45), 105),
        # Given after the incision.
        (time(8, 50), time(8, 45), -5),
        # Infusion ends after the cuff is inflated.
        (time(8, 40), time(8, 35), -5),
        # Over midnight: 20 min to midnight and 20 after it.
        (time(23, 40), time(0, 20), 40),
        (time(0, 20), time(23, 40), -40),
        # Tourniquet: release by 2 h (AORN, as summarised).
        (time(9, 0), time(10, 59), 119),
        (time(9, 0), time(11, 1), 121),
        (time(9, 0), time(11, 0), 120),
        (time(11, 10), time(11, 40), 30),
        (time(11, 0), time(11, 10), 10),
        # Half a day can be read either way; it is read as forwards.
        (time(6, 0), time(18, 0), 720),
        (time(18, 0), time(6, 0), 720),
        (time(6, 0), time(18, 1), -719),
    ],
)
def test_minutes_between(start: time, end: time, minutes: int) -> None:
    assert minutes_between(start, end) == minutes


def test_two_inflations_add_up() -> None:
    # 09:00-11:00 and 11:10-11:40: 120 + 30 = 150 min of tourniquet, 10 min of perfusion between.
    first = minutes_between(time(9, 0), time(11, 0))
    second = minutes_between(time(11, 10), time(11, 40))
    assert first + second == 150


@pytest.mark.parametrize(
    ("start", "end", "days"),
    [
        (date(2026, 2, 25), date(2026, 3, 9), 12),  # 3 days left of February, 9 of March
        (date(2026, 2, 18), date(2026, 3, 16), 26),  # 10 and 16
        (date(2024, 2, 28), date(2024, 3, 1), 2),  # leap year
        (date(2026, 3, 9), date(2026, 2, 25), -12),
    ],
)
def test_days_between(start: date, end: date, days: int) -> None:
    assert days_between(start, end) == days


@pytest.mark.parametrize(
    ("born", "on", "years"),
    [
        (date(2001, 2, 14), date(2026, 3, 9), 25),
        (date(1994, 9, 2), date(2026, 3, 16), 31),
        (date(1967, 11, 19), date(2026, 3, 23), 58),
        (date(2001, 3, 9), date(2026, 3, 9), 25),
        (date(2001, 3, 10), date(2026, 3, 9), 24),
        (date(2004, 2, 29), date(2025, 2, 28), 20),
        (date(2004, 2, 29), date(2025, 3, 1), 21),
        (date(2026, 3, 9), date(2026, 3, 9), 0),
    ],
)
def test_age(born: date, on: date, years: int) -> None:
    assert age_years(born, on) == years


def test_age_before_birth_is_refused() -> None:
    with pytest.raises(ValueError, match="before the birth"):
        age_years(date(2026, 3, 9), date(2026, 3, 8))


@pytest.mark.parametrize(
    ("start", "days", "weeks", "months", "after"),
    [
        (date(2026, 3, 9), 0, 6, 0, date(2026, 4, 20)),  # 42 days: 22 to 31 March, 20 of April
        (date(2026, 3, 9), 12, 0, 0, date(2026, 3, 21)),
        (date(2026, 3, 9), 0, 0, 4, date(2026, 7, 9)),
        (date(2026, 1, 31), 0, 0, 1, date(2026, 2, 28)),
        (date(2024, 1, 31), 0, 0, 1, date(2024, 2, 29)),
        (date(2026, 8, 31), 0, 0, 6, date(2027, 2, 28)),
        (date(2026, 12, 15), 0, 0, 1, date(2027, 1, 15)),
        (date(2026, 3, 31), 0, 0, -1, date(2026, 2, 28)),
        (date(2026, 1, 31), 1, 1, 1, date(2026, 3, 8)),  # month first: 28 February and 8 days
    ],
)
def test_date_after(start: date, days: int, weeks: int, months: int, after: date) -> None:
    assert date_after(start, days=days, weeks=weeks, months=months) == after


@pytest.mark.parametrize(("days", "months"), [(10**12, 0), (0, 12 * 9000), (0, -12 * 3000)])
def test_a_date_beyond_the_calendar_is_refused(days: int, months: int) -> None:
    with pytest.raises(ValueError, match="no calendar"):
        date_after(date(2026, 3, 9), days=days, months=months)
