"""Places along the rim, and their points in a drawing."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from opnote.reckon.menisci import (
    arc_from_point,
    circle_fit,
    crosses_hiatus,
    outer_length_mm,
    point_on_arc,
    segment_at,
    segment_lengths,
    segment_width_mm,
    width_at,
)

SIDES = st.sampled_from(["left", "right"])
MENISCI = st.sampled_from(["medial", "lateral"])
ALONG = st.floats(0, 90.25)
INWARD = st.floats(-10, 15)


@given(SIDES, MENISCI, ALONG, INWARD)
def test_arc_from_point_is_the_inverse(
    side: str, meniscus: str, along: float, inward: float
) -> None:
    x, y = point_on_arc(side, meniscus, along, inward)
    assert arc_from_point(side, meniscus, x, y) == pytest.approx((along, inward), abs=1e-6)


@given(MENISCI, ALONG, INWARD)
def test_left_is_the_mirror_image_of_right(meniscus: str, along: float, inward: float) -> None:
    x, y = point_on_arc("right", meniscus, along, inward)
    assert point_on_arc("left", meniscus, along, inward) == (-x, y)


@given(SIDES, MENISCI, st.floats(0, 80))
def test_a_short_step_along_the_rim_is_as_long_in_the_drawing(
    side: str, meniscus: str, along: float
) -> None:
    # The chord of 0.1 mm on a circle of 16 mm or more differs from its arc by less than 1e-6 mm.
    here = point_on_arc(side, meniscus, along, 0)
    there = point_on_arc(side, meniscus, along + 0.1, 0)
    assert math.dist(here, there) == pytest.approx(0.1, abs=1e-6)


@given(MENISCI, st.floats(0, 120), st.floats(0, 120))
def test_segments_add_up_to_the_tear(meniscus: str, one: float, other: float) -> None:
    start, end = sorted((one, other))
    assert sum(segment_lengths(meniscus, start, end).values()) == pytest.approx(end - start)


@given(MENISCI, st.floats(-5, 120))
def test_width_stays_between_the_means(meniscus: str, along: float) -> None:
    widths = [
        segment_width_mm(meniscus, segment)
        for segment in ("posterior_horn", "body", "anterior_horn")
    ]
    assert min(widths) <= width_at(meniscus, along) <= max(widths)


@pytest.mark.parametrize(
    ("side", "meniscus", "at_right"),
    [
        ("right", "lateral", True),
        ("right", "medial", False),
        ("left", "lateral", False),
        ("left", "medial", True),
    ],
)
def test_lateral_side_is_at_the_right_of_a_right_knee(
    side: str, meniscus: str, at_right: bool
) -> None:
    x, _ = point_on_arc(side, meniscus, outer_length_mm(meniscus) / 2, 0)
    assert (x > 0) is at_right


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("meniscus", ["medial", "lateral"])
def test_posterior_root_is_below_the_anterior_root(side: str, meniscus: str) -> None:
    length = outer_length_mm(meniscus)
    back, front = point_on_arc(side, meniscus, 0, 0), point_on_arc(side, meniscus, length, 0)
    assert back[1] > 0 > front[1]
    assert back[0] == pytest.approx(front[0])


def test_a_point_between_the_horns_lies_beyond_the_nearer_root() -> None:
    just_behind = point_on_arc("right", "medial", -1, 2)
    past_the_front = point_on_arc("right", "medial", outer_length_mm("medial") + 1, 2)
    assert arc_from_point("right", "medial", *just_behind)[0] == pytest.approx(-1)
    assert arc_from_point("right", "medial", *past_the_front)[0] == pytest.approx(100.06)


def test_a_border_belongs_to_the_segment_in_front() -> None:
    third = outer_length_mm("medial") / 3
    assert segment_at("medial", third - 0.001) == "posterior_horn"
    assert segment_at("medial", third) == "body"
    assert segment_at("medial", 120) == "anterior_horn"


def test_touching_the_hiatus_is_not_crossing_it() -> None:
    third = outer_length_mm("lateral") / 3
    assert not crosses_hiatus("lateral", 0, third - 6.5)
    assert crosses_hiatus("lateral", third - 6.4, 0)


def test_the_whole_turn_is_sweep_and_gap() -> None:
    fit = circle_fit("lateral")
    assert fit.sweep + fit.gap == pytest.approx(2 * math.pi)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: outer_length_mm("inner"), "no such meniscus"),
        (lambda: point_on_arc("both", "medial", 0, 0), "no such side"),
        (lambda: segment_width_mm("medial", "root"), "no such segment"),
        (lambda: segment_lengths("medial", 20, 10), "before it starts"),
        (lambda: segment_lengths("medial", -1, 10), "not below 0"),
        (lambda: segment_at("medial", -1), "not below 0"),
    ],
)
def test_what_cannot_be_is_refused_with_a_reason(call: object, message: str) -> None:
    assert callable(call)
    with pytest.raises(ValueError, match=message):
        call()
