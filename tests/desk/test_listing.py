"""A theatre list as cases to be: columns matched, cells read, and what is wrong told in a line."""

from __future__ import annotations

from datetime import date, time

import pytest

from opnote.archive.table import table_of
from opnote.desk.listing import LEFT_OUT, MADE, MEND, NAMELESS, TWICE, Listing
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.record import Origin, Record, Value, set_values

TODAY = date(2026, 3, 9)
HEAD = "Name;Hosp. No.;DOB;Side;Date"


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_pack(("meniscal_repair",))


def listing_of(pack: Pack, *lines: str, month_first: bool = False) -> Listing:
    return Listing(table_of("\n".join(lines)), pack, TODAY, month_first=month_first)


def one(pack: Pack, head: str, row: str, month_first: bool = False) -> Listing:
    """A list of one row about somebody who has a name."""
    return listing_of(pack, f"Name;{head}", f"Ann Example;{row}", month_first=month_first)


def values_of(listing: Listing) -> dict[str, Value]:
    (made,) = listing.made()
    return dict(made.record.values)


@pytest.mark.parametrize(
    ("heading", "path"),
    [
        ("Patient", "patient.name"),
        ("Patient name", "patient.name"),
        ("Name of the patient", "patient.name"),
        ("Hospital No", "patient.number"),
        ("MRN", "patient.number"),
        ("NHS-Number", "patient.nhs_number"),
        ("D.O.B.", "patient.born"),
        ("Date of Birth (dd/mm/yyyy)", "patient.born"),
        ("SIDE", "side"),
        ("Planned Procedure", "listed.operation"),
        ("Date of surgery", "operation.date"),
        ("Theatre", "operation.theatre"),
        ("Consultant surgeon", "team.surgeon"),
        ("Consultant anaesthetist", "team.anaesthetist"),
        ("Order", "listed.order"),
        ("Start time", "listed.time"),
        ("Ward", ""),
    ],
)
def test_a_heading_finds_its_field(pack: Pack, heading: str, path: str) -> None:
    listing = listing_of(pack, f"{heading};Scrub nurse;Site", "x;y;z")
    found = listing.fields[0]
    assert ("" if found is None else found.path) == path
    assert listing.has_heading


def test_what_goes_nowhere_is_told(pack: Pack) -> None:
    assert listing_of(pack, "Name;Ward;Side", "Ann;Fern;L").unused() == ["Ward"]


def test_of_two_columns_of_one_field_the_exact_name_wins(pack: Pack) -> None:
    listing = listing_of(pack, "Name;Surgeon on call;Surgeon", "Ann;B. Call;C. Cut")
    assert values_of(listing)["team.surgeon"] == "C. Cut"
    assert listing.unused() == ["Surgeon on call"]


def test_a_second_birth_date_is_no_date_of_the_operation(pack: Pack) -> None:
    listing = listing_of(pack, "Name;Date of birth (dd/mm/yyyy);Born", "Ann;1/2/1990;1/2/1990")
    assert listing.unused() == ["Date of birth (dd/mm/yyyy)"]


def test_a_name_in_two_columns_is_one_name(pack: Pack) -> None:
    listing = listing_of(pack, "First name;Surname;Side", "Ann;Example;L")
    assert values_of(listing)["patient.name"] == "Ann Example"


def test_without_a_heading_a_person_says_what_is_where(pack: Pack) -> None:
    listing = listing_of(pack, "Ann Example;TEST-1;L", "Bo Sample;TEST-2;R")
    assert not listing.has_heading
    assert listing.row_count == 2
    assert not listing.names_people
    assert {listing.state(0), listing.state(1)} == {NAMELESS}
    listing.set_field(0, "patient.name")
    listing.set_field(2, "side")
    assert [made.record.values["side"] for made in listing.made()] == ["left", "right"]


