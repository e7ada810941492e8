"""A page may end with a remark, which is there as long as the page asks anything."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from opnote.pack.loader import load_pack
from opnote.record import Record, set_value

PAGE = """
[[page]]
id = "extra"
title = "Extra"
order = 70
remark = "Remark on the extras"

[[page.field]]
path = "extra.drain"
label = "Drain"
kind = "text"
silent = "for this test"
shown_when = "cuff.used"

[[page.field]]
path = "extra.ice"
label = "Ice"
kind = "text"
silent = "for this test"
shown_when = "side == 'right'"
"""
SENTENCE = "Remark on the extras: {{ remark.extra }}\n"
FORM = "forms/mini_repair/form.toml"
NOTE = "templates/mini_repair/note.md"


def with_extra_page(folder: Path, sentence: str = SENTENCE) -> None:
    form = folder / FORM
    form.write_text(form.read_text(encoding="utf-8") + PAGE, encoding="utf-8")
    note = folder / NOTE
    text = note.read_text(encoding="utf-8")
    end = text.rindex("{% endsection %}")
    note.write_text(f"{text[:end]}\n{sentence}{text[end:]}", encoding="utf-8")


def test_the_remark_is_the_last_question_and_free_text(mini_folder: Path) -> None:
    with_extra_page(mini_folder)
    form = load_pack(("mini_repair",), [mini_folder]).form
    page = next(page for page in form.pages if page.id == "extra")
    last = page.fields[-1]
    assert (last.path, last.label, last.kind) == ("remark.extra", "Remark on the extras", "prose")


def test_the_remark_goes_with_the_last_question_of_its_page(
    mini_folder: Path, full_case: Record
) -> None:
    with_extra_page(mini_folder)
    pack = load_pack(("mini_repair",), [mini_folder])
    case = set_value("remark.extra", "Snow.", "Remark").apply(full_case)
    assert "remark.extra" in pack.view(case).texts
    unused = set_value("cuff.used", False, "Cuff").apply(case)
    assert pack.view(unused).is_hidden("remark.extra")
    other_side = set_value("side", "right", "Side").apply(unused)
    assert not pack.view(other_side).is_hidden("remark.extra")


def test_a_remark_that_no_document_says_is_a_problem_of_its_line(
    mini_folder: Path, problems: Callable[[], list[str]]
) -> None:
    with_extra_page(mini_folder, sentence="")
    (problem,) = problems()
    lines = (mini_folder / FORM).read_text(encoding="utf-8").split("\n")
    number = lines.index('remark = "Remark on the extras"') + 1
    assert problem.startswith(f"{FORM}:{number}: no document says 'remark.extra'")


def test_a_page_has_one_remark(mini_folder: Path, problems: Callable[[], list[str]]) -> None:
    with_extra_page(mini_folder)
    form = mini_folder / FORM
    again = PAGE.partition("\n[[page.field]]")[0].replace("the extras", "them")
    form.write_text(form.read_text(encoding="utf-8") + again, encoding="utf-8")
    (problem,) = problems()
    assert "the page 'extra' has a remark already" in problem
    assert problem.endswith("; keep one of them")
