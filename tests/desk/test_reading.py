"""What a person types becomes the value that was meant, or a sentence that says what is wrong."""

from __future__ import annotations

from datetime import date, datetime, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from opnote.desk.reading import (
    Bounds,
    is_whole_time,
    read_date,
    read_datetime,
    read_integer,
    read_quantity,
    read_time,
    text_of,
)
from opnote.record import UNSET, Quantity

TODAY = date(2026, 3, 9)
NOW = datetime(2026, 3, 9, 11, 30, 20)
MM = Bounds(1, 120, "mm")


@pytest.mark.parametrize(
    ("text", "amount"),
    [("38", 38), ("2.5", 2.5), ("2,5", 2.5), (" 38 ", 38), ("38 mm", 38), ("38mm", 38), ("+4", 4)],
)
def test_a_number_is_read_with_comma_or_dot_and_with_its_unit(text: str, amount: float) -> None:
    assert read_quantity(text, MM).value == Quantity(amount, "mm")


def test_a_comma_is_echoed_as_it_was_understood() -> None:
    assert read_quantity("2,5", MM).understood == "2.5 mm"


@pytest.mark.parametrize("text", ["3x", "-", "1.2.3", "1,234.5", "1 234", "1.234,5", "two"])
def test_what_is_no_plain_number_is_refused_with_a_word(text: str) -> None:
    reading = read_quantity(text, Bounds(unit="mm"))
    assert reading.value is UNSET
    assert reading.problem


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("1,000", "write 1000, or 1.0"),
        ("1.000", "write 1000, or 1.0"),
        ("-12,500", "write -12500, or -12.5"),
        ("120.250", "write 120250, or 120.25"),
        ("1.125", "write 1125, or 1.1250"),
    ],
)
def test_three_digits_after_a_mark_may_be_thousands_and_are_not_guessed(
    text: str, remedy: str
) -> None:
    for reading in (read_quantity(text, Bounds()), read_integer(text, Bounds())):
        assert reading.value is UNSET
        assert remedy in reading.problem


@pytest.mark.parametrize(
    ("text", "amount"), [("0.125", 0.125), ("0,125", 0.125), ("2,5", 2.5), ("2.1250", 2.125)]
)
def test_a_fraction_that_cannot_be_thousands_is_read(text: str, amount: float) -> None:
    assert read_quantity(text, Bounds()).value == Quantity(amount, "")


def test_a_number_as_it_is_shown_is_read_as_the_same_number() -> None:
    held = Quantity(1.125, "mm")
    assert read_quantity(text_of(held), Bounds(unit="mm")).value == held


def test_a_number_out_of_range_names_the_limit() -> None:
    assert read_quantity("121", MM).problem == "120 mm at most"
    assert read_quantity("0", MM).problem == "1 mm at least"


def test_a_whole_number_refuses_a_fraction() -> None:
    assert read_integer("4", Bounds()).value == 4
    assert read_integer("4.5", Bounds()).problem == "a whole number, such as 4"


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("today", TODAY),
        ("yesterday", date(2026, 3, 8)),
        ("-12d", date(2026, 2, 25)),
        ("-2w", date(2026, 2, 23)),
        ("+6w", date(2026, 4, 20)),
        ("-1m", date(2026, 2, 9)),
        ("-1y", date(2025, 3, 9)),
        ("9/3/26", TODAY),
        ("9.3.2026", TODAY),
        ("09-03-26", TODAY),
        ("9/3", TODAY),
        ("2026-03-09", TODAY),
        ("9 March 2026", TODAY),
        ("9 mar 26", TODAY),
        ("3/4/58", date(1958, 4, 3)),
    ],
)
def test_a_day_is_read_in_the_ways_that_people_write_it(text: str, day: date) -> None:
    assert read_date(text, TODAY).value == day


def test_a_day_shows_what_it_understood() -> None:
    assert read_date("9/3/26", TODAY).understood == "Mon 9 March 2026"


@pytest.mark.parametrize("text", ["31/2/26", "9/13/26", "m", "+99999999y", "-9999y", "9 j 26"])
def test_a_day_that_is_not_in_the_calendar_is_refused(text: str) -> None:
    assert read_date(text, TODAY).problem


@pytest.mark.parametrize(
    ("text", "clock"),
    [("840", time(8, 40)), ("8:40", time(8, 40)), ("08.40", time(8, 40)), ("8", time(8))],
)
def test_a_time_is_read_with_and_without_its_marks(text: str, clock: time) -> None:
    assert read_time(text, NOW.time()).value == clock


@pytest.mark.parametrize("text", ["now", "n", "N"])
def test_now_is_the_minute(text: str) -> None:
    assert read_time(text, NOW.time()).value == time(11, 30)
    assert read_datetime(text, NOW).value == datetime(2026, 3, 9, 11, 30)


def test_now_is_today_where_a_day_is_asked() -> None:
    assert read_date("now", NOW.date()).value == NOW.date()


@pytest.mark.parametrize("text", ["840", "0840", "1015", "8:40", "08:40", "236", "999"])
def test_a_time_is_whole_once_no_digit_makes_another_of_it(text: str) -> None:
    clock = read_time(text, NOW.time()).value
    assert is_whole_time(text) is isinstance(clock, time)


@pytest.mark.parametrize("text", ["", "8", "84", "101", "23", "215", "now", "8:4"])
def test_a_time_that_may_go_on_is_not_whole(text: str) -> None:
    assert not is_whole_time(text)


@pytest.mark.parametrize("text", ["25:00", "860", "8:4", "noon"])
def test_a_time_that_no_clock_shows_is_refused(text: str) -> None:
    assert read_time(text, NOW.time()).problem


def test_a_moment_is_a_day_and_a_time() -> None:
    assert read_datetime("9/3/26 1730", NOW).value == datetime(2026, 3, 9, 17, 30)
    assert read_datetime("1730", NOW).value == datetime(2026, 3, 9, 17, 30)
    assert read_datetime("17:30 or so", NOW).problem


@given(st.dates(date(1917, 1, 1), date(2036, 1, 1)))
def test_a_day_as_it_is_shown_is_read_as_the_same_day(day: date) -> None:
    assert read_date(text_of(day), TODAY).value == day


@given(st.datetimes(datetime(1990, 1, 1), datetime(2036, 1, 1)))
def test_a_moment_as_it_is_shown_is_read_as_the_same_moment(moment: datetime) -> None:
    moment = moment.replace(second=0, microsecond=0)
    assert read_datetime(text_of(moment), NOW).value == moment


@given(st.text(max_size=12))
def test_no_text_is_too_strange_to_be_read_or_refused(text: str) -> None:
    assert read_date(text, TODAY) == read_date(text, TODAY)
    for reading in (
        read_date(text, TODAY),
        read_time(text, NOW.time()),
        read_datetime(text, NOW),
        read_quantity(text, MM),
        read_integer(text, Bounds()),
    ):
        assert reading.value is UNSET or not reading.problem
