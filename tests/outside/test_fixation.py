"""Rows of stitches and needle depth against worked cases done by hand."""

import pytest

from opnote.reckon.fixation import (
    allowed_gap_mm,
    cover_ratio,
    covered_mm,
    density_mm,
    depth_past_capsule_mm,
    expected_count,
    least_limiter_mm,
    stitch_positions,
)


@pytest.mark.parametrize(
    ("count", "spacing_mm", "length_mm", "covered", "ratio"),
    [
        # A medial bucket handle of 38 mm, 23 in the posterior horn and 15 in the body.
        (3, 7, 23, 21, 0.91),  # 21 / 23 = 0.913
        (4, 4, 15, 16, 1.07),  # 16 / 15 = 1.067
        # A lateral bucket handle of 30 mm, 18 in the posterior horn and 12 in the body.
        (2, 8, 18, 16, 0.89),  # 16 / 18 = 0.889
        (3, 4, 12, 12, 1.00),
    ],
)
def test_cover_is_number_times_spacing(
    count: int, spacing_mm: float, length_mm: float, covered: float, ratio: float
) -> None:
    assert covered_mm(count, spacing_mm) == covered
    assert cover_ratio(count, spacing_mm, length_mm) == pytest.approx(ratio, abs=0.005)


@pytest.mark.parametrize(
    ("length_mm", "count", "density"),
    [(38, 7, 5.4), (30, 5, 6.0)],  # 38 / 7 = 5.43; 30 / 5 = 6
)
def test_density_is_length_over_number(length_mm: float, count: int, density: float) -> None:
    assert density_mm(length_mm, count) == pytest.approx(density, abs=0.05)


@pytest.mark.parametrize(
    ("length_mm", "spacing_mm", "count"),
    [(38, 5, 8), (35, 5, 7), (37.5, 5, 8), (37.4, 5, 7), (0, 5, 0)],  # 7.6, 7, 7.5, 7.48, 0
)
def test_expected_number_is_rounded(length_mm: float, spacing_mm: float, count: int) -> None:
    assert expected_count(length_mm, spacing_mm) == count


@pytest.mark.parametrize(
    ("entry_mm", "lowest", "highest"),
    [
        # McCulloch et al.: 8 to 10 mm past the meniscocapsular junction, plus the entry.
        (4, 12, 14),
        (5, 13, 15),
        (6, 14, 16),
    ],
)
def test_least_setting_of_the_depth_stop(entry_mm: float, lowest: float, highest: float) -> None:
    assert least_limiter_mm(entry_mm) == (lowest, highest)


def test_travel_past_the_capsule() -> None:
    # 14 - 5 - 8 = 1 mm; with the outer limb's entry of 4 mm, 14 - 4 - 8 = 2 mm.
    assert depth_past_capsule_mm(14, 5) == 1
    assert depth_past_capsule_mm(14, 4) == 2
    assert depth_past_capsule_mm(12, 6) == -2


def test_gap_over_the_hiatus_may_be_as_long_as_the_hiatus() -> None:
    # BMC Musculoskelet Disord 2020: the popliteus hiatus is 13 SD 1 mm long; lateral only. Its
    # centre is taken at the border of posterior horn and body, 90.25 / 3 = 30.08 mm, so that it
    # reaches from 23.58 to 36.58 mm.
    assert allowed_gap_mm("lateral", 24, 33) == 13
    assert allowed_gap_mm("lateral", 36.6, 45) == 10
    assert allowed_gap_mm("lateral", 15, 23.5) == 10
    assert allowed_gap_mm("medial", 24, 33) == 10


def test_stitches_sit_half_a_spacing_inside_their_stretch() -> None:
    # 21 mm for 3 stitches: 7 mm each, the first at 10 + 3.5.
    assert stitch_positions(3, 10, 31) == (13.5, 20.5, 27.5)
    assert stitch_positions(1, 10, 20) == (15,)
    assert stitch_positions(0, 10, 20) == ()
