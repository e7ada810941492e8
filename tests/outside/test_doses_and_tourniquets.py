"""Doses, tourniquets and changes of the clocks against published rules and hand calculation."""

from datetime import UTC, datetime, time, tzinfo
from zoneinfo import ZoneInfo

import pytest

from opnote.reckon.times import (
    DoseTiming,
    DoseWindow,
    Tourniquet,
    dose_lead_min,
    dose_timing,
    minutes_elapsed,
    readings_of,
    tourniquet,
)

ASHP = "ASHP/IDSA/SIS/SHEA 2013"
WINDOWS = {
    # Start within 60 min before the incision; up to 120 min for drugs that run in slowly.
    "cephalosporin": DoseWindow(60, source=ASHP),
    "glycopeptide": DoseWindow(120, source=ASHP),
    "fluoroquinolone": DoseWindow(120, source=ASHP),
}
# With a cuff nearer to the heart the infusion has ended before it is inflated: National Surgical
# Infection Prevention Project 2004.
BEFORE_CUFF = {"cephalosporin": DoseWindow(60, source="NSIPP 2004")}


@pytest.mark.parametrize(
    ("drug", "dose", "mark", "lead", "timing"),
    [
        ("cephalosporin", time(8, 0), time(8, 45), 45, "in_window"),
        ("cephalosporin", time(7, 30), time(8, 45), 75, "too_early"),
        ("glycopeptide", time(7, 0), time(8, 45), 105, "in_window"),
        ("fluoroquinolone", time(6, 44), time(8, 45), 121, "too_early"),
        ("cephalosporin", time(8, 50), time(8, 45), -5, "too_late"),
        ("cephalosporin", time(8, 45), time(8, 45), 0, "in_window"),
        ("cephalosporin", time(7, 45), time(8, 45), 60, "in_window"),
        ("cephalosporin", time(23, 40), time(0, 20), 40, "in_window"),
        ("lincosamide", time(8, 0), time(8, 45), 45, None),  # no window is known
    ],
)
def test_antibiotic_before_the_incision(
    drug: str, dose: time, mark: time, lead: int, timing: DoseTiming | None
) -> None:
    assert dose_lead_min(dose, mark) == lead
    assert dose_timing(drug, dose, mark, WINDOWS) == timing


def test_antibiotic_ends_after_the_cuff_is_up() -> None:
    ends, inflated = time(8, 40), time(8, 35)
    assert dose_timing("cephalosporin", ends, inflated, BEFORE_CUFF) == "too_late"


def test_another_window_gives_another_answer() -> None:
    # The limits are data: the same dose by the 120 min of WHO's guideline.
    wider = {"cephalosporin": DoseWindow(120)}
    assert dose_timing("cephalosporin", time(7, 30), time(8, 45), wider) == "in_window"
    narrower = {"cephalosporin": DoseWindow(60, 30)}
    assert dose_timing("cephalosporin", time(8, 20), time(8, 45), narrower) == "too_late"


def test_an_empty_window_is_an_error() -> None:
    with pytest.raises(ValueError, match="no window"):
        DoseWindow(10, 20)


@pytest.mark.parametrize(
    ("inflations", "under", "breaks", "total"),
    [
        ([(time(9, 0), time(10, 59))], (119,), (), 119),
        ([(time(9, 0), time(11, 1))], (121,), (), 121),
        ([(time(9, 0), time(11, 0)), (time(11, 10), time(11, 40))], (120, 30), (10,), 150),
        ([(time(23, 30), time(0, 30)), (time(0, 45), time(1, 0))], (60, 15), (15,), 75),
        ([], (), (), 0),
    ],
)
def test_tourniquet_times(
    inflations: list[tuple[time, time]],
    under: tuple[int, ...],
    breaks: tuple[int, ...],
    total: int,
) -> None:
    cuff = tourniquet(inflations)
    assert (cuff.inflations_min, cuff.breaks_min, cuff.total_min) == (under, breaks, total)


def test_a_short_break_does_not_start_the_count_again() -> None:
    # AORN, as summarised: at least 15 min of perfusion before the cuff goes up again.
    cuff = tourniquet([(time(9, 0), time(11, 0)), (time(11, 10), time(11, 40))])
    assert cuff.short_breaks_min(15) == (10,)
    assert cuff.longest_min(15) == 150
    # Review of 2021: 10 min for each further hour.
    assert cuff.short_breaks_min(10) == ()
    assert cuff.longest_min(10) == 120
    assert Tourniquet((60, 40, 90), (5, 20)).longest_min(15) == 100


