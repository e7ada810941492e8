"""The stricter of two recovery plans, cell by cell."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from opnote.reckon.recovery import Cell, Rule, stricter

WEIGHT = ("none", "touch", "partial", "as_tolerated", "full")
BRACE = ("none", "hinged", "locked_walking", "locked")
EXERCISES = ("patella", "quadriceps", "leg_raise", "bicycle")


@pytest.mark.parametrize(
    ("rule", "one", "other", "scale", "expected"),
    [
        # A repair that takes no weight, with a ligament that takes some: no weight.
        ("first", "none", "partial", WEIGHT, "none"),
        ("first", "full", "as_tolerated", WEIGHT, "as_tolerated"),
        ("last", "hinged", "locked", BRACE, "locked"),
        # Bending to 90 degrees against 120; sport after 6 months against 9.
        ("less", 90.0, 120.0, (), 90.0),
        ("more", 6.0, 9.0, (), 9.0),
        # What only one plan allows is not allowed; what only one asks for is asked for.
        (
            "shared",
            ("quadriceps", "bicycle"),
            ("patella", "quadriceps"),
            EXERCISES,
            ("quadriceps",),
        ),
        ("all", ("bicycle",), ("patella", "bicycle"), EXERCISES, ("patella", "bicycle")),
        ("shared", ("bicycle",), ("patella",), EXERCISES, ()),
        # The brace stays on for exercises when one plan keeps it on.
        ("no", True, False, (), False),
        ("yes", False, True, (), True),
        ("no", True, True, (), True),
    ],
)
def test_by_hand(
    rule: Rule, one: Cell, other: Cell, scale: tuple[str, ...], expected: Cell
) -> None:
    assert stricter(rule, one, other, scale) == expected


@given(st.sampled_from(WEIGHT), st.sampled_from(WEIGHT))
def test_order_of_the_plans_does_not_matter(one: str, other: str) -> None:
    assert stricter("first", one, other, WEIGHT) == stricter("first", other, one, WEIGHT)


@given(st.floats(0, 200), st.floats(0, 200))
def test_the_smaller_number_stays_beside_both(one: float, other: float) -> None:
    less = stricter("less", one, other)
    assert stricter("less", less, one) == stricter("less", less, other) == less


def test_an_option_on_no_scale_is_an_error() -> None:
    with pytest.raises(ValueError, match="'much' is none of none, touch"):
        stricter("first", "much", "none", WEIGHT)


def test_a_rule_for_another_kind_of_answer_is_an_error() -> None:
    with pytest.raises(ValueError, match="'less' can't compare"):
        stricter("less", "none", "full", WEIGHT)
