"""The meniscal map: to scale, mirrored, complete, and said in words."""

import itertools
import math
import re
from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from opnote.compose.figure import Drawing
from opnote.compose.meniscal_map import (
    ResectionDrawn,
    StitchRowDrawn,
    TearDrawn,
    meniscal_map,
)

SVG = "{http://www.w3.org/2000/svg}"
Point = tuple[float, float]

MEDIAL_TEAR = TearDrawn("Tear 1", "medial", 10, 48, 2.5, True, "bucket handle")
ALL_INSIDE = StitchRowDrawn("Tear 1", "medial", "all_inside", "all-inside anchor", 3, 10, 31)
INSIDE_OUT = StitchRowDrawn("Tear 1", "medial", "inside_out", "inside-out needles", 4, 33, 48)
LATERAL_TEAR = TearDrawn("Tear 2", "lateral", 12, 42, 2.8, False, "longitudinal")


def drawn(
    side: str,
    tears: Sequence[TearDrawn],
    stitches: Sequence[StitchRowDrawn] = (),
    gap_mm: float | None = None,
) -> Drawing:
    drawing = meniscal_map(side, tears, stitches, gap_mm=gap_mm)
    assert drawing is not None
    return drawing


def root_of(drawing: Drawing) -> etree._Element:
    return etree.fromstring(drawing.svg.encode())


def points_of(drawing: Drawing, name: str) -> list[Point]:
    path = next(p for p in root_of(drawing).iter(f"{SVG}path") if p.get("id") == name)
    numbers = [float(n) for n in re.findall(r"-?\d+\.\d+", path.get("d", ""))]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def names_of(drawing: Drawing, beginning: str) -> list[str]:
    names = [path.get("id", "") for path in root_of(drawing).iter(f"{SVG}path")]
    return [name for name in names if name.startswith(beginning)]


def texts_of(drawing: Drawing) -> list[str]:
    return [text.text or "" for text in root_of(drawing).iter(f"{SVG}text")]


def text_x(drawing: Drawing, words: str) -> float:
    text = next(t for t in root_of(drawing).iter(f"{SVG}text") if t.text == words)
    return float(text.get("x", "nan"))


def length_of(points: Sequence[Point]) -> float:
    return sum(math.dist(a, b) for a, b in itertools.pairwise(points))


