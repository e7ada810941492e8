"""Refusals and properties of frequencies."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from opnote.reckon.frequency import (
    band_of_share,
    out_of,
    upper_limit_without_events,
    wilson_interval,
)


@st.composite
def counts(draw: st.DrawFn) -> tuple[int, int]:
    patients = draw(st.integers(1, 100_000))
    return draw(st.integers(0, patients)), patients


@given(counts(), st.floats(0.5, 0.999))
def test_the_interval_holds_the_estimate(count: tuple[int, int], confidence: float) -> None:
    lower, upper = wilson_interval(*count, confidence)
    assert 0 <= lower <= count[0] / count[1] + 1e-12
    assert count[0] / count[1] - 1e-12 <= upper <= 1


@given(counts())
def test_the_interval_of_the_others_is_the_mirror_image(count: tuple[int, int]) -> None:
    events, patients = count
    lower, upper = wilson_interval(events, patients)
    assert wilson_interval(patients - events, patients) == pytest.approx(
        (1 - upper, 1 - lower), abs=1e-9
    )


@given(counts(), st.integers(1, 10_000))
def test_whole_people_differ_by_half_a_person_at_most(
    count: tuple[int, int], denominator: int
) -> None:
    error = out_of(*count, denominator) - Fraction(*count) * denominator
    assert -Fraction(1, 2) < error <= Fraction(1, 2)


@pytest.mark.parametrize(
    ("events", "patients", "message"),
    [
        (1, 0, "at least 1 patient"),
        (0, -5, "at least 1 patient"),
        (-1, 10, "between 0 and 10"),
        (11, 10, "between 0 and 10"),
    ],
)
def test_impossible_counts_are_refused(events: int, patients: int, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        wilson_interval(events, patients)
    with pytest.raises(ValueError, match=message):
        out_of(events, patients, 1000)


def test_other_impossible_arguments_are_refused() -> None:
    with pytest.raises(ValueError, match="a denominator is at least 1"):
        out_of(1, 10, 0)
    with pytest.raises(ValueError, match="confidence lies between 0 and 1"):
        wilson_interval(1, 10, 1.0)
    with pytest.raises(ValueError, match="a share lies between 0 and 1"):
        band_of_share(Fraction(11, 10))
    with pytest.raises(ValueError, match="at least 1 patient"):
        upper_limit_without_events(0)


def test_the_rule_of_three_never_passes_certainty() -> None:
    assert upper_limit_without_events(2) == 1
