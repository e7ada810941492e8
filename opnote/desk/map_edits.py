"""What drawing on the meniscal map changes in the record. Free of Qt.

The map and the tables are two views of the same rows: nothing is kept here. What was drawn has the
origin "drawn"; a measure that a person typed is never replaced by a drawn one except where that
person takes hold of the very end that it describes.
"""

from __future__ import annotations

import enum
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from opnote.compose.meniscal_plan import MeniscusName
from opnote.pack.compiled import bare
from opnote.pack.form import FigureUse
from opnote.pack.pack import Pack
from opnote.pack.view import View
from opnote.reckon.fixation import stitch_positions
from opnote.reckon.menisci import SEGMENTS, outer_length_mm, segment_at, width_at
from opnote.record import (
    UNSET,
    Edit,
    Origin,
    Quantity,
    Record,
    Value,
    add_row,
    clear_value,
    set_values,
)

MAP: Final = "meniscal_map"
STEP_MM: Final = 1.0
"""What is drawn along the rim is rounded to this; a probe's marks are not finer. common practice"""
RIM_STEP_MM: Final = 0.5
_SEGMENT_OPTIONS: Final = dict(zip(SEGMENTS, ("posterior", "body", "anterior"), strict=True))


class Part(enum.Enum):
    """What of a tear can be taken in hand."""

    START = "posterior end"
    END = "anterior end"
    RIM = "rim"


@dataclass(frozen=True, slots=True)
class Tear:
    """A tear as it can be drawn on; None where nothing is recorded yet.

    Units: millimetres, along the rim from the posterior root; `rim_mm` from the rim inward.
    """

    row: str
    name: str
    meniscus: MeniscusName
    has_end: bool
    start_mm: float | None
    end_mm: float | None
    rim_mm: float | None

    @property
    def reach(self) -> tuple[float, float] | None:
        """From and to in rising order; None unless both are recorded."""
        if self.start_mm is None or self.end_mm is None:
            return None
        return min(self.start_mm, self.end_mm), max(self.start_mm, self.end_mm)

    @property
    def parts(self) -> tuple[Part, ...]:
        """What of it can be taken in hand: a tear across the meniscus has one place."""
        return (Part.START, Part.END, Part.RIM) if self.has_end else (Part.START, Part.RIM)

    def place_of(self, part: Part) -> tuple[float, float]:
        """Where a part stands, along and inward; in the middle of the meniscus while unset."""
        middle = outer_length_mm(self.meniscus) / 2
        start = self.start_mm if self.start_mm is not None else middle - 10
        end = self.end_mm if self.end_mm is not None else max(start, middle) + 10
        along = {Part.START: start, Part.END: end, Part.RIM: (start + end) / 2}[part]
        if not self.has_end:
            along = start if self.start_mm is not None else middle
        rim = self.rim_mm if self.rim_mm is not None else width_at(self.meniscus, along) / 2
        return along, rim


