"""Recovery plans: dates, the stricter of two, contradictions."""

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from opnote.reckon.recovery import (
    BRACE,
    MOTION,
    WEIGHT_BEARING,
    Phase,
    Plan,
    contradictions,
    phase_dates,
    stricter,
)

OPERATION = date(2026, 3, 9)  # a Monday


def test_dates_by_hand() -> None:
    phases = [Phase("first", 0, 2), Phase("second", 2, 6), Phase("rest", 6, None)]
    first, second, rest = phase_dates(phases, OPERATION)
    # 14 days from 9 March: 23 March. 42 days: 22 left of March, 20 of April.
    assert (first.first, first.last, first.over) == (
        date(2026, 3, 9),
        date(2026, 3, 22),
        date(2026, 3, 23),
    )
    assert (second.first, second.last) == (date(2026, 3, 23), date(2026, 4, 19))
    assert (rest.first, rest.last, rest.over) == (date(2026, 4, 20), None, None)


def test_dates_over_a_leap_day() -> None:
    (dates,) = phase_dates([Phase("first", 0, 1)], date(2028, 2, 24))
    # 24 to 29 February and 1 March: 7 days.
    assert dates.last == date(2028, 3, 1)


@pytest.mark.parametrize(("start", "end"), [(-1, 2), (2, 2), (3, 2)])
def test_weeks_that_are_none_are_errors(start: int, end: int) -> None:
    with pytest.raises(ValueError, match="no weeks"):
        Phase("x", start, end)


@pytest.mark.parametrize("cell", ["weight_bearing", "brace", "motion"])
def test_a_word_that_is_on_no_scale_is_an_error(cell: str) -> None:
    with pytest.raises(ValueError, match="'much' is none of"):
        Phase("x", 0, 1, **{cell: "much"})  # type: ignore[arg-type]


def test_a_repair_with_ligament_surgery() -> None:
    # Cell by cell the stricter: no weight for 6 weeks against partial for 4 and full after; motion
    # to 90 against 120; sport from 26 weeks against 39.
    repair = Plan(
        (
            Phase("repair", 0, 6, "none", "hinged", "passive", 90, "two"),
            Phase("load", 6, None, "full", "none", "free", None, "none"),
        ),
        (("sport", 26), ("squat", 17)),
    )
    ligament = Plan(
        (
            Phase("ligament", 0, 4, "partial", "locked", "limited", 120, "two"),
            Phase("walk", 4, None, "as_tolerated", "none", "free", None, "one"),
        ),
        (("run", 16), ("sport", 39)),
    )
    both = stricter(repair, ligament)
    assert both.phases == (
        Phase("repair / ligament", 0, 4, "none", "locked", "passive", 90, "two"),
        Phase("repair / walk", 4, 6, "none", "hinged", "passive", 90, "two"),
        Phase("load / walk", 6, None, "as_tolerated", "none", "free", None, "one"),
    )
    assert dict(both.not_before) == {"sport": 39, "squat": 17, "run": 16}


def test_where_one_plan_says_nothing_the_other_holds() -> None:
    one = Plan((Phase("one", 0, 6, weight_bearing="none"),))
    other = Plan((Phase("other", 0, 3, brace="hinged"), Phase("late", 8, 12, motion="free")))
    assert stricter(one, other).phases == (
        Phase("one / other", 0, 3, weight_bearing="none", brace="hinged"),
        Phase("one", 3, 6, weight_bearing="none"),
        Phase("late", 8, 12, motion="free"),
    )


def test_neighbours_that_ask_for_the_same_are_one_phase() -> None:
    one = Plan((Phase("a", 0, 6, weight_bearing="none"),))
    other = Plan((Phase("b", 0, 3, "partial"), Phase("c", 3, 6, "as_tolerated")))
    assert stricter(one, other).phases == (Phase("a / b / c", 0, 6, weight_bearing="none"),)


