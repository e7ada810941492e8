"""The recovery timeline: from the operation to the first day on which each thing may be done.

One bar a row, from the operation to its date, on a scale of months. Black and grey only; every
date stands in words in a column at the right, clear of bars and grid. In large print the words
stand over their bar, so that the bars keep the width of the page.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from opnote.compose.figure import Drawing
from opnote.compose.sheet import (
    FULL_WIDTH_MM,
    LARGE_SCALE,
    PATIENT_SCALE,
    Label,
    Pen,
    Point,
    Sheet,
    text_width_mm,
    wrapped,
)
from opnote.pack.view import date_words
from opnote.reckon.times import date_after
from opnote.record.value import MONTHS

_LABELS_MM = 46.0
_DATES_MM = 30.0
_GUTTER_MM = 2.5
_ROW_MM = 6.4
_UNDER_MM = 4.4
"""The room of a bar that stands under its words."""
_LINE_MM = 3.7
_BAR_MM = 2.6
_TOP_MM = 8.0
_TICK_MM = 1.2
_LEAST_SCALE_DAYS = 28
_MONTH_STEPS = (1, 2, 3, 6, 12, 24, 60)
_OPERATION = "operation"

_GRID_PEN = Pen(0.27, "#777777")
_EDGE_PEN = Pen(0.3)
_FILL = "#cccccc"


@dataclass(frozen=True, slots=True)
class Span:
    """What has to wait, in words, and the day on which the wait ends."""

    words: str
    until: date


@dataclass(frozen=True, slots=True)
class _Scale:
    """Where days lie on the sheet. Units: millimetres; `days` from the operation to `right`."""

    operation: date
    days: int
    left: float
    right: float

    def x(self, day: date) -> float:
        return self.left + (day - self.operation).days / self.days * (self.right - self.left)


def recovery_timeline(
    operation: date, spans: Sequence[Span], *, scale: float = PATIENT_SCALE
) -> Drawing | None:
    """Draw the waits after an operation; None when there is none that ends after it.

    `scale` enlarges the words; the width is that of a page.

    Shape: the spans are drawn from the shortest to the longest, those that end on one day in the
    order given.
    """
    waits = sorted((s for s in spans if s.until > operation), key=lambda span: span.until)
    if not waits:
        return None
    sheet = Sheet(FULL_WIDTH_MM / scale, scale)
    over = scale >= LARGE_SCALE
    days = max((waits[-1].until - operation).days, _LEAST_SCALE_DAYS)
    # Half of the word over the first line must not fall off the sheet.
    left = text_width_mm(_OPERATION) / 2 if over else _LABELS_MM
    right = sheet.width_mm - (_last_label_mm(operation, days) if over else _DATES_MM)
    frame = _Scale(operation, days, left, right)
    room = sheet.width_mm - _DATES_MM if over else _LABELS_MM - _GUTTER_MM
    rows = [(span, wrapped(span.words, room)) for span in waits]
    height = _TOP_MM + sum(_height(lines, over=over) for _, lines in rows) + 1
    # Under words that stand over their bars lines would cross them: the scale has ticks only.
    _grid(sheet, frame, _TOP_MM if over else height - 1)
    y = _TOP_MM
    for span, lines in rows:
        _row(sheet, frame, span, lines, y, over=over)
        y += _height(lines, over=over)
    words = "; ".join(f"{s.words}: until {date_words(s.until)}" for s in waits)
    alternative = f"Timeline from the operation on {date_words(operation)}. {words}."
    return sheet.drawing(height, "Timeline of the recovery", alternative)


def _last_label_mm(operation: date, days: int) -> float:
    return max(text_width_mm(words) for _, words in _months(operation, days)) / 2


def _height(lines: Sequence[str], *, over: bool) -> float:
    return _UNDER_MM + _LINE_MM * len(lines) if over else _ROW_MM + _LINE_MM * (len(lines) - 1)


def _row(
    sheet: Sheet, frame: _Scale, span: Span, lines: Sequence[str], y: float, *, over: bool
) -> None:
    height = _height(lines, over=over)
    words = height - _UNDER_MM if over else height
    first = y + words / 2 - _LINE_MM * (len(lines) - 1) / 2
    middle = y + words + _BAR_MM / 2 + 0.2 if over else y + height / 2
    for index, line in enumerate(lines):
        sheet.label(Label(line, 0, first + index * _LINE_MM, "start"))
    half = _BAR_MM / 2
    end = frame.x(span.until)
    sheet.shape(_corners(frame.left, middle - half, end, middle + half), _EDGE_PEN, _FILL)
    at = first if over else middle
    sheet.label(Label(date_words(span.until), sheet.width_mm, at, "end"))


def _corners(left: float, top: float, right: float, bottom: float) -> list[Point]:
    return [(left, top), (right, top), (right, bottom), (left, bottom)]


def _months(operation: date, days: int) -> Iterator[tuple[date, str]]:
    """The day of the operation and each month after it, with their words."""
    months = 0
    while ((day := date_after(operation, months=months)) - operation).days <= days:
        words = f"{day.day}\N{NO-BREAK SPACE}{MONTHS[day.month - 1][:3]}"
        yield day, words if months else _OPERATION
        months += 1


def _grid(sheet: Sheet, frame: _Scale, bottom: float) -> None:
    """Lines of months; as many of them as have room are named, at even steps."""
    months = list(_months(frame.operation, frame.days))
    step = next((step for step in _MONTH_STEPS if _have_room(frame, months[::step])), len(months))
    for index, (day, words) in enumerate(months):
        x = frame.x(day)
        named = index % step == 0
        if named:
            sheet.label(Label(words, x, _TOP_MM - 5.5))
        sheet.line([(x, _TOP_MM - 2 - (_TICK_MM if named else 0)), (x, bottom)], _GRID_PEN)


def _have_room(frame: _Scale, months: Sequence[tuple[date, str]]) -> bool:
    ends = [(frame.x(day), text_width_mm(words) / 2) for day, words in months]
    return all(
        x + half + 1 <= next_x - next_half
        for (x, half), (next_x, next_half) in itertools.pairwise(ends)
    )
