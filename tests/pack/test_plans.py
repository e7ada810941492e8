"""Filling a case from one recovery plan, and from the stricter answers of two."""

from __future__ import annotations

import itertools
import shutil
from pathlib import Path

import pytest

from opnote.assess import assess
from opnote.assess.lint import lint_folder
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack, Plan
from opnote.pack.plan import keep_to, start_from
from opnote.record import Origin, Quantity, Record, Value, confirm, set_value


@pytest.fixture(scope="module")
def pack() -> Pack:
    """The shipped forms."""
    return load_pack(["meniscal_repair"])


def plan(pack: Pack, name: str) -> Plan:
    return next(plan for plan in pack.plans if plan.id == name)


def kept_to_both(pack: Pack, one: str, other: str) -> Record:
    record = start_from(plan(pack, one), pack).apply(pack.new_record())
    return keep_to(plan(pack, other), pack).apply(record)


def weeks(number: int) -> Quantity:
    return Quantity(number, "weeks")


@pytest.mark.parametrize("order", [("p2", "p6"), ("p6", "p2")])
def test_repair_and_ligament_plan_by_hand(pack: Pack, order: tuple[str, str]) -> None:
    # Each answer looked up in both plans: the stricter of the usual repair and of the ligament.
    expected: dict[str, Value] = {
        "plan.weight_bearing": "partial",
        "plan.weight_weeks": weeks(6),
        "plan.brace": "locked_walking",
        "plan.motion_weeks": weeks(6),
        "plan.exercises": ("patella", "quadriceps", "leg_raise", "heel_slide"),
        "plan.run_months": Quantity(6, "months"),
        "plan.sport_months": Quantity(9, "months"),
        "plan.heavy_months": Quantity(4, "months"),
    }
    record = kept_to_both(pack, *order)
    assert {path: record.value(path) for path in expected} == expected
    assert all(record.is_unconfirmed(path) for path in expected)


def test_no_weight_beats_partial_weight_and_needs_no_kilograms(pack: Pack) -> None:
    record = kept_to_both(pack, "p2", "p1")
    assert record.value("plan.weight_bearing") == "none"
    assert "plan.weight_kg" not in record.values
    assert record.value("plan.motion") == "passive"


def test_what_was_typed_or_confirmed_stays(pack: Pack) -> None:
    record = start_from(plan(pack, "p2"), pack).apply(pack.new_record())
    record = set_value("plan.weight_weeks", weeks(3), "type").apply(record)
    record = confirm(["plan.run_months"], "confirm").apply(record)
    after = keep_to(plan(pack, "p6"), pack).apply(record)
    assert after.value("plan.weight_weeks") == weeks(3)
    assert after.origin("plan.weight_weeks") is Origin.TYPED
    assert after.value("plan.run_months") == Quantity(4, "months")
    assert after.value("plan.sport_months") == Quantity(9, "months")


def test_a_second_plan_in_an_empty_case_is_that_plan(pack: Pack) -> None:
    p5 = plan(pack, "p5")
    assert keep_to(p5, pack).apply(pack.new_record()) == start_from(p5, pack).apply(
        pack.new_record()
    )


def test_no_two_shipped_plans_contradict_each_other(pack: Pack) -> None:
    for one, other in itertools.permutations([plan.id for plan in pack.plans], 2):
        found = assess(pack, pack.view(kept_to_both(pack, one, other))).findings
        faults = [f.message for f in found if f.level in ("contradiction", "adverse")]
        assert faults == [], f"{one} with {other}"


def test_lint_names_a_plan_that_contradicts_itself(mini_folder: Path) -> None:
    checks = mini_folder / "forms/mini_repair/checks.toml"
    checks.write_text(
        checks.read_text()
        + """
[[check]]
id = "brace_and_no_weeks"
level = "contradiction"
when = "plan.brace == 'hinged' and plan.weeks > 5"
say = "A brace, and crutches for {plan.weeks}."
settle = "Shorten one."
look_at = ["plan.brace"]
source = "invented for tests"
"""
    )
    assert [str(problem) for problem in lint_folder(mini_folder)] == [
        "forms/mini_repair/recovery.toml:2: the plan 'p1' contradicts itself: "
        "A brace, and crutches for 6 weeks; Shorten one."
    ]


def shipped_with_p7(folder: Path, old: str, new: str) -> list[str]:
    """What is said to the shipped forms with one answer of the plan p7 changed."""
    for part in ("forms", "templates"):
        shutil.copytree(shipped_root() / part, folder / part)
    path = folder / "forms/meniscal_repair/recovery.toml"
    text = path.read_text(encoding="utf-8")
    head, _, p7 = text.partition('id = "p7"')
    assert old in p7
    path.write_text(head + 'id = "p7"' + p7.replace(old, new, 1), encoding="utf-8")
    return [str(problem).partition(": ")[2] for problem in lint_folder(folder)]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        pytest.param(
            '"plan.brace" = "none"',
            '"plan.brace" = "hinged"\n"plan.brace_from" = "90 degrees"\n'
            '"plan.brace_to" = "0 degrees"\n"plan.brace_weeks" = "6 weeks"',
            "the plan 'p7' contradicts itself: The hinge is set from 90 degrees to 0 degrees, the "
            "wrong way round; Correct one of them.",
            id="hinge_backward",
        ),
        pytest.param(
            '"plan.weight_bearing" = "as_tolerated"',
            '"plan.weight_bearing" = "none"\n"plan.weight_weeks" = "6 weeks"',
            "On the leg no weight, but no walking aid",
            id="no_weight_and_no_aids",
        ),
        pytest.param(
            '"plan.sport_weeks" = "8 weeks"',
            '"plan.sport_weeks" = "4 weeks"',
            "is before running from",
            id="sport_before_running",
        ),
        pytest.param(
            '"plan.weight_bearing" = "as_tolerated"',
            '"plan.weight_bearing" = "full"\n"plan.weight_weeks" = "6 weeks"',
            "the plan 'p7' fills 'plan.weight_weeks', which its other answers hide; "
            "take the line away, or change what hides it",
            id="weeks_of_full_weight",
        ),
    ],
)
def test_lint_names_what_is_wrong_in_a_plan(tmp_path: Path, old: str, new: str, said: str) -> None:
    found = shipped_with_p7(tmp_path, old, new)
    assert any(said in line for line in found), found
