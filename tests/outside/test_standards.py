"""The shipped standards and the form of tears against what was published."""

from __future__ import annotations

import pytest

from opnote.assess import scores_of
from opnote.pack.case import read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack, Standard
from opnote.record import set_value


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_pack(("meniscal_repair",), [shipped_root()])


def standard(pack: Pack, name: str) -> Standard:
    return next(each for each in pack.standards if each.id == name)


CCDA_REQUIRED = {
    # HL7 C-CDA R2.1, Operative Note, template 2.16.840.1.113883.10.20.22.1.7 (2015-08-01):
    # the sections that it SHALL contain, with their conformance rules and LOINC codes.
    "59774-0": "Anesthesia",  # 1198-30486
    "55109-3": "Complications",  # 1198-30488
    "10219-4": "Preoperative Diagnosis",  # 1198-30490
    "59770-8": "Procedure Estimated Blood Loss",  # 1198-30492
    "59776-5": "Procedure Findings",  # 1198-30494
    "59773-2": "Procedure Specimens Taken",  # 1198-30496
    "29554-3": "Procedure Description",  # 1198-30498
    "10218-6": "Postoperative Diagnosis",  # 1198-30500
}


def test_ccda_asks_for_its_required_sections_under_their_loinc_codes(pack: Pack) -> None:
    ccda = standard(pack, "ccda_r2_1")
    assert {element.code: element.title for element in ccda.elements} == CCDA_REQUIRED


@pytest.mark.parametrize("code", sorted(CCDA_REQUIRED))
def test_loinc_codes_have_the_right_check_digit(code: str) -> None:
    # LOINC Users' Guide, appendix "Calculating Mod 10 check digits".
    number, _, check = code.partition("-")
    doubled = str(int(number[::-1][::2]) * 2)
    rest = number[::-1][1::2]
    assert (10 - sum(map(int, doubled + rest)) % 10) % 10 == int(check)


RCS_2014 = (
    # Royal College of Surgeons of England, Good Surgical Practice (2014), domain 1.3: what the
    # operation note should have, as published audits of the template list it.
    ("date", "time"),
    ("elective", "emergency"),
    ("surgeon", "assistant"),
    ("anaesthetist",),
    ("procedure carried out",),
    ("incision",),
    ("diagnosis",),
    ("findings",),
    ("problem", "complication"),
    ("extra procedure",),
    ("tissue", "removed", "added", "altered"),
    ("implanted", "serial"),
    ("closure",),
    ("blood loss",),
    ("antibiotic",),
    ("prophylaxis against clots",),
    ("postoperative instructions",),
    ("signature",),
)
JC_EP6 = (
    # Joint Commission, RC.02.01.03, EP 6 (hospital manual, editions to 2025).
    ("operator", "assistants"),
    ("name", "procedure"),
    ("description",),
    ("findings",),
    ("blood loss",),
    ("specimen",),
    ("postoperative diagnosis",),
)
CMS_A0959 = (
    # US CMS, State Operations Manual, appendix A, tag A-0959 on 42 CFR 482.51(b)(6).
    ("name", "hospital number"),
    ("date", "times"),
    ("surgeons", "assistants"),
    ("preoperative diagnosis",),
    ("postoperative diagnosis",),
    ("specific procedure",),
    ("anaesthesia",),
    ("complications",),
    ("blood loss",),
    ("specimens",),
    ("techniques", "findings", "tissue"),
    ("task",),
    ("prostheses", "grafts", "devices"),
    ("signed",),
)


@pytest.mark.parametrize(
    ("name", "published"),
    [("rcs_2014", RCS_2014), ("jc_rc_02_01_03", JC_EP6), ("cms_a0959", CMS_A0959)],
)
def test_a_standard_has_each_published_element_once_and_in_order(
    pack: Pack, name: str, published: tuple[tuple[str, ...], ...]
) -> None:
    titles = [element.title.lower() for element in standard(pack, name).elements]
    assert len(titles) == len(published)
    for title, words in zip(titles, published, strict=True):
        assert all(word in title for word in words), (title, words)


