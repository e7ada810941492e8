"""The calendar of a recovery plan, read back by another reader of RFC 5545."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from opnote.compose.document import Appointment, Document, Heading, Run, Status
from opnote.compose.ics import ics_from


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


def _entries(content: bytes) -> Iterator[dict[str, str]]:
    """The entries by the rules of RFC 5545: folded lines joined (3.1), texts unescaped (3.3.11)."""
    text = content.decode().replace("\r\n ", "")
    for part in text.split("BEGIN:VEVENT\r\n")[1:]:
        lines = part.split("END:VEVENT")[0].strip().split("\r\n")
        pairs = (line.partition(":") for line in lines)
        yield {
            name.partition(";")[0]: value.replace("\\;", ";").replace("\\,", ",")
            for name, _, value in pairs
        }


def test_each_milestone_is_one_entry_of_a_whole_day() -> None:
    running, wound = _entries(ics_from(_plan(RUNNING, WOUND)))
    assert running["SUMMARY"] == RUNNING.title
    assert (running["DTSTART"], running["DTEND"]) == ("20260809", "20260810")
    assert (wound["DTSTART"], wound["DTEND"]) == ("20260321", "20260322")


def test_no_entry_names_the_patient() -> None:
    assert b"Thistlewick" not in ics_from(_plan(RUNNING))
    assert b"TEST-0001" not in ics_from(_plan(RUNNING))


def test_lines_are_as_rfc_5545_asks() -> None:
    content = ics_from(_plan(RUNNING, WOUND))
    assert content.startswith(b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\n")
    assert b"\r\nPRODID:" in content
    assert all(len(line) <= 75 for line in content.split(b"\r\n")), "section 3.1: 75 octets"
    assert all(entry["UID"] and entry["DTSTAMP"] for entry in _entries(content)), "section 3.6.1"


def test_same_plan_gives_the_same_file_so_that_a_calendar_replaces_its_entries() -> None:
    assert ics_from(_plan(RUNNING)) == ics_from(_plan(RUNNING))
    first, second = _entries(ics_from(_plan(RUNNING, WOUND)))
    assert first["UID"] != second["UID"]