@pytest.mark.parametrize(
    ("inflations", "fault"),
    [
        ([(time(9, 0), time(8, 55))], "deflation comes before"),
        ([(time(9, 0), time(10, 0)), (time(9, 30), time(10, 30))], "inflation comes before"),
    ],
)
def test_impossible_inflations_are_errors(inflations: list[tuple[time, time]], fault: str) -> None:
    with pytest.raises(ValueError, match=fault):
        tourniquet(inflations)


LONDON, BERLIN, NEW_YORK = map(ZoneInfo, ("Europe/London", "Europe/Berlin", "America/New_York"))


def at(text: str, zone: tzinfo) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=zone)


@pytest.mark.parametrize(
    ("start", "end", "minutes"),
    [
        # Over midnight, in winter.
        (at("2026-03-09 23:40", LONDON), at("2026-03-10 00:20", LONDON), 40),
        # UK, Summer Time Order: forward at 01:00 GMT on the last Sunday of March.
        (at("2026-03-29 00:30", LONDON), at("2026-03-29 02:30", LONDON), 60),
        # And back at 01:00 GMT on the last Sunday of October.
        (at("2026-10-25 00:30", LONDON), at("2026-10-25 02:30", LONDON), 180),
        # From the first 01:30 to the second.
        (
            at("2026-10-25 01:30", LONDON),
            at("2026-10-25 01:30", LONDON).replace(fold=1),
            60,
        ),
        # EU, directive 2000/84: at 01:00 UTC, which is 02:00 in Berlin.
        (at("2026-03-29 01:59", BERLIN), at("2026-03-29 03:00", BERLIN), 1),
        # US, Energy Policy Act 2005: at 02:00 on the second Sunday of March.
        (at("2026-03-08 01:00", NEW_YORK), at("2026-03-08 04:00", NEW_YORK), 120),
        # Noon in Berlin is 11:00 in London.
        (at("2026-03-09 11:00", LONDON), at("2026-03-09 12:00", BERLIN), 0),
        (at("2026-03-09 11:00", UTC), at("2026-03-09 10:30", LONDON), -30),
        # More than half a day, which clock times alone can't tell.
        (at("2026-03-09 08:00", UTC), at("2026-03-10 09:00", UTC), 1500),
    ],
)
def test_minutes_that_passed(start: datetime, end: datetime, minutes: int) -> None:
    assert minutes_elapsed(start, end) == minutes
    assert minutes_elapsed(end, start) == -minutes
    assert dose_lead_min(start, end) == minutes


def test_a_cuff_over_the_change_to_summer_time() -> None:
    up = datetime(2026, 3, 29, 0, 30, tzinfo=LONDON)
    down = datetime(2026, 3, 29, 2, 40, tzinfo=LONDON)
    assert tourniquet([(up, down)]).total_min == 70


@pytest.mark.parametrize(
    ("start", "fault"),
    [
        (datetime(2026, 3, 29, 0, 30), "no zone"),
        (datetime(2026, 3, 29, 1, 30, tzinfo=LONDON), "skipped"),
    ],
)
def test_moments_that_cannot_be_placed_are_errors(start: datetime, fault: str) -> None:
    with pytest.raises(ValueError, match=fault):
        minutes_elapsed(start, datetime(2026, 3, 29, 4, 0, tzinfo=LONDON))


@pytest.mark.parametrize(
    ("clock", "count"),
    [
        (datetime(2026, 3, 9, 8, 0), 1),
        (datetime(2026, 3, 29, 0, 59), 1),
        (datetime(2026, 3, 29, 1, 0), 0),
        (datetime(2026, 3, 29, 1, 59), 0),
        (datetime(2026, 3, 29, 2, 0), 1),
        (datetime(2026, 10, 25, 0, 59), 1),
        (datetime(2026, 10, 25, 1, 0), 2),
        (datetime(2026, 10, 25, 1, 59), 2),
        (datetime(2026, 10, 25, 2, 0), 1),
    ],
)
def test_readings_of_a_clock_in_london(clock: datetime, count: int) -> None:
    readings = readings_of(clock, LONDON)
    assert len(readings) == count
    assert [each.replace(tzinfo=None, fold=0) for each in readings] == [clock] * count


def test_two_readings_lie_an_hour_apart() -> None:
    first, second = readings_of(datetime(2026, 10, 25, 1, 30), LONDON)
    assert minutes_elapsed(first, second) == 60


def test_a_moment_with_a_zone_has_one_reading_already() -> None:
    with pytest.raises(ValueError, match="has a zone"):
        readings_of(datetime(2026, 3, 9, 8, 0, tzinfo=UTC), LONDON)
