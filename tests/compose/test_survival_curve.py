"""The survival curve: published points only, to scale, from 0 to 100, and said in words."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from opnote.compose.figure import Drawing
from opnote.compose.sheet import LARGE_SCALE, PATIENT_SCALE, Anchor, Box, Label
from opnote.compose.survival_curve import survival_curve
from opnote.reckon.survival import Point

SVG = "{http://www.w3.org/2000/svg}"
Place = tuple[float, float]

PUBLISHED = [Point(0.5, 0.936), Point(1, 0.846), Point(2, 0.784), Point(3, 0.699)]
FOLLOWED = [Point(0.5, 0.936, 70), Point(1, 0.846, 61), Point(2, 0.784), Point(3, 0.699, 20)]


def drawn(points: Sequence[Point] = PUBLISHED, people: int = 78) -> Drawing:
    return survival_curve("How long mends held", points, people, "whose mend still held")


def root_of(drawing: Drawing) -> etree._Element:
    return etree.fromstring(drawing.svg.encode())


def places_of(path: etree._Element) -> list[Place]:
    numbers = [float(number) for number in re.findall(r"-?\d+\.\d+", path.get("d", ""))]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def mark_of(drawing: Drawing, name: str) -> etree._Element:
    return next(path for path in root_of(drawing).iter(f"{SVG}path") if path.get("id") == name)


def middle_of(drawing: Drawing, name: str) -> Place:
    places = places_of(mark_of(drawing, name))
    xs, ys = [x for x, _ in places], [y for _, y in places]
    return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2


def dots_of(drawing: Drawing) -> list[Place]:
    names = [path.get("id", "") for path in root_of(drawing).iter(f"{SVG}path")]
    return [middle_of(drawing, name) for name in names if re.fullmatch(r"point-\d+", name)]


def texts_of(drawing: Drawing) -> list[str]:
    return [text.text or "" for text in root_of(drawing).iter(f"{SVG}text")]


def text_boxes(drawing: Drawing) -> list[Box]:
    """The room of each text, without the air that labels keep around them."""
    boxes = []
    for text in root_of(drawing).iter(f"{SVG}text"):
        size = float(text.get("font-size", "nan"))
        anchor: Anchor = "start"
        if text.get("text-anchor") in ("middle", "end"):
            anchor = "middle" if text.get("text-anchor") == "middle" else "end"
        x, y = float(text.get("x", "nan")), float(text.get("y", "nan")) - size * 0.34
        box = Label(text.text or "", x, y, anchor).box
        boxes.append(Box(box.left + 0.7, y - size / 2, box.right - 0.7, y + size / 2))
    return boxes


def assert_on_sheet_and_apart(drawing: Drawing) -> None:
    boxes = text_boxes(drawing)
    places = [p for path in root_of(drawing).iter(f"{SVG}path") for p in places_of(path)]
    xs = [x for x, _ in places] + [x for box in boxes for x in (box.left, box.right)]
    ys = [y for _, y in places] + [y for box in boxes for y in (box.top, box.bottom)]
    assert drawing.width_mm == 170, "the width of a page between its margins"
    _, _, width, height = map(float, root_of(drawing).get("viewBox", "").split())
    assert 0 <= min(xs) <= max(xs) <= width
    assert 0 <= min(ys) <= max(ys) <= height
    assert not any(one.meets(other) for one, other in itertools.combinations(boxes, 2))


def test_dots_lie_to_scale_of_time_and_people() -> None:
    drawing = drawn()
    start, *dots = dots_of(drawing)
    (_, top), (left, bottom) = places_of(mark_of(drawing, "people-axis"))
    right = places_of(mark_of(drawing, "time-axis"))[1][0]
    assert start == pytest.approx((left, top), abs=0.02)
    for point, (x, y) in zip(PUBLISHED, dots, strict=True):
        assert (x - left) / (right - left) == pytest.approx(point.at / 3, abs=0.001)
        assert (bottom - y) / (bottom - top) == pytest.approx(point.survival, abs=0.001)


def test_axis_of_people_goes_from_nobody_to_everybody() -> None:
    high = [Point(1, 0.99), Point(2, 0.98)]
    drawing = drawn(high)
    assert [words for words in texts_of(drawing) if words.isdigit()][:6] == [
        "0",
        "20",
        "40",
        "60",
        "80",
        "100",
    ]
    (_, top), (_, bottom) = places_of(mark_of(drawing, "people-axis"))
    assert dots_of(drawing)[-1][1] - top == pytest.approx((bottom - top) * 0.02, abs=0.02)


def test_nothing_is_drawn_right_of_the_last_point() -> None:
    drawing = drawn(FOLLOWED)
    last = middle_of(drawing, "point-4")[0]
    for path in root_of(drawing).iter(f"{SVG}path"):
        if path.get("id") != "point-4":
            assert max(x for x, _ in places_of(path)) <= last + 0.01


def test_guide_is_dashed_runs_through_the_dots_and_is_named() -> None:
    drawing = drawn()
    guide = mark_of(drawing, "guide")
    assert guide.get("stroke-dasharray")
    for place, dot in zip(places_of(guide), dots_of(drawing), strict=True):
        assert place == pytest.approx(dot, abs=0.02)
    assert any("guides the eye" in words for words in texts_of(drawing))


def test_every_point_has_its_words() -> None:
    words = texts_of(drawn())
    for said in (
        "100 of 100 at the start",
        "94 of 100 at 6 months",
        "85 of 100 at 1 year",
        "78 of 100 at 2 years",
        "70 of 100 at 3 years",
        "People of 100 whose mend still held",
    ):
        assert said in words


def test_start_is_no_published_result_and_looks_otherwise() -> None:
    drawing = drawn()
    assert mark_of(drawing, "point-0").get("fill") == "#ffffff"
    assert mark_of(drawing, "point-1").get("fill") == "#000000"
    assert "everybody, at the start" in texts_of(drawing)


def test_published_start_is_drawn_as_published() -> None:
    drawing = drawn([Point(0, 0.98, 60), Point(2, 0.9)])
    assert len(dots_of(drawing)) == 2
    assert mark_of(drawing, "point-0").get("fill") == "#000000"
    assert "everybody, at the start" not in texts_of(drawing)
    assert "98 of 100 at the start" in texts_of(drawing)
    assert "60 at the start" in drawing.alternative


@pytest.mark.parametrize(
    ("survival", "words"),
    [
        (0.845, "85 of 100"),
        (0.844, "84 of 100"),
        (1, "100 of 100"),
        (0.999, "more than 99 of 100"),
        (0.004, "fewer than 1 of 100"),
        (0.0, "0 of 100"),
    ],
)
def test_people_are_whole_and_few_are_not_none(survival: float, words: str) -> None:
    assert f"{words} at 1 year" in texts_of(drawn([Point(1, survival)]))


@pytest.mark.parametrize(
    ("at", "words"),
    [
        (14 / 365.25, "14 days"),
        (1 / 365.25, "1 day"),
        (1 / 12, "1 month"),
        (0.125, "1.5 months"),
        (0.75, "9 months"),
        (1, "1 year"),
        (1.5, "1.5 years"),
        (25, "25 years"),
    ],
)
def test_times_below_a_year_are_told_in_months(at: float, words: str) -> None:
    assert f"90 of 100 at {words}" in texts_of(drawn([Point(at, 0.9)]))


def test_people_still_followed_stand_under_their_time() -> None:
    drawing = drawn(FOLLOWED)
    texts = list(root_of(drawing).iter(f"{SVG}text"))
    xs = [float(text.get("x", "nan")) for text in texts]
    row = next(i for i, text in enumerate(texts) if (text.text or "").startswith("People still"))
    followed = [text.text for text in texts[row + 1 : row + 6]]
    assert followed == ["78", "70", "61", "not stated", "20"]
    assert xs[row + 1 : row + 6] == pytest.approx([x for x, _ in dots_of(drawing)], abs=0.02)


def test_unknown_numbers_are_not_stated_once_for_their_span() -> None:
    assert texts_of(drawn()).count("not stated") == 1


def test_words_say_all_that_the_picture_says() -> None:
    assert drawn(FOLLOWED).alternative == (
        "How long mends held. People of 100 whose mend still held: 100 of 100 at the start; "
        "94 of 100 at 6 months; 85 of 100 at 1 year; 78 of 100 at 2 years; 70 of 100 at 3 years. "
        "Nothing is drawn after 3 years. People still followed in the study: 78 at the start; "
        "70 at 6 months; 61 at 1 year; not stated at 2 years; 20 at 3 years."
    )
    assert drawn().alternative.endswith("78 at the start; not stated from 6 months to 3 years.")


@pytest.mark.parametrize(("scale", "least_pt"), [(PATIENT_SCALE, 9), (LARGE_SCALE, 16)])
def test_text_is_large_enough_to_read_and_nothing_is_coloured(
    scale: float, least_pt: float
) -> None:
    drawing = survival_curve("How long mends held", FOLLOWED, 78, "whose mend held", scale=scale)
    assert_on_sheet_and_apart(drawing)
    width = float(root_of(drawing).get("viewBox", "").split()[2])
    sizes = [float(text.get("font-size", "0")) for text in root_of(drawing).iter(f"{SVG}text")]
    assert min(sizes) * drawing.width_mm / width / 25.4 * 72 >= least_pt
    for red, green, blue in re.findall(r"#(..)(..)(..)\b", drawing.svg):
        assert red == green == blue


def test_long_title_is_broken_and_stays_on_the_sheet() -> None:
    title = "How long a mended meniscus held in people of one hospital who were followed " * 2
    drawing = survival_curve(title.strip(), PUBLISHED, 78, "whose mend held " + "and held " * 20)
    assert title.strip() in " ".join(texts_of(drawing))
    assert_on_sheet_and_apart(drawing)


def _curves() -> st.SearchStrategy[list[Point]]:
    def curve(ats: list[float], survivals: list[float], at_risk: list[int | None]) -> list[Point]:
        return [
            Point(*values)
            for values in zip(sorted(ats), sorted(survivals, reverse=True), at_risk, strict=True)
        ]

    return st.integers(1, 9).flatmap(
        lambda n: st.builds(
            curve,
            st.lists(st.floats(0.01, 30), min_size=n, max_size=n, unique=True),
            st.lists(st.floats(0, 1), min_size=n, max_size=n),
            st.lists(st.none() | st.integers(0, 1500), min_size=n, max_size=n),
        )
    )


@settings(max_examples=60, deadline=None)
@given(_curves())
def test_words_never_collide_however_the_points_crowd(points: list[Point]) -> None:
    assert_on_sheet_and_apart(drawn(points, 1500))


def test_same_points_give_the_same_drawing() -> None:
    assert drawn() == drawn()


@pytest.mark.parametrize(
    "points",
    [
        [],
        [Point(1, 0.8), Point(2, 0.9)],
        [Point(2, 0.9), Point(1, 0.8)],
        [Point(1, 1.1)],
        [Point(1, -0.1)],
        [Point(-1, 0.9)],
        [Point(math.nan, 0.9)],
        [Point(math.inf, 0.9)],
        [Point(0, 1)],
        [Point(1, 0.9, 79)],
        [Point(1, 0.9, -1)],
    ],
)
def test_points_that_are_no_curve_are_refused(points: list[Point]) -> None:
    with pytest.raises(ValueError, match=r"point|curve|people"):
        drawn(points)


def test_study_of_nobody_is_refused() -> None:
    with pytest.raises(ValueError, match="0 people"):
        drawn(people=0)


def test_words_of_a_person_stay_words() -> None:
    drawing = survival_curve("<b>Mends & more</b>", PUBLISHED, 78, "who <held>")
    assert "<b>" not in drawing.svg
    assert "People of 100 who <held>" in texts_of(drawing)
