"""Words inside a sentence lead back to the field that decided them."""

from __future__ import annotations

from pathlib import Path

from opnote.assess import assess
from opnote.compose import compose
from opnote.compose.document import Run, sentence_text
from opnote.pack.loader import load_pack
from opnote.record import Record

NOTE = "templates/mini_repair/note.md"
PHRASES = "templates/common/phrases.md"


def _runs(folder: Path, record: Record, begin: str) -> list[tuple[str, str | None]]:
    pack = load_pack(("mini_repair",), [folder])
    view = pack.view(record)
    document = compose(pack, view, assess(pack, view), "note")
    (sentence,) = (s for s in document.sentences() if sentence_text(s).startswith(begin))
    return [(run.text, run.path) for run in _joined(sentence)]


def _joined(sentence: tuple[Run, ...]) -> list[Run]:
    """Neighbouring runs of one field as one."""
    runs: list[Run] = []
    for run in sentence:
        if runs and runs[-1].path == run.path:
            runs[-1] = Run(runs[-1].text + run.text, run.path)
        else:
            runs.append(run)
    return runs


def _put(folder: Path, file: str, text: str, at: str = "") -> None:
    path = folder / file
    old = path.read_text(encoding="utf-8")
    path.write_text(old.replace(at, at + text, 1) if at else old + text, encoding="utf-8")


def test_words_of_a_condition_in_mid_sentence_are_traced_to_its_field(
    mini_folder: Path, full_case: Record
) -> None:
    line = "Knee {% if side == 'left' %}on the left hand{% else %}elsewhere{% endif %}, seen.\n"
    _put(mini_folder, NOTE, line, "{% section findings %}\n")
    assert _runs(mini_folder, full_case, "Knee") == [
        ("Knee ", None),
        ("on the left hand", "side"),
        (", seen.", None),
    ]


def test_words_of_a_phrase_are_traced_to_the_value_it_was_given(
    mini_folder: Path, full_case: Record
) -> None:
    told = "{% if x == 'left' %}sinister{% else %}dexter{% endif %}"
    phrase = f"\n{{% macro how(x) %}}{told}{{% endmacro %}}\n"
    _put(mini_folder, PHRASES, phrase)
    _put(mini_folder, NOTE, "Called {{ how(side) }} here.\n", "{% section findings %}\n")
    assert _runs(mini_folder, full_case, "Called") == [
        ("Called ", None),
        ("sinister", "side"),
        (" here.", None),
    ]


def test_condition_around_several_lines_traces_each_of_them(
    mini_folder: Path, full_case: Record
) -> None:
    lines = "{% if side == 'left' %}\nFirst fact.\nSecond fact.\n{% endif %}\nThird fact.\n"
    _put(mini_folder, NOTE, lines, "{% section findings %}\n")
    assert _runs(mini_folder, full_case, "First") == [("First fact.", "side")]
    assert _runs(mini_folder, full_case, "Second") == [("Second fact.", "side")]
    assert _runs(mini_folder, full_case, "Third") == [("Third fact.", None)]
