"""Properties of survival curves."""

from hypothesis import given
from hypothesis import strategies as st

from opnote.reckon.survival import Point, kaplan_meier, survival_at

CASES = st.lists(st.tuples(st.integers(0, 30), st.booleans()), min_size=1, max_size=40)


@given(CASES)
def test_a_curve_falls_within_its_interval(cases: list[tuple[int, bool]]) -> None:
    estimate = kaplan_meier(cases)
    survival = 1.0
    for step in estimate.steps:
        assert 0 <= step.survival < survival
        survival = step.survival
        if step.low is not None and step.high is not None:
            assert 0 <= step.low <= step.survival <= step.high <= 1
    assert sum(step.events for step in estimate.steps) == sum(failed for _, failed in cases)


@given(CASES)
def test_without_losses_the_curve_is_the_share_that_is_left(cases: list[tuple[int, bool]]) -> None:
    times = [at for at, _ in cases]
    estimate = kaplan_meier((at, True) for at in times)
    for step in estimate.steps:
        left = sum(at > step.at for at in times) / len(times)
        assert abs(step.survival - left) < 1e-9


@given(CASES, st.randoms())
def test_the_order_of_cases_does_not_matter(cases: list[tuple[int, bool]], random: object) -> None:
    shuffled = list(cases)
    getattr(random, "shuffle")(shuffled)  # noqa: B009 - its type isn't public
    assert kaplan_meier(shuffled) == kaplan_meier(cases)


@given(
    st.lists(st.integers(1, 100), min_size=1, max_size=6, unique=True).map(sorted),
    st.integers(0, 101),
)
def test_a_reading_lies_between_its_neighbours(times: list[int], at: int) -> None:
    points = [Point(when, 1 - i / 10) for i, when in enumerate(times)]
    reading = survival_at(points, at)
    assert (reading is None) == (at > times[-1])
    if reading is not None:
        assert reading.not_below is None or reading.not_below <= reading.survival
        assert reading.is_exact == (at == 0 or at in times)
