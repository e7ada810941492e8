"""What a surgeon gets who pastes a document into a record system."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from opnote.compose.document import Document, Paragraph, Run, Status, Table
from opnote.compose.text import text_from


def lines(document: Document) -> list[str]:
    return text_from(document).splitlines()


def test_sentences_stand_in_the_order_of_the_document(
    note: Document, says_in_order: Callable[[str, Document], None]
) -> None:
    """The wide table is left out: there a header stands as label before each of its cells."""
    blocks = tuple(block for block in note.blocks if block.id != "stitches")
    narrow = replace(note, blocks=blocks)
    says_in_order(text_from(narrow), narrow)


def test_every_paragraph_is_one_line(note: Document) -> None:
    """A record system wraps by itself; only what was typed as a new line is one."""
    long = Paragraph("long", tuple((Run(f"Sentence {number}."),) for number in range(400)))
    assert any(len(line) > 5000 for line in lines(replace(note, blocks=(long,))))


def test_preliminary_stands_first_and_last(draft: Document, note: Document) -> None:
    assert lines(draft)[0] == lines(draft)[-1] == "PRELIMINARY"
    assert "PRELIMINARY" not in text_from(note)


def test_patient_is_named_before_anything_else_is_said(note: Document) -> None:
    assert lines(note)[0] == "Mr Percival Thistlewick, TEST-0001, LEFT knee"


def test_title_and_sections_are_underlined(note: Document) -> None:
    written = lines(note)
    assert set(written[written.index("Findings") + 1]) == {"-"}
    assert set(written[3]) == {"="}


def test_facts_are_label_and_value(note: Document) -> None:
    assert "Blood loss: 20 mL" in lines(note)
    assert "Tourniquet: 280 mmHg for ________ minutes" in lines(note)


def test_narrow_table_is_aligned_with_numbers_to_the_right(note: Document) -> None:
    header = ((Run("Medicine"),), (Run("Dose"),))
    rows = (((Run("Cefuroxime"),), (Run("1500 mg"),)), ((Run("Aspirin"),), (Run("75 mg"),)))
    table = Table("medicines", header, rows, (False, True))
    assert lines(replace(note, blocks=(table,)))[2:] == [
        "Medicine       Dose",
        "----------  -------",
        "Cefuroxime  1500 mg",
        "Aspirin       75 mg",
    ]


def test_wide_table_says_each_cell_with_its_label(note: Document) -> None:
    written = lines(note)
    first = written.index("Segment: Posterior horn")
    assert written[first + 5] == "Depth stop (mm): 14"
    assert "Technique: inside-out, 2-0 non-absorbable" in written
    assert written.count("Depth stop (mm):") == 0


def test_new_line_in_a_cell_does_not_look_like_a_new_row(note: Document) -> None:
    table = Table(
        "t", ((Run("A"),), (Run("B"),)), (((Run("x\nB: forged"),), (Run("y"),)),), (False,) * 2
    )
    assert lines(replace(note, blocks=(table,)))[2:] == ["A: x", "  B: forged", "B: y"]


def test_figure_is_said_in_words_with_its_caption(note: Document) -> None:
    written = lines(note)
    drawn = next(index for index, line in enumerate(written) if line.startswith("[Figure: Medial"))
    assert "38 mm long, from 10 to 48 mm" in written[drawn]
    assert written[drawn + 1] == "Medial meniscus with tear and stitches, to scale."


def test_list_items_are_numbered_in_order(note: Document) -> None:
    steps = [line for line in lines(note) if line[:3] in ("1. ", "2. ", "3. ")]
    assert steps[1] == "2. Both faces were rasped. The notch was vented at 5 sites."


def test_hostile_text_is_kept_and_encodable(hostile_note: Document) -> None:
    written = text_from(hostile_note)
    written.encode("utf-8")
    assert "{{ 7*7 }} {% raw %} #panic()" in written
    assert "x" * 20_000 in written
    assert not set(written) & {"\x00", "\x07", "\x85", "\u202e", "\ufeff"}


def test_typed_lines_can_not_pass_for_a_section() -> None:
    typed = Run("Seen.\n\nComplications\n-------------\n\nNone at all.", "remarks")
    document = Document("note", "t", (), Status.FINAL, (Paragraph("p", ((typed,),)),))
    said = text_from(document).split("\n")
    assert "    Complications" in said
    assert "Complications" not in said
    assert "    -------------" in said
