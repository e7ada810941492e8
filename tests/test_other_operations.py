"""What the patient, the ward and the family doctor read of an operation besides the meniscus."""

from __future__ import annotations

import json
from functools import lru_cache
from typing import Any

import pytest

from opnote.assess import assess
from opnote.compose import compose
from opnote.compose.document import sentence_text
from opnote.pack.case import read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack

OSTEOTOMY: dict[str, Any] = {
    "id": "r40",
    "kind": "osteotomy",
    "planned": True,
    "incisions": "6 cm over the inner tibia",
    "bone": "tibia",
    "wedge": "open_medial",
    "hka_before": "174 degrees",
    "hka_target": "182 degrees",
    "hka_achieved": "182 degrees",
    "wedge_mm": "8 mm",
    "hinge": "whole",
    "plate": "locking",
    "filling": "none",
    "description": "Opened slowly over two pins.",
}


@lru_cache
def shipped() -> Pack:
    return load_pack(("meniscal_repair",))


def said(
    kind: str, sample: str, values: dict[str, Any], rows: dict[str, list[Any]] | None = None
) -> str:
    """The sentences of a document of a changed sample, one a line."""
    path = shipped_root() / "forms" / "samples" / f"{sample}.json"
    content = json.loads(path.read_text(encoding="utf-8"))
    content["values"].update(values, **(rows or {}))
    record, pack = read_case(json.dumps(content), sample, lambda names: shipped())
    view = pack.view(record)
    document = compose(pack, view, assess(pack, view), kind)
    return "\n".join(sentence_text(sentence) for sentence in document.sentences())


def test_a_planned_osteotomy_brings_its_own_risks_without_figures() -> None:
    text = said("risk_sheet", "case_c", {"planned.others": ["osteotomy"]})
    for title in (
        "Bone that heals slowly",
        "A crack in the bone",
        "A leg that is not as straight as planned",
        "A plate that rubs",
        "Harm to a nerve or vessel by the bone",
        "A longer wait",
    ):
        assert f"{title}." in text
    plain = said("risk_sheet", "case_c", {})
    assert "bone may heal slowly" not in plain
    assert "Leaving the bone as it is" in text
    assert "Leaving the bone as it is" not in plain


def test_beside_an_osteotomy_nothing_is_claimed_that_holds_for_trimming_alone() -> None:
    alone = said("risk_sheet", "case_c", {})
    text = said("risk_sheet", "case_c", {"planned.others": ["osteotomy"]})
    for words in (
        "The operation is done through small cuts, with a small camera.",
        "have to wait for some weeks",
        "You walk on the leg at once.",
        "You are back at most work within weeks.",
        "22 in 100",  # wear after trimming alone, Chatain 2003: 215 in 1000
        "5 in 100",  # another operation on the pad after trimming: 51 in 1000
    ):
        assert words in alone
        assert words not in text
    assert "The bone is cut through one longer cut." in text
    assert "You can't put your full weight on the leg until the bone is firm." in text


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ("other_ligament", "The ligament may stay loose, stretch or tear again."),
        ("cartilage", "The new surface may not grow, or may come loose."),
        ("other", "The other operation has risks of its own."),
    ],
)
def test_each_other_operation_has_a_risk_in_words(other: str, words: str) -> None:
    assert words in said("risk_sheet", "case_a", {"planned.others": [other]})
    assert words not in said("risk_sheet", "case_a", {})


def test_another_operation_is_named_on_the_sheet_and_in_the_note() -> None:
    values = {"planned.others": ["other"], "planned.others_named": "removal of a cyst"}
    sheet = said("risk_sheet", "case_a", values)
    assert "We also plan another operation: removal of a cyst." in sheet
    assert "Besides: another operation (removal of a cyst)." in said("note", "case_a", values)
    unnamed = said("note", "case_a", {"planned.others": ["other"]})
    assert "Besides: another operation (________)." in unnamed


@pytest.mark.parametrize("kind", ["letter", "recovery_card", "recovery_plan"])
def test_an_osteotomy_is_handed_over_with_bone_wedge_axis_and_plate(kind: str) -> None:
    text = said(
        kind, "case_a", {"planned.others": ["osteotomy"]}, {"other_procedures": [OSTEOTOMY]}
    )
    assert (
        "Osteotomy of the tibia, opened medially by 8 mm; leg axis from 174 degrees to 182 degrees;"
        " hinge whole; held with a locking plate." in text
    )


def test_the_patient_reads_that_the_bone_was_cut() -> None:
    text = said("recovery_plan", "case_a", {}, {"other_procedures": [OSTEOTOMY]})
    assert (
        "We cut the bone, set the leg straighter, and held the bone with a locking plate." in text
    )


def test_trimming_the_inner_root_is_said_to_be_like_losing_the_pad() -> None:
    # Allaire et al. 2008 tested the root of the medial meniscus alone.
    words = "it was much as if the whole pad were gone"
    root = {"planned.pattern": "root", "planned.meniscus": "medial"}
    assert words in said("risk_sheet", "case_c", root)
    assert words not in said("risk_sheet", "case_c", {**root, "planned.meniscus": "lateral"})
    assert words not in said("risk_sheet", "case_c", {})
    assert words not in said("risk_sheet", "case_a", {**root, "planned.treatment": "repair"})


def test_the_two_sides_have_titles_of_their_own() -> None:
    text = said("risk_sheet", "case_c", {"planned.meniscus": "both"})
    assert "Wear of the inner side after trimming." in text
    assert "Wear of the outer side after trimming." in text


def test_for_a_young_patient_who_decides_signs_too() -> None:
    born = {"patient.born": "2014-02-14", "consent.decided_by": "Mrs T. Brackenfold, mother"}
    text = said("risk_sheet", "case_a", born)
    assert "Mrs T. Brackenfold, mother" in text
    assert "Signature of the person who decides for you, or with you" in text
    assert "Most of these people were adults: ask what is known for your age." in text
    grown = said("risk_sheet", "case_a", {})
    assert "Signature of the person who decides" not in grown
    assert "Most of these people were adults" not in grown


def test_who_decided_for_an_adult_signs_as_well() -> None:
    values = {"consent.capacity": "other", "consent.decided_by": "Mr V. Ashgrove, attorney"}
    text = said("risk_sheet", "case_a", values)
    assert "Mr V. Ashgrove, attorney" in text
    assert "Signature of the person who decides for you, or with you" in text


@pytest.mark.parametrize(
    ("answer", "words"), [("agreed", "You agreed"), ("refused", "You said no")]
)
def test_the_sheet_says_what_was_agreed_on_trainees_and_names_the_witness(
    answer: str, words: str
) -> None:
    values = {
        "consent.rules": "us_well",
        "consent.trainee_exam": answer,
        "consent.witness": "Ms O. Fennimore",
    }
    text = said("risk_sheet", "case_a", values)
    lines = text.split("\n")
    assert lines[lines.index("Examined by trainees under the anaesthetic") + 1] == words
    assert lines[lines.index("Witness") + 1] == "Ms O. Fennimore"
    assert "Signature of the witness" in lines
    assert "Signature of the witness" not in said("risk_sheet", "case_a", {})
