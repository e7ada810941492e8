"""The recovery timeline: what it draws, and that its words say the same."""

from __future__ import annotations

import re
from datetime import date

from opnote.compose.recovery_timeline import Span, recovery_timeline

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
