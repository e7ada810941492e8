"""Recovery plans by weeks: their dates, the stricter of two, and what in one can't be true.

Week 0 begins with the operation. A phase ends where its last week is over, on the day on which
the next phase may begin.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from typing import TypeVar

from opnote.reckon.times import date_after

WEIGHT_BEARING = ("none", "touch", "partial", "as_tolerated", "full")
"""How much weight the leg may take, the strictest first."""

BRACE = ("locked", "locked_walking", "hinged", "none")
"""What the brace allows, the strictest first."""

MOTION = ("passive", "limited", "free")
"""How the knee may be moved, the strictest first."""

NO_AID = "none"
"""Says that somebody walks without crutch or frame."""

_ValueT = TypeVar("_ValueT", str, int)


@dataclass(frozen=True, slots=True)
class Phase:
    """A stretch of a plan.

    Units: weeks from the operation; `to_week` None: for good. `motion_to_deg` in degrees of
    bending. Shape: cells are words of `WEIGHT_BEARING`, `BRACE` and `MOTION`; `aids` is "none" or
    what is walked with. None means that the plan says nothing. Raises: ValueError: no such
    stretch, or no such word.
    """

    name: str
    from_week: int
    to_week: int | None
    weight_bearing: str | None = None
    brace: str | None = None
    motion: str | None = None
    motion_to_deg: int | None = None
    aids: str | None = None

    def __post_init__(self) -> None:
        """Refuse what no plan can mean."""
        if self.from_week < 0 or (self.to_week is not None and self.to_week <= self.from_week):
            raise ValueError(f"no weeks from {self.from_week} to {self.to_week}")
        for value, scale in (
            (self.weight_bearing, WEIGHT_BEARING),
            (self.brace, BRACE),
            (self.motion, MOTION),
        ):
            if value is not None and value not in scale:
                raise ValueError(f"'{value}' is none of {', '.join(scale)}")


@dataclass(frozen=True, slots=True)
class Plan:
    """A recovery plan.

    Shape: `not_before` holds (activity, first week in which it is allowed). Units: weeks from the
    operation.
    """

    phases: tuple[Phase, ...]
    not_before: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class PhaseDates:
    """The dates of a phase: its first day, its last, and the day it is over; None: for good."""

    name: str
    first: date
    last: date | None
    over: date | None


def phase_dates(phases: Iterable[Phase], operation: date) -> tuple[PhaseDates, ...]:
    """Give the dates of phases, counted from the day of the operation.

    Raises: ValueError: a date beyond the calendar.

    >>> dates = phase_dates([Phase("no weight", 0, 6)], date(2026, 3, 9))
    >>> dates[0].last, dates[0].over
    (datetime.date(2026, 4, 19), datetime.date(2026, 4, 20))
    """
    return tuple(_dates_of(phase, operation) for phase in phases)


def stricter(one: Plan, other: Plan) -> Plan:
    """Give the plan that keeps to both: in each week and each cell the stricter of the two.

    Where one plan says nothing the other holds. Of walking aids, some are stricter than none; of
    two kinds that of the first plan is kept. A motion limit in degrees is the smaller one, and an
    activity may begin in the later of two weeks. Weeks that neither plan covers stay a gap.

    Source: repair with ligament surgery: the stricter of two plans in every cell, common practice.

    >>> repair = Plan((Phase("repair", 0, 6, weight_bearing="none"),), (("run", 16),))
    >>> ligament = Plan((Phase("ligament", 0, 4, weight_bearing="partial"),), (("run", 12),))
    >>> both = stricter(repair, ligament)
    >>> [(p.from_week, p.to_week, p.weight_bearing) for p in both.phases], both.not_before
    ([(0, 6, 'none')], (('run', 16),))
    """
    limits: dict[str, int] = {}
    for activity, week in (*one.not_before, *other.not_before):
        limits[activity] = max(week, limits.get(activity, week))
    return Plan(_merged(_strictest_by_weeks((one, other))), tuple(limits.items()))


def contradictions(plan: Plan) -> tuple[str, ...]:
    """Say what in a plan can't be followed as it stands, one sentence each; empty when it can.

    Found are weeks without a plan between or before phases, weeks with two plans, weight that is
    both "as tolerated" and "none" in the same weeks, no weight on the leg and nothing to walk
    with, and an activity with two first weeks.

    >>> contradictions(Plan((Phase("a", 0, 6, weight_bearing="none", aids="none"),)))
    ('Weeks 0 to 6: no weight on the leg, but nothing to walk with.',)
    """
    phases = sorted(plan.phases, key=lambda phase: phase.from_week)
    return (
        *_gaps(phases),
        *_overlaps(phases),
        *_without_aid(phases),
        *_twice(plan.not_before),
    )


def _dates_of(phase: Phase, operation: date) -> PhaseDates:
    first = date_after(operation, weeks=phase.from_week)
    if phase.to_week is None:
        return PhaseDates(phase.name, first, None, None)
    over = date_after(operation, weeks=phase.to_week)
    return PhaseDates(phase.name, first, over - timedelta(days=1), over)


def _holds(phase: Phase, week: int) -> bool:
    return phase.from_week <= week and (phase.to_week is None or week < phase.to_week)


def _strictest_by_weeks(plans: Sequence[Plan]) -> list[Phase]:
    """Cut the weeks wherever a phase begins or ends, and decide each piece by itself."""
    every = [phase for plan in plans for phase in plan.phases]
    cuts = sorted({week for phase in every for week in _said((phase.from_week, phase.to_week))})
    pieces: list[tuple[int, int | None]] = list(pairwise(cuts))
    if cuts and any(phase.to_week is None for phase in every):
        pieces.append((cuts[-1], None))
    found = []
    for from_week, to_week in pieces:
        held = [phase for phase in every if _holds(phase, from_week)]
        if held:
            found.append(_strictest(held, from_week, to_week))
    return found


def _strictest(held: Sequence[Phase], from_week: int, to_week: int | None) -> Phase:
    return Phase(
        " / ".join(dict.fromkeys(phase.name for phase in held)),
        from_week,
        to_week,
        weight_bearing=_first_on(WEIGHT_BEARING, [phase.weight_bearing for phase in held]),
        brace=_first_on(BRACE, [phase.brace for phase in held]),
        motion=_first_on(MOTION, [phase.motion for phase in held]),
        motion_to_deg=min(_said(phase.motion_to_deg for phase in held), default=None),
        aids=_some_aid(_said(phase.aids for phase in held)),
    )


def _said(values: Iterable[_ValueT | None]) -> list[_ValueT]:
    return [value for value in values if value is not None]


def _first_on(scale: Sequence[str], values: Sequence[str | None]) -> str | None:
    return min(_said(values), key=scale.index, default=None)


def _some_aid(aids: Sequence[str]) -> str | None:
    return next((aid for aid in aids if aid != NO_AID), NO_AID if aids else None)


def _cells(phase: Phase) -> tuple[str | int | None, ...]:
    return phase.weight_bearing, phase.brace, phase.motion, phase.motion_to_deg, phase.aids


def _merged(phases: Sequence[Phase]) -> tuple[Phase, ...]:
    """Join neighbours that ask for the same, under the names of both."""
    merged: list[Phase] = []
    for phase in phases:
        before = merged[-1] if merged else None
        if before and before.to_week == phase.from_week and _cells(before) == _cells(phase):
            names = dict.fromkeys([*before.name.split(" / "), *phase.name.split(" / ")])
            merged[-1] = replace(before, name=" / ".join(names), to_week=phase.to_week)
        else:
            merged.append(phase)
    return tuple(merged)


def _gaps(phases: Sequence[Phase]) -> list[str]:
    found = []
    covered = 0
    for phase in phases:
        if phase.from_week > covered:
            found.append(f"{_weeks(covered, phase.from_week)}: no phase says what is allowed.")
        if phase.to_week is None:
            break
        covered = max(covered, phase.to_week)
    return found


def _overlaps(phases: Sequence[Phase]) -> list[str]:
    found = []
    for i, one in enumerate(phases):
        for other in phases[i + 1 :]:
            if not _holds(one, other.from_week):
                continue
            ends = _said((one.to_week, other.to_week))
            weeks = _weeks(other.from_week, min(ends, default=None))
            found.append(f"{weeks}: both '{one.name}' and '{other.name}'.")
            if {one.weight_bearing, other.weight_bearing} == {"none", "as_tolerated"}:
                found.append(f"{weeks}: weight as tolerated, and no weight.")
    return found


def _without_aid(phases: Sequence[Phase]) -> list[str]:
    return [
        f"{_weeks(phase.from_week, phase.to_week)}: no weight on the leg, but nothing to walk with."
        for phase in phases
        if phase.weight_bearing == "none" and phase.aids == NO_AID
    ]


def _twice(not_before: Sequence[tuple[str, int]]) -> list[str]:
    weeks: dict[str, int] = {}
    return [
        f"'{activity}' is allowed both from week {weeks[activity]} and from week {week}."
        for activity, week in not_before
        if weeks.setdefault(activity, week) != week
    ]


def _weeks(from_week: int, to_week: int | None) -> str:
    return f"From week {from_week} on" if to_week is None else f"Weeks {from_week} to {to_week}"
