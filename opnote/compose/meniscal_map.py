"""The meniscal map: both menisci from above, the tears and the stitches, drawn life-size.

The front of the knee is at the top. A right knee has its lateral side at the right; a left knee is
its mirror image, with upright words. Everything along the rim is to scale on the average meniscus;
the form of the menisci is schematic. Black and grey only: letters and line styles tell the
techniques apart.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence

from opnote.compose.figure import Drawing
from opnote.compose.meniscal_plan import (
    Gap,
    MeniscusName,
    Plan,
    ResectionDrawn,
    StitchRowDrawn,
    TearDrawn,
    drawn_extent,
    plan_of,
)
from opnote.compose.meniscal_words import (
    DISPLACED,
    ZERO_WORDS,
    alternative_of,
    capital,
    millimetres,
    notes_of,
    resection_words,
    tear_words,
    technique_words,
    title_of,
)
from opnote.compose.sheet import Anchor, Label, Pen, Point, Sheet, wrapped
from opnote.reckon.menisci import (
    MENISCI,
    SEGMENTS,
    circle_fit,
    outer_length_mm,
    point_on_arc,
    segment_width_mm,
    width_at,
)

__all__ = [
    "CENTRE_Y_MM",
    "WIDTH_MM",
    "ResectionDrawn",
    "StitchRowDrawn",
    "TearDrawn",
    "meniscal_map",
    "middle_x_mm",
]

_ZERO = "0\N{NO-BREAK SPACE}mm"
_UNIT = re.compile(r"(\d) mm\b")

WIDTH_MM = 120.0
"""Printed width. At this width the drawing is life-size."""

_NAMES: tuple[MeniscusName, ...] = ("medial", "lateral")

CENTRE_Y_MM = 41.0
"""Where the middle of the menisci stands on the sheet, from its upper edge. Units: millimetres."""
_LEGEND_TOP = 79.0
_LINE_MM = 4.1
_MARGIN_MM = 3.0
_SAMPLE_MM = 11.0
_KEY_LINE_MM = 6.0
_KEY_HALF_MM = 1.3

_RIM_PEN = Pen(0.35, "#333333")
_HIATUS_PEN = Pen(0.35, "#333333", (0.5, 0.7))
_THIRD_PEN = Pen(0.27, "#555555")
_TISSUE = "#f0f0f0"
_TEAR_PEN = Pen(1.1)
_UNPLACED_TEAR_PEN = Pen(1.1, dash=(1.1, 1.1))
_HANDLE_PEN = Pen(0.3, "#333333", (1.6, 0.9))
_GAP_PEN = Pen(0.27)
_RESECTED_PEN = Pen(0.3, "#333333")
_HATCH_PEN = Pen(0.27, "#333333")
_HATCH_MM = 2.0
_BAR_PEN = Pen(0.5)
_STITCH_PENS = (
    Pen(0.5),
    Pen(0.5, dash=(1.3, 0.6)),
    Pen(0.6, dash=(0.5, 0.5)),
    Pen(0.5, dash=(1.8, 0.5, 0.5, 0.5)),
    Pen(0.27),
    Pen(0.9),
    Pen(0.9, dash=(1.3, 0.6)),
)

_AROUND = sorted(
    (
        (step, part)
        for step in (0.0, 1.5, 3.0, 4.5, 6.0, 7.5, 9.0)
        for part in (0.0, -0.08, 0.08, -0.16, 0.16, -0.24, 0.24, -0.32, 0.32, -0.4, 0.4)
    ),
    key=lambda place: place[0] + 40 * abs(place[1]),
)
"""Places for words by a stretch of rim: mm further out, and part of the stretch off its middle.

