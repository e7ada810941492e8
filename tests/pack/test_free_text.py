"""A check may look at all free text of a case."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from opnote.assess import assess
from opnote.pack.loader import load_pack
from opnote.record import Record, clear_value, set_value

CHECK = """
[[check]]
id = "says_nothing"
level = "adverse"
each = "t in texts"
when = "t.words == 'Nothing else.'"
say = "{t.label} says: {t.words}"
settle = "Say why."
look_at = ["t.words"]
source = "common practice"
"""


def test_check_runs_once_for_each_text_and_leads_to_it(
    mini_folder: Path, full_case: Record
) -> None:
    path = mini_folder / "forms/mini_repair/checks.toml"
    path.write_text(path.read_text(encoding="utf-8") + CHECK, encoding="utf-8")
    pack = load_pack(("mini_repair",), [mini_folder])

    def found(record: Record) -> list[tuple[str, tuple[str, ...], str]]:
        findings = assess(pack, pack.view(record)).findings
        return [(f.id, f.fields, f.fact) for f in findings if f.id.startswith("says_nothing")]

    assert found(full_case) == [
        ("says_nothing:remarks", ("remarks",), "Remarks says: Nothing else.")
    ]
    again = set_value("tears.r1.note", "Nothing else.", "Note").apply(full_case)
    assert {finding[1] for finding in found(again)} == {("tears.r1.note",), ("remarks",)}
    assert found(clear_value("remarks", "Remarks").apply(full_case)) == []


def test_unknown_part_of_a_text_is_found_on_loading(
    mini_folder: Path, problems: Callable[[], list[str]]
) -> None:
    path = mini_folder / "forms/mini_repair/checks.toml"
    wrong = CHECK.replace("t.words ==", "t.wrods ==")
    path.write_text(path.read_text(encoding="utf-8") + wrong, encoding="utf-8")
    (problem,) = problems()
    assert problem.endswith("unknown field 't.wrods'; did you mean 't.words'?")
