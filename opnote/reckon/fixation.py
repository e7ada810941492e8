"""Spacing, coverage and needle depth of rows of stitches.

A row is a number of stitches of one technique, spread evenly over a stretch of the rim; each
stitch holds half a spacing to either side, so the first sits half a spacing inside the stretch.
"""

from __future__ import annotations

import math

from opnote.reckon.menisci import crosses_hiatus, meniscus_named

CAPSULE_MM = 8.0
"""Least travel past the meniscocapsular junction that brings an anchor behind the capsule.

Units: millimetres. Source: McCulloch et al., 16 knees: capsule 6.5 to 9.1 mm medial and 6.4 to
8.8 mm lateral in the posterior half; 8 to 10 mm advised.
"""

CAPSULE_UPPER_MM = 10.0
"""Upper end of the advised travel past the meniscocapsular junction; source as `CAPSULE_MM`."""

WIDEST_PLAIN_GAP_MM = 10.0
"""Gap between neighbouring rows that is left without remark. Units: mm. Source: common practice."""


def covered_mm(count: int, spacing_mm: float) -> float:
    """Give the length of tear that a row of stitches holds: count times spacing.

    Units: millimetres. Raises: ValueError: negative count or spacing.
    Source: common practice (each stitch holds half a spacing to either side).

    >>> covered_mm(3, 7)
    21
    """
    _refuse_negative("number of stitches", count)
    _refuse_negative("spacing", spacing_mm)
    return count * spacing_mm


def cover_ratio(count: int, spacing_mm: float, length_mm: float) -> float:
    """Compare the covered length with the length of tear in that segment.

    Units: none; 1 means just covered. Raises: ValueError: negative count or spacing, or a length
    that isn't above 0. Source: common practice.

    >>> round(cover_ratio(3, 7, 23), 2)
    0.91
    """
    _refuse_not_positive("length", length_mm)
    return covered_mm(count, spacing_mm) / length_mm


def density_mm(length_mm: float, count: int) -> float:
    """Give the length of tear for each stitch of the whole repair.

    Units: millimetres of tear a stitch. Raises: ValueError: negative length, or no stitch.
    Source: common practice.

    >>> round(density_mm(38, 7), 1)
    5.4
    """
    _refuse_negative("length", length_mm)
    _refuse_not_positive("number of stitches", count)
    return length_mm / count


def expected_count(length_mm: float, spacing_mm: float) -> int:
    """Give the number of stitches that a length needs at a spacing, halves rounded up.

    About one fewer is right where the end stitches sit on the ends of the tear.

    Units: millimetres in, stitches out. Raises: ValueError: negative length, or a spacing that
    isn't above 0. Source: common practice.

    >>> expected_count(38, 5)
    8
    """
    _refuse_negative("length", length_mm)
    _refuse_not_positive("spacing", spacing_mm)
    return math.floor(length_mm / spacing_mm + 0.5)


def stitch_positions(count: int, from_mm: float, to_mm: float) -> tuple[float, ...]:
    """Place the stitches of a row evenly over its stretch, half a spacing in from each end.

    Units: millimetres along the rim. Raises: ValueError: negative count, or an end before the
    start. Source: common practice; where each stitch sits is not measured in theatre.

    >>> stitch_positions(3, 10, 31)
    (13.5, 20.5, 27.5)
    """
    _refuse_negative("number of stitches", count)
    if to_mm < from_mm:
        raise ValueError(f"the row ends ({to_mm:g} mm) before it starts ({from_mm:g} mm)")
    return tuple(from_mm + (i + 0.5) * (to_mm - from_mm) / count for i in range(count))


def allowed_gap_mm(meniscus: str, from_mm: float, to_mm: float) -> float:
    """Give the widest gap that passes without remark at that place.

    Over the popliteus hiatus nothing can be stitched to, so a gap may be as long as the hiatus.

    Units: millimetres. Raises: ValueError: unknown meniscus.
    Source: common practice; length of the hiatus: BMC Musculoskelet Disord 2020 (13 SD 1 mm).

    >>> allowed_gap_mm("lateral", 24, 33), allowed_gap_mm("medial", 24, 33)
    (13.0, 10.0)
    """
    hiatus_mm = meniscus_named(meniscus).hiatus_length_mm
    if hiatus_mm is not None and crosses_hiatus(meniscus, from_mm, to_mm):
        return hiatus_mm
    return WIDEST_PLAIN_GAP_MM


def least_limiter_mm(entry_mm: float) -> tuple[float, float]:
    """Give the lowest setting (from, to) of the needle's depth stop for an entry point.

    `entry` is the distance from the meniscocapsular junction to where the needle goes in; the
    anchor needs 8 to 10 mm beyond the junction. It is a range for the minimum, not an upper limit.

    Units: millimetres. Raises: ValueError: negative entry.
    Source: McCulloch et al., 16 knees.

    >>> least_limiter_mm(4)
    (12.0, 14.0)
    """
    _refuse_negative("entry", entry_mm)
    return CAPSULE_MM + entry_mm, CAPSULE_UPPER_MM + entry_mm


def depth_past_capsule_mm(limiter_mm: float, entry_mm: float) -> float:
    """Estimate how far a needle travels past the outer wall of the capsule.

    Limiter minus entry minus 8 mm of capsule; below 0 the needle stays inside the capsule. An
    estimate on the mean thickness: it says nothing about the direction of the needle.

    Units: millimetres. Raises: ValueError: negative limiter or entry.
    Source: calculated from McCulloch et al., 16 knees.

    >>> depth_past_capsule_mm(14, 5)
    1.0
    """
    _refuse_negative("depth limiter", limiter_mm)
    _refuse_negative("entry", entry_mm)
    return limiter_mm - entry_mm - CAPSULE_MM


def _refuse_negative(what: str, value: float) -> None:
    if value < 0:
        raise ValueError(f"{what} is not negative: {value:g}")


def _refuse_not_positive(what: str, value: float) -> None:
    if value <= 0:
        raise ValueError(f"{what} must be above 0: {value:g}")
