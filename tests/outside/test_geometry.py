"""Meniscal geometry against the published means and hand calculations from them."""

import math

import pytest

from opnote.reckon.menisci import (
    area_mm2,
    circle_fit,
    circumference_percent,
    excised_percent,
    outer_length_mm,
    segment_lengths,
    segment_width_mm,
    width_at,
)


@pytest.mark.parametrize(
    ("meniscus", "length_mm"),
    [
        ("medial", 99.06),  # Murlimanju et al., Clin Ter 2012: 99.06 SD 11.21 mm
        ("lateral", 90.25),  # Murlimanju et al., Clin Ter 2012: 90.25 SD 9.36 mm
    ],
)
def test_outer_length_is_the_published_mean(meniscus: str, length_mm: float) -> None:
    assert outer_length_mm(meniscus) == length_mm


@pytest.mark.parametrize(
    ("meniscus", "posterior", "body", "anterior"),
    [
        # MRI of 40 knees, Biomed J 2014, printed in the order anterior / body / posterior:
        # medial 10.5 / 7.8 / 13.9 mm, lateral 11.8 / 8.6 / 12.0 mm.
        ("medial", 13.9, 7.8, 10.5),
        ("lateral", 12.0, 8.6, 11.8),
    ],
)
def test_widths_are_the_published_means(
    meniscus: str, posterior: float, body: float, anterior: float
) -> None:
    third = outer_length_mm(meniscus) / 3
    segments = {"posterior_horn": posterior, "body": body, "anterior_horn": anterior}
    for i, (segment, width) in enumerate(segments.items()):
        assert segment_width_mm(meniscus, segment) == width
        assert width_at(meniscus, (i + 0.5) * third) == pytest.approx(width)


@pytest.mark.parametrize(
    ("meniscus", "radius_mm", "sweep_degrees", "gap_degrees"),
    [
        # By hand from Murlimanju 2012, medial: 99.06 / 19.9 = 4.978 rad = 285 degrees;
        # chord 2 * 19.9 * sin(75 / 2 degrees) = 24.2 mm, published horn gap 24.13 mm.
        ("medial", 19.9, 285, 75),
        # Lateral: 90.25 / 16.2 = 5.571 rad = 319 degrees; chord 2 * 16.2 * sin(41 / 2 degrees)
        # = 11.3 mm, published horn gap 11.31 mm.
        ("lateral", 16.2, 319, 41),
    ],
)
def test_circle_has_the_published_length_and_gap(
    meniscus: str, radius_mm: float, sweep_degrees: float, gap_degrees: float
) -> None:
    fit = circle_fit(meniscus)
    assert fit.radius_mm == pytest.approx(radius_mm, abs=0.05)
    assert math.degrees(fit.sweep) == pytest.approx(sweep_degrees, abs=0.5)
    assert math.degrees(fit.gap) == pytest.approx(gap_degrees, abs=0.5)


@pytest.mark.parametrize(
    ("meniscus", "start", "end", "posterior", "body", "anterior"),
    [
        # Thirds of 99.06 mm end at 33.02 and 66.04 mm: 33.02 - 10 = 23.02; 48 - 33.02 = 14.98.
        ("medial", 10, 48, 23.02, 14.98, 0),
        # Thirds of 90.25 mm end at 30.083 and 60.167 mm: 30.083 - 12 = 18.083;
        # 42 - 30.083 = 11.917.
        ("lateral", 12, 42, 18.083, 11.917, 0),
        ("medial", 8, 22, 14, 0, 0),
        # 99.06 - 66.04 = 33.02 for each third.
        ("medial", 0, 99.06, 33.02, 33.02, 33.02),
        # A larger meniscus than the average: 110 - 60.167 = 49.833 mm of anterior horn.
        ("lateral", 50, 110, 0, 10.167, 49.833),
    ],
)
def test_a_tear_is_divided_at_the_thirds(
    meniscus: str, start: float, end: float, posterior: float, body: float, anterior: float
) -> None:
    parts = segment_lengths(meniscus, start, end)
    assert parts["posterior_horn"] == pytest.approx(posterior, abs=0.001)
    assert parts["body"] == pytest.approx(body, abs=0.001)
    assert parts["anterior_horn"] == pytest.approx(anterior, abs=0.001)


def test_area_is_mean_width_times_middle_arc() -> None:
    # Medial: (10.5 + 7.8 + 13.9) / 3 = 10.733 mm; (99.06 + 55.44) / 2 = 77.25 mm; product 829.2.
    assert area_mm2("medial") == pytest.approx(829.2, abs=0.1)
    # Lateral: (11.8 + 8.6 + 12.0) / 3 = 10.8 mm; (90.25 + 50.63) / 2 = 70.44 mm; product 760.8.
    assert area_mm2("lateral") == pytest.approx(760.8, abs=0.1)


def test_share_of_a_resection_is_its_area_over_the_whole() -> None:
    # 11 mm by 7 mm = 77 mm2 of 829.2 mm2: 9.3 per cent.
    assert excised_percent("medial", 11, 7) == pytest.approx(9.29, abs=0.01)


def test_share_of_the_circumference() -> None:
    # 60 per cent of 99.06 mm is 59.436 mm.
    assert circumference_percent("medial", 59.436) == pytest.approx(60)
