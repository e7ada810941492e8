"""Doses, units and sides that get misread, and the prose around them."""

import tomllib
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from opnote.reckon.notation import Fault, notation_faults

HONEST = tomllib.loads(
    (Path(__file__).parent / "data/honest_doses.toml").read_text(encoding="utf-8")
)["sentences"]

PIECES = [
    "1", "0", "5", ".", ",", "5.0", ".5", "100000", "mg", "MG", "g", "mL", "units", "U", "IU",
    "mcg", "µg", "cc", " ", "MS", "QD", "q6°", "OD", "IN", "@", "&", "+", "/", "<", ">", "R", "L",
    "knee", "(R)", "٣", "²", "\0",
]  # fmt: skip
TEXTS = st.text() | st.lists(st.sampled_from(PIECES)).map("".join)


def test_at_least_sixty_honest_sentences() -> None:
    assert len(set(HONEST)) >= 60


@pytest.mark.parametrize("sentence", HONEST)
def test_honest_prose_is_left_alone(sentence: str) -> None:
    assert notation_faults(sentence) == ()


def test_a_fault_says_where_it_is_and_what_to_write() -> None:
    assert notation_faults("Give .5 mg now") == (
        Fault(5, 10, ".5 mg", "write 0.5 mg", "Joint Commission, Do Not Use list, 2004"),
    )


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("2.50mg", "write 2.5 mg"),  # a trailing zero and no space
        (".5mg", "write 0.5 mg"),
        (".50 mg", "write 0.5 mg"),
        ("0.50 mg", "write 0.5 mg"),
        ("5.0mcg", "write 5 micrograms"),
        ("5000U", "write 5000 units"),
        ("10ML", "write 10 mL"),
        ("cefazolin2g", "write cefazolin 2 g"),
    ],
)
def test_what_is_wrong_twice_is_mended_at_once(text: str, remedy: str) -> None:
    assert [fault.remedy for fault in notation_faults(text)] == [remedy]


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("38 MM", "write 38 mm"),
        ("the L knee", "write left"),
        ("Rt medial meniscus", "write right"),
        ("(R) leg", "write right"),
        ("knee (L)", "write the side in full"),
    ],
)
def test_sides_and_lengths_are_written_out(text: str, remedy: str) -> None:
    assert [fault.remedy for fault in notation_faults(text)] == [remedy]


@pytest.mark.parametrize(
    ("text", "is_fault"),
    [
        ("MS 4 mg was given", True),
        ("MS was given", True),
        ("MS known since 2015, MS nurse informed", False),
        ("Multiple sclerosis: MS 4 tablets a day", False),
    ],
)
def test_ms_is_a_drug_or_a_disease(text: str, is_fault: bool) -> None:
    assert bool(notation_faults(text)) is is_fault


def test_each_of_several_faults_is_found_in_the_order_of_the_text() -> None:
    found = [fault.found for fault in notation_faults("20 cc, then .5 mg MSO4 q.d. & 5.0 mg")]
    assert found == ["20 cc", ".5 mg", "MSO4", "q.d.", "&", "5.0 mg"]


def test_empty_text_holds_nothing() -> None:
    assert notation_faults("") == ()


@given(TEXTS)
def test_spans_lie_within_the_text_and_do_not_overlap(text: str) -> None:
    faults = notation_faults(text)
    assert all(text[fault.start : fault.end] == fault.found != "" for fault in faults)
    assert all(a.end <= b.start for a, b in pairwise(faults))


@given(
    st.decimals(min_value="0.001", max_value="9999", places=3).filter(bool),
    st.sampled_from(["mg", "mL", "units"]),
)
def test_the_form_offered_for_a_dose_has_no_fault_of_the_same_kind(
    value: object, unit: str
) -> None:
    for fault in notation_faults(f"{value} {unit}"):
        again = notation_faults(fault.remedy.removeprefix("write "))
        assert all(later.source != fault.source for later in again)
