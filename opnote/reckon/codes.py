"""Codes of diagnoses and operations on the menisci, offered to a coder and never decided.

Where the record doesn't say enough for a code (above all the side) nothing is offered; there is no
falling back on an "unspecified" code. The texts of the code sets are not kept here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from itertools import combinations
from types import MappingProxyType
from typing import Literal

Side = Literal["left", "right"]

NOT_STATED = "not_stated"
"""Says of a meniscus or a segment that the record doesn't name it."""

_SIDE_DIGIT: Mapping[str, str] = MappingProxyType({"right": "1", "left": "2"})

_TEAR_FAMILY: Mapping[str, str] = MappingProxyType(
    {
        "bucket_handle": "bucket_handle",
        "peripheral": "peripheral",
        "ramp": "peripheral",
        "complex": "complex",
        "longitudinal": "other",
        "radial": "other",
        "horizontal": "other",
        "vertical_flap": "other",
        "horizontal_flap": "other",
        "root": "other",
        "other": "other",
    }
)
"""Which tear of ICD-10-CM a pattern is; a ramp lesion as a peripheral one is common practice."""

_CURRENT: Mapping[tuple[str, str], str] = MappingProxyType(
    {
        ("medial", "bucket_handle"): "S83.21",
        ("medial", "peripheral"): "S83.22",
        ("medial", "complex"): "S83.23",
        ("medial", "other"): "S83.24",
        ("lateral", "bucket_handle"): "S83.25",
        ("lateral", "peripheral"): "S83.26",
        ("lateral", "complex"): "S83.27",
        ("lateral", "other"): "S83.28",
    }
)
"""First five characters of a current tear. Source: ICD-10-CM, tabular list, S83.2."""

_CURRENT_NOT_STATED: Mapping[tuple[str, str], str] = MappingProxyType(
    {
        ("bucket_handle", "right"): "S83.200",
        ("bucket_handle", "left"): "S83.201",
        ("other", "right"): "S83.203",
        ("other", "left"): "S83.204",
    }
)
"""Six characters where the meniscus isn't named. Source: ICD-10-CM, tabular list, S83.20."""

_OLD: Mapping[tuple[str, str], str] = MappingProxyType(
    {
        ("medial", "anterior_horn"): "M23.21",
        ("medial", "posterior_horn"): "M23.22",
        ("medial", "body"): "M23.23",
        ("lateral", "anterior_horn"): "M23.24",
        ("lateral", "posterior_horn"): "M23.25",
        ("lateral", "body"): "M23.26",
    }
)
"""First five characters of an old tear; the body is "other". Source: ICD-10-CM, M23.2."""

_OLD_NOT_STATED: Mapping[tuple[str, str], str] = MappingProxyType(
    {
        ("lateral", "right"): "M23.200",
        ("lateral", "left"): "M23.201",
        ("medial", "right"): "M23.203",
        ("medial", "left"): "M23.204",
        (NOT_STATED, "right"): "M23.206",
        (NOT_STATED, "left"): "M23.207",
    }
)
"""Six characters where the part isn't named. Source: ICD-10-CM, tabular list, M23.20."""

_ENCOUNTER: Mapping[str, str] = MappingProxyType(
    {"initial": "A", "subsequent": "D", "sequela": "S"}
)

_PCS_KNEE: Mapping[str, str] = MappingProxyType({"right": "C", "left": "D"})
_PCS_APPROACH: Mapping[str, str] = MappingProxyType(
    {"open": "0", "percutaneous": "3", "arthroscopic": "4", "external": "X"}
)
_PCS_ACT: Mapping[str, tuple[str, str, str]] = MappingProxyType(
    {
        "repair": ("Q", "034X", "ZZ"),
        "excision": ("B", "034", "ZZ"),
        "biopsy": ("B", "034", "ZX"),
        "inspection": ("J", "034X", "ZZ"),
        "loose_body_removal": ("C", "034", "ZZ"),
        "release": ("N", "034X", "ZZ"),
        "drainage": ("9", "034", "ZZ"),
        "supplement_autologous": ("U", "034", "7Z"),
        "supplement_synthetic": ("U", "034", "JZ"),
        "supplement_donor": ("U", "034", "KZ"),
        "total_excision": ("T", "0", "ZZ"),
    }
)
"""Root operation, approaches that exist, and device with qualifier, for each act on a knee joint.

Source: CMS list of ICD-10-PCS codes, tables 0SQ, 0SB, 0SJ, 0SC, 0SN, 0S9, 0SU and 0ST. That a
meniscus is coded to the knee joint: body part key (from memory).
"""

