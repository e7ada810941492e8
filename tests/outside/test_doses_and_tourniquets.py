"""Doses, tourniquets and changes of the clocks against published rules and hand calculation."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import UTC, date, datetime, time, tzinfo
from functools import lru_cache
from zoneinfo import ZoneInfo

import pytest

from opnote.assess import Assessment, assess
from opnote.pack.case import read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.pack.view import View
from opnote.reckon.times import clock_shift_min, minutes_after, minutes_elapsed


@lru_cache
def shipped() -> Pack:
    return load_pack(("meniscal_repair",))


def assessed(changes: Mapping[str, object]) -> tuple[View, Assessment]:
    """The demo case of a left knee, incision at 08:40, with some answers changed."""
    file = json.loads((shipped_root() / "forms/samples/case_a.json").read_text(encoding="utf-8"))
    for path, value in changes.items():
        if value is None:
            file["values"].pop(path, None)
        else:
            file["values"][path] = value
    record, pack = read_case(json.dumps(file), "case_a", lambda procedures: shipped())
    view = pack.view(record)
    return view, assess(pack, view)


def found(changes: Mapping[str, object], about: str) -> set[str]:
    _, assessment = assessed(changes)
    return {f.id for f in assessment.findings if about in f.id and f.level != "gap"}


@pytest.mark.parametrize(
    ("drug", "at", "remarks"),
    [
        # ASHP/IDSA/SIS/SHEA 2013: start within 60 min before the incision.
        ("cefuroxime", "08:10", set()),  # 30 min
        ("cefuroxime", "07:40", set()),  # 60 min
        ("cefuroxime", "07:39", {"antibiotic_early"}),  # 61 min
        # Up to 120 min for vancomycin, which runs in slowly.
        ("vancomycin", "07:39", set()),  # 61 min
        ("vancomycin", "06:40", set()),  # 120 min
        ("vancomycin", "06:39", {"vancomycin_early"}),  # 121 min
        # After the incision, of whatever class.
        ("cefuroxime", "08:41", {"antibiotic_after_incision", "antibiotic_after_cuff"}),
        ("vancomycin", "08:41", {"antibiotic_after_incision", "antibiotic_after_cuff"}),
        # National Surgical Infection Prevention Project 2004: in before the cuff (up at 08:36).
        ("cefuroxime", "08:32", {"antibiotic_after_cuff"}),  # 4 min before it
        ("cefuroxime", "08:31", set()),  # 5 min before it
    ],
)
def test_antibiotic_before_incision_and_cuff(drug: str, at: str, remarks: set[str]) -> None:
    changes = {
        "theatre.incision": "08:40",
        "tourniquet.inflated": "08:36",
        "antibiotic.drug": drug,
        "antibiotic.at": at,
    }
    assert found(changes, "antibiotic_") | found(changes, "vancomycin_") == remarks


@pytest.mark.parametrize(
    ("up", "down", "up_again", "down_again", "total", "remarks"),
    [
        ("08:00", "09:59", None, None, 119, set()),
        ("08:00", "10:00", None, None, 120, set()),
        ("08:00", "10:01", None, None, 121, {"tourniquet_long"}),
        # AORN, as summarised: at least 15 min of perfusion before the cuff goes up again. A
        # shorter rest doesn't start the count again: 90 and 31 min are 121.
        ("07:40", "09:10", "09:25", "09:55", 120, set()),
        ("07:40", "09:10", "09:24", "09:55", 121, {"tourniquet_long", "tourniquet_short_rest"}),
        # 100 and 60 min with a rest of 20: no inflation is too long, the sum is worth a word.
        ("07:00", "08:40", "09:00", "10:00", 160, {"tourniquet_total"}),
    ],
)
def test_tourniquet_times(
    up: str, down: str, up_again: str | None, down_again: str | None, total: int, remarks: set[str]
) -> None:
    changes = {
        "anaesthesia.started": "06:40",
        "anaesthesia.handed_over": "10:20",
        "theatre.end": "10:10",
        "tourniquet.inflated": up,
        "tourniquet.released": down,
        "tourniquet.inflated_again": up_again,
        "tourniquet.released_again": down_again,
    }
    view, _ = assessed(changes)
    assert view.said("tourniquet.minutes") == f"{total} minutes"
    assert found(changes, "tourniquet_") == remarks


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
    ("day", "start", "end", "zone", "shift"),
    [
        (date(2026, 3, 29), time(0, 30), time(2, 30), "Europe/London", 60),
        (date(2026, 10, 25), time(0, 30), time(2, 30), "Europe/London", -60),
        (date(2026, 3, 28), time(23, 50), time(2, 10), "Europe/London", 60),  # over midnight
        (date(2026, 3, 29), time(8, 0), time(9, 0), "Europe/London", 0),
        (date(2026, 3, 29), time(0, 30), time(2, 30), "Asia/Tokyo", 0),  # no summer time there
        (date(2026, 3, 8), time(1, 0), time(4, 0), "America/New_York", 60),
    ],
)
def test_clocks_that_changed_in_between(
    day: date, start: time, end: time, zone: str, shift: int
) -> None:
    assert clock_shift_min(day, start, end, zone) == shift


def test_an_unknown_zone_is_an_error() -> None:
    with pytest.raises(ValueError, match="no time zone 'Mars/Base'"):
        clock_shift_min(date(2026, 3, 29), time(0, 30), time(2, 30), "Mars/Base")


def test_a_note_written_before_the_operation_is_negative_minutes_after_it() -> None:
    day, incision = date(2026, 3, 9), time(8, 40)
    assert minutes_after(datetime(2026, 3, 8, 20, 0), day, incision) == -(12 * 60 + 40)
    assert minutes_after(datetime(2026, 3, 10, 8, 40), day, incision) == 24 * 60