Nearest first; words that stand off the middle of their stretch mislead sooner than words far out.
"""
_LEAST_ALONG_MM = 1.0
"""A tear shorter than this along the rim runs across: from its rim distance to the free edge."""
_SLIVER_MM = 1.0
"""Less tissue than this between a resection and the free edge isn't drawn; a choice of drawing."""
_STEPS_ACROSS = 60
_PAST_TEAR_MM = 2.5
"""How far a stitch reaches over the tear towards the free edge; a choice of drawing."""
_PAST_RIM_MM = 1.2
_ROUNDED_MM = 14.0
"""Length of horn that is drawn narrowing into its root; a choice of drawing."""
_LETTER_OUT_MM = 3.3
_LETTER_STEP_MM = 2.7
_LETTER_RANKS = 2
_LETTER_ROOM_MM = 2.9
_TICK_ROOM_MM = 1.5
"""Least space of a letter to the next stitch, measured where the letters stand."""
_BESIDE_MM = 1.4
"""How far stitches that fall on one place are drawn apart."""


def meniscal_map(
    side: str,
    tears: Sequence[TearDrawn],
    stitches: Sequence[StitchRowDrawn],
    resections: Sequence[ResectionDrawn] = (),
    *,
    gap_mm: float | None = None,
    is_blank_drawn: bool = False,
) -> Drawing | None:
    """Draw the tears, stitches and resected parts of one knee; None when there is nothing to draw.

    Nothing to draw: the side is neither "left" nor "right", or no tear has both its ends
    recorded, unless `is_blank_drawn` asks for the menisci all the same. What isn't recorded is
    left out of the picture and named in the legend.

    Units: millimetres; a space between neighbouring stitches of a tear longer than `gap_mm` is
    marked with its length, none if it is None.
    Raises: ValueError: a negative number of stitches.
    Source: geometry as in `opnote.reckon.menisci`.
    """
    if side not in ("left", "right"):
        return None
    if not is_blank_drawn and not any(drawn_extent(t.meniscus, t.extent) for t in tears):
        return None
    plan = plan_of(side, tears, stitches, resections, gap_mm)
    artist = _Artist(plan)
    height = artist.draw()
    alternative = alternative_of(plan)
    svg = artist.sheet.svg(height, title_of(plan), alternative)
    return Drawing(svg, alternative, WIDTH_MM, height)


def middle_x_mm(side: str) -> float:
    """Where the middle between the two menisci stands on the sheet, from its left edge.

    Both menisci together stand in the middle of the sheet, whichever is the wider one.
    Units: millimetres. Raises: ValueError: unknown side.
    """
    lateral, medial = (
        abs(point_on_arc(side, name, outer_length_mm(name) / 2, 0)[0])
        for name in ("lateral", "medial")
    )
    half_excess = (lateral - medial) / 2
    return WIDTH_MM / 2 - (half_excess if side == "right" else -half_excess)


