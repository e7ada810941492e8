"""What a meniscal map is to show: tears, stitches with their letters and gaps, resected parts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from string import ascii_uppercase
from typing import Literal, TypeAlias

from opnote.reckon.fixation import stitch_positions
from opnote.reckon.menisci import circle_fit, outer_length_mm

MeniscusName: TypeAlias = Literal["medial", "lateral"]


@dataclass(frozen=True, slots=True)
class TearDrawn:
    """A tear as recorded; None where something isn't recorded.

    `label` names the tear to the reader and to its stitches; `pattern` is in words, "" if not
    recorded. `displaced` says that a handle or flap was found out of place.

    Units: millimetres; start and end along the rim from the posterior root, `rim_mm` the width of
    the rim left outside the tear.
    """

    label: str
    meniscus: MeniscusName
    start_mm: float | None
    end_mm: float | None
    rim_mm: float | None = None
    displaced: bool = False
    pattern: str = ""

    @property
    def extent(self) -> tuple[float, float] | None:
        """From and to along the rim in rising order; None unless both are recorded."""
        return _extent(self.start_mm, self.end_mm)


@dataclass(frozen=True, slots=True)
class StitchRowDrawn:
    """A row of stitches as recorded; None where something isn't recorded.

    `tear` is the label of its tear; `technique` the value of the choice, which says what shares
    a letter, and `technique_words` what the reader sees. The row holds the stretch from `from_mm`
    to `to_mm`: its stitches are spread evenly, half a spacing in from each end.

    Units: millimetres along the rim from the posterior root.
    """

    tear: str
    meniscus: MeniscusName
    technique: str | None
    technique_words: str
    count: int | None
    from_mm: float | None
    to_mm: float | None

    @property
    def extent(self) -> tuple[float, float] | None:
        """From and to along the rim in rising order; None unless both are recorded."""
        return _extent(self.from_mm, self.to_mm)

    @property
    def positions(self) -> tuple[float, ...]:
        """Where the stitches are; empty unless number and stretch are recorded."""
        return self._spread_over(self.extent)

    @property
    def drawn_positions(self) -> tuple[float, ...]:
        """Where the stitches are drawn: spread over what the average meniscus has of the row."""
        return self._spread_over(drawn_extent(self.meniscus, self.extent))

    def _spread_over(self, extent: tuple[float, float] | None) -> tuple[float, ...]:
        if self.count is None or extent is None:
            return ()
        return stitch_positions(self.count, *extent)


@dataclass(frozen=True, slots=True)
class ResectionDrawn:
    """A resected part as recorded; None where something isn't recorded.

    `place` names the segment to the reader; `middle_mm` is where the part lies along the rim, as
    far as its tear tells; `tear_extent` is what its tear takes of the rim.

    Units: millimetres; `arc_mm` is the length midway between rim and free edge, `width_mm` what
    was taken, `rim_left_mm` what is left outside it.
    """

    meniscus: MeniscusName
    place: str
    middle_mm: float | None
    arc_mm: float | None
    width_mm: float | None
    rim_left_mm: float | None
    tear_extent: tuple[float, float] | None = None

    @property
    def outer_extent(self) -> tuple[float, float] | None:
        """From and to of its outer side, which ends with the tear; None like `extent`."""
        extent, tear = self.extent, self.tear_extent
        if extent is None or tear is None:
            return extent
        start, end = max(extent[0], tear[0]), min(extent[1], tear[1])
        return (start, end) if start < end else extent

    @property
    def extent(self) -> tuple[float, float] | None:
        """From and to along the rim, longer than the mid-arc; None unless place and size are
        recorded."""
        if (
            self.middle_mm is None
            or self.arc_mm is None
            or self.width_mm is None
            or self.rim_left_mm is None
        ):
            return None
        radius = circle_fit(self.meniscus).radius_mm
        inner = radius - self.rim_left_mm - self.width_mm
        if inner <= 0:
            # More than there is from the rim to the middle of the circle: a slip of the pen.
            return None
        half = self.arc_mm * radius / (inner + self.width_mm / 2) / 2
        return self.middle_mm - half, self.middle_mm + half


@dataclass(frozen=True, slots=True)
class Gap:
    """A space between neighbouring stitches of one tear. Units: millimetres along the rim."""

    meniscus: MeniscusName
    from_mm: float
    to_mm: float


@dataclass(frozen=True, slots=True)
class Plan:
    """All that one map shows. `letters` goes from technique to letter in the order of use."""

    side: str
    tears: tuple[TearDrawn, ...]
    rows: tuple[StitchRowDrawn, ...]
    resections: tuple[ResectionDrawn, ...]
    letters: dict[str | None, str]
    gaps: tuple[Gap, ...]
    gap_mm: float | None

    def tear_of(self, row: StitchRowDrawn) -> TearDrawn | None:
        """Give the tear that a row belongs to, None if its label names none."""
        return next(
            (t for t in self.tears if (t.label, t.meniscus) == (row.tear, row.meniscus)), None
        )


def plan_of(
    side: str,
    tears: Sequence[TearDrawn],
    rows: Sequence[StitchRowDrawn],
    resections: Sequence[ResectionDrawn],
    gap_mm: float | None,
) -> Plan:
    """Assign letters in the order of techniques used and find the gaps wider than `gap_mm`."""
    techniques = list(dict.fromkeys(row.technique for row in rows))
    letters = {
        # After Z come AA, BB: no operation uses so many, but no two may share a letter.
        technique: ascii_uppercase[i % 26] * (i // 26 + 1)
        for i, technique in enumerate(techniques)
    }
    return Plan(
        side,
        tuple(tears),
        tuple(rows),
        tuple(resections),
        letters,
        _gaps(rows, gap_mm),
        gap_mm,
    )


def drawn_extent(
    meniscus: MeniscusName, extent: tuple[float, float] | None
) -> tuple[float, float] | None:
    """Cut a stretch to what the average meniscus has; None if nothing of it is left.

    Units: millimetres along the rim.
    """
    if extent is None:
        return None
    start, end = max(extent[0], 0.0), min(extent[1], outer_length_mm(meniscus))
    return (start, end) if start <= end else None


def _extent(start: float | None, end: float | None) -> tuple[float, float] | None:
    if start is None or end is None:
        return None
    return min(start, end), max(start, end)


def _gaps(rows: Sequence[StitchRowDrawn], gap_mm: float | None) -> tuple[Gap, ...]:
    if gap_mm is None:
        return ()
    by_tear: dict[tuple[MeniscusName, str], list[float]] = {}
    for row in rows:
        by_tear.setdefault((row.meniscus, row.tear), []).extend(row.positions)
    return tuple(
        Gap(meniscus, here, there)
        for (meniscus, _), places in by_tear.items()
        for here, there in pairwise(sorted(places))
        if there - here > gap_mm
    )