class MapEdits:
    """The changes that drawing makes, for the tables that a form's map shows."""

    def __init__(self, pack: Pack, use: FigureUse) -> None:
        self._pack = pack
        self.tears_path = use.uses["tears"]
        self.stitches_path = use.uses["stitches"]

    @staticmethod
    def use_in(pack: Pack) -> FigureUse | None:
        """The map of a form; None when it has none."""
        return next((use for use in pack.form.figures.values() if use.kind == MAP), None)

    def tears(self, view: View) -> list[Tear]:
        """The tears whose meniscus is recorded, in their order."""
        return list(self._tears(view))

    def _tears(self, view: View) -> Iterator[Tear]:
        rows = view.rows.get(self.tears_path, ())
        for number, row in enumerate(rows, 1):
            path = f"{self.tears_path}.{row}"
            meniscus = bare(view.values.get(f"{path}.meniscus", UNSET))
            if meniscus not in ("medial", "lateral"):
                continue
            has_end = not view.is_hidden(f"{path}.to_mm")
            start = _number(view, f"{path}.from_mm")
            yield Tear(
                row,
                f"Tear {number}" if len(rows) > 1 else "Tear",
                meniscus,
                has_end,
                start,
                _number(view, f"{path}.to_mm") if has_end else start,
                _number(view, f"{path}.rim_mm"),
            )

    def new_tear(self, meniscus: str, from_mm: float, to_mm: float) -> Edit:
        """Add a tear that was drawn along the rim of a meniscus."""
        start, end = (self._within("from_mm", meniscus, mm) for mm in sorted((from_mm, to_mm)))
        drawn: dict[str, Value] = {"from_mm": _mm(start), "to_mm": _mm(end)}
        if end > start:
            drawn["length_mm"] = _mm(end - start)
        return _row_drawn(self.tears_path, "drawing a tear", {"meniscus": meniscus}, drawn)

    def move(self, tear: Tear, part: Part, along: float, inward: float) -> Edit:
        """Put a part of a tear somewhere else.

        The length follows the ends unless a person typed it; how it was measured is asked anew
        when it does. A tear that is gone by then stays gone.
        """
        edit = self._moved(tear, part, along, inward)

        def apply(record: Record) -> Record:
            is_there = tear.row in record.rows.get(self.tears_path, ())
            return edit.apply(record) if is_there else record

        return replace(edit, apply=apply)

    def _moved(self, tear: Tear, part: Part, along: float, inward: float) -> Edit:
        path = f"{self.tears_path}.{tear.row}"
        label = f"drawing the {part.value} of {tear.name.lower()}"
        if part is Part.RIM:
            widest = width_at(tear.meniscus, along)
            rim = min(max(_rounded(inward, RIM_STEP_MM), 0.0), _rounded(widest, RIM_STEP_MM))
            key = f"map:{path}.rim_mm"
            return set_values({f"{path}.rim_mm": _mm(rim)}, label, Origin.DRAWN, key)
        name = "from_mm" if part is Part.START else "to_mm"
        place = self._within(name, tear.meniscus, along)
        values: dict[str, Value] = {f"{path}.{name}": _mm(place)}
        other = tear.end_mm if part is Part.START else tear.start_mm
        length = f"{path}.length_mm"
        follows = tear.has_end and other is not None and place != other
        edit = _drawn(label, values)

        def apply(record: Record) -> Record:
            moved = edit.apply(record)
            is_free = length not in record.values or record.origin(length) is Origin.DRAWN
            if not (follows and is_free and other is not None):
                return moved
            moved = _drawn(label, {length: _mm(abs(other - place))}).apply(moved)
            return clear_value(f"{path}.measured_by", label).apply(moved)

        return Edit(label, (*values, length), apply, key=f"map:{path}.{name}")

    def add_stitch(self, view: View, tear: Tear, technique: str, along: float) -> Edit:
        """Place one stitch: in the row of its technique and segment, or in a new row.

        The stretch of the row follows its stitches, half a space past the outermost ones and no
        further than the tear. A stretch that was typed or drawn as such is kept, and widened to
        the place where need be. A row of which only the number is known stays as it is: nobody
        has said where its stitches are.
        """
        segment = _SEGMENT_OPTIONS[segment_at(tear.meniscus, max(0.0, along))]
        place = self._within("from_mm", tear.meniscus, along)
        row = self._row_of(view, tear, technique, segment)
        if row is None:
            return self._stitches_added(tear, technique, segment, 1, place, place)
        path = f"{self.stitches_path}.{row}"
        start, end = self._stretch_with(view, path, place, tear)
        count = (self._count(view, path) or 0) + 1
        return _drawn("drawing a stitch", self._row_values(view, path, count, start, end))

    def _stretch_with(self, view: View, path: str, place: float, tear: Tear) -> tuple[float, float]:
        """The stretch of a row with one stitch more."""
        there = self._positions(view, path)
        names = [f"{path}.{name}" for name in ("from_mm", "to_mm")]
        ends = [mm for name in names if (mm := _number(view, name)) is not None]
        is_drawn = all(view.record.origin(name) is Origin.DRAWN for name in names)
        # One stitch in the middle of a stretch has not made it.
        follows = is_drawn and (len(there) > 1 or (bool(there) and ends[0] == ends[1]))
        if not ends or follows:
            return _stretch([*there, place], tear)
        return min(*ends, place), max(*ends, place)

    def add_range(self, tear: Tear, technique: str, from_mm: float, to_mm: float) -> Edit:
        """Add a row of stitches by the stretch that it holds; its number is still asked."""
        start, end = (self._within("from_mm", tear.meniscus, mm) for mm in sorted((from_mm, to_mm)))
        middle = (start + end) / 2
        segment = _SEGMENT_OPTIONS[segment_at(tear.meniscus, middle)]
        return self._stitches_added(tear, technique, segment, None, start, end)

    def take_stitch(self, view: View, tear: Tear, technique: str, along: float) -> Edit | None:
        """Take the nearest stitch of a technique away; None when there is none.

        A row whose last stitch goes keeps its other answers and has no number.
        """
        found = [
            (abs(place - along), row, place)
            for row in self._rows_of(view, tear, technique)
            for place in self._positions(view, f"{self.stitches_path}.{row}")
        ]
        if not found:
            return None
        _, row, place = min(found)
        path = f"{self.stitches_path}.{row}"
        left = list(self._positions(view, path))
        left.remove(place)
        if left:
            start, end = _stretch(left, tear)
            values = self._row_values(view, path, len(left), start, end)
            return _drawn("taking a stitch away", values)
        label = "taking a stitch away"
        gone = [clear_value(f"{path}.{name}", label) for name in ("count", "from_mm", "to_mm")]

        def apply(record: Record) -> Record:
            for edit in gone:
                record = edit.apply(record)
            return record

        return Edit(label, tuple(p for edit in gone for p in edit.paths), apply)

    def positions(self, view: View, tear: Tear) -> list[float]:
        """Where the stitches of a tear stand, in rising order."""
        return sorted(
            place
            for row in self._rows_of(view, tear, None)
            for place in self._positions(view, f"{self.stitches_path}.{row}")
        )

    def _rows_of(self, view: View, tear: Tear, technique: str | None) -> Iterator[str]:
        for row in view.rows.get(self.stitches_path, ()):
            path = f"{self.stitches_path}.{row}"
            if view.values.get(f"{path}.tear") == tear.row and technique in (
                None,
                view.values.get(f"{path}.technique"),
            ):
                yield row

    def _row_of(self, view: View, tear: Tear, technique: str, segment: str) -> str | None:
        """The row that another stitch belongs to."""
        for row in self._rows_of(view, tear, technique):
            path = f"{self.stitches_path}.{row}"
            has_place = any(f"{path}.{name}" in view.values for name in ("from_mm", "to_mm"))
            is_placeless = self._count(view, path) is not None and not has_place
            if view.values.get(f"{path}.segment") == segment and not is_placeless:
                return row
        return None

    @staticmethod
    def _count(view: View, path: str) -> int | None:
        count = bare(view.values.get(f"{path}.count", UNSET))
        return count if isinstance(count, int) else None

    def _positions(self, view: View, path: str) -> tuple[float, ...]:
        count = self._count(view, path)
        start, end = _number(view, f"{path}.from_mm"), _number(view, f"{path}.to_mm")
        if count is None or start is None or end is None:
            return ()
        return stitch_positions(count, *sorted((start, end)))

    @staticmethod
    def _row_values(
        view: View, path: str, count: int, start: float, end: float
    ) -> dict[str, Value]:
        """What changes in a row: an end that stays where it is stays as it was measured."""
        ends = {f"{path}.from_mm": start, f"{path}.to_mm": end}
        moved = {name: _mm(mm) for name, mm in ends.items() if _number(view, name) != mm}
        return {f"{path}.count": count, **moved}

    def _stitches_added(
        self, tear: Tear, technique: str, segment: str, count: int | None, start: float, end: float
    ) -> Edit:
        said: dict[str, Value] = {
            "tear": tear.row,
            "technique": technique,
            "segment": segment,
        }
        drawn: dict[str, Value] = {"from_mm": _mm(start), "to_mm": _mm(end)}
        if count is not None:
            drawn["count"] = count
        return _row_drawn(self.stitches_path, "drawing stitches", said, drawn)

    def _within(self, column: str, meniscus: str, along: float) -> float:
        """A place on the average meniscus, rounded, and one that the field can hold."""
        field = self._pack.fields[f"{self.tears_path}.{column}"]
        most = min(outer_length_mm(meniscus), field.most or outer_length_mm(meniscus))
        return min(max(_rounded(along, STEP_MM), field.least or 0.0), _rounded(most, STEP_MM))


def _stretch(places: list[float], tear: Tear) -> tuple[float, float]:
    """The stretch that holds stitches, which are spread evenly over it."""
    first, last = min(places), max(places)
    half = (last - first) / (len(places) - 1) / 2 if len(places) > 1 else 0.0
    start, end = first - half, last + half
    if tear.reach is not None:
        start, end = max(start, min(tear.reach[0], first)), min(end, max(tear.reach[1], last))
    return _rounded(start, STEP_MM), _rounded(end, STEP_MM)


def _row_drawn(
    table: str, label: str, said: Mapping[str, Value], drawn: Mapping[str, Value]
) -> Edit:
    origins = dict.fromkeys(drawn, Origin.DRAWN)
    return add_row(table, label, {**said, **drawn}, origins=origins)


def _drawn(label: str, values: Mapping[str, Value]) -> Edit:
    return set_values(values, label, Origin.DRAWN)


def _number(view: View, path: str) -> float | None:
    value = bare(view.values.get(path, UNSET))
    return float(value) if isinstance(value, int | float) else None


def _mm(value: float) -> Quantity:
    return Quantity(value, "mm")


def _rounded(value: float, step: float) -> float:
    return round(value / step) * step
