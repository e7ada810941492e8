"""The survival curve: published points only, on a scale of 100 people that is never cut short.

A dot stands at each published time with its words beside it. The dashed line between dots only
guides the eye, and the legend says so. Nothing is drawn after the last point. Black and grey only.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from opnote.compose.figure import Drawing
from opnote.compose.sheet import (
    FULL_WIDTH_MM,
    PATIENT_SCALE,
    TEXT_MM,
    Label,
    Pen,
    Sheet,
    text_width_mm,
    wrapped,
)
from opnote.compose.sheet import Point as Place
from opnote.reckon.frequency import out_of
from opnote.reckon.survival import Point, survival_at
from opnote.record.value import number_text

PEOPLE = 100

_LEFT_MM = 9.0
_PLOT_SHARE = 0.42
"""The height of the plot as a part of the width of the sheet."""
_GRID_EVERY = 20

_TITLE_MM = 3.3
_BOLD = 1.12
"""How much wider bold letters may be than `sheet.text_width_mm` reckons."""
_TITLE_LINE_MM = 4.4
_LINE_MM = 4.0
_GAP_MM = 1.2
_ABOVE_DOT_MM = 2.9
_BESIDE_DOT_MM = 0.6
_DOT_MM = 0.8
_DOT_CORNERS = 24
_TICK_MM = 1.0
_SAMPLE_MM = 9.0

_MONTHS, _DAYS = 12, 365.25
_YEAR_STEPS = (1, 2, 5, 10, 20, 50)
_MOST_YEAR_TICKS = 6

_AXIS_PEN = Pen(0.3)
_GRID_PEN = Pen(0.27, "#999999")
_GUIDE_PEN = Pen(0.3, "#333333", (1.2, 0.9))
_LEADER_PEN = Pen(0.27, "#555555")
_DOT_PEN = Pen(0.35)

_START_WORDS = "everybody, at the start"
_DOT_WORDS = "published result"
_GUIDE_WORDS = "only guides the eye: it says nothing of the time between the dots"
_NOT_STATED = "not stated"


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where times and people lie on the sheet. Units: millimetres; `last` in years."""

    right: float
    top: float
    last: float
    height: float

    @property
    def bottom(self) -> float:
        return self.top + self.height

    def x(self, at: float) -> float:
        return _LEFT_MM + at / self.last * (self.right - _LEFT_MM)

    def y(self, survival: float) -> float:
        return self.bottom - survival * self.height


def survival_curve(
    title: str, points: Sequence[Point], people: int, words: str, *, scale: float = PATIENT_SCALE
) -> Drawing:
    """Draw published points of a survival curve.

    `words` goes on after "people of 100": "whose mend still held". `people` is how many the study
    began with. Unless the first point is at 0, the curve starts there with 100 of 100.

    Shape: the dots are the marks `point-0`, `point-1` and so on, from the left; `guide` is the
    line between them.
    Units: `at` of the points in years. `scale` enlarges text and marks; the width is a page's.
    Raises: ValueError: points that `opnote.reckon.survival.survival_at` refuses, no point after
    the start, nobody in the study, or more people followed than it began with.
    """
    shown = _shown(points, people)
    sheet = Sheet(FULL_WIDTH_MM / scale, scale)
    labels = [f"{_count(point.survival)} at {_time(point.at)}" for point in shown]
    title_lines = wrapped(title, sheet.width_mm / _BOLD, _TITLE_MM)
    axis_lines = wrapped(f"People of {PEOPLE} {words}", sheet.width_mm)
    axis_top = _TITLE_LINE_MM * len(title_lines) + _GAP_MM
    words_end = axis_top + _LINE_MM * len(axis_lines) + _GAP_MM

    # Measured from the top of the plot, which itself depends on how high the words rise.
    right = _right_end(shown, labels, sheet.width_mm)
    level = _Frame(right, 0.0, shown[-1].at, _PLOT_SHARE * sheet.width_mm)
    dots = [(level.x(point.at), level.y(point.survival)) for point in shown]
    heights = _label_heights(dots, labels)
    frame = replace(level, top=words_end + max(0.0, -min(heights)) + _LINE_MM / 2)

    for index, line in enumerate(title_lines):
        y = _TITLE_LINE_MM * (index + 0.5)
        sheet.label(Label(line, 0, y, "start"), size_mm=_TITLE_MM, bold=True)
    for index, line in enumerate(axis_lines):
        sheet.label(Label(line, 0, axis_top + _LINE_MM * (index + 0.5), "start"))
    _grid(sheet, frame)
    _curve(sheet, frame, shown, labels, [frame.top + height for height in heights])
    y = _time_axis(sheet, frame, shown)
    y = _followed_row(sheet, frame, _followed(shown, people), y + _GAP_MM)
    height = _legend(sheet, shown, y + 2 * _GAP_MM)
    alternative = _alternative_of(title, shown, labels, people, words)
    return sheet.drawing(height, title, alternative)


