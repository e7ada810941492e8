"""Survival against published points, a published trial and hand calculation."""

import math

import pytest

from opnote.reckon.survival import Point, kaplan_meier, survival_at

# Saltzman et al.: bucket-handle repairs, 78 knees, mean follow-up 23 months; free of re-tear at 6
# months, 1, 2 and 3 years.
SALTZMAN = [Point(0.5, 0.936), Point(1, 0.846), Point(2, 0.784), Point(3, 0.699)]


@pytest.mark.parametrize(
    ("years", "survival", "not_below", "is_exact"),
    [
        (0, 1, 0.936, True),
        (0.25, 1, 0.936, False),
        (0.5, 0.936, 0.846, True),
        (0.99, 0.936, 0.846, False),
        (1, 0.846, 0.784, True),
        (1.5, 0.846, 0.784, False),
        (2, 0.784, 0.699, True),
        (3, 0.699, None, True),
    ],
)
def test_published_points_are_read_by_steps(
    years: float, survival: float, not_below: float | None, is_exact: bool
) -> None:
    reading = survival_at(SALTZMAN, years)
    assert reading is not None
    assert reading.survival == survival
    assert reading.not_below == not_below
    assert reading.is_exact is is_exact


@pytest.mark.parametrize("years", [3.01, 5, math.inf])
def test_nothing_is_said_beyond_the_last_point(years: float) -> None:
    assert survival_at(SALTZMAN, years) is None


def test_the_number_at_risk_comes_with_its_point() -> None:
    reading = survival_at([Point(0, 1, 78), Point(1, 0.846, 40)], 1.5)
    assert reading is None
    reading = survival_at([Point(0, 1, 78), Point(1, 0.846, 40), Point(2, 0.784)], 1.5)
    assert reading is not None
    assert reading.point == Point(1, 0.846, 40)


@pytest.mark.parametrize(
    "points",
    [
        [],
        [Point(1, 0.8), Point(1, 0.7)],
        [Point(2, 0.8), Point(1, 0.7)],
        [Point(1, 0.7), Point(2, 0.8)],
        [Point(1, 1.1)],
        [Point(1, -0.1)],
        [Point(-1, 0.9)],
        [Point(1, 84.6)],
        [Point(1, math.nan)],
    ],
)
def test_points_that_are_no_curve_are_errors(points: list[Point]) -> None:
    with pytest.raises(ValueError, match=r"no points|the curve|a curve"):
        survival_at(points, 1)


@pytest.mark.parametrize("at", [-1, math.nan])
def test_a_time_before_the_start_is_an_error(at: float) -> None:
    with pytest.raises(ValueError, match="no time after the start"):
        survival_at(SALTZMAN, at)


# Freireich et al., Blood 1963: weeks of remission of 21 patients on the drug; + is censored:
# 6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+.
FREIREICH = [
    (6, True), (6, True), (6, True), (6, False), (7, True), (9, False), (10, True), (10, False),
    (11, False), (13, True), (16, True), (17, False), (19, False), (20, False), (22, True),
    (23, True), (25, False), (32, False), (32, False), (34, False), (35, False),
]  # fmt: skip


def test_a_published_trial() -> None:
    estimate = kaplan_meier(FREIREICH)
    assert (estimate.cases, estimate.last_at) == (21, 35)
    # Survival and numbers at risk as in textbooks, and by hand: 18/21, then 16/17, 14/15, 11/12,
    # 10/11, 6/7, 5/6. Intervals: scipy 1.17.1, stats.ecdf, log-log.
    expected = [
        (6, 21, 3, 0.8571428571, 0.6197179553, 0.9515517476),
        (7, 17, 1, 0.8067226891, 0.5631465646, 0.9228090192),
        (10, 15, 1, 0.7529411765, 0.5031995108, 0.8893618352),
        (13, 12, 1, 0.6901960784, 0.4316102225, 0.8490659633),
        (16, 11, 1, 0.6274509804, 0.3675108560, 0.8049121895),
        (22, 7, 1, 0.5378151261, 0.2677789368, 0.7467907176),
        (23, 6, 1, 0.4481792717, 0.1880520060, 0.6801426285),
    ]
    for step, (at, at_risk, events, survival, low, high) in zip(
        estimate.steps, expected, strict=True
    ):
        assert (step.at, step.at_risk, step.events) == (at, at_risk, events)
        assert step.survival == pytest.approx(survival, abs=1e-9)
        assert step.low == pytest.approx(low, abs=1e-9)
        assert step.high == pytest.approx(high, abs=1e-9)


def test_one_step_by_hand() -> None:
    # 4 of 10 fail at once: S = 0.6, Greenwood's sum 4 / (10 * 6) = 0.0666667, its root 0.2581989;
    # log S = -0.5108256; 1.959964 * 0.2581989 / 0.5108256 = 0.9906717; e^0.9906717 = 2.6930428;
    # 0.6^2.6930428 = 0.2526690 and 0.6^(1 / 2.6930428) = 0.8272210.
    (step,) = kaplan_meier([(1, True)] * 4 + [(2, False)] * 6).steps
    assert step.survival == pytest.approx(0.6)
    assert step.low == pytest.approx(0.2526690, abs=1e-6)
    assert step.high == pytest.approx(0.8272210, abs=1e-6)


def test_a_case_lost_on_the_day_of_a_failure_was_at_risk() -> None:
    # Kaplan and Meier: losses follow failures of the same time. 1 of 2 fails.
    assert kaplan_meier([(1, False), (1, True)]).steps[0].survival == 0.5


def test_without_a_failure_there_is_no_step() -> None:
    estimate = kaplan_meier([(1, False), (2, False)])
    assert estimate.steps == ()
    assert estimate.survival_at(2) == 1
    assert estimate.survival_at(2.1) is None


def test_when_the_last_case_fails_nothing_is_left_and_there_is_no_interval() -> None:
    last = kaplan_meier([(1, True), (2, True), (3, True)]).steps[-1]
    assert (last.survival, last.low, last.high) == (0, None, None)


def test_survival_between_steps() -> None:
    estimate = kaplan_meier(FREIREICH)
    assert estimate.survival_at(0) == 1
    assert estimate.survival_at(5.9) == 1
    assert estimate.survival_at(6) == pytest.approx(18 / 21)
    assert estimate.survival_at(35) == pytest.approx(0.4481792717)
    assert estimate.survival_at(36) is None


@pytest.mark.parametrize(
    "cases", [[], [(-1.0, True)], [(math.nan, False)], [(math.inf, True), (1.0, False)]]
)
def test_what_is_no_follow_up_is_an_error(cases: list[tuple[float, bool]]) -> None:
    with pytest.raises(ValueError, match=r"no cases|follow-up"):
        kaplan_meier(cases)
