"""Every check of the shipped pack is proved by cases that raise it and near cases that don't.

The cases stand in `raised.toml`, written for clinicians. A case is a shipped sample, or a variant
of one, with a few answers changed; it is read as a case file is read, so that fields that the
changes hide are hidden here as well.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from opnote.assess import Assessment, assess
from opnote.pack import case_model
from opnote.pack.case import read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack
from opnote.pack.pack import Check, Pack
from opnote.pack.value_json import value_to_json
from opnote.record import Record

SAMPLES = shipped_root() / "forms" / "samples"
DATA: Mapping[str, Any] = tomllib.loads(
    Path(__file__).with_name("raised.toml").read_text(encoding="utf-8")
)
RAISED: Sequence[Mapping[str, Any]] = DATA["raised"]
QUIET: Sequence[Mapping[str, Any]] = DATA["quiet"]
CASES: Mapping[str, Mapping[str, Any]] = {each["name"]: each for each in DATA["case"]}
EXPECTED: Mapping[str, Mapping[str, str]] = DATA["expected"]
KEYS = {"check", "case", "why", "set", "clear", "add_rows", "remove_rows", "also", "name"}


@pytest.fixture(autouse=True, scope="module")
def _one_model_of_the_form() -> Iterator[None]:
    """Build the model that a case file must fit once, not for each of a thousand cases."""
    model = case_model.case_model(shipped().form)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(case_model, "case_model", lambda form: model)
        yield


@lru_cache
def pack_of(procedures: Sequence[str]) -> Pack:
    return load_pack(procedures)


def shipped() -> Pack:
    return pack_of(("meniscal_repair",))


def row_of(file: dict[str, Any], table: str, row: str) -> dict[str, Any]:
    """A row of a case file by its id, which must be there: a slip in the data is a failure."""
    found = [each for each in file["values"].get(table, ()) if each["id"] == row]
    assert found, f"'{table}' has no row '{row}'"
    row_found: dict[str, Any] = found[0]
    return row_found


def change(file: dict[str, Any], entry: Mapping[str, Any]) -> None:
    """Make the changes of an entry in a case file."""
    assert set(entry) <= KEYS, f"unknown words: {set(entry) - KEYS}"
    values = file["values"]
    for path in entry.get("remove_rows", ()):
        table, row = path.split(".")
        values[table].remove(row_of(file, table, row))
        if not values[table]:
            del values[table]
    for table, rows in entry.get("add_rows", {}).items():
        values.setdefault(table, []).extend(deepcopy(rows))
    for path, value in entry.get("set", {}).items():
        parts = path.split(".")
        if len(parts) == 3:
            row_of(file, parts[0], parts[1])[parts[2]] = deepcopy(value)
        else:
            values[path] = deepcopy(value)
    for path in entry.get("clear", ()):
        parts = path.split(".")
        if len(parts) == 3:
            row_of(file, parts[0], parts[1]).pop(parts[2], None)
        else:
            values.pop(path, None)


def file_of(name: str) -> dict[str, Any]:
    """The case file of a shipped sample or of a variant of one."""
    variant = CASES.get(name)
    if variant is None:
        file: dict[str, Any] = json.loads((SAMPLES / f"{name}.json").read_text(encoding="utf-8"))
        return file
    file = file_of(variant["case"])
    change(file, variant)
    return file


def read(file: Mapping[str, Any], name: str) -> tuple[Record, Pack]:
    return read_case(json.dumps(file), name, lambda procedures: pack_of(tuple(procedures)))


def assessed(file: Mapping[str, Any], name: str) -> Assessment:
    record, pack = read(file, name)
    return assess(pack, pack.view(record))


def findings_of(assessment: Assessment) -> dict[str, set[str]]:
    """What was found: the levels under the id of the check or of the usual range.

    A gap counts where a check found it, not where a field is empty. What the patient was told
    otherwise is left out: whatever an entry changes of the plan differs from the sheet that the
    sample's patient was given.
    """
    found: dict[str, set[str]] = {}
    for finding in assessment.findings:
        is_usual = finding.id.startswith("usual:")
        name = finding.id if is_usual else finding.id.partition(":")[0]
        if finding.id != "given:risk_sheet" and (finding.level != "gap" or name in checks()):
            found.setdefault(name, set()).add(finding.level)
    return found


@lru_cache
def before(name: str) -> Mapping[str, set[str]]:
    return findings_of(assessed(file_of(name), name))


def name_of(entry: Mapping[str, Any]) -> str:
    return f"{entry['check']}: {entry['why']}"


def checks() -> Mapping[str, Check]:
    return {check.id: check for check in shipped().checks}


@pytest.mark.parametrize("entry", RAISED, ids=name_of)
def test_an_expert_would_raise_it(entry: Mapping[str, Any]) -> None:
    check = checks()[entry["check"]]
    file = file_of(entry["case"])
    change(file, entry)
    found = findings_of(assessed(file, entry["case"]))
    assert found.get(check.id) == {check.level}
    new = found.keys() - before(entry["case"]).keys()
    assert new == {check.id, *entry.get("also", ())}


@pytest.mark.parametrize("entry", QUIET, ids=name_of)
def test_an_expert_would_not_raise_it(entry: Mapping[str, Any]) -> None:
    assert entry["check"] in checks()
    file = file_of(entry["case"])
    change(file, entry)
    found = findings_of(assessed(file, entry["case"]))
    assert entry["check"] not in found
    assert found.keys() - before(entry["case"]).keys() <= set(entry.get("also", ()))


@pytest.mark.parametrize("check", sorted(checks()))
def test_each_check_is_proved_both_ways(check: str) -> None:
    for entries, kind in ((RAISED, "raised"), (QUIET, "quiet")):
        assert any(entry["check"] == check for entry in entries), (
            f"'{check}' has no [[{kind}]] entry in tests/checks/raised.toml"
        )


def test_each_entry_says_in_a_sentence_why() -> None:
    for entry in (*RAISED, *QUIET):
        assert len(entry["why"]) > 10, entry
    names = [name_of(entry) for entry in (*RAISED, *QUIET)]
    assert sorted(names) == sorted(set(names))


def reads(pack: Pack, paths: Iterable[str]) -> set[str]:
    """The fields behind some paths: those that they are worked out from or shown by, and so on."""
    by_path = {rule.field.path: rule for rule in pack.rules}
    found: set[str] = set()
    todo = set(paths)
    while todo:
        path = todo.pop()
        found.add(path)
        rule = by_path.get(path)
        if rule is None:
            continue
        for expression in (rule.computed, rule.shown_when):
            if expression is not None:
                todo |= expression.paths - found
    return found


@pytest.mark.parametrize("entry", QUIET, ids=name_of)
def test_a_quiet_case_changes_what_the_check_reads(entry: Mapping[str, Any]) -> None:
    """Otherwise it would prove nothing; a variant or a sample as it stands may be near enough."""
    changed = [*entry.get("set", ()), *entry.get("clear", ()), *entry.get("add_rows", ())]
    changed += [path.partition(".")[0] for path in entry.get("remove_rows", ())]
    if not changed:
        return
    columns = {
        ".".join(parts[::2]) if len(parts := path.split(".")) == 3 else path for path in changed
    }
    known = reads(shipped(), checks()[entry["check"]].when.paths)
    if "texts.words" in known:
        known |= {path for path, f in shipped().fields.items() if f.kind in ("text", "prose")}
    assert columns & known, f"none of {sorted(columns)} matters to the check"


@pytest.mark.parametrize("sample", sorted(EXPECTED))
def test_a_sample_is_ready_and_raises_what_is_expected(sample: str) -> None:
    assessment = assessed(file_of(sample), sample)
    assert assessment.is_ready, [finding.message for finding in assessment.open]
    assert {finding.id for finding in assessment.findings} == EXPECTED[sample].keys()


@pytest.mark.parametrize("name", sorted(CASES))
def test_a_variant_is_complete_and_raises_no_more_than_its_sample(name: str) -> None:
    """Otherwise an entry that starts from it might prove something by accident."""
    assert before(name).keys() <= before(CASES[name]["case"]).keys()
    gaps = [f.id for f in assessed(file_of(name), name).findings if f.level == "gap"]
    assert not gaps


def test_every_sample_is_listed() -> None:
    assert {path.stem for path in SAMPLES.glob("*.json")} == EXPECTED.keys()


def test_an_empty_case_raises_nothing() -> None:
    record, pack = read({"format": 1, "procedures": ["meniscal_repair"], "values": {}}, "empty")
    found = findings_of(assess(pack, pack.view(record)))
    assert not found


@pytest.mark.parametrize("path", [field.path for field in shipped().form.fields])
def test_an_unset_field_raises_nothing(path: str) -> None:
    """What isn't recorded is a gap at most, whichever field it is."""
    for sample in sorted(EXPECTED):
        file = file_of(sample)
        if file["values"].pop(path, None) is None:
            continue
        for row in file["values"].get("stitches", []) + file["values"].get("resections", []):
            if path == "tears":
                row.pop("tear", None)
        found = findings_of(assessed(file, sample))
        allowed = set(DATA.get("when_unset", {}).get(path, ()))
        assert found.keys() - before(sample).keys() <= allowed


@pytest.mark.parametrize("plan", [plan.id for plan in shipped().plans])
def test_a_shipped_plan_is_not_remarked_on_in_its_own_case(plan: str) -> None:
    fitting = DATA["plan_fits"][plan]
    file = file_of(fitting)
    values = file["values"]
    for path in [path for path in values if path.startswith("plan.")]:
        if path not in ("plan.vte", "plan.vte_days", "plan.red_flags", "plan.physio_letter"):
            del values[path]
    found = next(each for each in shipped().plans if each.id == plan)
    values.update({path: value_to_json(value) for path, value in found.values.items()})
    assert findings_of(assessed(file, plan)).keys() <= before(fitting).keys()
