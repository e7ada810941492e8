"""What was given against what the patient is allergic to."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from opnote.reckon.allergy import allergy_conflict, cross_reaction, drug_class

PIECES = [
    "penicillin", "cefazolin", "latex", "no", "not", "allergic to", "tolerated", ",", ".", ";", ":",
    "or", "rash", "but", "except", "codeine", "none", "mother", "\0", "_", " ",
]  # fmt: skip
TEXTS = st.text() | st.lists(st.sampled_from(PIECES)).map(" ".join)


@pytest.mark.parametrize(
    ("allergies", "given_", "group"),
    [
        ("Penicillin: rash", "flucloxacillin 2 g", "penicillin"),
        ("penicillin-allergic", "co-amoxiclav", "penicillin"),
        ("penicillin", "penicillin", "penicillin"),
        ("amoxicillin: hives", "flucloxacillin", "penicillin"),
        ("cefuroxime", "cefazolin", "cephalosporin"),
        ("beta-lactam antibiotics", "cefazolin", "cephalosporin"),
        ("vancomycin flushing", "teicoplanin", "glycopeptide"),
        ("aspirin: asthma", "celecoxib", "NSAID"),
        ("nsaid", "nsaid", "NSAID"),
        ("chlorhexidine", "2% chlorhexidine in 70% alcohol", "chlorhexidine"),
        ("iodine", "povidone_iodine", "iodine"),
        ("sticking plaster", "acrylic adhesive dressing", "acrylic adhesive"),
        ("latex", "latex-containing gloves", "latex"),
        ("opiates", "fentanyl", "opioid"),
        ("codeine: nausea", "codeine", "opioid"),
        ("local anaesthetics", "levobupivacaine", "amide local anaesthetic"),
    ],
)
def test_a_member_of_a_group_named_in_an_allergy(allergies: str, given_: str, group: str) -> None:
    assert allergy_conflict(allergies, given_) == group
    assert cross_reaction(allergies, given_) is None


@pytest.mark.parametrize(
    ("allergies", "given_", "group"),
    [
        ("penicillin rash", "cefazolin", "penicillin"),
        ("cephalosporin", "flucloxacillin", "cephalosporin"),
        ("sulfonamides", "celecoxib", "sulfonamide"),
        ("codeine: nausea", "morphine", "opioid"),
        ("lidocaine", "bupivacaine", "amide local anaesthetic"),
    ],
)
def test_what_only_crosses_is_a_weaker_answer(allergies: str, given_: str, group: str) -> None:
    assert allergy_conflict(allergies, given_) is None
    assert cross_reaction(allergies, given_) == group


@pytest.mark.parametrize(
    ("allergies", "given_"),
    [
        ("", "flucloxacillin"),
        ("none", "flucloxacillin"),
        ("No known drug allergies", "flucloxacillin"),
        ("not allergic to penicillin", "flucloxacillin"),
        ("denies penicillin allergy", "flucloxacillin"),
        ("penicillin: tolerated since", "amoxicillin"),
        ("Penicillin allergy excluded by challenge", "flucloxacillin"),
        ("penicillin label: de-labelled in 2021", "flucloxacillin"),
        ("penicillin - none", "flucloxacillin"),
        ("mother allergic to penicillin", "flucloxacillin"),
        ("No allergy to latex, penicillin or iodine", "povidone iodine"),
        ("No allergy to latex, penicillin or iodine", "flucloxacillin"),
        ("Penicillin rash, tolerates cephalosporins", "cefuroxime"),
        ("Penicillin rash tolerates cefazolin", "cefazolin"),
        ("penicillin", "teicoplanin"),
        ("penicillin", "no flucloxacillin"),
        ("latex", "latex-free gloves"),
        ("iodine contrast medium", "povidone iodine"),
        ("shellfish", "povidone iodine"),
        ("plaster of Paris itch", "acrylic adhesive"),
        ("sulfonamides", "ibuprofen"),
    ],
)
def test_quiet_where_nothing_is_or_it_is_denied(allergies: str, given_: str) -> None:
    assert allergy_conflict(allergies, given_) is None
    assert cross_reaction(allergies, given_) is None


@pytest.mark.parametrize(
    "allergies",
    [
        "No latex allergy, penicillin: rash",
        "Not allergic to latex and has a rash from penicillin",
        "No known allergies except penicillin",
        "No drug allergies but penicillin rash",
        "No known drug allergies, penicillin: rash",
        "Tolerates cefazolin, penicillin rash",
        "Penicillin rash tolerates cefazolin",
        "Penicillins tolerated, flucloxacillin rash",
        "possible penicillin allergy",
        "not sure whether allergic to penicillin",
        "penicillin allergy cannot be excluded",
        "penicillin not tolerated",
        "does not tolerate penicillin",
        "Penicillin: no anaphylaxis, a rash only",
    ],
)
def test_a_denial_of_something_else_and_a_doubt_do_not_silence(allergies: str) -> None:
    assert allergy_conflict(allergies, "flucloxacillin") == "penicillin"


@given(TEXTS, TEXTS)
def test_an_answer_is_a_group_that_allergies_can_name(allergies: str, given_: str) -> None:
    for group in (allergy_conflict(allergies, given_), cross_reaction(allergies, given_)):
        assert group in (None, "penicillin", "cephalosporin", "latex", "opioid")


@given(TEXTS)
def test_nothing_conflicts_with_nothing(text: str) -> None:
    assert allergy_conflict(text, "") is None
    assert allergy_conflict("", text) is None
    assert cross_reaction(text, "") is None
    assert cross_reaction("", text) is None


def test_two_groups_are_no_one_group() -> None:
    assert drug_class("chlorhexidine in alcohol") is None
    assert drug_class("local anaesthetic") is None


@pytest.mark.parametrize(
    "words",
    [
        "no penicillin - anaphylaxis",
        "No penicillin!",
        "never give penicillin",
        "must not have penicillin",
        "husband reports penicillin anaphylaxis",
        "Family says penicillin",
        "penicillin: no longer tolerates, rash",
        "penicillin poorly tolerated",
        "penicillin excluded from drug chart",
        "penicillin without reaction details",
        "penicillin no reaction recorded in notes but avoid",
    ],
)
def test_words_that_only_look_like_a_denial_count_as_an_allergy(words: str) -> None:
    assert allergy_conflict(words, "flucloxacillin") == "penicillin"
