"""Icon arrays: a hundred people each, filled from one end, and the same in words."""

from __future__ import annotations

import itertools
import re

import pytest
from lxml import etree

from opnote.compose.figure import Drawing
from opnote.compose.icon_array import Group, icon_arrays, large_icon_arrays
from opnote.compose.sheet import Box, text_width_mm

SVG = "{http://www.w3.org/2000/svg}"

FAILS = Group("The mend does not hold", 15, "had it", "did not", "78 people, followed for 2 years")
NUMB = Group("Numb skin", 7, "had it", "did not")
LONG = Group(
    "A long title about a nerve beside the knee that is bruised or caught by a stitch",
    40,
    "had numb skin at the side of the knee that bothered them a year after the operation",
    "did not",
    "Adults from 18 to 60 years, followed for 5 years or until the next operation.",
)


def drawn(*groups: Group) -> Drawing:
    drawing = icon_arrays(groups)
    assert drawing is not None
    return drawing


def root_of(drawing: Drawing) -> etree._Element:
    return etree.fromstring(drawing.svg.encode())


def sheet_of(drawing: Drawing) -> tuple[float, float]:
    """Width and height in the units of the drawing."""
    _, _, width, height = map(float, root_of(drawing).get("viewBox", "").split())
    return width, height


def people_of(drawing: Drawing, group: int) -> list[etree._Element]:
    """The people of an array in reading order, whatever their order in the file."""
    beginning = f"g{group}-person-"
    people = [
        path
        for path in root_of(drawing).iter(f"{SVG}path")
        if path.get("id", "").startswith(beginning)
    ]
    return sorted(people, key=lambda path: box_of(path).top * 1000 + box_of(path).left)


