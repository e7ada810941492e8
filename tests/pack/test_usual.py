"""A surgeon's usual practice: what it may hold, what it fills, and what it leaves to a person."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from opnote.pack.cache import cached_pack
from opnote.pack.case import read_case
from opnote.pack.files import shipped_root
from opnote.pack.normal import rest_is_normal
from opnote.pack.pack import Pack
from opnote.pack.usual import (
    Practice,
    PracticeError,
    fill_in,
    follow,
    keep_practice,
    practice_of,
    practice_text,
    read_practice,
)
from opnote.record import Edit, Origin, Quantity, Record, add_row, clear_value, confirm, set_value

SAMPLES = shipped_root() / "forms" / "samples"
NAME = "Miss Q. Larkspindle"

NEVER = (
    "side", "patient.name", "patient.number", "patient.born", "tears", "stitches",
    "devices", "antibiotic.drug", "antibiotic.dose", "tourniquet.inflated", "tourniquet.side",
    "counts.correct", "blood_loss.amount", "complications", "end.pulses", "end.lifts_foot",
    "bed.trephine_passes", "bed.venting_holes", "plan.vte_days", "plan.opioid_days",
    "plan.antibiotic_after", "plan.physio_letter", "closure.injection", "tourniquet.pressure",
    "protection.saphenous", "protection.medial_retractor", "joint.medial", "eua.lachman",
    "reduction.quality", "check.stable", "release.passes", "plan.vte", "plan.analgesia",
    "setup.skin", "setup.padded", "theatre.time_out", "health.allergies", "bed.adjuncts",
    "plan.red_flags",
)  # fmt: skip
"""What the design leaves to a person at each case: patient, side, findings, reduction, stability,
counts, depths, nerves, implants, medicines, times, blood loss, complications."""
NEVER_IN_A_ROW = (
    "count",
    "tear",
    "segment",
    "from_mm",
    "to_mm",
    "entry_mm",
    "limiter_mm",
    "flexion",
)


@pytest.fixture(scope="module")
def pack() -> Pack:
    return cached_pack(("meniscal_repair",))


@pytest.fixture(scope="module")
def finished(pack: Pack) -> Record:
    """Demo case A."""
    text = (SAMPLES / "case_a.json").read_text("utf-8")
    return read_case(text, "case_a", cached_pack)[0]


@pytest.fixture
def practice(pack: Pack, finished: Record) -> Practice:
    return practice_of(pack, pack.view(finished), NAME)


Step = Callable[[Record, Edit], Record]


@pytest.fixture
def step(pack: Pack, practice: Practice) -> Step:
    """Makes a change as the window does: with what follows from the practice."""

    def apply(record: Record, edit: Edit) -> Record:
        new = edit.apply(record)
        following = follow(practice, pack, pack.view(record), pack.view(new))
        return new if following is None else following.apply(new)

    return apply


def test_a_practice_holds_the_set_up_the_closure_and_the_plan_of_the_case(
    practice: Practice, finished: Record
) -> None:
    for path in ("setup.position", "access.portals", "closure.portals", "plan.weight_weeks"):
        assert practice.values[path] == finished.values[path]


@pytest.mark.parametrize("path", NEVER)
def test_what_a_person_must_enter_is_never_usual(path: str, pack: Pack, practice: Practice) -> None:
    assert path in pack.fields
    assert path not in practice.values
    assert not pack.fields[path].preset


@pytest.mark.parametrize("column", NEVER_IN_A_ROW)
def test_no_place_depth_or_count_of_a_stitch_is_usual(
    column: str, pack: Pack, practice: Practice
) -> None:
    assert f"stitches.{column}" in pack.fields
    assert all(column not in columns for columns in practice.rows["stitches"].values())


def test_the_technique_is_usual_segment_by_segment(practice: Practice) -> None:
    by = practice.rows["stitches"]
    assert by["posterior"]["technique"] == "all_inside"
    assert by["body"]["technique"] == "inside_out"


def test_filling_in_leaves_every_answer_to_be_confirmed(pack: Pack, practice: Practice) -> None:
    filled = fill_in(practice, pack).apply(pack.new_record())
    assert filled.values["setup.position"] == practice.values["setup.position"]
    assert filled.values
    assert all(filled.is_unconfirmed(path) for path in filled.values)


def test_filling_in_overwrites_nothing(pack: Pack, practice: Practice) -> None:
    typed = set_value("setup.position", "leg_holder", "").apply(pack.new_record())
    filled = fill_in(practice, pack).apply(typed)
    assert filled.values["setup.position"] == "leg_holder"
    assert filled.origin("setup.position") is Origin.TYPED


def test_a_question_that_comes_up_later_gets_its_usual_answer(
    pack: Pack, practice: Practice, step: Step
) -> None:
    filled = fill_in(practice, pack).apply(pack.new_record())
    assert "release.site" not in filled.values
    released = step(filled, set_value("release.done", True, ""))
    assert released.values["release.site"] == practice.values["release.site"]
    assert released.is_unconfirmed("release.site")
    assert "release.passes" not in released.values


def test_a_row_gets_the_technique_of_its_segment(
    pack: Pack, practice: Practice, step: Step
) -> None:
    record = step(pack.new_record(), add_row("tears", ""))
    record = step(record, set_value("tears.r1.treatment", "repaired", ""))
    record = step(record, add_row("stitches", ""))
    assert "stitches.r2.technique" not in record.values
    record = step(record, set_value("stitches.r2.segment", "posterior", ""))
    assert record.values["stitches.r2.technique"] == "all_inside"
    assert record.is_unconfirmed("stitches.r2.technique")
    assert "stitches.r2.count" not in record.values


def test_another_segment_replaces_what_nobody_confirmed(
    pack: Pack, practice: Practice, step: Step
) -> None:
    record = step(pack.new_record(), add_row("tears", ""))
    record = step(record, set_value("tears.r1.treatment", "repaired", ""))
    record = step(record, add_row("stitches", ""))
    record = step(record, set_value("stitches.r2.segment", "posterior", ""))
    record = step(record, confirm(["stitches.r2.portal"], ""))
    kept = record.values["stitches.r2.portal"]
    record = step(record, set_value("stitches.r2.segment", "body", ""))
    assert record.values["stitches.r2.technique"] == "inside_out"
    assert record.values["stitches.r2.portal"] == kept


def test_what_was_cleared_stays_clear(pack: Pack, practice: Practice, step: Step) -> None:
    filled = fill_in(practice, pack).apply(pack.new_record())
    cleared = step(filled, clear_value("setup.position", ""))
    after = step(cleared, set_value("side", "left", ""))
    assert "setup.position" not in after.values


def test_a_practice_read_back_is_the_same(tmp_path: Path, pack: Pack, practice: Practice) -> None:
    path = tmp_path / "usual.json"
    keep_practice(practice, path)
    read, faults = read_practice(path, pack)
    assert faults == ()
    assert (read.name, dict(read.values)) == (practice.name, dict(practice.values))
    assert read.rows == practice.rows


def _file(tmp_path: Path, practice: Practice, **changed: object) -> Path:
    path = tmp_path / "usual.json"
    path.write_text(json.dumps({**json.loads(practice_text(practice)), **changed}), "utf-8")
    return path


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"side": "left"}, "values.side is never usual; take it out: a person answers it"),
        ({"setup.positon": "x"}, "values.setup.positon is no question; did you mean"),
        ({"setup.position": "hovering"}, "values.setup.position: has no option"),
        ({"plan.weight_weeks": "6 days"}, 'values.plan.weight_weeks: "6 days" is in days'),
    ],
)
def test_an_answer_that_can_not_be_usual_is_named_and_left_out(
    tmp_path: Path, pack: Pack, practice: Practice, values: dict[str, str], told: str
) -> None:
    path = _file(tmp_path, practice, values={"setup.flow": "gravity", **values})
    read, faults = read_practice(path, pack)
    assert set(read.values) == {"setup.flow"}
    (fault,) = faults
    assert fault.startswith(f"{path}: {told}")


def test_a_count_written_into_a_row_is_left_out(
    tmp_path: Path, pack: Pack, practice: Practice
) -> None:
    rows = {"stitches": {"body": {"technique": "inside_out", "count": 4}}}
    read, faults = read_practice(_file(tmp_path, practice, rows=rows), pack)
    assert read.rows == {"stitches": {"body": {"technique": "inside_out"}}}
    assert "rows.stitches.body.count is never usual" in faults[0]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{", "is no JSON"),
        ("[]", "holds no practice"),
        ('{"format": 9}', "'format' is not 1"),
        ('{"format": 1, "values": []}', "'values' holds no answers"),
    ],
)
def test_a_file_that_is_no_practice_is_refused_in_one_line(
    tmp_path: Path, pack: Pack, text: str, told: str
) -> None:
    path = tmp_path / "usual.json"
    path.write_text(text, "utf-8")
    with pytest.raises(PracticeError) as refused:
        read_practice(path, pack)
    assert told in str(refused.value)
    assert "\n" not in str(refused.value)


def test_the_rest_is_normal_answers_what_was_looked_at_and_is_empty(pack: Pack) -> None:
    record = set_value("joint.medial", "abnormal", "").apply(pack.new_record())
    looked_at = ["joint.medial", "joint.lateral", "joint.notch", "access.view"]
    answered = rest_is_normal(pack, pack.view(record), looked_at).apply(record)
    assert answered.values["joint.medial"] == "abnormal"
    assert answered.values["joint.lateral"] == "normal"
    assert answered.values["joint.notch"] == "normal"
    assert "access.view" not in answered.values
    assert "joint.suprapatellar" not in answered.values


@pytest.mark.parametrize(
    "path",
    [
        "end.pulses", "end.lifts_foot", "exam.peroneal", "exam.pulses", "joint.ramp",
        "joint.root_medial_posterior", "counts.correct", "health.allergies", "check.stable",
        "end.foot", "protection.saphenous", "tourniquet.side", "antibiotic.given", "final.valgus_0",
        "final.valgus_30", "final.lachman", "final.pivot", "tourniquet.skin_after",
    ],
)  # fmt: skip
def test_what_is_easily_missed_has_no_shared_normal_answer(path: str, pack: Pack) -> None:
    assert path in pack.fields
    assert not pack.fields[path].normal


def test_what_may_be_left_out_is_not_called_normal_by_one_key(pack: Pack) -> None:
    looked_at = ["eua.lachman", "eua.rotation_90"]
    record = rest_is_normal(pack, pack.view(pack.new_record()), looked_at).apply(pack.new_record())
    assert record.values["eua.lachman"] == "a"
    assert "eua.rotation_90" not in record.values


def test_a_usual_answer_brings_up_those_that_hang_on_it(
    pack: Pack, practice: Practice, step: Step
) -> None:
    filled = fill_in(practice, pack).apply(pack.new_record())
    assert "bed.adjuncts" not in filled.values
    record = step(filled, add_row("tears", ""))
    record = step(record, set_value("tears.r1.treatment", "repaired", ""))
    assert "bed.adjuncts" not in record.values
    assert record.values["bed.rasped"] == practice.values["bed.rasped"]
    record = step(record, set_value("bed.adjuncts", ("trephination", "marrow_venting"), ""))
    for path in ("bed.rasped", "bed.trephine_gauge", "bed.venting_tool"):
        assert record.values[path] == practice.values[path]
        assert record.is_unconfirmed(path)
    assert "bed.trephine_passes" not in record.values
    assert "bed.venting_holes" not in record.values


@pytest.mark.parametrize(
    "path",
    ["bed.rasped", "plan.wound", "plan.wound_days", "plan.imaging"],
)
def test_preparing_the_bed_and_the_care_of_the_wound_may_be_usual(
    path: str, practice: Practice, finished: Record
) -> None:
    assert practice.values[path] == finished.values[path]


def test_a_measure_is_kept_with_its_unit(practice: Practice) -> None:
    assert practice.values["plan.weight_weeks"] == Quantity(6, "weeks")
