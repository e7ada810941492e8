"""Risks in words: out of the same crowd, in both frames, with what is known and for whom."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path

import pytest

from opnote.compose.risk_words import left_out, pictured, risk_rows, sheet_rows
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.record import Quantity, Value, set_values

Row = dict[str, str]
Said = Callable[..., Row]


def figure(**keys: object) -> str:
    """A risk of `risks.toml` with these keys besides those that it needs."""
    base: dict[str, object] = {
        "follow_up": "2 years",
        "definition": "another operation",
        "population": "adults",
        "source": "Nobody et al., Invented Journal",
        "year": 2020,
        "evidence": "read",
    }
    lines = [f"{key} = {value!r}" for key, value in (base | keys).items()]
    return "\n".join(["[[risk]]", "id = 'it'", "title = 'It'", "plain = 'It hurts.'", *lines, ""])


@pytest.fixture
def pack_with(mini_folder: Path) -> Callable[[str], Pack]:
    """The small pack with other risks."""

    def made(risks: str) -> Pack:
        (mini_folder / "forms/mini_repair/risks.toml").write_text(risks, encoding="utf-8")
        return load_pack(("mini_repair",), [mini_folder])

    return made


@pytest.fixture
def said(pack_with: Callable[[str], Pack]) -> Said:
    """The words of one risk in a case with some answers."""

    def row(risks: str, values: Mapping[str, Value] | None = None) -> Row:
        pack = pack_with(risks)
        view = pack.view(set_values(values or {}, "fill").apply(pack.new_record()))
        return next(each for each in risk_rows(pack.risks, view) if each["title"] == "It")

    return row


@pytest.mark.parametrize(
    ("keys", "block", "words", "other", "band"),
    [
        # 46 of 311 are 14.8 in 100.
        ({"events": 46, "patients": 311}, "common", "15 in 100", "85 in 100", "very common"),
        # 1 in 100 exactly is still common, a hair under it is not.
        ({"events": 10, "patients": 1000}, "common", "1 in 100", "99 in 100", "common"),
        ({"events": 9, "patients": 1000}, "rare", "90 in 10,000", "9,910 in 10,000", "uncommon"),
        # Abram et al. 2018, clots in the lung: 546 of 699,965 are 7.8 in 10,000.
        ({"events": 546, "patients": 699965}, "rare", "8 in 10,000", "9,992 in 10,000", "rare"),
        ({"low": 106, "high": 106, "per": 1000}, "common", "11 in 100", "89 in 100", "very common"),
    ],
)
def test_both_frames_out_of_the_people_of_the_table(
    said: Said, keys: dict[str, object], block: str, words: str, other: str, band: str
) -> None:
    row = said(figure(**keys))
    assert (row["block"], row["figure"]) == (block, words)
    assert row["other_frame"] == f"{other} do not have it"
    assert row["band"] == band


def test_a_share_that_rounds_to_nobody_is_fewer_than_one(said: Said) -> None:
    assert said(figure(events=1, patients=50_000))["figure"] == "Fewer than 1 in 10,000"


def test_nobody_in_a_study_is_told_with_its_upper_limit(said: Said) -> None:
    # The rule of three: 3 / 300 is 1 in 100; 3 / 6000 is 5 in 10,000.
    row = said(figure(events=0, patients=300))
    assert row["figure"] == "None of 300 people"
    assert row["interval"] == "It may still happen to up to 1 in 100"
    row = said(figure(events=0, patients=6000))
    assert row["interval"] == "It may still happen to up to 5 in 10,000"


def test_the_interval_is_that_of_the_count_or_the_published_one(said: Said) -> None:
    # Wilson, 46 of 88 (handbook example by hand): 0.419 to 0.624.
    row = said(figure(events=46, patients=88))
    assert row["interval"] == "The true number may lie between 41 and 63 in 100"
    # A pooled figure carries the interval that its authors give: Costa 2022, 11.3 to 18.3.
    row = said(figure(events=46, patients=311, per=100, interval=[11.3, 18.3]))
    assert row["interval"] == "The true number may lie between 11 and 19 in 100"


def test_nearly_everybody_is_not_everybody(said: Said) -> None:
    row = said(figure(events=199, patients=200))
    assert row["figure"] == "More than 99 in 100"
    assert "other_frame" not in row


def test_a_range_stands_where_its_upper_end_does(said: Said) -> None:
    row = said(figure(low=0, high=5, per=100))
    assert (row["block"], row["figure"]) == ("common", "Fewer than 1 to 5 in 100")
    row = said(figure(low=0.001, high=0.002, per=100))
    assert row["figure"] == "Fewer than 1 in 10,000"


def test_own_results_count_out_of_the_people_of_their_table(said: Said) -> None:
    audit = AUDIT.replace("events = 4", "events = 0").replace("patients = 52", "patients = 3000")
    row = said(figure(events=9, patients=1000) + audit)
    # Wilson, 0 of 3000: up to 12.8 in 10,000.
    assert "or 0 in 10,000 (likely range 0 to 13)" in row["audit"]


def test_a_range_is_told_as_one_and_has_no_band(said: Said) -> None:
    row = said(figure(low=2.6, high=7.9, per=100))
    assert (row["figure"], row.get("band", "")) == ("3 to 8 in 100", "")


@pytest.mark.parametrize("evidence", ["second_hand", "memory", "common_practice"])
def test_a_figure_that_was_not_read_is_withheld_and_the_risk_named(
    said: Said, evidence: str
) -> None:
    row = said(figure(events=46, patients=311, evidence=evidence))
    assert row["plain"] == "It hurts."
    assert row["figure"] == "We do not have a good number."
    assert "15" not in " ".join(row.values())
    assert row["block"] == "unknown"


NEAREST = """
[risk.nearest]
events = 27
patients = 39
population = 'people with nothing else'
follow_up = '6 years'
definition = 'another operation'
remark = 'Some were lucky.'
source = 'Somebody et al. 2024'
"""


def test_the_nearest_study_stands_beside_the_pool_with_its_size(
    pack_with: Callable[[str], Pack],
) -> None:
    pack = pack_with(figure(events=46, patients=311) + NEAREST)
    pool, nearest = risk_rows(pack.risks, pack.view(pack.new_record()))
    assert pool["figure"] == "15 in 100"
    assert nearest["title"] == "Another operation, in the study nearest to this plan"
    assert nearest["figure"] == "69 in 100"
    assert nearest["population"] == "39 people, 27 of whom had it"
    # Wilson, as the handbook works it out: 54 to 81 per cent, rounded outward.
    assert nearest["interval"] == "The true number may lie between 53 and 82 in 100"
    assert (nearest["definition"], nearest["follow_up"]) == ("another operation", "6 years")
    assert nearest["remark"] == "Some were lucky."
    assert nearest["source"] == "Somebody et al. 2024"


AUDIT = """
[[audit]]
risk = 'it'
whose = 'This department'
events = 4
patients = 52
period = '2022 to 2025'
definition = 'had another operation'
"""


def test_own_results_are_labelled_with_count_period_and_interval(said: Said) -> None:
    # 4 of 52 are 7.7 in 100; Wilson 3.0 to 18.2.
    row = said(figure(events=46, patients=311) + AUDIT)
    assert row["audit"] == (
        "This department, 2022 to 2025: 4 of 52 had another operation, or 8 in 100 "
        "(likely range 3 to 19)."
    )


MODIFIERS = """
raised = [
  { words = 'a tight cuff', when = 'cuff.pressure > 280' },
  { words = 'an older age' },
  { words = 'diabetes' },
]
lowered = [{ words = 'no cuff', when = 'cuff.used == false' }]
"""


def test_what_this_patient_has_is_said_apart_from_what_others_may_have(said: Said) -> None:
    risk = figure(events=46, patients=311) + MODIFIERS
    row = said(risk, {"cuff.used": True, "cuff.pressure": Quantity(300, "mmHg")})
    assert row["yours"] == "For you it may be higher: a tight cuff."
    assert row["raised"] == "an older age or diabetes"
    assert row["lowered"] == "no cuff"
    row = said(risk, {"cuff.used": False})
    assert row["yours"] == "For you it may be lower: no cuff."
    assert row["raised"] == "a tight cuff, an older age or diabetes"


def test_what_the_sheet_leaves_out_says_whom_it_is_told(pack_with: Callable[[str], Pack]) -> None:
    pack = pack_with(
        figure(
            events=46,
            patients=311,
            applies_when="side == 'left'",
            for_whom="when the left side is operated",
        )
    )
    record = set_values({"side": "right"}, "fill").apply(pack.new_record())
    (left,) = left_out(pack.risks, pack.view(record))
    assert (left.title, left.for_whom) == ("It", "when the left side is operated")
    record = set_values({"side": "left"}, "fill").apply(record)
    assert left_out(pack.risks, pack.view(record)) == []
    # What may apply is not left out.
    assert left_out(pack.risks, pack.view(pack.new_record())) == []


def test_only_common_figures_that_were_read_get_a_picture(
    pack_with: Callable[[str], Pack],
) -> None:
    def people(**keys: object) -> list[int]:
        pack = pack_with(figure(picture="had it", **keys))
        return [each.people for each in pictured(pack.risks, pack.view(pack.new_record()))]

    assert people(events=46, patients=311) == [15]
    assert people(events=9, patients=1000) == []
    assert people(events=46, patients=311, evidence="memory") == []


def test_figures_past_their_review_say_so(pack_with: Callable[[str], Pack]) -> None:
    pack = pack_with("edition = '2026.1'\nreview_by = 2026-03-01\n" + figure(low=1, high=1, per=10))

    def overdue(day: date) -> str:
        record = set_values({"operation.date": day}, "fill").apply(pack.new_record())
        (row,) = sheet_rows(pack, pack.view(record))
        assert (row["edition"], row["review_by"]) == ("2026.1", "1 March 2026")
        return row["is_overdue"]

    assert overdue(date(2026, 3, 1)) == ""
    assert overdue(date(2026, 3, 2)) == "yes"
