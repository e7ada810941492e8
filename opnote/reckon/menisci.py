"""The two menisci as published means, and the arithmetic of places along their rim.

A place is given by two lengths in millimetres: `along`, measured on the outer rim from the
posterior root (0) to the anterior root (the outer length), and `inward`, from the rim towards the
free edge. People differ from these means by about 11 per cent, so a place is a place on an average
meniscus. True circles are only a fit: what is drawn with them has to be called schematic.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

SEGMENTS = ("posterior_horn", "body", "anterior_horn")
"""The thirds of the outer rim, in the order in which `along` grows."""

SPREAD_PER_CENT = 11
"""How much outer lengths differ from person to person: one standard deviation.

Units: per cent (11.21 of 99.06 mm medial is 11.3, 9.36 of 90.25 mm lateral is 10.4).
Source: Murlimanju et al., Clin Ter 2012 (46 menisci).
"""

HORN_TO_HORN_MM = 12.0
"""Free width between the horns of the two menisci in a drawing; a choice of layout, no measure."""


@dataclass(frozen=True, slots=True)
class Meniscus:
    """Published means of one meniscus.

    Units: millimetres throughout. `width` has one mean for each of `SEGMENTS`. `hiatus` is the
    stretch of rim (from, to) that the popliteus tendon leaves without capsule, None on the medial
    side.

    Source: outer and inner length, horn gap: Murlimanju et al., Clin Ter 2012 (46 menisci; outer
    99.06 SD 11.21 and 90.25 SD 9.36, inner 55.44 SD 8.37 and 50.63 SD 5.33, gap 24.13 SD 4.19 and
    11.31 SD 3.86). Widths: MRI of 40 knees, Biomed J 2014 (SD 0.9 to 1.4). Length of the hiatus,
    13 SD 1 mm: BMC Musculoskelet Disord 2020; its place, centred where posterior horn and body
    meet, is common practice.
    """

    name: str
    outer_length_mm: float
    inner_length_mm: float
    horn_gap_mm: float
    width_mm: tuple[float, float, float]
    hiatus_length_mm: float | None = None

    @property
    def third_mm(self) -> float:
        """Outer length of one third. Units: millimetres."""
        return self.outer_length_mm / 3

    @property
    def hiatus(self) -> tuple[float, float] | None:
        """Stretch of the rim (from, to) at the popliteus hiatus; None where there is none.

        Units: millimetres along the rim. Source: see the class.
        """
        if self.hiatus_length_mm is None:
            return None
        half = self.hiatus_length_mm / 2
        return self.third_mm - half, self.third_mm + half


MENISCI: Mapping[str, Meniscus] = MappingProxyType(
    {
        "medial": Meniscus("medial", 99.06, 55.44, 24.13, (13.9, 7.8, 10.5)),
        "lateral": Meniscus("lateral", 90.25, 50.63, 11.31, (12.0, 8.6, 11.8), 13.0),
    }
)


@dataclass(frozen=True, slots=True)
class CircleFit:
    """The circle whose arc has the outer length and whose chord is the horn gap.

    Units: radius in millimetres; sweep (the arc of the meniscus) and gap (the arc left open) in
    radians, together a full turn.
    """

    radius_mm: float
    sweep: float
    gap: float


def meniscus_named(meniscus: str) -> Meniscus:
    """Give the means of the meniscus of that name.

    Raises: ValueError: the name is neither "medial" nor "lateral".
    """
    try:
        return MENISCI[meniscus]
    except KeyError:
        raise ValueError(f"no such meniscus: {meniscus!r}; say medial or lateral") from None


@cache
def circle_fit(meniscus: str) -> CircleFit:
    """Fit a circle to outer length and horn gap.

    Solves `length = radius * sweep` and `gap = 2 * radius * sin(sweep / 2)` by halving; a sweep
    between half a turn and a full turn has one solution, since the right side falls all the way.

    Units: see `CircleFit`. Raises: ValueError: unknown meniscus.
    Source: calculated from the means of Murlimanju et al., Clin Ter 2012.

    >>> fit = circle_fit("medial")
    >>> round(fit.radius_mm, 1), round(math.degrees(fit.sweep)), round(math.degrees(fit.gap))
    (19.9, 285, 75)
    """
    means = meniscus_named(meniscus)
    low, high = math.pi, math.tau
    for _ in range(60):
        sweep = (low + high) / 2
        if 2 * means.outer_length_mm / sweep * math.sin(sweep / 2) > means.horn_gap_mm:
            low = sweep
        else:
            high = sweep
    return CircleFit(means.outer_length_mm / sweep, sweep, math.tau - sweep)


def outer_length_mm(meniscus: str) -> float:
    """Mean length of the outer rim from the posterior to the anterior root.

    Units: millimetres. Raises: ValueError: unknown meniscus.
    Source: Murlimanju et al., Clin Ter 2012.

    >>> outer_length_mm("lateral")
    90.25
    """
    return meniscus_named(meniscus).outer_length_mm


def segment_at(meniscus: str, along_mm: float) -> str:
    """Name the third of the rim in which a place lies; a border belongs to the third in front.

    Units: millimetres along the rim. A place past the mean outer length is in the anterior horn,
    since a larger meniscus than the average one may reach there.
    Raises: ValueError: unknown meniscus, or a place behind the posterior root (below 0).
    Source: thirds of the rim, ISAKOS classification (Anderson et al., Am J Sports Med 2011).

    >>> segment_at("medial", 10), segment_at("medial", 48), segment_at("lateral", 88)
    ('posterior_horn', 'body', 'anterior_horn')
    """
    third = meniscus_named(meniscus).third_mm
    if along_mm < 0:
        raise ValueError(f"a place along the rim is not below 0 mm: {along_mm:g}")
    return SEGMENTS[min(int(along_mm // third), 2)]


def segment_lengths(meniscus: str, start_mm: float, end_mm: float) -> Mapping[str, float]:
    """Divide a stretch of rim among posterior horn, body and anterior horn.

    Units: millimetres along the rim, in and out; the three lengths add up to the stretch. What
    lies past the mean outer length counts as anterior horn.
    Raises: ValueError: unknown meniscus, a start below 0, or an end before the start.
    Source: thirds of the rim, ISAKOS classification (Anderson et al., Am J Sports Med 2011).

    >>> parts = segment_lengths("medial", 10, 48)
    >>> [round(parts[name], 2) for name in SEGMENTS]
    [23.02, 14.98, 0.0]
    """
    third = meniscus_named(meniscus).third_mm
    if start_mm < 0:
        raise ValueError(f"a place along the rim is not below 0 mm: {start_mm:g}")
    if end_mm < start_mm:
        raise ValueError(f"the stretch ends ({end_mm:g} mm) before it starts ({start_mm:g} mm)")
    bounds = (0.0, third, 2 * third, math.inf)
    return MappingProxyType(
        {
            name: max(0.0, min(end_mm, bounds[i + 1]) - max(start_mm, bounds[i]))
            for i, name in enumerate(SEGMENTS)
        }
    )


def segment_width_mm(meniscus: str, segment: str) -> float:
    """Mean width of one third, from the rim to the free edge.

    Units: millimetres. Raises: ValueError: unknown meniscus or segment.
    Source: MRI of 40 knees, Biomed J 2014. The MRI "body" is shorter than the surgical third.

    >>> segment_width_mm("medial", "body")
    7.8
    """
    means = meniscus_named(meniscus)
    if segment not in SEGMENTS:
        raise ValueError(f"no such segment: {segment!r}; say {', '.join(SEGMENTS)}")
    return means.width_mm[SEGMENTS.index(segment)]


def width_at(meniscus: str, along_mm: float) -> float:
    """Estimate the width at a place by a straight line between the middles of the thirds.

    From the middle of a horn to its root the horn's mean is kept; how a horn narrows into its
    root is not among the published means.

    Units: millimetres. Raises: ValueError: unknown meniscus.
    Source: means of MRI of 40 knees, Biomed J 2014; the line between them is calculated.

    >>> round(width_at("medial", 49.53), 1), width_at("medial", 0)
    (7.8, 13.9)
    """
    means = meniscus_named(meniscus)
    steps = min(max(along_mm / means.third_mm - 0.5, 0.0), 2.0)
    first = min(int(steps), 1)
    here, there = means.width_mm[first], means.width_mm[first + 1]
    return here + (there - here) * (steps - first)


def circumference_percent(meniscus: str, length_mm: float) -> float:
    """Say how much of the mean outer rim a length is.

    Units: millimetres in, per cent out. Raises: ValueError: unknown meniscus, negative length.
    Source: calculated from Murlimanju et al., Clin Ter 2012.

    >>> round(circumference_percent("medial", 38), 1)
    38.4
    """
    if length_mm < 0:
        raise ValueError(f"a length is not negative: {length_mm:g} mm")
    return 100 * length_mm / outer_length_mm(meniscus)


def area_mm2(meniscus: str) -> float:
    """Estimate the area of a meniscus seen from above: mean MRI width times mid-arc length.

    Rough, good for a check to about ten points of a percentage. The mid-arc is the mean of outer
    and inner length, and the MRI widths include the flare of the horns.

    Units: square millimetres. Raises: ValueError: unknown meniscus.
    Source: calculated from Murlimanju et al., Clin Ter 2012, and MRI of 40 knees, Biomed J 2014.

    >>> round(area_mm2("medial")), round(area_mm2("lateral"))
    (829, 761)
    """
    means = meniscus_named(meniscus)
    return sum(means.width_mm) / 3 * (means.outer_length_mm + means.inner_length_mm) / 2


def excised_percent(meniscus: str, length_mm: float, width_mm: float) -> float:
    """Estimate the share of the whole meniscus that a resection of that size took.

    Units: millimetres in (length along the middle of the meniscus), per cent out.
    Raises: ValueError: unknown meniscus, negative length or width.
    Source: calculated with `area_mm2`.

    >>> round(excised_percent("medial", 11, 7))
    9
    """
    if length_mm < 0 or width_mm < 0:
        raise ValueError(f"a size is not negative: {length_mm:g} by {width_mm:g} mm")
    return 100 * length_mm * width_mm / area_mm2(meniscus)


def crosses_hiatus(meniscus: str, from_mm: float, to_mm: float) -> bool:
    """Tell whether a stretch of rim lies wholly or partly over the popliteus hiatus.

    Units: millimetres along the rim, in either order; touching its end is not crossing.
    Raises: ValueError: unknown meniscus.
    Source: see `Meniscus.hiatus`.

    >>> crosses_hiatus("lateral", 24, 33), crosses_hiatus("medial", 24, 33)
    (True, False)
    """
    hiatus = meniscus_named(meniscus).hiatus
    if hiatus is None:
        return False
    return min(from_mm, to_mm) < hiatus[1] and max(from_mm, to_mm) > hiatus[0]


@dataclass(frozen=True, slots=True)
class _Placed:
    """A fitted circle in the frame of a drawing; `outward` is +1 if it bulges to the right."""

    fit: CircleFit
    centre_x_mm: float
    outward: int


@cache
def _placed(side: str, meniscus: str) -> _Placed:
    if side not in ("left", "right"):
        raise ValueError(f"no such side: {side!r}; say left or right")
    fit = circle_fit(meniscus)
    outward = 1 if (side == "right") == (meniscus == "lateral") else -1
    distance = HORN_TO_HORN_MM / 2 + fit.radius_mm * math.cos(fit.gap / 2)
    return _Placed(fit, outward * distance, outward)


def point_on_arc(
    side: str, meniscus: str, along_mm: float, inward_mm: float
) -> tuple[float, float]:
    """Map a place on a meniscus to a point of the knee seen from above.

    The frame: x grows to the right, y grows downward, the front of the knee is at the top, the
    origin lies midway between the two menisci. A right knee has its lateral side at the right; a
    left knee is its mirror image. Places beyond a root (`along` below 0 or past the outer length)
    and outside the rim (`inward` below 0) have points too, on the same circle and rays.

    Units: millimetres, life size. Raises: ValueError: unknown side or meniscus.
    Source: the fitted circles of `circle_fit`.

    >>> x, y = point_on_arc("right", "lateral", 45.125, 0)
    >>> round(x, 1), round(abs(y), 1)
    (37.4, 0.0)
    """
    placed = _placed(side, meniscus)
    angle = placed.fit.gap / 2 + along_mm / placed.fit.radius_mm
    reach = placed.fit.radius_mm - inward_mm
    return (
        placed.centre_x_mm - placed.outward * reach * math.cos(angle),
        reach * math.sin(angle),
    )


def arc_from_point(side: str, meniscus: str, x_mm: float, y_mm: float) -> tuple[float, float]:
    """Map a point of the knee seen from above to a place (along, inward) on a meniscus.

    The inverse of `point_on_arc`. A point in the opening between the horns gives a place beyond
    the nearer root: `along` below 0 or past the outer length. A point outside the rim gives an
    `inward` below 0. At the centre of the circle `along` has no meaning.

    Units: millimetres, in the frame of `point_on_arc`.
    Raises: ValueError: unknown side or meniscus.

    >>> x, y = point_on_arc("left", "medial", 10, 2.5)
    >>> [round(mm, 6) for mm in arc_from_point("left", "medial", x, y)]
    [10.0, 2.5]
    """
    placed = _placed(side, meniscus)
    dx = (placed.centre_x_mm - x_mm) * placed.outward
    angle = math.atan2(y_mm, dx) % math.tau
    return (
        (angle - placed.fit.gap / 2) * placed.fit.radius_mm,
        placed.fit.radius_mm - math.hypot(dx, y_mm),
    )
