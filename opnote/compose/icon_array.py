"""Icon arrays: a hundred people drawn one by one, those who had something told from the others.

Every array stands for 100 people and all are of one size, so that they can be compared. They are
filled from one end, which eases counting, and both frames stand under each in words. Black and
white only: whoever had it is solid and wears a band, whoever did not is an outline.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from opnote.compose.figure import Drawing
from opnote.compose.sheet import (
    FULL_WIDTH_MM,
    LARGE_SCALE,
    PATIENT_SCALE,
    Label,
    Sheet,
    wrapped,
)

PEOPLE = 100
"""How many people each array stands for."""

_COLUMNS = 3
_MOST_COLUMNS = 4
_LARGE_COLUMNS = 2
"""How many arrays stand side by side, at most when that leaves none alone, and in large print."""
_TALLEST_MM = 205.0
"""The height of a drawing and its caption on a page in large print."""
_BETWEEN_MM = 7.0
_BELOW_MM = 8.0

_A_ROW = 10
# The measures of a person and of the steps between people; an array may be drawn larger or smaller.
_STEP_X_MM = 4.8
_STEP_Y_MM = 5.5
_FIVE_MM = 1.4
"""Added after five people and after five rows: the eye counts in fives."""
_HEIGHT_MM = 4.8
_SHOULDERS_MM = 2.8
_ARRAY_MM = 9 * _STEP_X_MM + _FIVE_MM + _SHOULDERS_MM
_HIPS_MM = 1.6
_HEAD_MM = 1.4
_NECK_MM = 0.3
_ARM_MM = 1.5
_ROUND_MM = 0.55
_PEN_MM = 0.27
_BAND_MM = 0.75

_TITLE_MM = 3.2
_BOLD = 1.12
"""How much wider bold letters may be than `sheet.text_width_mm` reckons."""
_TITLE_LINE_MM = 4.3
_LINE_MM = 3.9
_GAP_MM = 1.6


@dataclass(frozen=True, slots=True)
class Group:
    """How many of a hundred people had something.

    `has_it` and `has_not` go on after a count: "15 of 100" + "had it". `note` says who the people
    were and how long they were followed; "" for none.

    Units: `people` of 100.
    """

    title: str
    people: int
    has_it: str
    has_not: str
    note: str = ""

    @property
    def frames(self) -> tuple[str, str]:
        """Both frames in words: those who had it, and the others."""
        return (
            f"{self.people} of {PEOPLE} {self.has_it}",
            f"{PEOPLE - self.people} of {PEOPLE} {self.has_not}",
        )


class _Crowd(Sheet):
    """A sheet that people can be drawn on, in arrays of one width.

    `size` is how large a person is, 1 for the measures above.
    """

    def __init__(self, columns: int, scale: float) -> None:
        super().__init__(FULL_WIDTH_MM / scale, scale)
        self.columns = columns
        self.column_mm = (self.width_mm - _BETWEEN_MM * (columns - 1)) / columns
        self.size = (self.column_mm - _PEN_MM) / _ARRAY_MM

    def person(self, left: float, top: float, *, has_it: bool, name: str, kind: str = "") -> None:
        """Draw a person in one mark; `kind` becomes its class."""
        group = f' class="{kind}"' if kind else ""
        # Half of its line lies outside of a shape, and must not fall off the sheet.
        left += _PEN_MM / 2
        outline = _outline(left, top, self.size)
        if has_it:
            outline += _band(left, top, self.size)
        fill = "#000000" if has_it else "none"
        # Filled by the rule of even and odd, the band stays open: paper, whatever its colour.
        self._marks.append(
            f'<path id="{name}"{group} d="{outline}" fill="{fill}" fill-rule="evenodd" '
            f'stroke="#000000" stroke-width="{_PEN_MM:g}" stroke-linejoin="round"/>'
        )


def icon_arrays(groups: Sequence[Group], *, scale: float = PATIENT_SCALE) -> Drawing | None:
    """Draw each group as an array of a hundred people; None for no groups.

    `scale` enlarges the words; the width is that of a page.

    Shape: three arrays side by side, in large print two, more of them below, each under its title
    and over both frames and its note. Person n of group m, both counted from 1, is the mark
    `g{m}-person-{n}`, of the class "affected" or "unaffected"; the affected are the first in
    reading order.

    Raises: ValueError: people of a group outside 0 to 100.
    """
    for group in groups:
        if not 0 <= group.people <= PEOPLE:
            raise ValueError(
                f"{group.title}: {group.people} of {PEOPLE} people can't be drawn, "
                f"give a count from 0 to {PEOPLE}"
            )
    if not groups:
        return None
    columns = _MOST_COLUMNS if len(groups) == _MOST_COLUMNS else _COLUMNS
    sheet = _Crowd(_LARGE_COLUMNS if scale >= LARGE_SCALE else columns, scale)
    # A lone array leaves its words the whole sheet.
    room = sheet.width_mm if len(groups) == 1 else sheet.column_mm
    bottom = 0.0
    for first in range(0, len(groups), sheet.columns):
        top = bottom + (_BELOW_MM if first else 0.0)
        bottom = _row(sheet, groups[first : first + sheet.columns], first + 1, top, room)
    return sheet.drawing(bottom, f"{PEOPLE} people, drawn one by one", _alternative_of(groups))


def large_icon_arrays(groups: Sequence[Group]) -> tuple[Drawing, ...]:
    """Draw the groups for large print: a drawing for each two, so that each fits on a page.

    Two whose words make them higher than a page are drawn one by one.
    """
    drawings: list[Drawing] = []
    for start in range(0, len(groups), _LARGE_COLUMNS):
        side_by_side = groups[start : start + _LARGE_COLUMNS]
        drawing = icon_arrays(side_by_side, scale=LARGE_SCALE)
        if drawing is not None and drawing.height_mm <= _TALLEST_MM:
            drawings.append(drawing)
        else:
            alone = (icon_arrays([group], scale=LARGE_SCALE) for group in side_by_side)
            drawings += [drawing for drawing in alone if drawing is not None]
    return tuple(drawings)


def _row(sheet: _Crowd, groups: Sequence[Group], number: int, top: float, room: float) -> float:
    """Draw groups side by side and give the lower end of the longest.

    The titles stand on the arrays, not at the top: a short one isn't torn off its own.
    """
    titles = [wrapped(group.title, room / _BOLD, _TITLE_MM) for group in groups]
    array_top = top + _TITLE_LINE_MM * max(map(len, titles)) + _GAP_MM
    ends = []
    for index, (group, lines) in enumerate(zip(groups, titles, strict=True)):
        left = index * (sheet.column_mm + _BETWEEN_MM)
        title_top = array_top - _GAP_MM - _TITLE_LINE_MM * len(lines)
        for line, words in enumerate(lines):
            y = title_top + _TITLE_LINE_MM * (line + 0.5)
            sheet.label(Label(words, left, y, "start"), size_mm=_TITLE_MM, bold=True)
        array_bottom = _array(sheet, group, f"g{number + index}", left, array_top)
        legend_top = array_bottom + _GAP_MM * 1.5
        ends.append(_legend(sheet, group, f"g{number + index}", left, legend_top, room))
    return max(ends)


def _array(sheet: _Crowd, group: Group, name: str, left: float, top: float) -> float:
    for index in range(PEOPLE):
        row, column = divmod(index, _A_ROW)
        has_it = index < group.people
        sheet.person(
            left + (column * _STEP_X_MM + column // 5 * _FIVE_MM) * sheet.size,
            top + (row * _STEP_Y_MM + row // 5 * _FIVE_MM) * sheet.size,
            has_it=has_it,
            name=f"{name}-person-{index + 1}",
            kind="affected" if has_it else "unaffected",
        )
    rows = PEOPLE // _A_ROW
    height = (rows - 1) * _STEP_Y_MM + (rows - 1) // 5 * _FIVE_MM + _HEIGHT_MM
    return top + height * sheet.size


def _legend(sheet: _Crowd, group: Group, name: str, left: float, top: float, room: float) -> float:
    indent = _SHOULDERS_MM * sheet.size + 1.8
    sample = _HEIGHT_MM * sheet.size
    y = top
    for has_it, words in zip((True, False), group.frames, strict=True):
        kind = "affected" if has_it else "unaffected"
        sheet.person(left, y, has_it=has_it, name=f"{name}-sample-{kind}")
        lines = wrapped(words, room - indent)
        for line, part in enumerate(lines):
            middle = y + sample / 2 + line * _LINE_MM
            sheet.label(Label(part, left + indent, middle, "start"))
        y += max(sample, _LINE_MM) + 1.0 + _LINE_MM * (len(lines) - 1)
    for part in wrapped(group.note, room):
        sheet.label(Label(part, left, y + _LINE_MM / 2, "start"))
        y += _LINE_MM
    return y + 0.5


def _outline(left: float, top: float, size: float) -> str:
    """A person from the front, seen from afar: a head, and a body that narrows below the arms."""
    head, turn, shoulders = _HEAD_MM / 2 * size, _ROUND_MM * size, _SHOULDERS_MM * size
    shoulder = top + (_HEAD_MM + _NECK_MM) * size
    hips, arm = _HIPS_MM * size, _ARM_MM * size
    inset = (shoulders - hips) / 2
    leg = top + _HEIGHT_MM * size - shoulder - turn - arm
    return (
        f"M {left + shoulders / 2 - head:.2f},{top + head:.2f} "
        f"a {head:.3f},{head:.3f} 0 1 1 {2 * head:.3f},0 "
        f"a {head:.3f},{head:.3f} 0 1 1 {-2 * head:.3f},0 Z "
        f"M {left:.2f},{shoulder + turn:.2f} "
        f"a {turn:.3f},{turn:.3f} 0 0 1 {turn:.3f},{-turn:.3f} "
        f"h {shoulders - 2 * turn:.2f} a {turn:.3f},{turn:.3f} 0 0 1 {turn:.3f},{turn:.3f} "
        f"v {arm:.2f} h {-inset:.2f} v {leg:.2f} h {-hips:.2f} v {-leg:.2f} "
        f"h {-inset:.2f} Z"
    )


def _band(left: float, top: float, size: float) -> str:
    """A band from shoulder to hip: it tells the solid figures even where the ink didn't fill."""
    inset, band = 0.45 * size, _BAND_MM * size
    across = _SHOULDERS_MM * size - 2 * inset - band
    y = top + (_HEAD_MM + _NECK_MM + 0.35) * size
    return (
        f" M {left + inset:.2f},{y:.2f} h {band:.3f} "
        f"l {across:.2f},{_ARM_MM * size:.3f} h {-band:.3f} Z"
    )


def _alternative_of(groups: Sequence[Group]) -> str:
    sentences = [f"Each picture is {PEOPLE} people, drawn one by one."]
    for group in groups:
        had, had_not = group.frames
        sentences.append(f"{_unstopped(group.title)}: {had}, {had_not}.")
        if group.note:
            sentences.append(f"{_unstopped(group.note)}.")
    return " ".join(sentences)


def _unstopped(words: str) -> str:
    """A sentence without the stop at its end, whether it had one or not."""
    return words.rstrip(". ")
