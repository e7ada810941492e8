"""The calendar of a recovery plan, read back by another reader of RFC 5545."""

from __future__ import annotations

from datetime import UTC, date, datetime
from importlib import import_module
from typing import Any

import pytest

from opnote.assess import assess
from opnote.compose.compose import compose
from opnote.compose.document import Appointment, Document, Heading, Run, Status
from opnote.compose.ics import ics_from
from opnote.pack.case import read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack

vobject = import_module("vobject")  # comes without types


def _plan(*appointments: Appointment) -> Document:
    title = "Your left knee: the time after the operation"
    return Document(
        "recovery_plan",
        title,
        (Run("Mr Percival Thistlewick, TEST-0001", "patient.name"),),
        Status.FINAL,
        (Heading("top.0", 1, (Run(title),)),),
        appointments=appointments,
    )


RUNNING = Appointment(date(2026, 8, 9), "Running: not before today; ask first", "plan.run_from")
WOUND = Appointment(date(2026, 3, 21), "The wound is looked at", "plan.wound_date")


def _entries(content: bytes) -> list[Any]:
    """The entries as another library reads them."""
    return list(vobject.readOne(content.decode()).vevent_list)


def test_each_milestone_is_one_entry_of_a_whole_day() -> None:
    running, wound = _entries(ics_from(_plan(RUNNING, WOUND)))
    assert running.summary.value == RUNNING.title
    # RFC 5545, 3.6.1: an entry of dates ends before its DTEND.
    assert (running.dtstart.value, running.dtend.value) == (date(2026, 8, 9), date(2026, 8, 10))
    assert (wound.dtstart.value, wound.dtend.value) == (date(2026, 3, 21), date(2026, 3, 22))


@pytest.mark.parametrize(
    "title",
    [
        "Weight, bending; brace: until today\\ask first",
        "A title that is longer than the seventy-five octets of a line: bend to 90\N{DEGREE SIGN}",
        "Knie bis 90\N{DEGREE SIGN} \N{LATIN SMALL LETTER U WITH DIAERESIS}ben",
    ],
)
def test_a_title_comes_back_as_it_was(title: str) -> None:
    (entry,) = _entries(ics_from(_plan(Appointment(date(2026, 3, 21), title, "plan.wound_date"))))
    assert entry.summary.value == title


@pytest.mark.parametrize("sample", ["case_a", "case_b", "case_c"])
def test_each_date_of_a_demo_plan_is_in_its_calendar(sample: str) -> None:
    text = (shipped_root() / f"forms/samples/{sample}.json").read_text(encoding="utf-8")
    record, pack = read_case(text, sample, load_pack)
    view = pack.view(record)
    document = compose(pack, view, assess(pack, view), "recovery_plan")
    read = [(entry.dtstart.value, entry.summary.value) for entry in _entries(ics_from(document))]
    due = [
        (view.values[milestone.path], milestone.title)
        for milestone in pack.form.milestones
        if milestone.path in view.values
    ]
    assert sorted(read) == sorted(due)
    assert len(due) > 6


def test_no_entry_names_the_patient() -> None:
    assert b"Thistlewick" not in ics_from(_plan(RUNNING))
    assert b"TEST-0001" not in ics_from(_plan(RUNNING))


def test_lines_are_as_rfc_5545_asks() -> None:
    content = ics_from(_plan(RUNNING, WOUND))
    assert content.startswith(b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\n")
    assert b"\r\nPRODID:" in content
    assert all(len(line) <= 75 for line in content.split(b"\r\n")), "section 3.1: 75 octets"
    for entry in _entries(content):
        assert entry.uid.value, "section 3.6.1"
        assert entry.dtstamp.value, "section 3.6.1"


def test_a_plan_made_later_replaces_the_entries_of_the_earlier_one() -> None:
    earlier, later = datetime(2026, 3, 9, 12, tzinfo=UTC), datetime(2026, 3, 10, 8, tzinfo=UTC)
    (old,) = _entries(ics_from(_plan(RUNNING), lambda: earlier))
    (new,) = _entries(ics_from(_plan(RUNNING), lambda: later))
    assert new.uid.value == old.uid.value
    # RFC 5545, 3.8.7.2: the moment at which the entry was made.
    assert (old.dtstamp.value, new.dtstamp.value) == (earlier, later)
    first, second = _entries(ics_from(_plan(RUNNING, WOUND)))
    assert first.uid.value != second.uid.value
