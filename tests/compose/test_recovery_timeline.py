"""The recovery timeline: what it draws, and that its words say the same."""

from __future__ import annotations

import itertools
import re
from datetime import date

import pytest

from opnote.compose.recovery_timeline import Span, recovery_timeline
from opnote.compose.sheet import LARGE_SCALE, PATIENT_SCALE, text_width_mm

OPERATION = date(2026, 3, 9)


def _bars(svg: str) -> list[tuple[float, float]]:
    """Left and right end of each bar, from the top."""
    shapes = re.findall(r'd="M ([\d.]+),[\d.]+ L ([\d.]+),[^"]*Z"[^>]*fill="#cccccc"', svg)
    return [(float(left), float(right)) for left, right in shapes]


def test_nothing_to_wait_for_draws_nothing() -> None:
    assert recovery_timeline(OPERATION, []) is None
    assert recovery_timeline(OPERATION, [Span("No sport", OPERATION)]) is None


def test_bars_are_to_scale_and_the_shortest_wait_stands_first() -> None:
    spans = [Span("No sport", date(2026, 9, 5)), Span("No driving", date(2026, 4, 8))]
    drawing = recovery_timeline(OPERATION, spans)
    assert drawing is not None
    (short, long) = _bars(drawing.svg)
    assert short[0] == long[0], "all waits begin with the operation"
    # 30 and 180 days after the operation.
    assert abs((long[1] - long[0]) / (short[1] - short[0]) - 6) < 0.01
    assert drawing.svg.index("No driving") < drawing.svg.index("No sport")


def test_words_name_every_wait_and_its_day() -> None:
    drawing = recovery_timeline(OPERATION, [Span("No running", date(2026, 8, 9))])
    assert drawing is not None
    assert drawing.alternative == (
        "Timeline from the operation on 9 March 2026. No running: until 9 August 2026."
    )
    assert "9 August 2026</text>" in drawing.svg


def test_words_of_a_person_stay_words() -> None:
    drawing = recovery_timeline(OPERATION, [Span("<b>No & more</b>", date(2026, 8, 9))])
    assert drawing is not None
    assert "<b>" not in drawing.svg
    assert "&lt;b&gt;No &amp; more" in drawing.svg


SPANS = [
    Span("The brace is worn", date(2026, 4, 20)),
    Span("No sport", date(2026, 12, 9)),
    Span("No deep squat, no kneeling", date(2026, 7, 9)),
]


def _texts(svg: str) -> list[tuple[float, float, str, str]]:
    """Place, anchor and words of each text."""
    found = re.findall(
        r'<text x="([\d.]+)" y="([\d.]+)"[^>]*text-anchor="(\w+)"[^>]*>([^<]*)<', svg
    )
    return [(float(x), float(y), anchor, words) for x, y, anchor, words in found]


@pytest.mark.parametrize("scale", [PATIENT_SCALE, LARGE_SCALE])
def test_named_months_stand_at_even_steps(scale: float) -> None:
    drawing = recovery_timeline(OPERATION, SPANS, scale=scale)
    assert drawing is not None
    texts = _texts(drawing.svg)
    top = min(y for _, y, _, _ in texts)
    named = [words for _, y, _, words in texts if y == top]
    months = ["Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
    places = [0, *(months.index(words.split("\N{NO-BREAK SPACE}")[1]) for words in named[1:])]
    assert named[0] == "operation"
    assert len(places) > 2
    assert len({later - one for one, later in itertools.pairwise(places)}) == 1


def test_no_line_crosses_a_date() -> None:
    drawing = recovery_timeline(OPERATION, SPANS)
    assert drawing is not None
    lines = [float(x) for x in re.findall(r'd="M ([\d.]+),[\d.]+ L [^"Z]*"', drawing.svg)]
    dates = [
        x - text_width_mm(words) for x, _, anchor, words in _texts(drawing.svg) if anchor == "end"
    ]
    assert len(dates) == len(SPANS)
    assert lines
    assert max(*lines, *(right for _, right in _bars(drawing.svg))) < min(dates)


@pytest.mark.parametrize(("scale", "least_pt"), [(PATIENT_SCALE, 9), (LARGE_SCALE, 16)])
def test_words_are_large_enough_for_whoever_reads_them(scale: float, least_pt: float) -> None:
    drawing = recovery_timeline(OPERATION, SPANS, scale=scale)
    assert drawing is not None
    assert drawing.width_mm == 170
    found = re.search(r'viewBox="0 0 ([\d.]+)', drawing.svg)
    assert found
    sizes = [float(size) for size in re.findall(r'font-size="([\d.]+)"', drawing.svg)]
    assert min(sizes) * drawing.width_mm / float(found[1]) / 25.4 * 72 >= least_pt
