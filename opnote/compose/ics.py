"""A document's appointments as iCalendar (RFC 5545): one all-day entry a milestone."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from opnote import __version__
from opnote.compose.clean import printable
from opnote.compose.document import Document, sentence_text


def _now() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)


def ics_from(document: Document, now: Callable[[], datetime] = _now) -> bytes:
    """The calendar of a document; without entries when it has no appointment.

    An entry names the patient by nothing but the side and the operation: a calendar is seen by
    others. Its time stamp is the moment of making: a calendar takes the later of two plans as the
    newer one (RFC 5545, 3.8.7.2). An entry keeps its name, so that a plan that has changed replaces
    what it was.
    """
    from icalendar import Calendar, Event

    stamp = now()
    calendar = Calendar()
    calendar.add("prodid", f"-//opnote//{__version__}//EN")
    calendar.add("version", "2.0")
    for appointment in document.appointments:
        event = Event()
        event.add("uid", _uid(document, appointment.path))
        event.add("dtstamp", stamp)
        event.add("dtstart", appointment.day)
        event.add("dtend", appointment.day + timedelta(days=1))
        event.add("summary", printable(appointment.title))
        event.add("description", printable(document.title))
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    content: bytes = calendar.to_ical()
    return content


def _uid(document: Document, path: str) -> str:
    """The same entry of the same plan keeps its name, which tells nothing of the patient."""
    told = f"{sentence_text(document.subject)}|{document.kind}|{path}"
    return f"{hashlib.sha256(told.encode()).hexdigest()[:32]}@opnote"