@pytest.mark.parametrize(
    ("phases", "said"),
    [
        ([Phase("a", 0, 6), Phase("b", 6, None)], []),
        ([Phase("a", 1, 6)], ["Weeks 0 to 1: no phase says what is allowed."]),
        (
            [Phase("b", 8, 12), Phase("a", 0, 6)],
            ["Weeks 6 to 8: no phase says what is allowed."],
        ),
        ([Phase("a", 0, 6), Phase("b", 4, 8)], ["Weeks 4 to 6: both 'a' and 'b'."]),
        ([Phase("a", 0, None), Phase("b", 4, None)], ["From week 4 on: both 'a' and 'b'."]),
        (
            [Phase("a", 0, 6, weight_bearing="none"), Phase("b", 4, 8, "as_tolerated")],
            [
                "Weeks 4 to 6: both 'a' and 'b'.",
                "Weeks 4 to 6: weight as tolerated, and no weight.",
            ],
        ),
        (
            [Phase("a", 0, 6, weight_bearing="none", aids="none")],
            ["Weeks 0 to 6: no weight on the leg, but nothing to walk with."],
        ),
        ([Phase("a", 0, 6, weight_bearing="none", aids="two")], []),
        ([Phase("a", 0, 6, weight_bearing="none")], []),  # the aid isn't recorded
        ([Phase("a", 0, 6, weight_bearing="touch", aids="none")], []),
        ([], []),
    ],
)
def test_what_cannot_be_followed_is_said(phases: list[Phase], said: list[str]) -> None:
    assert list(contradictions(Plan(tuple(phases)))) == said


def test_an_activity_with_two_first_weeks_is_said() -> None:
    plan = Plan((), (("run", 12), ("run", 16), ("sport", 26), ("sport", 26)))
    assert contradictions(plan) == ("'run' is allowed both from week 12 and from week 16.",)


def cells(scale: tuple[str, ...]) -> st.SearchStrategy[str | None]:
    return st.none() | st.sampled_from(scale)


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    cuts = sorted(draw(st.sets(st.integers(1, 20), max_size=4)))
    ends: list[int | None] = [*cuts, draw(st.sampled_from([None, 26]))]
    phases = tuple(
        Phase(
            f"p{start}",
            start,
            end,
            draw(cells(WEIGHT_BEARING)),
            draw(cells(BRACE)),
            draw(cells(MOTION)),
            draw(st.none() | st.integers(0, 140)),
            draw(cells(("none", "one", "two"))),
        )
        for start, end in zip([0, *cuts], ends, strict=True)
    )
    limits = draw(st.dictionaries(st.sampled_from(["run", "squat", "sport"]), st.integers(0, 52)))
    return Plan(phases, tuple(limits.items()))


def at_week(plan: Plan, week: int) -> Phase | None:
    held = [p for p in plan.phases if p.from_week <= week and (p.to_week or 1000) > week]
    return held[0] if held else None


@given(plans(), plans(), st.integers(0, 60))
def test_the_stricter_plan_keeps_to_both_in_each_week(one: Plan, other: Plan, week: int) -> None:
    both = at_week(stricter(one, other), week)
    for plan in (one, other):
        phase = at_week(plan, week)
        if phase is None:
            continue
        assert both is not None
        for name, scale in (
            ("weight_bearing", WEIGHT_BEARING),
            ("brace", BRACE),
            ("motion", MOTION),
        ):
            said, kept = getattr(phase, name), getattr(both, name)
            assert said is None or scale.index(kept) <= scale.index(said)
        if phase.motion_to_deg is not None:
            assert both.motion_to_deg is not None
            assert both.motion_to_deg <= phase.motion_to_deg
        assert phase.aids in (None, "none") or both.aids not in (None, "none")


@given(plans(), plans())
def test_the_stricter_plan_of_whole_plans_has_no_gap_and_no_overlap(one: Plan, other: Plan) -> None:
    found = contradictions(stricter(one, other))
    assert not [each for each in found if "no phase" in each or "both '" in each]
    for plan in (one, other):
        kept = dict(stricter(one, other).not_before)
        assert all(kept[activity] >= week for activity, week in plan.not_before)


@given(plans())
def test_a_plan_is_as_strict_as_itself(plan: Plan) -> None:
    twice = stricter(plan, plan)
    assert [at_week(twice, week) is None for week in range(60)] == [
        at_week(plan, week) is None for week in range(60)
    ]
    assert twice.not_before == plan.not_before
    assert stricter(twice, twice) == twice


@given(plans(), st.dates(date(1990, 1, 1), date(2090, 1, 1)))
def test_phases_follow_each_other_day_by_day(plan: Plan, operation: date) -> None:
    dates = phase_dates(plan.phases, operation)
    assert dates[0].first == operation
    for before, after in pairwise(dates):
        assert before.over == after.first
        assert before.last == after.first - timedelta(days=1)