_OPCS_ACT: Mapping[str, str] = MappingProxyType(
    {
        "total_excision": "W82.1",
        "excision": "W82.2",
        "repair": "W82.3",
        "other": "W82.8",
    }
)
"""Endoscopic operations on a meniscus.

Source: Academy of Medical Royal Colleges, evidence-based interventions, coding of arthroscopy.
"""

_OPCS_SIDE: Mapping[str, str] = MappingProxyType({"right": "Z94.2", "left": "Z94.3"})
"""Side of an operation, as an added code. Source: OPCS-4, chapter Z (from memory)."""

_TEAR_CODE = re.compile(r"(?P<set>S83\.2|M23\.[23])(?P<kind>[0-9])(?P<last>[0-9])?[ADS]?")
_PCS_CODE = re.compile(r"0S[0-9A-HJ-NP-Z](?P<knee>[CD])[0-9A-HJ-NP-Z]{3}")


def icd10cm(
    side: str,
    meniscus: str,
    pattern: str,
    age: str,
    segment: str = NOT_STATED,
    encounter: str = "initial",
) -> str | None:
    """Give the ICD-10-CM code of one tear; None where the words don't lead to one.

    `age` is "acute" or "old". A current tear is told by its pattern and carries a seventh
    character for the encounter ("initial", as long as it is treated; "subsequent"; "sequela"); an
    old one is told by its segment. `meniscus` and `segment` may be "not_stated"; a side must be
    there.

    Source: ICD-10-CM, tabular list, S83.2 and M23.2.

    >>> icd10cm("right", "medial", "bucket_handle", "acute")
    'S83.211A'
    >>> icd10cm("left", "medial", "longitudinal", "old", "posterior_horn")
    'M23.222'
    """
    if side not in _SIDE_DIGIT:
        return None
    if age == "old":
        return _old_tear(side, meniscus, segment)
    family, seventh = _TEAR_FAMILY.get(pattern), _ENCOUNTER.get(encounter)
    if age != "acute" or family is None or seventh is None:
        return None
    if meniscus == NOT_STATED:
        stem = "bucket_handle" if family == "bucket_handle" else "other"
        return _CURRENT_NOT_STATED[stem, side] + seventh
    five = _CURRENT.get((meniscus, family))
    return None if five is None else five + _SIDE_DIGIT[side] + seventh


def icd10_who(age: str) -> str | None:
    """Give the code of a meniscal tear in WHO's ICD-10, which has neither side nor pattern.

    Source: WHO ICD-10, S83.2 (current) and M23.2 (old).

    >>> icd10_who("acute"), icd10_who("old")
    ('S83.2', 'M23.2')
    """
    return {"acute": "S83.2", "old": "M23.2"}.get(age)


def icd10pcs(side: str, act: str, approach: str = "arthroscopic") -> str | None:
    """Give the ICD-10-PCS code of an act on the menisci of one knee; None where there is none.

    Acts: "repair", "excision" (of a part), "total_excision" (open only), "biopsy", "inspection",
    "loose_body_removal", "release", "drainage", and "supplement_" with "autologous", "synthetic"
    or "donor". Approaches: "open", "percutaneous", "arthroscopic", "external". An inspection isn't
    coded beside an act on the same knee (from memory); that is for the coder.

    Source: CMS list of ICD-10-PCS codes.

    >>> icd10pcs("right", "repair"), icd10pcs("right", "total_excision")
    ('0SQC4ZZ', None)
    """
    knee, way, found = _PCS_KNEE.get(side), _PCS_APPROACH.get(approach), _PCS_ACT.get(act)
    if knee is None or way is None or found is None:
        return None
    root, ways, ending = found
    return f"0S{root}{knee}{way}{ending}" if way in ways else None