def _shown(points: Sequence[Point], people: int) -> list[Point]:
    """The points to draw: the published ones, after a start with everybody if they have none."""
    survival_at(points, 0)
    if not 0 < points[-1].at < math.inf:
        raise ValueError(f"a curve needs a last point after the start, not at {points[-1].at:g}")
    if people < 1:
        raise ValueError(f"a study of {people} people has no curve")
    for point in points:
        if point.at_risk is not None and not 0 <= point.at_risk <= people:
            raise ValueError(
                f"{point.at_risk} people followed at {point.at:g} years, of {people} at the start"
            )
    return list(points) if points[0].at == 0 else [Point(0, 1, people), *points]


def _right_end(shown: Sequence[Point], labels: Sequence[str], sheet_mm: float) -> float:
    """How far right the last point may lie for the words beside each dot to stay on the sheet."""
    ends = [
        _LEFT_MM + (sheet_mm - _width(words) - _LEFT_MM) * shown[-1].at / point.at
        for point, words in zip(shown, labels, strict=True)
        if point.at > 0
    ]
    return min(ends)


def _width(words: str) -> float:
    """The room of the words beside a dot, from the middle of the dot on."""
    return Label(words, _BESIDE_DOT_MM, 0, "start").box.right


def _label_heights(dots: Sequence[Place], labels: Sequence[str]) -> list[float]:
    """The heights of the words right above dots that only fall, measured as those of the dots.

    Words that reach to the right over later dots stand above the words of those. So neither words
    nor the lines that lead to them ever cross.
    """
    placed: list[Place] = []
    for (x, y), words in reversed(list(zip(dots, labels, strict=True))):
        passed = [height - _LINE_MM for later, height in placed if later < x + _width(words)]
        placed.append((x, min([y - _ABOVE_DOT_MM, *passed])))
    return [height for _, height in reversed(placed)]


def _grid(sheet: Sheet, frame: _Frame) -> None:
    for people in range(0, PEOPLE + 1, _GRID_EVERY):
        y = frame.y(people / PEOPLE)
        if people:
            sheet.line([(_LEFT_MM, y), (frame.right, y)], _GRID_PEN)
        sheet.line([(_LEFT_MM - _TICK_MM, y), (_LEFT_MM, y)], _AXIS_PEN)
        sheet.label(Label(str(people), _LEFT_MM - _TICK_MM - 0.6, y, "end"))
    sheet.line([(_LEFT_MM, frame.top), (_LEFT_MM, frame.bottom)], _AXIS_PEN, "people-axis")
    sheet.line([(_LEFT_MM, frame.bottom), (frame.right, frame.bottom)], _AXIS_PEN, "time-axis")


def _curve(
    sheet: Sheet,
    frame: _Frame,
    shown: Sequence[Point],
    labels: Sequence[str],
    heights: Sequence[float],
) -> None:
    places = [(frame.x(point.at), frame.y(point.survival)) for point in shown]
    sheet.line(places, _GUIDE_PEN, "guide")
    for (x, y), height in zip(places, heights, strict=True):
        if y - height > _ABOVE_DOT_MM + 0.01:
            sheet.line([(x, y), (x, height - TEXT_MM / 2)], _LEADER_PEN)
    for index, (point, place) in enumerate(zip(shown, places, strict=True)):
        _dot(sheet, place, f"point-{index}", _is_published(point))
    for (x, _), height, words in zip(places, heights, labels, strict=True):
        sheet.label(Label(words, x + _BESIDE_DOT_MM, height, "start"))


def _is_published(point: Point) -> bool:
    # That nobody has failed before anything began is no finding.
    return point.at > 0 or point.survival < 1


def _dot(sheet: Sheet, place: Place, name: str, is_solid: bool) -> None:
    turns = [2 * math.pi * corner / _DOT_CORNERS for corner in range(_DOT_CORNERS)]
    x, y = place
    radius = _DOT_MM - _DOT_PEN.width_mm / 2
    corners = [(x + radius * math.cos(turn), y + radius * math.sin(turn)) for turn in turns]
    sheet.shape(corners, _DOT_PEN, "#000000" if is_solid else "#ffffff", name)


def _time_axis(sheet: Sheet, frame: _Frame, shown: Sequence[Point]) -> float:
    """Mark the times and give the lower end of their words.

    The ends are named first, then the published times, then whole years: where words are too many,
    those that matter least are left out.
    """
    y = frame.bottom + _TICK_MM + 0.5 + _LINE_MM / 2
    published = [point.at for point in shown]
    named: list[Label] = []
    for at in dict.fromkeys([0.0, published[-1], *published, *_whole_years(frame.last)]):
        x = frame.x(at)
        sheet.line([(x, frame.bottom), (x, frame.bottom + _TICK_MM)], _AXIS_PEN)
        label = Label("start" if at == 0 else _time(at), x, y)
        if not any(label.box.meets(other.box) for other in named):
            named.append(label)
            sheet.label(label)
    return y + _LINE_MM / 2


