"""Rows named in a sentence, and refs that lead nowhere yet."""

from __future__ import annotations

from pathlib import Path

from opnote.assess import assess
from opnote.compose import compose
from opnote.compose.document import sentence_text
from opnote.pack.loader import load_pack
from opnote.record import Record, clear_value, remove_row

NOTE = "templates/mini_repair/note.md"
LINES = """{% section findings %}
{% for each in stitches %}
Held: {{ each.tear }}, {{ each.tear.meniscus }}.
{% endfor %}
"""


def _held(folder: Path, record: Record) -> list[str]:
    pack = load_pack(("mini_repair",), [folder])
    view = pack.view(record)
    document = compose(pack, view, assess(pack, view), "note")
    texts = (sentence_text(sentence) for sentence in document.sentences())
    return [text for text in texts if text.startswith("Held")]


def _with_lines(folder: Path) -> None:
    path = folder / NOTE
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("{% section findings %}\n", LINES, 1), encoding="utf-8")


def test_row_is_named_with_its_number_where_there_are_several(
    mini_folder: Path, full_case: Record
) -> None:
    _with_lines(mini_folder)
    assert _held(mini_folder, full_case) == ["Held: tear 1, medial.", "Held: tear 2, lateral."]
    one = remove_row("tears", "r2", "Remove", ["stitches.tear"]).apply(full_case)
    assert _held(mini_folder, one)[0] == "Held: tear, medial."


def test_required_row_that_is_not_named_is_a_ruled_line(
    mini_folder: Path, full_case: Record
) -> None:
    _with_lines(mini_folder)
    unnamed = clear_value("stitches.r3.tear", "Tear").apply(full_case)
    assert _held(mini_folder, unnamed)[0] == "Held: ________, ________."
