"""Survival of repairs: published points as they stand, and an estimate from a department's cases.

Times are in whatever unit the caller counts in (years, as a rule); a curve keeps to one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

_Z_95 = 1.959963984540054
"""Quantile of the normal distribution that leaves 2.5 per cent above it."""


@dataclass(frozen=True, slots=True)
class Point:
    """One published point of a survival curve.

    Units: `at` in the curve's time; `survival` from 0 to 1; `at_risk` cases still followed,
    None where the source doesn't say.
    """

    at: float
    survival: float
    at_risk: int | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """What published points say about a time between them.

    `survival` is that of the last point at or before the time, an upper bound unless `is_exact`;
    `not_below` that of the next point, None after the last. A curve only falls, so the truth of
    the study lies between the two. `point` is the point that was read; None before the first.
    """

    survival: float
    not_below: float | None
    point: Point | None
    is_exact: bool


@dataclass(frozen=True, slots=True)
class Step:
    """Survival from one time on, until the next step.

    Units: `at` in the caller's time; `survival`, `low` and `high` from 0 to 1; the others are
    cases. `at_risk` were followed just before `at`. `low` and `high` are the ends of the 95 per
    cent interval, None where survival is 0 and there is none.
    """

    at: float
    at_risk: int
    events: int
    survival: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Estimate:
    """A Kaplan-Meier curve: its steps, how many cases it is of, and how far it was followed."""

    steps: tuple[Step, ...]
    cases: int
    last_at: float

    def survival_at(self, at: float) -> float | None:
        """Give the survival at a time; None beyond the last follow-up, where nobody was seen.

        Raises: ValueError: negative time.

        >>> kaplan_meier([(1, True), (2, False)]).survival_at(1.5)
        0.5
        """
        _refuse_negative(at)
        if at > self.last_at:
            return None
        reached = [step.survival for step in self.steps if step.at <= at]
        return reached[-1] if reached else 1.0


def survival_at(points: Sequence[Point], at: float) -> Reading | None:
    """Read published points at a time, by steps; None beyond the last point.

    Nothing is drawn between points or past the last: before the first, all that is known is that
    everybody began without a failure.

    Raises: ValueError: no points, times not rising, survival that rises or leaves 0 to 1, or a
    negative time.

    >>> saltzman = [Point(0.5, 0.936), Point(1, 0.846), Point(2, 0.784), Point(3, 0.699)]
    >>> reading = survival_at(saltzman, 1.5)
    >>> reading.survival, reading.not_below, reading.is_exact
    (0.846, 0.784, False)
    """
    _refuse_unordered(points)
    _refuse_negative(at)
    if at > points[-1].at:
        return None
    passed = [point for point in points if point.at <= at]
    to_come = points[len(passed) :]
    not_below = to_come[0].survival if to_come else None
    if not passed:
        return Reading(1.0, not_below, None, is_exact=at == 0)
    point = passed[-1]
    return Reading(point.survival, not_below, point, is_exact=point.at == at)


def kaplan_meier(follow_up: Iterable[tuple[float, bool]]) -> Estimate:
    """Estimate survival from cases followed so long (time, whether it failed then).

    A case that didn't fail counts as followed up to its time, that time included. The interval
    is Greenwood's variance on the scale of log(-log S), so it stays between 0 and 1.

    Raises: ValueError: no cases, or a time that is negative or no number.
    Source: Kaplan and Meier, J Am Stat Assoc 1958; Greenwood 1926; Kalbfleisch and Prentice, The
    Statistical Analysis of Failure Time Data (log-log interval).

    >>> [round(step.survival, 3) for step in kaplan_meier([(1, True), (2, False), (3, True)]).steps]
    [0.667, 0.0]
    """
    cases = sorted(follow_up)
    if not cases:
        raise ValueError("no cases")
    if not all(math.isfinite(at) and at >= 0 for at, _ in cases):
        raise ValueError("a time of follow-up is negative or no number")
    steps: list[Step] = []
    survival, greenwood = 1.0, 0.0
    for at in sorted({at for at, has_failed in cases if has_failed}):
        at_risk = sum(followed >= at for followed, _ in cases)
        events = sum(has_failed and failed_at == at for failed_at, has_failed in cases)
        # Exactly 0 when the last case fails: 1 - 1 / 1, and no rounding.
        survival *= (at_risk - events) / at_risk
        if at_risk > events:
            greenwood += events / (at_risk * (at_risk - events))
        low, high = _log_log_interval(survival, greenwood)
        steps.append(Step(at, at_risk, events, survival, low, high))
    return Estimate(tuple(steps), len(cases), cases[-1][0])


def _log_log_interval(survival: float, greenwood: float) -> tuple[float | None, float | None]:
    if survival == 0:
        return None, None
    margin = _Z_95 * math.sqrt(greenwood) / math.log(survival)
    # The logarithm is negative, so the first end is the lower one.
    return survival ** math.exp(-margin), survival ** math.exp(margin)


def _refuse_negative(at: float) -> None:
    if not at >= 0:
        raise ValueError(f"no time after the start: {at:g}")


def _refuse_unordered(points: Sequence[Point]) -> None:
    if not points:
        raise ValueError("no points")
    for before, after in pairwise(points):
        if not (before.at < after.at and before.survival >= after.survival):
            raise ValueError(f"the curve rises or turns back at {after.at:g}")
    if not (points[0].at >= 0 and points[0].survival <= 1 and points[-1].survival >= 0):
        raise ValueError("a curve begins after the start, and stays from 0 to 1")