def radius_and_centre(points: Sequence[Point]) -> tuple[float, Point]:
    """The circle through the first, the middle and the last of some points on an arc."""
    (ax, ay), (bx, by), (cx, cy) = points[0], points[len(points) // 2], points[-1]
    d = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
    a2, b2, c2 = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
    x = (a2 * (by - cy) + b2 * (cy - ay) + c2 * (ay - by)) / d
    y = (a2 * (cx - bx) + b2 * (ax - cx) + c2 * (bx - ax)) / d
    return math.dist((x, y), (ax, ay)), (x, y)


def test_rim_is_drawn_life_size() -> None:
    # Murlimanju et al., Clin Ter 2012: mean outer length of the medial meniscus 99.06 mm.
    assert length_of(points_of(drawn("left", [MEDIAL_TEAR]), "rim-medial")) == pytest.approx(
        99.06, abs=0.05
    )


def test_hiatus_is_drawn_at_its_published_length() -> None:
    # BMC Musculoskelet Disord 2020: 13 SD 1 mm.
    assert length_of(points_of(drawn("left", [MEDIAL_TEAR]), "hiatus")) == pytest.approx(
        13, abs=0.05
    )


def test_tear_is_to_scale_along_the_rim_and_at_its_rim_distance() -> None:
    drawing = drawn("left", [MEDIAL_TEAR])
    rim_radius, rim_centre = radius_and_centre(points_of(drawing, "rim-medial"))
    tear_radius, tear_centre = radius_and_centre(points_of(drawing, "tear-1"))
    assert tear_centre == pytest.approx(rim_centre, abs=0.1)
    assert rim_radius - tear_radius == pytest.approx(2.5, abs=0.05)
    # The same angle spans 38 mm on the rim, 2.5 mm further out.
    on_rim = length_of(points_of(drawing, "tear-1")) * rim_radius / tear_radius
    assert on_rim == pytest.approx(48 - 10, abs=0.05)


def test_bar_is_ten_millimetres_of_a_sheet_measured_in_millimetres() -> None:
    drawing = drawn("left", [MEDIAL_TEAR])
    root = root_of(drawing)
    assert length_of(points_of(drawing, "bar")) == 10
    assert root.get("width") == "120mm"
    assert drawing.width_mm == 120
    assert root.get("viewBox", "").split()[2] == "120"
    assert root.get("viewBox", "").split()[3] == f"{drawing.height_mm:g}"


@pytest.mark.parametrize("tear", [MEDIAL_TEAR, replace(LATERAL_TEAR, displaced=True)])
def test_left_is_the_mirror_image_of_right(tear: TearDrawn) -> None:
    row = replace(ALL_INSIDE, tear=tear.label, meniscus=tear.meniscus)
    left, right = drawn("left", [tear], [row]), drawn("right", [tear], [row])
    for name in ("tear-1", "displaced-1", "stitch-1-1", "stitch-1-3", "hiatus"):
        mirrored = [(120 - x, y) for x, y in points_of(right, name)]
        for here, there in zip(points_of(left, name), mirrored, strict=True):
            assert here == pytest.approx(there, abs=0.011)


@pytest.mark.parametrize(("side", "medial_is_left"), [("right", True), ("left", False)])
def test_words_stand_at_the_side_they_name(side: str, medial_is_left: bool) -> None:
    drawing = drawn(side, [MEDIAL_TEAR])
    assert (text_x(drawing, "Medial") < text_x(drawing, "Lateral")) is medial_is_left
    middle_of_tear = points_of(drawing, "tear-1")[len(points_of(drawing, "tear-1")) // 2][0]
    assert (middle_of_tear < 60) is medial_is_left
    assert texts_of(drawing)[0].startswith(f"{side.upper()} knee")
    assert {"Front", "Back", "posterior horn", "body", "anterior horn"} <= set(texts_of(drawing))


def test_posterior_places_are_drawn_below_anterior_ones() -> None:
    back = drawn("left", [replace(MEDIAL_TEAR, start_mm=5, end_mm=15)])
    front = drawn("left", [replace(MEDIAL_TEAR, start_mm=85, end_mm=95)])
    assert points_of(back, "tear-1")[0][1] > points_of(front, "tear-1")[0][1] + 20


def test_each_stitch_is_one_tick_across_its_tear_with_its_letter() -> None:
    drawing = drawn("left", [MEDIAL_TEAR], [ALL_INSIDE, INSIDE_OUT])
    assert len(names_of(drawing, "stitch-")) == 3 + 4
    # One letter more for each technique: the one in the legend.
    assert texts_of(drawing).count("A") == 3 + 1
    assert texts_of(drawing).count("B") == 4 + 1
    rim_radius, centre = radius_and_centre(points_of(drawing, "rim-medial"))
    for name in names_of(drawing, "stitch-"):
        outer, inner = points_of(drawing, name)
        assert math.dist(outer, centre) > rim_radius > rim_radius - 2.5 > math.dist(inner, centre)


def test_stitches_are_spread_evenly_half_a_spacing_from_the_ends() -> None:
    # 21 mm for 3 stitches: the second lies 7 mm on the rim from the first.
    drawing = drawn("left", [MEDIAL_TEAR], [ALL_INSIDE])
    radius, (x, y) = radius_and_centre(points_of(drawing, "rim-medial"))
    ticks = [points_of(drawing, f"stitch-1-{k}")[0] for k in (1, 2, 3)]
    angles = [math.atan2(b - y, a - x) for a, b in ticks]
    for one, other in itertools.pairwise(angles):
        assert abs(one - other) * radius == pytest.approx(7, abs=0.02)


def test_letters_follow_the_order_of_use_and_the_legend_explains_them() -> None:
    drawing = drawn("left", [MEDIAL_TEAR], [INSIDE_OUT, ALL_INSIDE])
    texts = texts_of(drawing)
    legend = texts[texts.index("10 mm") :]
    assert legend[legend.index("A") + 1].startswith("Inside-out needles: 4 stitches")
    assert legend[legend.index("B") + 1].startswith("All-inside anchor: 3 stitches")


def test_techniques_differ_in_line_style_not_in_colour() -> None:
    rows = [replace(ALL_INSIDE, technique=f"t{i}", from_mm=10 + 9 * i, to_mm=18 + 9 * i, count=1)
            for i in range(4)]  # fmt: skip
    root = root_of(drawn("left", [MEDIAL_TEAR], rows))
    ticks = [p for p in root.iter(f"{SVG}path") if p.get("id", "").startswith("stitch-")]
    assert {tick.get("stroke") for tick in ticks} == {"#000000"}
    assert len({(t.get("stroke-dasharray"), t.get("stroke-width")) for t in ticks}) == 4


def test_only_black_and_grey_are_used() -> None:
    drawing = drawn("left", [MEDIAL_TEAR, LATERAL_TEAR], [ALL_INSIDE, INSIDE_OUT], 7)
    colours = set(re.findall(r'"#([0-9a-f]{6})"', drawing.svg))
    assert colours
    assert all(colour[:2] == colour[2:4] == colour[4:] for colour in colours)


def test_a_row_too_dense_for_letters_gets_one_letter_and_its_number() -> None:
    drawing = drawn("left", [MEDIAL_TEAR], [replace(ALL_INSIDE, count=30)])
    assert len(names_of(drawing, "stitch-")) == 30
    assert texts_of(drawing).count("A") == 1
    assert "A \N{MULTIPLICATION SIGN} 30" in texts_of(drawing)


def test_rows_on_one_place_are_drawn_beside_each_other() -> None:
    other_face = replace(ALL_INSIDE, technique="inside_out", technique_words="inside-out")
    drawing = drawn("left", [MEDIAL_TEAR], [ALL_INSIDE, other_face])
    for k in (1, 2, 3):
        one, other = (points_of(drawing, f"stitch-{row}-{k}") for row in (1, 2))
        assert math.dist(one[1], other[1]) > 0.9


@pytest.mark.parametrize(
    ("gap_mm", "is_shown"),
    [(7.3, True), (7.5, False), (None, False)],
)
def test_a_wide_space_between_stitches_is_shown_with_its_length(
    gap_mm: float | None, is_shown: bool
) -> None:
    # Last of the first row 31 - 21/6 = 27.5; first of the second 33 + 15/8 = 34.875; gap 7.375.
    drawing = drawn("left", [MEDIAL_TEAR], [ALL_INSIDE, INSIDE_OUT], gap_mm)
    assert ("gap 7.4 mm" in texts_of(drawing)) is is_shown
    assert ("Gap of 7.4 mm between stitches at 27.5 and 34.9 mm" in drawing.alternative) is is_shown


def test_stitches_of_two_tears_have_no_gap_between_them() -> None:
    far = replace(INSIDE_OUT, tear="Tear 9", from_mm=80, to_mm=90)
    assert "ap of" not in drawn("left", [MEDIAL_TEAR], [ALL_INSIDE, far], 8).alternative


def test_displaced_part_is_dashed_and_only_where_recorded() -> None:
    displaced = root_of(drawn("left", [MEDIAL_TEAR]))
    shape = next(p for p in displaced.iter(f"{SVG}path") if p.get("id") == "displaced-1")
    assert shape.get("stroke-dasharray")
    in_place = drawn("left", [replace(MEDIAL_TEAR, displaced=False)])
    assert not names_of(in_place, "displaced-")
    assert "displaced" not in in_place.alternative


def test_alternative_holds_all_that_is_drawn() -> None:
    rows = [ALL_INSIDE, INSIDE_OUT, StitchRowDrawn("Tear 2", "lateral", "hook", "hook", 1, 14, 19)]
    words = drawn("left", [MEDIAL_TEAR, LATERAL_TEAR], rows, 7).alternative
    for part in (
        "LEFT knee",
        "Tear 1: bucket handle, medial meniscus, 10 to 48 mm along the rim from the posterior root",
        "rim 2.5 mm",
        "Tear 2: longitudinal, lateral meniscus, 12 to 42 mm",
        "rim 2.8 mm",
        "Stitches A, all-inside anchor: 3 stitches, medial, 10 to 31 mm",
        "Stitches B, inside-out needles: 4 stitches, medial, 33 to 48 mm",
        "Stitches C, hook: 1 stitch, lateral, 14 to 19 mm",
        "about 11 per cent",
    ):
        assert part in words


def test_an_intact_meniscus_is_not_claimed() -> None:
    words = drawn("left", [MEDIAL_TEAR]).alternative
    assert "No tear drawn on the lateral meniscus." in words
    assert "No stitches drawn." in words


def test_the_picture_carries_its_alternative() -> None:
    drawing = drawn("left", [MEDIAL_TEAR], [ALL_INSIDE])
    assert root_of(drawing).findtext(f"{SVG}desc") == drawing.alternative


@pytest.mark.parametrize("side", ["", "both", "LEFT"])
def test_without_a_side_nothing_is_drawn(side: str) -> None:
    assert meniscal_map(side, [MEDIAL_TEAR], [ALL_INSIDE]) is None


@pytest.mark.parametrize(
    "tears", [[], [replace(MEDIAL_TEAR, end_mm=None)], [replace(MEDIAL_TEAR, start_mm=None)]]
)
def test_without_the_extent_of_a_tear_nothing_is_drawn(tears: list[TearDrawn]) -> None:
    assert meniscal_map("left", tears, [ALL_INSIDE]) is None


def test_what_is_not_recorded_is_left_out_and_said() -> None:
    tear = replace(MEDIAL_TEAR, rim_mm=None)
    rows = [
        replace(ALL_INSIDE, count=None),
        StitchRowDrawn("Tear 1", "medial", None, "", 4, None, None),
    ]
    drawing = drawn("left", [tear, replace(LATERAL_TEAR, end_mm=None)], rows)
    assert names_of(drawing, "tear-") == ["tear-1"]
    assert not names_of(drawing, "stitch-")
    assert "rim not recorded (drawn dotted in mid-width)" in drawing.alternative
    assert "number not recorded, medial, 10 to 31 mm, not drawn" in drawing.alternative
    assert "technique not recorded: 4 stitches, medial, place not recorded, not drawn" in (
        drawing.alternative
    )
    assert "lateral meniscus, place not recorded" in drawing.alternative


def test_a_tear_past_the_average_root_is_cut_there_and_said_so() -> None:
    drawing = drawn("left", [replace(MEDIAL_TEAR, start_mm=60, end_mm=110)])
    radius, _ = radius_and_centre(points_of(drawing, "rim-medial"))
    # 99.06 - 60 = 39.06 mm are left on the average meniscus.
    on_rim = length_of(points_of(drawing, "tear-1")) * radius / (radius - 2.5)
    assert on_rim == pytest.approx(39.06, abs=0.05)
    assert "60 to 110 mm" in drawing.alternative
    assert "What reaches past the roots" in drawing.alternative
    assert "What reaches past the roots" not in drawn("left", [MEDIAL_TEAR]).alternative


def test_a_tear_without_length_along_the_rim_runs_to_the_free_edge() -> None:
    # Medial posterior horn: mean width 13.9 mm (Biomed J 2014), so 13.9 - 3 = 10.9 mm are torn.
    radial = replace(MEDIAL_TEAR, start_mm=16.51, end_mm=16.51, rim_mm=3, displaced=False)
    line = points_of(drawn("left", [radial]), "tear-1")
    assert math.dist(line[0], line[-1]) == pytest.approx(10.9, abs=0.02)


def test_markup_in_typed_words_stays_words() -> None:
    row = replace(ALL_INSIDE, technique_words='<script>&"')
    drawing = drawn("left", [replace(MEDIAL_TEAR, label="Tear < b & c")], [row])
    assert any("Tear < b & c" in text for text in texts_of(drawing))
    assert not list(root_of(drawing).iter(f"{SVG}script"))


def boxes_of(drawing: Drawing) -> list[tuple[str, float, float, float, float]]:
    """Text boxes above the legend, by a width for each letter that is on the narrow side."""
    boxes = []
    for text in root_of(drawing).iter(f"{SVG}text"):
        words, size = text.text or "", float(text.get("font-size", "0"))
        x, y, width = float(text.get("x", "0")), float(text.get("y", "0")), 0.45 * size * len(words)
        left = x - {"start": 0, "middle": width / 2, "end": width}[text.get("text-anchor", "")]
        boxes.append((words, left, y - 0.65 * size, left + width, y))
        if words == "10 mm":
            break
    return boxes


TEARS = st.builds(
    TearDrawn,
    st.just("Tear 1"),
    st.sampled_from(["medial", "lateral"]),
    st.floats(0, 40),
    st.floats(45, 88),
    st.floats(0, 6),
    st.booleans(),
)


@settings(deadline=None)
@given(st.sampled_from(["left", "right"]), TEARS, st.integers(1, 7), st.integers(1, 7))
def test_segment_labels_never_cross_letters_or_each_other(
    side: str, tear: TearDrawn, first: int, second: int
) -> None:
    assert tear.start_mm is not None
    assert tear.end_mm is not None
    middle = (tear.start_mm + tear.end_mm) / 2
    rows = [
        StitchRowDrawn("Tear 1", tear.meniscus, "a", "a", first, tear.start_mm, middle),
        StitchRowDrawn("Tear 1", tear.meniscus, "b", "b", second, middle, tear.end_mm),
    ]
    boxes = boxes_of(drawn(side, [tear], rows))
    for one, other in itertools.combinations(boxes, 2):
        apart = one[1] >= other[3] or other[1] >= one[3] or one[2] >= other[4] or other[2] >= one[4]
        assert apart, (one, other)


@settings(deadline=None)
@given(st.text(max_size=400))
def test_any_technique_name_makes_a_well_formed_picture(words: str) -> None:
    drawing = drawn("left", [MEDIAL_TEAR], [replace(ALL_INSIDE, technique_words=words)])
    assert root_of(drawing).tag == f"{SVG}svg"


FLAP = TearDrawn("Tear", "medial", 8, 22, 6, False, "horizontal flap")
RESECTED = ResectionDrawn("medial", "posterior horn", 15, 11, 7, 6)


def test_a_resected_part_is_drawn_to_its_size() -> None:
    drawing = meniscal_map("right", [FLAP], [], [RESECTED])
    assert drawing is not None
    across = [points_of(drawing, name) for name in names_of(drawing, "resected-1-")]
    outer, inner = [line[0] for line in across], [line[-1] for line in across]

    def length(points: Sequence[Point]) -> float:
        return sum(math.dist(one, other) for one, other in itertools.pairwise(points))

    # 11 mm midway between what is left (6 mm from the rim) and the free edge: shorter inside,
    # longer outside, their mean is the length that was measured.
    assert length(inner) < 11 < length(outer)
    assert (length(inner) + length(outer)) / 2 == pytest.approx(11, abs=1)
    # And 7 mm wide at its widest, as far as the average horn has them beside the rim left.
    assert max(math.dist(line[0], line[-1]) for line in across) == pytest.approx(7, abs=1)
    assert "Resected: medial posterior horn, 11 by 7 mm, 6 mm of rim left" in drawing.alternative


def test_a_resected_part_starts_at_the_ends_of_its_tear_and_reaches_the_free_edge() -> None:
    within = replace(RESECTED, tear_extent=FLAP.extent)
    drawing = meniscal_map("right", [FLAP], [], [within])
    assert drawing is not None
    across = [points_of(drawing, name) for name in names_of(drawing, "resected-1-")]
    tear = points_of(drawing, "tear-1")
    at_rim = sorted([across[0][0], across[-1][0]])
    for end, of_tear in zip(at_rim, sorted([tear[0], tear[-1]]), strict=True):
        assert math.dist(end, of_tear) < 0.05
    # The average posterior horn is 13.9 mm wide (Biomed J 2014): 7 mm beside a rim of 6 mm leave
    # less than is worth drawing.
    radius, centre = radius_and_centre(points_of(drawing, "rim-medial"))
    deepest = max(radius - math.dist(line[-1], centre) for line in across)
    assert deepest == pytest.approx(13.9, abs=0.3)


def test_lines_and_words_survive_a_photocopier() -> None:
    within = replace(RESECTED, tear_extent=FLAP.extent)
    drawing = meniscal_map("right", [FLAP], [], [within])
    assert drawing is not None
    widths = [float(width) for width in re.findall(r'stroke-width="([\d.]+)"', drawing.svg)]
    assert min(widths) / 25.4 * 72 >= 0.75
    sizes = [float(size) for size in re.findall(r'font-size="([\d.]+)"', drawing.svg)]
    assert min(sizes) / 25.4 * 72 >= 8
    assert set(re.findall(r'<text[^>]* fill="([^"]*)"', drawing.svg)) == {"#000000"}


def test_key_shows_a_resected_part_as_it_is_drawn() -> None:
    drawing = meniscal_map("right", [FLAP], [], [RESECTED])
    assert drawing is not None
    marks = {mark.get("id"): mark for mark in root_of(drawing).iter(f"{SVG}path")}
    on_map, in_key = marks["resected-1"], marks["sample-resected"]
    for look in ("stroke", "stroke-width", "stroke-dasharray", "fill"):
        assert on_map.get(look) == in_key.get(look)


def test_key_says_what_the_millimetres_are_counted_from() -> None:
    texts = texts_of(drawn("left", [MEDIAL_TEAR], []))
    assert "0\N{NO-BREAK SPACE}mm" in texts
    assert any(text.startswith("Posterior root") for text in texts)


@pytest.mark.parametrize("width_mm", [2, 4])
def test_a_narrow_resection_is_drawn_as_wide_as_it_was(width_mm: float) -> None:
    drawing = meniscal_map("right", [FLAP], [], [replace(RESECTED, width_mm=width_mm)])
    assert drawing is not None
    across = [points_of(drawing, name) for name in names_of(drawing, "resected-1-")]
    widest = max(math.dist(line[0], line[-1]) for line in across)
    assert widest == pytest.approx(width_mm, abs=0.2)


@pytest.mark.parametrize(
    "resection",
    [replace(RESECTED, middle_mm=None), replace(RESECTED, rim_left_mm=15, width_mm=20)],
)
def test_a_resection_that_can_not_be_placed_is_not_drawn(resection: ResectionDrawn) -> None:
    drawing = meniscal_map("right", [FLAP], [], [resection])
    assert drawing is not None
    assert names_of(drawing, "resected") == []


def test_a_resected_part_without_its_size_is_named_and_not_drawn() -> None:
    drawing = meniscal_map("right", [FLAP], [], [replace(RESECTED, width_mm=None)])
    assert drawing is not None
    assert names_of(drawing, "resected") == []
    legend = " ".join(texts_of(drawing)).replace("\N{NO-BREAK SPACE}", " ")
    assert "11 by ? mm, 6 mm of rim left; shape schematic, not drawn" in legend