def _whole_years(last: float) -> Iterator[float]:
    step = next((s for s in _YEAR_STEPS if last / s <= _MOST_YEAR_TICKS), math.ceil(last))
    return (float(year) for year in range(step, math.floor(last) + 1, step))


def _followed(shown: Sequence[Point], people: int) -> list[tuple[float, float, str]]:
    """How many were still followed, each with the first and the last time that it is said of.

    Neighbouring times of which the source says nothing are one entry.
    """
    entries: list[tuple[float, float, str]] = []
    for point in shown:
        at_risk = people if point.at == 0 and point.at_risk is None else point.at_risk
        if at_risk is None and entries and entries[-1][2] == _NOT_STATED:
            entries[-1] = (entries[-1][0], point.at, _NOT_STATED)
        else:
            entries.append((point.at, point.at, _NOT_STATED if at_risk is None else str(at_risk)))
    return entries


def _followed_row(
    sheet: Sheet, frame: _Frame, entries: Sequence[tuple[float, float, str]], top: float
) -> float:
    """Write who was still followed under the times, and give the lower end of that.

    Words that would meet others stand a line lower.
    """
    sheet.label(Label("People still followed in the study:", 0, top + _LINE_MM / 2, "start"))
    ends: list[float] = []
    for first, last, words in entries:
        left, right = frame.x(first), frame.x(last)
        half = text_width_mm(words) / 2 + 0.7
        middle = (left + right) / 2
        start, end = min(left, middle - half), max(right, middle + half)
        line = next((i for i, taken in enumerate(ends) if taken <= start), len(ends))
        ends[line : line + 1] = [end]
        y = top + _LINE_MM * (line + 1.5)
        sheet.label(Label(words, middle, y))
        # Brackets show which times such words are said of.
        for outer, inner in ((left, middle - half), (right, middle + half)):
            if (inner - outer) * (middle - outer) > 0:
                sheet.line([(outer, y - _TICK_MM), (outer, y), (inner, y)], _LEADER_PEN)
    return top + _LINE_MM * (len(ends) + 1)


def _legend(sheet: Sheet, shown: Sequence[Point], top: float) -> float:
    """Explain the marks and give the height of the sheet."""
    y = top + _LINE_MM / 2
    if not _is_published(shown[0]):
        _dot(sheet, (_SAMPLE_MM / 2, y), "sample-start", is_solid=False)
        sheet.label(Label(_START_WORDS, _SAMPLE_MM + 1.5, y, "start"))
        y += _LINE_MM
    _dot(sheet, (_SAMPLE_MM / 2, y), "sample-point", is_solid=True)
    sheet.label(Label(_DOT_WORDS, _SAMPLE_MM + 1.5, y, "start"))
    y += _LINE_MM
    sheet.line([(0, y), (_SAMPLE_MM, y)], _GUIDE_PEN, "sample-guide")
    for line in wrapped(_GUIDE_WORDS, sheet.width_mm - _SAMPLE_MM - 1.5):
        sheet.label(Label(line, _SAMPLE_MM + 1.5, y, "start"))
        y += _LINE_MM
    return y - _LINE_MM / 2 + 0.5


def _count(survival: float) -> str:
    # The decimal that was published, not the binary fraction nearest to it: 0.845 rounds up.
    share = Fraction(repr(survival))
    count = out_of(share.numerator, share.denominator, PEOPLE)
    if count == PEOPLE and share < 1:
        return f"more than {PEOPLE - 1} of {PEOPLE}"
    if count == 0 and share > 0:
        return f"fewer than 1 of {PEOPLE}"
    return f"{count} of {PEOPLE}"


def _time(at: float) -> str:
    if at == 0:
        return "the start"
    if at >= 1:
        number, unit = round(at, 2), "year"
    elif at * _MONTHS > 0.95:
        number, unit = round(at * _MONTHS, 1), "month"
    else:
        number, unit = max(1, round(at * _DAYS)), "day"
    return f"{number_text(number)} {unit}{'' if number == 1 else 's'}"


def _alternative_of(
    title: str, shown: Sequence[Point], labels: Sequence[str], people: int, words: str
) -> str:
    followed = [
        f"{at_risk} at {_time(first)}"
        if first == last
        else f"{at_risk} from {_time(first)} to {_time(last)}"
        for first, last, at_risk in _followed(shown, people)
    ]
    return (
        f"{title.rstrip('. ')}. People of {PEOPLE} {words}: {'; '.join(labels)}. "
        f"Nothing is drawn after {_time(shown[-1].at)}. "
        f"People still followed in the study: {'; '.join(followed)}."
    )