def test_a_heading_can_be_taken_for_a_row(pack: Pack) -> None:
    listing = listing_of(pack, "Name;Side", "Ann;L")
    listing.set_heading(False)
    assert [listing.text(row, 0) for row in range(listing.row_count)] == ["Name", "Ann"]


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("28/2/1990", date(1990, 2, 28)),
        ("28.02.1990", date(1990, 2, 28)),
        ("1990-02-28", date(1990, 2, 28)),
        ("1990-02-28 00:00:00", date(1990, 2, 28)),
        ("28 February 1990", date(1990, 2, 28)),
        ("28-Feb-90", date(1990, 2, 28)),
        ("Feb 28, 1990", date(1990, 2, 28)),
        ("3/4/1990", date(1990, 4, 3)),
    ],
)
def test_dates_as_lists_write_them(pack: Pack, text: str, day: date) -> None:
    assert values_of(one(pack, "DOB", text))["patient.born"] == day


def test_an_ambiguous_date_follows_the_locale_and_is_shown_in_words(pack: Pack) -> None:
    listing = one(pack, "DOB", "3/4/1990")
    assert listing.understood(0, 1) == "Tue 3 April 1990"
    listing.set_month_first(True)
    assert listing.understood(0, 1) == "Sun 4 March 1990"
    assert one(pack, "DOB", "3/4/1990", month_first=True).understood(0, 1) == "Sun 4 March 1990"


@pytest.mark.parametrize(
    ("head", "text", "message"),
    [
        (
            "Date of birth",
            "31/02/1990",
            'row 2, "Date of birth": 31/02/1990 is no date; write it as 1990-02-28 or 28/2/1990',
        ),
        (
            "DOB",
            "02/28/1990",
            'row 2, "DOB": 02/28/1990 is no date with the day first; write it as 1990-02-28, '
            'or tick "Month before day"',
        ),
        (
            "DOB",
            "9/3",
            'row 2, "DOB": 9/3 is no date with its year; write it as 1990-02-28 or 28/2/1990',
        ),
        (
            "DOB",
            "today",
            'row 2, "DOB": today is no date with its year; write it as 1990-02-28 or 28/2/1990',
        ),
        (
            "DOB",
            "5/6/30",
            'row 2, "DOB": 5/6/30 is read as Wed 5 June 2030, which is still to come; '
            "write the year in full",
        ),
        (
            "Side",
            "both",
            'row 2, "Side": both is no answer here; list each side as a case of its own',
        ),
        (
            "Side",
            "L/R",
            'row 2, "Side": L/R is no answer here; list each side as a case of its own',
        ),
        (
            "Side",
            "knee",
            'row 2, "Side": knee is none of its answers; write one of: Left, Right',
        ),
        (
            "Time",
            "25:00",
            'row 2, "Time": 25:00 is no time of day; write it as 8:40 or 13:05',
        ),
        ("Order", "first", 'row 2, "Order": first: not a number'),
    ],
)
def test_what_cannot_be_read_is_told_in_one_line(
    pack: Pack, head: str, text: str, message: str
) -> None:
    listing = one(pack, head, text)
    assert [trouble.message for trouble in listing.troubles()] == [message]
    assert listing.state(0) == MEND
    assert listing.made() == []
    assert listing.text(0, 1) == text


@pytest.mark.parametrize("text", ["L", "left", "Left knee", "LT", "(L)"])
def test_clear_words_are_a_side(pack: Pack, text: str) -> None:
    assert values_of(one(pack, "Side", text))["side"] == "left"


@pytest.mark.parametrize(
    ("text", "clock"),
    [("8.30", time(8, 30)), ("0830", time(8, 30)), ("08:30:00", time(8, 30)), ("1 pm", time(13))],
)
def test_times_as_lists_write_them(pack: Pack, text: str, clock: time) -> None:
    assert values_of(one(pack, "Time", text))["listed.time"] == clock


def test_identifiers_are_checked_as_the_form_does(pack: Pack) -> None:
    # 943 476 5919 is the example of the NHS Data Dictionary; its last digit checks the others.
    assert values_of(one(pack, "NHS number", "943 476 5919"))
    (trouble,) = one(pack, "NHS number", "943 476 5918").troubles()
    assert trouble.column == 1
    assert trouble.message.startswith('row 2, "NHS number": 943 476 5918 is no valid NHS number')


def test_a_birth_after_the_operation_is_found(pack: Pack) -> None:
    (trouble,) = one(pack, "DOB;Date", "1/3/2026;1/2/2026").troubles()
    assert "which can't be" in trouble.message


