"""The recovery timeline: from the operation to the first day on which each thing may be done.

One bar a row, from the operation to its date, on a scale of months. Black and grey only; every
date stands beside its bar in words.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from opnote.compose.figure import Drawing
from opnote.compose.sheet import Label, Pen, Point, Sheet, text_width_mm, wrapped
from opnote.pack.view import date_words
from opnote.reckon.times import date_after
from opnote.record.value import MONTHS

WIDTH_MM = 170.0
_LABELS_MM = 46.0
_DATES_MM = 30.0
_ROW_MM = 6.4
_LINE_MM = 3.2
_BAR_MM = 2.6
_TOP_MM = 9.0
_LEAST_SCALE_DAYS = 28

_GRID_PEN = Pen(0.15, "#999999")
_EDGE_PEN = Pen(0.3)
_FILL = "#cccccc"


@dataclass(frozen=True, slots=True)
class Span:
    """What has to wait, in words, and the day on which the wait ends."""

    words: str
    until: date


def recovery_timeline(operation: date, spans: Sequence[Span]) -> Drawing | None:
    """Draw the waits after an operation; None when there is none that ends after it.

    Shape: the spans are drawn from the shortest to the longest.
    """
    waits = sorted((s for s in spans if s.until > operation), key=lambda span: span.until)
    if not waits:
        return None
    sheet = Sheet(WIDTH_MM)
    days = max((waits[-1].until - operation).days, _LEAST_SCALE_DAYS)
    left, right = _LABELS_MM, WIDTH_MM - _DATES_MM

    def x_of(day: date) -> float:
        return left + (day - operation).days / days * (right - left)

    rows = [(span, wrapped(span.words, _LABELS_MM - 3)) for span in waits]
    height = _TOP_MM + sum(_height(lines) for _, lines in rows) + 2
    _grid(sheet, operation, days, x_of, height)
    y = _TOP_MM
    for span, lines in rows:
        _row(sheet, span, lines, y, left, x_of(span.until))
        y += _height(lines)
    words = "; ".join(f"{s.words}: until {date_words(s.until)}" for s in waits)
    alternative = f"Timeline from the operation on {date_words(operation)}. {words}."
    title = "Timeline of the recovery"
    return Drawing(sheet.svg(height, title, alternative), alternative, WIDTH_MM, height)


def _height(lines: Sequence[str]) -> float:
    return _ROW_MM + _LINE_MM * (len(lines) - 1)


def _row(
    sheet: Sheet, span: Span, lines: Sequence[str], y: float, left: float, right: float
) -> None:
    middle = y + _height(lines) / 2
    first = middle - _LINE_MM * (len(lines) - 1) / 2
    for index, line in enumerate(lines):
        sheet.label(Label(line, 0, first + index * _LINE_MM, "start"))
    half = _BAR_MM / 2
    sheet.shape(_corners(left, middle - half, right, middle + half), _EDGE_PEN, _FILL)
    day = Label(date_words(span.until), right + 1.5, middle, "start")
    room = day.box
    sheet.shape(_corners(room.left, room.top, room.right, room.bottom), None, "#ffffff")
    sheet.label(day)


def _corners(left: float, top: float, right: float, bottom: float) -> list[Point]:
    return [(left, top), (right, top), (right, bottom), (left, bottom)]


def _grid(
    sheet: Sheet, operation: date, days: int, x_of: Callable[[date], float], height: float
) -> None:
    months = 0
    last_end = 0.0
    while True:
        day = date_after(operation, months=months)
        if (day - operation).days > days:
            break
        x = x_of(day)
        sheet.line([(x, _TOP_MM - 2), (x, height - 1)], _GRID_PEN)
        words = "operation" if months == 0 else f"{day.day} {MONTHS[day.month - 1][:3]}"
        half = text_width_mm(words) / 2
        if x - half > last_end:
            sheet.label(Label(words, x, _TOP_MM - 4.5))
            last_end = x + half + 2
        months += 1