class _Artist:
    """Draws one plan on a sheet: first all marks, then the words that must find room."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.sheet = Sheet(WIDTH_MM)
        self._middle_x = middle_x_mm(plan.side)

    def draw(self) -> float:
        """Draw everything; give the height used in millimetres."""
        self._head()
        for name in _NAMES:
            self._meniscus(name)
        for number, resection in enumerate(self.plan.resections, 1):
            self._resection(number, resection)
        for number, tear in enumerate(self.plan.tears, 1):
            self._tear(number, tear)
        for name in _NAMES:
            self._stitches(name)
        for gap in self.plan.gaps:
            self._gap(gap)
        self._tear_numbers()
        self._hiatus_label()
        self._zero_marks()
        for name in _NAMES:
            self._segment_labels(name)
        self._bar()
        return self._legend()

    def _point(self, name: MeniscusName, along: float, inward: float) -> Point:
        x, y = point_on_arc(self.plan.side, name, along, inward)
        return self._middle_x + x, CENTRE_Y_MM + y

    def _arc(self, name: MeniscusName, start: float, end: float, inward: float) -> list[Point]:
        steps = max(2, math.ceil((end - start) / 0.75))
        return [
            self._point(name, start + (end - start) * i / steps, inward) for i in range(steps + 1)
        ]

    def _head(self) -> None:
        plan, sheet = self.plan, self.sheet
        sheet.label(Label(title_of(plan), _MARGIN_MM, 3.5, "start"), size_mm=3.4, bold=True)
        sheet.label(Label("Front", self._middle_x, 11), italic=True)
        sheet.label(Label("Back", self._middle_x, _LEGEND_TOP - 8), italic=True)
        at_left, at_right = ("Medial", "Lateral") if plan.side == "right" else ("Lateral", "Medial")
        sheet.label(Label(at_left, _MARGIN_MM, 11, "start"), italic=True)
        sheet.label(Label(at_right, WIDTH_MM - _MARGIN_MM, 11, "end"), italic=True)

    def _meniscus(self, name: MeniscusName) -> None:
        length = outer_length_mm(name)
        outer = self._arc(name, 0, length, 0)
        # Even steps of an angle lie denser near the roots, where the free edge bends most.
        places = [length * (1 + math.cos(math.pi * i / 160)) / 2 for i in range(161)]
        inner = [self._point(name, place, _drawn_width(name, place)) for place in places]
        self.sheet.shape([*outer, *inner], None, _TISSUE)
        third = length / 3
        for border in (third, 2 * third):
            ends = [self._point(name, border, s) for s in (-1.5, width_at(name, border))]
            self.sheet.line(ends, _THIRD_PEN)
        self.sheet.line(inner, _RIM_PEN)
        hiatus = MENISCI[name].hiatus
        if hiatus is None:
            self.sheet.line(outer, _RIM_PEN, f"rim-{name}")
        else:
            self.sheet.line(self._arc(name, 0, hiatus[0], 0), _RIM_PEN)
            self.sheet.line(self._arc(name, *hiatus, 0), _HIATUS_PEN, "hiatus")
            self.sheet.line(self._arc(name, hiatus[1], length, 0), _RIM_PEN)
        self.sheet.take(outer, 0.5)
        self.sheet.take(inner, 0.3)

    def _resection(self, number: int, resection: ResectionDrawn) -> None:
        """Leave white what was taken, hatched across: a photocopy keeps it."""
        name = resection.meniscus
        extent = drawn_extent(name, resection.extent)
        if extent is None or resection.rim_left_mm is None or resection.width_mm is None:
            return
        start, end = extent
        outer = drawn_extent(name, resection.outer_extent) or extent
        rim = resection.rim_left_mm
        steps = max(2, math.ceil((end - start) / _HATCH_MM))
        taken = rim + resection.width_mm
        # The sides splay from the ends of the tear, so that halfway the part is as long as it was.
        at_rim = [outer[0] + (outer[1] - outer[0]) * i / steps for i in range(steps + 1)]
        halfway = [start + (end - start) * i / steps for i in range(steps + 1)]
        edge = [
            self._point(name, *_taken_to(name, along, 2 * middle - along, rim, taken))
            for along, middle in zip(at_rim, halfway, strict=True)
        ]
        outline = [*self._arc(name, *outer, rim), *reversed(edge)]
        self.sheet.shape(outline, _RESECTED_PEN, "#ffffff", f"resected-{number}")
        for k, (along, free) in enumerate(zip(at_rim, edge, strict=True), 1):
            line = _between(self._point(name, along, rim), free)
            self.sheet.line(line, _HATCH_PEN, f"resected-{number}-{k}")
            self.sheet.take(line, 0.2)

    def _tear(self, number: int, tear: TearDrawn) -> None:
        extent = drawn_extent(tear.meniscus, tear.extent)
        if extent is None:
            return
        name, (start, end) = tear.meniscus, extent
        rim = _rim_drawn(tear, (start + end) / 2)
        if end - start >= _LEAST_ALONG_MM:
            line = self._arc(name, start, end, rim)
        else:
            line = _between(
                self._point(name, start, rim),
                self._point(name, start, max(_drawn_width(name, start), rim + _LEAST_ALONG_MM)),
            )
        if _hangs(tear):
            handle = self._handle(tear, extent)
            self.sheet.shape(handle, _HANDLE_PEN, name=f"displaced-{number}")
            self.sheet.take(handle, 0.4)
        pen = _TEAR_PEN if tear.rim_mm is not None else _UNPLACED_TEAR_PEN
        self.sheet.line(line, pen, f"tear-{number}")
        self.sheet.take(line, 0.8)

    def _handle(self, tear: TearDrawn, extent: tuple[float, float]) -> list[Point]:
        """Outline the displaced part: a slim band that hangs from the two ends of the tear."""
        name = tear.meniscus
        middle = sum(extent) / 2
        rim = _rim_drawn(tear, middle)
        start, end = (self._point(name, along, rim) for along in extent)
        free_edge = width_at(name, middle)
        across = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        edge = self._point(name, middle, free_edge + 1.5)
        centre = self._point(name, middle, circle_fit(name).radius_mm)
        inward = _towards(edge, centre)
        # The chord of a long tear already lies inside the free edge; that of a short one doesn't.
        lag = max(0.0, (edge[0] - across[0]) * inward[0] + (edge[1] - across[1]) * inward[1])
        near = (across[0] + inward[0] * lag, across[1] + inward[1] * lag)
        thickness = min(max(free_edge - rim, 2.0), 5.0)
        far = (near[0] + inward[0] * thickness, near[1] + inward[1] * thickness)
        return [*_bow(start, near, end), *reversed(_bow(start, far, end))]

    def _stitches(self, name: MeniscusName) -> None:
        ticks = [
            (place, index, k)
            for index, row in enumerate(self.plan.rows)
            if row.meniscus == name
            for k, place in enumerate(row.drawn_positions, 1)
        ]
        ticks = _apart(sorted(ticks))
        ranks = _ranks(name, ticks)
        for along, index, k in ticks:
            row = self.plan.rows[index]
            letter = self.plan.letters[row.technique]
            rank = ranks[index, k]
            out = _PAST_RIM_MM if rank is None else _LETTER_OUT_MM - 1.3 + rank * _LETTER_STEP_MM
            tear = self.plan.tear_of(row)
            rim = _rim_drawn(tear, along) if tear else width_at(name, along) / 2
            ends = [self._point(name, along, s) for s in (-out, rim + _PAST_TEAR_MM)]
            self.sheet.line(ends, self._stitch_pen(row.technique), f"stitch-{index + 1}-{k}")
            self.sheet.take(_between(*ends), 0.4)
            if rank is not None:
                at = self._point(name, along, -_LETTER_OUT_MM - rank * _LETTER_STEP_MM)
                self.sheet.label(Label(letter, *at), bold=True)
        dense = sorted({index for _, index, k in ticks if ranks[index, k] is None})
        for order, index in enumerate(dense):
            self._bracket(index, _PAST_RIM_MM + 0.5 + 0.8 * order)

    def _bracket(self, index: int, out: float) -> None:
        """Give one letter and its count to a row too dense for a letter at each stitch."""
        row = self.plan.rows[index]
        places = row.drawn_positions
        line = self._arc(row.meniscus, places[0], places[-1], -out)
        self.sheet.line(line, _GAP_PEN)
        self.sheet.take(line, 0.4)
        words = f"{self.plan.letters[row.technique]} \N{MULTIPLICATION SIGN} {row.count}"
        spots = self._around(row.meniscus, words, places[0], places[-1], 3.0)
        self.sheet.label(self.sheet.first_free(spots), bold=True)

    def _gap(self, gap: Gap) -> None:
        extent = drawn_extent(gap.meniscus, (gap.from_mm, gap.to_mm))
        if extent is None:
            return
        line = self._arc(gap.meniscus, *extent, -_PAST_RIM_MM)
        self.sheet.line(line, _GAP_PEN, f"gap-{gap.meniscus}-{gap.from_mm:g}")
        for along in extent:
            ends = [self._point(gap.meniscus, along, s) for s in (-0.5, -_PAST_RIM_MM - 0.7)]
            self.sheet.line(ends, _GAP_PEN)
        self.sheet.take(line, 0.3)
        words = f"gap {millimetres(gap.to_mm - gap.from_mm)}"
        spots = self._around(gap.meniscus, words, *extent, 2.4)
        self.sheet.label(self.sheet.first_free(spots))

    def _tear_numbers(self) -> None:
        drawn = [
            (number, tear, extent)
            for number, tear in enumerate(self.plan.tears, 1)
            if (extent := drawn_extent(tear.meniscus, tear.extent))
        ]
        if len(self.plan.tears) < 2:
            return
        for number, tear, (start, end) in drawn:
            name = tear.meniscus
            rim = _rim_drawn(tear, (start + end) / 2)
            within = [start + (end - start) * part for part in (0.5, 0.35, 0.65, 0.2, 0.8)]
            places = [(along, 0.0) for along in (end + 2.2, start - 2.2)]
            places += [(along, step) for step in (2.6, 4.2, 5.8) for along in within]
            places += [(along, step) for step in (0.0, 3.0) for along in (end + 4.5, start - 4.5)]
            spots = [
                Label(str(number), *self._point(name, along, rim + step)) for along, step in places
            ]
            self.sheet.label(self.sheet.first_free(spots), bold=True)

    def _hiatus_label(self) -> None:
        hiatus = MENISCI["lateral"].hiatus
        if hiatus is not None:
            spots = self._around("lateral", "popliteus hiatus", *hiatus, 2.4)
            self.sheet.label(self.sheet.first_free(spots), italic=True)

    def _zero_marks(self) -> None:
        """Mark where the millimetres of a torn meniscus are counted from."""
        for name in _NAMES:
            if any(tear.meniscus == name for tear in self.plan.tears):
                x, y = self._point(name, 0, 0)
                # From the root towards the middle of the knee, where the tissue ends.
                way = math.copysign(1, self._middle_x - x)
                anchor: Anchor = "start" if way > 0 else "end"
                spots = [
                    Label(_ZERO, x + way * aside, y + down, anchor)
                    for aside in (0.3, 2.0, -2.5)
                    for down in (0.6, 1.8, -1.2, -2.8, 3.2, -4.4, 4.8)
                ]
                self.sheet.label(self.sheet.first_free(spots))

    def _segment_labels(self, name: MeniscusName) -> None:
        third = outer_length_mm(name) / 3
        for i, words in enumerate(("posterior horn", "body", "anterior horn")):
            spots = self._around(name, words, i * third, (i + 1) * third, 3.0)
            self.sheet.label(self.sheet.first_free(spots))

    def _around(
        self, name: MeniscusName, words: str, start: float, end: float, out: float
    ) -> Iterator[Label]:
        """Give places for words outside a stretch of rim, those near its middle first."""
        radius = circle_fit(name).radius_mm
        middle_x = self._point(name, 0, radius)[0]
        for step, part in _AROUND:
            along = (start + end) / 2 + part * (end - start)
            x, y = self._point(name, along, -out - step)
            slant = (x - middle_x) / (radius + out + step)
            anchor: Anchor = "middle" if abs(slant) < 0.4 else ("start" if slant > 0 else "end")
            yield Label(words, x, y, anchor)

    def _bar(self) -> None:
        y = _LEGEND_TOP - 5
        left = WIDTH_MM - _MARGIN_MM - 10
        self.sheet.line([(left, y), (left + 10, y)], _BAR_PEN, "bar")
        for x in (left, left + 10):
            self.sheet.line([(x, y - 0.8), (x, y + 0.8)], Pen(0.3))
        self.sheet.label(Label("10 mm", left + 5, y - 2.4))

    def _legend(self) -> float:
        """Explain every kind of mark under the drawing; give the height at its end."""
        plan = self.plan
        y = _LEGEND_TOP
        for number, tear in enumerate(plan.tears, 1):
            pen = _TEAR_PEN if tear.rim_mm is not None else _UNPLACED_TEAR_PEN
            is_drawn = drawn_extent(tear.meniscus, tear.extent) is not None
            sign = str(number) if len(plan.tears) > 1 else ""
            hidden = "" if is_drawn else ", not drawn"
            y = self._entry(y, pen if is_drawn else None, sign, tear_words(tear) + hidden)
        for resection in plan.resections:
            is_drawn = drawn_extent(resection.meniscus, resection.extent) is not None
            hidden = "" if is_drawn else ", not drawn"
            words = resection_words(resection) + hidden
            if is_drawn:
                self._hatched_sample(y)
            y = self._entry(y, None, "", words)
        if any(_hangs(tear) for tear in plan.tears):
            y = self._entry(y, _HANDLE_PEN, "", DISPLACED)
        for technique, letter in plan.letters.items():
            pen = self._stitch_pen(technique)
            y = self._entry(y, pen, letter, technique_words(plan, technique))
        # At least one tear is drawn, so that the mark stands at its meniscus.
        self.sheet.label(Label(_ZERO, _MARGIN_MM, y, "start"))
        y = self._entry(y, None, "", ZERO_WORDS)
        if plan.gaps and plan.gap_mm is not None:
            y = self._entry(
                y, _GAP_PEN, "", f"gap of more than {millimetres(plan.gap_mm)} between stitches"
            )
        for line in wrapped(" ".join(notes_of(plan)), WIDTH_MM - 2 * _MARGIN_MM):
            self.sheet.label(Label(line, _MARGIN_MM, y + 0.8, "start"), italic=True)
            y += _LINE_MM
        return y

    def _hatched_sample(self, y: float) -> None:
        """Draw a resected part as it is drawn on the map."""
        left, right = _MARGIN_MM, _MARGIN_MM + _KEY_LINE_MM
        top, bottom = y - _KEY_HALF_MM, y + _KEY_HALF_MM
        corners = [(left, top), (right, top), (right, bottom), (left, bottom)]
        self.sheet.shape(corners, _RESECTED_PEN, "#ffffff", "sample-resected")
        for k in range(1, math.ceil(_KEY_LINE_MM / _HATCH_MM)):
            x = left + k * _HATCH_MM
            self.sheet.line([(x, top), (x, bottom)], _HATCH_PEN)

    def _entry(self, y: float, pen: Pen | None, sign: str, words: str) -> float:
        left = _MARGIN_MM
        words = capital(words)
        if pen is not None:
            self.sheet.line([(left, y), (left + _KEY_LINE_MM, y)], pen)
        if sign:
            self.sheet.label(Label(sign, left + 8.5, y), bold=True)
        text_left = left + _SAMPLE_MM
        for line in wrapped(
            _UNIT.sub("\\1\N{NO-BREAK SPACE}mm", words), WIDTH_MM - _MARGIN_MM - text_left
        ):
            self.sheet.label(Label(line, text_left, y, "start"))
            y += _LINE_MM
        return y

    def _stitch_pen(self, technique: str | None) -> Pen:
        return _STITCH_PENS[list(self.plan.letters).index(technique) % len(_STITCH_PENS)]


def _drawn_width(name: MeniscusName, along: float) -> float:
    """Round the outline: the means at the middles of the thirds, horns narrowing into the roots.

    How a horn narrows isn't measured.
    """
    length = outer_length_mm(name)
    steps = min(max(3 * along / length - 0.5, 0.0), 2.0)
    first = min(int(steps), 1)
    here, there = (segment_width_mm(name, segment) for segment in SEGMENTS[first : first + 2])
    width = here + (there - here) * (1 - math.cos(math.pi * (steps - first))) / 2
    bend = max(0.0, 1 - min(along, length - along) / _ROUNDED_MM)
    return width * math.sqrt(1 - bend * bend)


def _taken_to(
    name: MeniscusName, start: float, end: float, rim: float, taken: float
) -> tuple[float, float]:
    """Where a line across a resection ends, along and inward.

    It goes from `start` at the rim left to `end` at what was taken, no further than the free edge,
    and up to it unless clearly less was taken. Units: millimetres.
    """
    length = outer_length_mm(name)
    along, inward = start, rim
    for i in range(1, _STEPS_ACROSS + 1):
        part = i / _STEPS_ACROSS
        next_along = min(max(start + (end - start) * part, 0.0), length)
        next_inward = rim + (taken - rim) * part
        if next_inward > _drawn_width(name, next_along):
            break
        along, inward = next_along, next_inward
    width = _drawn_width(name, along)
    return along, max(width if width - inward < _SLIVER_MM else inward, rim)


def _hangs(tear: TearDrawn) -> bool:
    """Tell whether a displaced part is drawn: it hangs from the two ends of its tear."""
    extent = drawn_extent(tear.meniscus, tear.extent)
    return tear.displaced and extent is not None and extent[1] - extent[0] >= _LEAST_ALONG_MM


def _rim_drawn(tear: TearDrawn, along: float) -> float:
    return width_at(tear.meniscus, along) / 2 if tear.rim_mm is None else tear.rim_mm


def _towards(start: Point, end: Point) -> Point:
    length = math.dist(start, end)
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length


def _between(start: Point, end: Point) -> list[Point]:
    """List points on a straight line, close enough to keep text off all of it."""
    steps = max(1, math.ceil(math.dist(start, end) / 0.7))
    return [
        (start[0] + (end[0] - start[0]) * i / steps, start[1] + (end[1] - start[1]) * i / steps)
        for i in range(steps + 1)
    ]


def _bow(start: Point, through: Point, end: Point) -> list[Point]:
    """Sample a curve from start to end that passes `through` halfway."""
    knee = tuple(2 * t - (s + e) / 2 for s, t, e in zip(start, through, end, strict=True))
    parts = [i / 24 for i in range(25)]
    return [
        (
            (1 - p) ** 2 * start[0] + 2 * p * (1 - p) * knee[0] + p * p * end[0],
            (1 - p) ** 2 * start[1] + 2 * p * (1 - p) * knee[1] + p * p * end[1],
        )
        for p in parts
    ]


def _apart(ticks: list[tuple[float, int, int]]) -> list[tuple[float, int, int]]:
    """Draw stitches of two rows that fall on one place (both faces, say) beside each other."""
    groups: list[list[tuple[float, int, int]]] = []
    for tick in ticks:
        if groups and tick[0] - groups[-1][-1][0] < 0.4 and tick[1] != groups[-1][-1][1]:
            groups[-1].append(tick)
        else:
            groups.append([tick])
    return [
        (along + (i - (len(group) - 1) / 2) * _BESIDE_MM, index, k)
        for group in groups
        for i, (along, index, k) in enumerate(group)
    ]


def _ranks(
    name: MeniscusName, ticks: list[tuple[float, int, int]]
) -> dict[tuple[int, int], int | None]:
    """Give each letter the nearest free rank outside the rim; None for rows that are too dense."""
    dense: set[int] = set()
    while (crowded := _crowded(name, ticks, dense)) is not None:
        dense.add(crowded)
    free = _LetterRanks(name)
    return {
        (index, k): None if index in dense else free.next_rank(along) for along, index, k in ticks
    }


def _crowded(
    name: MeniscusName, ticks: list[tuple[float, int, int]], dense: set[int]
) -> int | None:
    """Find the first row that has a stitch with no room for its letter."""
    free = _LetterRanks(name)
    return next(
        (
            index
            for along, index, _ in ticks
            if index not in dense and free.next_rank(along) is None
        ),
        None,
    )


class _LetterRanks:
    """Deals out places for letters to stitches in rising order along the rim."""

    def __init__(self, name: MeniscusName) -> None:
        self._radius = circle_fit(name).radius_mm
        self._last = [-math.inf] * _LETTER_RANKS

    def next_rank(self, along: float) -> int | None:
        """Take the nearest rank with room, None if there is none."""
        if (along - max(self._last)) * self._stretch(0) < _TICK_ROOM_MM:
            return None
        for rank, last in enumerate(self._last):
            if (along - last) * self._stretch(rank) >= _LETTER_ROOM_MM:
                self._last[rank] = along
                return rank
        return None

    def _stretch(self, rank: int) -> float:
        """Say how much longer a stretch is where the letters stand than on the rim."""
        return 1 + (_LETTER_OUT_MM + rank * _LETTER_STEP_MM) / self._radius