def test_nobody_in_a_row_is_found(pack: Pack) -> None:
    listing = listing_of(pack, HEAD, ";;1/2/1990;L;9/3/2026")
    (trouble,) = listing.troubles()
    assert trouble.message == (
        "row 2: no name and no number of the patient; write one, or leave the row out"
    )


def test_a_mended_cell_makes_the_row(pack: Pack) -> None:
    listing = one(pack, "Side", "both")
    listing.set_text(0, 1, "right")
    assert values_of(listing)["side"] == "right"


def test_a_row_can_be_made_without_a_value(pack: Pack) -> None:
    listing = one(pack, "Side;DOB", "both;1/2/1990")
    listing.make_without(0, 1)
    assert values_of(listing) == {"patient.name": "Ann Example", "patient.born": date(1990, 2, 1)}
    assert listing.text(0, 1) == "both"


def test_a_row_can_be_left_out_and_taken_in_again(pack: Pack) -> None:
    listing = listing_of(pack, HEAD, "Ann;T1;;L;9/3/2026", "Bo;T2;;R;9/3/2026")
    listing.leave_out(0)
    assert (listing.state(0), [made.row for made in listing.made()]) == (LEFT_OUT, [1])
    listing.leave_out(0, False)
    assert listing.count(MADE) == 2


def test_the_same_operation_twice_is_made_once(pack: Pack) -> None:
    row = "Ann Example;TEST-1;1/2/1990;L;9/3/2026"
    listing = listing_of(pack, HEAD, row, "Example, Ann;test 1;;left;2026-03-09")
    assert [listing.state(row) for row in (0, 1)] == [MADE, TWICE]
    assert listing.about(1) == (
        "row 3: the same patient, date and side; row 2 has it already, so it is not made"
    )


def test_both_knees_of_a_day_are_two_operations(pack: Pack) -> None:
    row = "Ann Example;TEST-1;1/2/1990;{};9/3/2026"
    listing = listing_of(pack, HEAD, row.format("L"), row.format("R"))
    assert listing.count(MADE) == 2


def test_what_the_folder_holds_is_not_made_again(pack: Pack) -> None:
    there: dict[str, Value] = {
        "patient.number": "TEST-1",
        "operation.date": date(2026, 3, 9),
        "side": "left",
    }
    record = set_values(there, "").apply(pack.new_record())
    rows = ("Ann;TEST-1;;L;9/3/2026", "Ann;TEST-1;;L;10/3/2026")
    listing = listing_of(pack, HEAD, *rows)
    listing.set_known([("Ann.json", record)])
    assert [listing.state(row) for row in (0, 1)] == [TWICE, MADE]
    assert "there is Ann.json already" in listing.about(0)


def test_everything_that_is_made_came_from_the_list(pack: Pack) -> None:
    listing = listing_of(pack, HEAD, "Ann Example;T1;1/2/1990;L;9/3/2026")
    (made,) = listing.made()
    record: Record = made.record
    assert record.values["side"] == "left"
    assert {record.origin(path) for path in record.values} == {Origin.LISTED}
    assert all(record.is_unconfirmed(path) for path in record.values)


def test_files_stand_in_the_order_of_the_day(pack: Pack) -> None:
    rows = ("Ann;2;9/3/2026", "Bo;1;9/3/2026")
    listing = listing_of(pack, "Name;Order;Date", *rows)
    assert sorted(made.stem for made in listing.made()) == ["2026-03-09 01 Bo", "2026-03-09 02 Ann"]


def test_a_list_without_dates_can_be_given_one(pack: Pack) -> None:
    listing = one(pack, "Side", "L")
    assert listing.needs_day
    listing.set_day(date(2026, 3, 9))
    assert values_of(listing)["operation.date"] == date(2026, 3, 9)


def test_only_a_text_takes_two_columns(pack: Pack) -> None:
    listing = listing_of(pack, "Name;Side;Leg", "Ann;L;R")
    listing.set_field(2, "side")
    assert listing.fields[1] is None
    assert values_of(listing)["side"] == "right"
