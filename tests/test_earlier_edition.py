"""A case that was written with an earlier edition of the forms opens, and nothing of it is lost."""

from __future__ import annotations

import json

from opnote.assess import assess
from opnote.pack.case import case_text, read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack


def test_answers_that_have_no_place_any_more_are_kept_and_named() -> None:
    text = (shipped_root() / "forms/samples/case_b.json").read_text(encoding="utf-8")
    case = json.loads(text)
    case["editions"] = {"meniscal_repair": "2026.1", "common": "2026.1"}
    # As edition 2026.1 had them: one structure, and a task that is two tasks now.
    case["values"]["release.structure"] = "superficial"
    case["values"]["assistants"][0]["tasks"] = ["assisting", "graft"]
    record, pack = read_case(json.dumps(case), "case_b", load_pack)
    (row,) = record.rows["assistants"]
    tasks = f"assistants.{row}.tasks"
    assert record.leftover["release.structure"].value == "superficial"
    assert record.leftover[tasks].value == ["assisting", "graft"]
    assert "2026.1" in record.leftover[tasks].edition
    found = {finding.id: finding.message for finding in assess(pack, pack.view(record)).open}
    assert "superficial" in found["leftover:release.structure"]
    assert json.loads(case_text(record, pack.form))["leftover"][tasks]["value"] == [
        "assisting",
        "graft",
    ]