def opcs4(side: str, act: str) -> tuple[str, ...]:
    """Give the OPCS-4 codes of an arthroscopic act on a meniscus: operation, then side.

    Acts: "repair", "excision" (of a part), "total_excision", "other". Empty where the words don't
    lead to a code.

    Source: see `_OPCS_ACT` and `_OPCS_SIDE`.

    >>> opcs4("right", "repair")
    ('W82.3', 'Z94.2')
    """
    if side not in _OPCS_SIDE or act not in _OPCS_ACT:
        return ()
    return _OPCS_ACT[act], _OPCS_SIDE[side]


def side_of_code(code: str) -> Side | None:
    """Tell which side a code speaks of; None where it speaks of none, or isn't known here.

    Known are the tears and derangements of menisci in ICD-10-CM (with or without the dot), knee
    joints in ICD-10-PCS, and the sides of OPCS-4.

    Source: ICD-10-CM, S83.2, M23.2, M23.3; ICD-10-PCS, body parts of 0S; OPCS-4, Z94.

    >>> side_of_code("S83.211A"), side_of_code("M23.204"), side_of_code("0SQC4ZZ")
    ('right', 'left', 'right')
    """
    tear = _tear_code(code)
    if tear:
        sides: tuple[tuple[str, Side], ...] = (("1", "right"), ("2", "left"))
        if tear["kind"] == "0":
            # "Right, left, unspecified" follow each other in threes; S83.208 doesn't exist.
            sides = (("036", "right"), ("147", "left"))
        return next((side for digits, side in sides if (tear["last"] or "-") in digits), None)
    knee = _PCS_CODE.fullmatch(_plain(code))
    if knee:
        return "right" if knee["knee"] == "C" else "left"
    added: Mapping[str, Side] = {"Z942": "right", "Z943": "left"}
    return added.get(_plain(code))


def excludes1(codes: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Find pairs of codes that can't both be given: a current and an old tear of one meniscus.

    A code that doesn't name its meniscus or side may speak of any. Both menisci, or both knees,
    may have one of each.

    Shape: pairs (current, old), in the order of `codes`.
    Source: ICD-10-CM, Excludes1 at S83.2: old bucket-handle tear (M23.2).

    >>> excludes1(["S83.211A", "M23.221", "M23.251"])
    (('S83.211A', 'M23.221'),)
    """
    pairs = []
    for one, other in combinations(tuple(codes), 2):
        current, old = (other, one) if _set_of(other) == "S83.2" else (one, other)
        if _set_of(current) == "S83.2" and _set_of(old) == "M23.2" and _may_be_one(current, old):
            pairs.append((current, old))
    return tuple(pairs)


def _old_tear(side: str, meniscus: str, segment: str) -> str | None:
    if segment == NOT_STATED or meniscus == NOT_STATED:
        return _OLD_NOT_STATED.get((meniscus, side))
    five = _OLD.get((meniscus, segment))
    return None if five is None else five + _SIDE_DIGIT[side]


def _plain(code: str) -> str:
    return code.strip().upper().replace(".", "")


def _tear_code(code: str) -> re.Match[str] | None:
    plain = _plain(code)
    return _TEAR_CODE.fullmatch(f"{plain[:3]}.{plain[3:]}")


def _set_of(code: str) -> str | None:
    plain = _plain(code)
    if plain.startswith("S832"):
        return "S83.2"
    return "M23.2" if plain.startswith("M232") else None


def _meniscus_of(code: str) -> str | None:
    tear = _tear_code(code)
    if tear is None:
        return None
    digit = tear["kind"]
    medial, lateral = ("1234", "5678") if tear["set"] == "S83.2" else ("123", "456")
    if digit == "0":
        digit = tear["last"] or "-"
        # A current tear coded S83.20 never names its meniscus.
        medial, lateral = ("", "") if tear["set"] == "S83.2" else ("345", "012")
    if digit in medial:
        return "medial"
    return "lateral" if digit in lateral else None


def _may_be_one(one: str, other: str) -> bool:
    return all(
        first is None or second is None or first == second
        for first, second in (
            (side_of_code(one), side_of_code(other)),
            (_meniscus_of(one), _meniscus_of(other)),
        )
    )