def box_of(path: etree._Element) -> Box:
    """The room of a mark, followed along its outline; rounded corners lie inside of it."""
    xs, ys = [], []
    x = y = 0.0
    for command, rest in re.findall(r"([MahvlZ])([^MahvlZ]*)", path.get("d", "")):
        numbers = [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", rest)]
        match command:
            case "M":
                x, y = numbers
            case "a":
                # Half circles bulge up and down by their radius.
                if numbers[6] == 0:
                    ys += [y - numbers[0], y + numbers[0]]
                x, y = x + numbers[5], y + numbers[6]
            case "h":
                x += numbers[0]
            case "v":
                y += numbers[0]
            case "l":
                x, y = x + numbers[0], y + numbers[1]
        xs.append(x)
        ys.append(y)
    half = float(path.get("stroke-width", "nan")) / 2
    return Box(min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half)


def texts_of(drawing: Drawing) -> list[etree._Element]:
    return list(root_of(drawing).iter(f"{SVG}text"))


def text_box(text: etree._Element) -> Box:
    size = float(text.get("font-size", "nan"))
    left, y = float(text.get("x", "nan")), float(text.get("y", "nan")) - size * 0.34
    return Box(left, y - size / 2, left + text_width_mm(text.text or "", size), y + size / 2)


def boxes_of(drawing: Drawing) -> list[Box]:
    marks = [box_of(path) for path in root_of(drawing).iter(f"{SVG}path")]
    return marks + [text_box(text) for text in texts_of(drawing)]


def words_of(drawing: Drawing) -> str:
    return " ".join(text.text or "" for text in texts_of(drawing))


def test_no_groups_draw_nothing() -> None:
    assert icon_arrays([]) is None


@pytest.mark.parametrize("people", [0, 1, 10, 15, 99, 100])
def test_as_many_are_solid_as_had_it_and_they_come_first(people: int) -> None:
    drawing = drawn(Group("Title", people, "had it", "did not"))
    figures = people_of(drawing, 1)
    kinds = [figure.get("class") for figure in figures]
    assert kinds == ["affected"] * people + ["unaffected"] * (100 - people)
    assert [figure.get("id") for figure in figures] == [f"g1-person-{n}" for n in range(1, 101)]


def test_array_has_ten_rows_of_ten() -> None:
    boxes = [box_of(figure) for figure in people_of(drawn(FAILS), 1)]
    assert len({round(box.left, 2) for box in boxes}) == 10
    assert len({round(box.top, 2) for box in boxes}) == 10


def test_solid_and_outline_differ_in_fill_and_in_shape() -> None:
    figures = people_of(drawn(FAILS), 1)
    affected, unaffected = figures[0], figures[-1]
    assert (affected.get("fill"), unaffected.get("fill")) == ("#000000", "none")
    assert affected.get("d", "").count("M") == unaffected.get("d", "").count("M") + 1
    colours = {value for figure in figures for value in (figure.get("fill"), figure.get("stroke"))}
    assert colours == {"#000000", "none"}


def test_every_group_has_its_hundred_of_the_same_size() -> None:
    groups = [FAILS, NUMB, LONG, Group("All", 100, "had it", "did not"), FAILS]
    drawing = drawn(*groups)
    sizes = set()
    for number, group in enumerate(groups, 1):
        figures = people_of(drawing, number)
        assert len(figures) == 100
        assert sum(figure.get("class") == "affected" for figure in figures) == group.people
        first, last = box_of(figures[0]), box_of(figures[-1])
        sizes.add((round(last.right - first.left, 1), round(last.bottom - first.top, 1)))
    assert len(sizes) == 1


def test_three_arrays_stand_side_by_side_and_more_below() -> None:
    drawing = drawn(FAILS, LONG, NUMB, FAILS, LONG)
    first, second, third, fourth = (
        box_of(people_of(drawing, number)[0]) for number in (1, 2, 3, 4)
    )
    assert first.top == second.top == third.top
    assert first.left < second.left < third.left
    assert fourth.left == first.left
    assert fourth.top > box_of(people_of(drawing, 1)[-1]).bottom


def test_no_array_stands_alone_below_three() -> None:
    drawing = drawn(FAILS, LONG, NUMB, FAILS)
    assert len({box_of(people_of(drawing, number)[0]).top for number in (1, 2, 3, 4)}) == 1


def test_large_print_has_two_arrays_a_drawing_each_in_its_own_words() -> None:
    first, second = large_icon_arrays([FAILS, NUMB, LONG])
    assert FAILS.title in first.alternative
    assert NUMB.title in first.alternative
    assert LONG.title not in first.alternative
    assert LONG.title in second.alternative


def test_large_drawings_fit_on_a_page_without_being_made_smaller() -> None:
    drawings = large_icon_arrays([LONG, LONG, FAILS, NUMB])
    assert max(drawing.height_mm for drawing in drawings) <= 215
    assert sum(drawing.alternative.count("of 100 did not") for drawing in drawings) == 4


def test_both_frames_and_the_note_stand_under_the_array() -> None:
    drawing = drawn(FAILS)
    bottom = box_of(people_of(drawing, 1)[-1]).bottom
    below = [text.text for text in texts_of(drawing) if text_box(text).top > bottom]
    assert below == ["15 of 100 had it", "85 of 100 did not", FAILS.note]


@pytest.mark.parametrize("people", [0, 100])
def test_nobody_and_everybody_have_both_frames_too(people: int) -> None:
    words = words_of(drawn(Group("Title", people, "had it", "did not")))
    assert f"{people} of 100 had it" in words
    assert f"{100 - people} of 100 did not" in words


def test_legend_shows_a_sample_of_each_kind() -> None:
    paths = {path.get("id"): path for path in root_of(drawn(FAILS)).iter(f"{SVG}path")}
    assert paths["g1-sample-affected"].get("fill") == "#000000"
    assert paths["g1-sample-unaffected"].get("fill") == "none"
    # Samples must not be counted as people.
    assert all(
        paths[f"g1-sample-{kind}"].get("class") is None for kind in ("affected", "unaffected")
    )


def test_long_words_are_broken_and_all_there() -> None:
    words = words_of(drawn(FAILS, LONG))
    for part in (LONG.title, LONG.frames[0], LONG.note):
        assert part in words


def test_words_say_all_that_the_picture_says() -> None:
    assert drawn(FAILS, NUMB).alternative == (
        "Each picture is 100 people, drawn one by one. "
        "The mend does not hold: 15 of 100 had it, 85 of 100 did not. "
        "78 people, followed for 2 years. "
        "Numb skin: 7 of 100 had it, 93 of 100 did not."
    )


@pytest.mark.parametrize(
    "groups", [(LONG,), (FAILS, LONG), (LONG, LONG, LONG), (NUMB, FAILS, LONG, NUMB)]
)
def test_nothing_leaves_the_sheet_or_lies_on_anything_else(groups: tuple[Group, ...]) -> None:
    drawing = drawn(*groups)
    boxes = boxes_of(drawing)
    assert drawing.width_mm == 170, "the width of a page between its margins"
    width, height = sheet_of(drawing)
    assert min(box.left for box in boxes) >= -0.01, "drawn to a hundredth"
    assert min(box.top for box in boxes) >= 0
    assert max(box.right for box in boxes) <= width
    assert max(box.bottom for box in boxes) <= height
    assert not any(one.meets(other) for one, other in itertools.combinations(boxes, 2))


def test_four_arrays_fit_a_page_at_full_size() -> None:
    assert drawn(FAILS, LONG, LONG, FAILS).height_mm <= 215


def printed_points(drawing: Drawing) -> list[float]:
    """The sizes of the letters on paper, in points of 1/72 inch."""
    enlarged = drawing.width_mm / sheet_of(drawing)[0] / 25.4 * 72
    return [float(text.get("font-size", "0")) * enlarged for text in texts_of(drawing)]


def test_text_is_large_enough_to_read() -> None:
    assert min(printed_points(drawn(FAILS, LONG))) >= 9
    for drawing in large_icon_arrays([FAILS, LONG]):
        assert min(printed_points(drawing)) >= 16


def test_names_of_marks_are_unique() -> None:
    names = [path.get("id") for path in root_of(drawn(FAILS, NUMB, LONG)).iter(f"{SVG}path")]
    assert len(names) == len(set(names))


def test_same_groups_give_the_same_drawing() -> None:
    assert drawn(FAILS, LONG) == drawn(FAILS, LONG)


@pytest.mark.parametrize("people", [-1, 101])
def test_more_than_everybody_or_fewer_than_nobody_is_refused(people: int) -> None:
    with pytest.raises(ValueError, match=rf"The mend: {people} of 100 .* from 0 to 100"):
        icon_arrays([FAILS, Group("The mend", people, "had it", "did not")])


def test_words_of_a_person_stay_words() -> None:
    drawing = drawn(Group("<b>Mend & more</b>", 1, "had <it>", "did not"))
    assert "<b>" not in drawing.svg
    assert "1 of 100 had <it>" in words_of(drawing)
