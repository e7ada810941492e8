"""What a writer of risk figures reads for each kind of mistake."""

from __future__ import annotations

from pathlib import Path

import pytest

from opnote.pack.loader import load_pack
from opnote.pack.problem import PackError

FILE = "forms/mini_repair/risks.toml"
RISK = """[[risk]]
id = "retear"
title = "Tearing again"
plain = "The mend may tear again."
events = 15
patients = 100
follow_up = "two years"
definition = "another operation"
population = "adults"
source = "Nobody et al., Invented Journal"
evidence = "read"
"""
AUDIT = """
[[audit]]
risk = "retear"
whose = "This department"
events = 4
patients = 52
period = "2022 to 2025"
definition = "another operation"
"""
STUDY = """
[[survival]]
id = "held"
title = "How long it held"
held = "whose mend still held"
words = "Most held."
points = [[1, 90], [2, 80, 40]]
people = 78
population = "knees"
definition = "no new tear"
source = "Nobody et al."
evidence = "read"
"""


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        (
            RISK + "applies_when = \"side == 'left'\"\n",
            2,
            "the risk 'retear' has a condition without words for it; "
            "say in for_whom whom it is told",
        ),
        (
            RISK + "per = 100\ninterval = [16, 20]\n",
            2,
            "the risk 'retear' has an interval that doesn't hold its figure (15 per cent); "
            "correct it",
        ),
        (
            RISK + "per = 100\ninterval = [20, 10]\n",
            2,
            "the risk 'retear' has an interval that ends before it begins; swap its numbers",
        ),
        (
            RISK + "interval = [10, 20]\n",
            2,
            "the risk 'retear' has an interval without 'per'; say of how many people it speaks",
        ),
        (
            RISK + "per = 100\nrange_low = 0\nrange_high = 69\n",
            2,
            "the risk 'retear' has a spread without what was counted in it; give range_definition",
        ),
        (
            RISK + "per = 100\ninterval = [-5, 30]\n",
            2,
            "the risk 'retear' has an interval outside 0 to 100; correct it",
        ),
        (
            RISK + "per = 100\nrange_low = 50\nrange_high = 10\nrange_definition = 'x'\n",
            2,
            "the risk 'retear' has a spread that ends before it begins; "
            "swap range_low and range_high",
        ),
        (
            RISK + "per = 100\nrange_low = 0\nrange_high = 400\nrange_definition = 'x'\n",
            2,
            "the risk 'retear' has a spread of more people than there are (100); correct it",
        ),
        (
            RISK + STUDY + STUDY,
            30,
            "the study 'held' is there twice; keep one",
        ),
        (
            RISK + STUDY.replace("[[1, 90], [2, 80, 40]]", "[[0, 100]]"),
            18,
            "no point lies after the start; give one with its years",
        ),
        (
            RISK + STUDY.replace("[2, 80, 40]", "[2, 80, 200]"),
            18,
            "200 of 78 people can't be followed; correct it",
        ),
        (
            RISK.replace('definition = "another operation"\n', ""),
            2,
            "the risk 'retear' has a figure without what was counted; give definition",
        ),
        (
            RISK + "low = 10\nhigh = 20\nper = 100\n",
            2,
            "the risk 'retear' has two figures, events of patients and a range; "
            "keep the better one",
        ),
        (
            RISK + "raised = [{ words = 'age', when = 'syde == 1' }]\n",
            12,
            "unknown field 'syde'; did you mean 'side'?",
        ),
        (
            RISK + AUDIT.replace('"retear"', '"retaer"'),
            14,
            "unknown risk 'retaer'; did you mean 'retear'?",
        ),
        (
            RISK + AUDIT + AUDIT,
            22,
            "the audit of 'retear' by 'This department', 2022 to 2025, is there twice; keep one",
        ),
        (
            RISK + AUDIT.replace("2022 to 2025", "2025 to 2022"),
            14,
            "the period '2025 to 2022' ends before it begins; swap its years",
        ),
        (
            RISK + RISK.replace('"retear"', '"retear_too"').replace("events = 15", "events = 16"),
            13,
            "the risk 'retear_too' tells another figure than 'retear' of the same study; "
            "change both, or name another source",
        ),
        (
            RISK + AUDIT.replace("events = 4", "events = 53"),
            14,
            "more events (53) than patients (52); correct one of them",
        ),
        (
            RISK + STUDY.replace("[2, 80, 40]", "[2, 95]"),
            18,
            "the curve rises or turns back at 2; put the points in the order of their times",
        ),
        (
            RISK + STUDY.replace("[2, 80, 40]", "[2]"),
            18,
            "a point is [years, per cent] or [years, per cent, people]; correct it",
        ),
    ],
)
def test_a_mistake_is_refused_with_its_line(
    mini_folder: Path, text: str, line: int, message: str
) -> None:
    (mini_folder / FILE).write_text(text, encoding="utf-8")
    with pytest.raises(PackError) as refused:
        load_pack(("mini_repair",), [mini_folder])
    assert [str(problem) for problem in refused.value.problems] == [f"{FILE}:{line}: {message}"]


def test_what_is_right_is_taken(mini_folder: Path) -> None:
    (mini_folder / FILE).write_text(RISK + AUDIT + STUDY, encoding="utf-8")
    pack = load_pack(("mini_repair",), [mini_folder])
    (risk,) = pack.risks
    assert [audit.patients for audit in risk.audits] == [52]
    (study,) = pack.survival
    assert [(point.at, point.survival, point.at_risk) for point in study.points] == [
        (1, 0.9, None),
        (2, 0.8, 40),
    ]


def test_an_audit_names_the_rows_of_its_title_that_it_does_not_reach(mini_folder: Path) -> None:
    other = RISK.replace('"retear"', '"retear_too"').replace("Nobody et al.", "Somebody et al.")
    (mini_folder / FILE).write_text(RISK + other + AUDIT, encoding="utf-8")
    (warning,) = load_pack(["mini_repair"], [mini_folder]).warnings
    assert str(warning) == (
        f"{FILE}:25: warning: the audit of 'retear' is not printed where 'Tearing again' is told "
        "by 'retear_too'; add an audit for each that you counted"
    )
    both = AUDIT + AUDIT.replace('"retear"', '"retear_too"')
    (mini_folder / FILE).write_text(RISK + other + both, encoding="utf-8")
    assert load_pack(["mini_repair"], [mini_folder]).warnings == ()