def test_every_element_is_met_by_a_field_or_an_answer_of_the_form(pack: Pack) -> None:
    for each in pack.standards:
        for element in each.elements:
            assert element.fields or element.met_when, f"{each.id}.{element.id}"


@pytest.mark.parametrize("name", ["ccda_r2_1", "rcs_2014", "cms_a0959", "jc_rc_02_01_03"])
def test_what_a_standard_asks_for_cannot_be_forgotten(pack: Pack, name: str) -> None:
    """Some field of each element is asked for, always or under a condition."""
    for element in standard(pack, name).elements:
        fields = [pack.fields[path] for path in element.fields]
        tables = [pack.fields[field.table] for field in fields if field.table]
        asked = any(f.required or f.required_when or f.is_computed for f in (*fields, *tables))
        assert asked, f"{name}.{element.id}"


ISAKOS = {
    # Anderson et al., Interobserver reliability of the ISAKOS classification of meniscal tears,
    # Am J Sports Med 2011;39:926-32; the third quality of tissue from memory.
    "tears.depth": {"partial", "complete"},
    "tears.tissue": {"good", "degenerative", "undetermined"},
    "tears.pattern": {
        "longitudinal",
        "horizontal",
        "radial",
        "vertical_flap",
        "horizontal_flap",
        "complex",
    },
}


@pytest.mark.parametrize("path", sorted(ISAKOS))
def test_each_axis_of_isakos_has_its_values(pack: Pack, path: str) -> None:
    values = {option.value for option in pack.fields[path].options}
    # A bucket handle is a displaced longitudinal tear; roots and ramps were described later.
    later = {"bucket_handle", "root", "ramp"} if path == "tears.pattern" else set()
    assert values == ISAKOS[path] | later


def test_isakos_also_asks_for_the_zone_the_place_the_hiatus_and_the_length(pack: Pack) -> None:
    assert pack.fields["tears.zone"].computed == "zone_of_rim(tear.rim_mm)"
    for part in ("posterior_mm", "body_mm", "anterior_mm", "length_mm"):
        assert pack.fields[f"tears.{part}"].unit == "mm"
    hiatus = pack.fields["tears.hiatus"]
    assert "lateral" in f"{hiatus.shown_when} {hiatus.computed}"


# Items of a consent record: GMC 2020, RCS England 2016 and the Department of Health's form 1 for
# the United Kingdom; CMS, State Operations Manual, Appendix A, for the minimum and the
# well-designed form (all read as quoted elsewhere). What a patient declined to be told (CON-26) is
# recorded when it happens; nothing declined is no gap.
CONSENT = {
    "consent_uk": {*range(1, 23), 24, 25},
    "consent_us": {1, 3, 4, 7, 9, 10, 11, 21, 27},
    "consent_us_well": {1, 3, 4, 5, 7, 9, 10, 11, 18, 21, 23, 27},
}


@pytest.mark.parametrize("name", sorted(CONSENT))
def test_consent_is_held_against_the_items_of_its_jurisdiction(pack: Pack, name: str) -> None:
    codes = {element.code for element in standard(pack, name).elements}
    assert codes == {f"CON-{number:02}" for number in CONSENT[name]}


@pytest.mark.parametrize("rules", ["uk", "us", "us_well"])
def test_only_the_chosen_list_counts_and_answers_meet_it(pack: Pack, rules: str) -> None:
    text = (shipped_root() / "forms/samples/case_a.json").read_text(encoding="utf-8")
    record, _ = read_case(text, "case_a", lambda procedures: pack)
    record = set_value("consent.rules", rules, "rules").apply(record)
    record = set_value("consent.topics", ("diagnosis",), "topics").apply(record)
    scores = {score.standard.id: score for score in scores_of(pack, pack.view(record))}
    found = {name for name in CONSENT if name in scores}
    assert found == {f"consent_{rules}"}
    missing = {element.id for element in scores[f"consent_{rules}"].missing}
    assert "benefits" in missing
    assert "operator" not in missing
