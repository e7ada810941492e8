"""What Word shows and what its validators say."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import docx
import pytest
from docx.document import Document as WordFile
from docx.oxml.ns import qn
from docx.table import Table as WordTable
from openxml_audit import OpenXmlValidator
from PIL import Image

from opnote.compose import make_template
from opnote.compose.document import Document, Figure, ItemList, Run, in_large_print
from opnote.compose.docx import docx_bytes
from opnote.compose.formats import write_document


def opened(document: Document) -> WordFile:
    return docx.Document(io.BytesIO(docx_bytes(document)))


def text_of(word: WordFile) -> str:
    """The text of the body, paragraph by paragraph and row by row."""
    parts: list[str] = []
    for item in word.iter_inner_content():
        if isinstance(item, WordTable):
            parts.extend(cell.text for row in item.rows for cell in row.cells)
        else:
            parts.append(item.text)
    return "\n".join(parts)


def header_text(word: WordFile) -> str:
    return "\n".join(paragraph.text for paragraph in word.sections[0].header.paragraphs)


@pytest.mark.parametrize("name", ["note", "draft", "risk_sheet", "hostile_note"])
def test_validator_finds_nothing(
    name: str, request: pytest.FixtureRequest, tmp_path: Path, openxml_validator: OpenXmlValidator
) -> None:
    path = tmp_path / "document.docx"
    write_document(request.getfixturevalue(name), path)
    assert openxml_validator.validate(path).errors == []


@pytest.mark.parametrize("name", ["note", "draft", "risk_sheet", "hostile_note"])
def test_sentences_stand_in_the_order_of_the_document(
    name: str, request: pytest.FixtureRequest, says_in_order: Callable[[str, Document], None]
) -> None:
    document = request.getfixturevalue(name)
    says_in_order(text_of(opened(document)), document)


def test_headings_have_the_styles_of_headings(note: Document) -> None:
    styles = {p.text: p.style.name for p in opened(note).paragraphs if p.style is not None}
    assert styles["Findings"] == "Heading 1"
    assert styles["Medial compartment"] == "Heading 2"
    assert styles["Measured"] == "Heading 3"
    assert [text[:10] for text, style in styles.items() if style == "Title"] == ["LEFT knee "]


def test_paragraphs_have_the_style_of_their_role(note: Document) -> None:
    styles = {p.style.name for p in opened(note).paragraphs if p.style is not None}
    assert {
        "Lead",
        "Body Text",
        "Caution",
        "Source",
        "List Bullet",
        "List Number",
        "Caption",
    } <= styles


def test_header_names_patient_and_document_on_each_page(note: Document) -> None:
    header = header_text(opened(note))
    assert "Mr Percival Thistlewick, TEST-0001, LEFT knee" in header
    assert note.title in header


def test_long_header_is_set_on_two_lines(note: Document) -> None:
    """Name and title would otherwise run into each other."""
    long = replace(note, title="A title that goes on, " * 5)
    assert "LEFT knee\tOperative note" in header_text(opened(note))
    assert "LEFT knee\nA title" in header_text(opened(long))


def test_header_of_a_draft_says_preliminary(note: Document, draft: Document) -> None:
    assert header_text(opened(draft)).startswith("PRELIMINARY\n")
    assert "PRELIMINARY" not in header_text(opened(note))


def test_footer_counts_pages(note: Document) -> None:
    (paragraph,) = opened(note).sections[0].footer.paragraphs
    fields = [field.get(qn("w:instr")).strip() for field in paragraph._p.iter(qn("w:fldSimple"))]
    words = "".join(text.text or "" for text in paragraph._p.iter(qn("w:t")))
    assert fields == ["PAGE", "NUMPAGES"]
    assert words == "Page 1 of 1"


def test_header_row_of_a_table_is_repeated(note: Document) -> None:
    (table,) = (table for table in opened(note).tables if len(table.columns) == 6)
    repeated = [row._tr.find(f".//{qn('w:tblHeader')}") is not None for row in table.rows]
    assert repeated == [True, False, False]
    assert all(row._tr.find(f".//{qn('w:cantSplit')}") is not None for row in table.rows)


def test_row_higher_than_a_page_may_be_split(hostile_note: Document) -> None:
    table = next(table for table in opened(hostile_note).tables if len(table.columns) == 3)
    assert [row._tr.find(f".//{qn('w:cantSplit')}") is None for row in table.rows] == [
        False,
        True,
        True,
    ]


def test_figure_has_its_words_and_is_sharp(note: Document) -> None:
    (figure,) = (block for block in note.blocks if isinstance(block, Figure))
    word = opened(note)
    (shape,) = word.inline_shapes
    assert shape._inline.docPr.get("descr") == figure.alternative
    assert shape.width.mm == pytest.approx(120, abs=0.1)
    (part,) = (part for part in word.part.package.iter_parts() if part.partname.ext == "png")
    picture = Image.open(io.BytesIO(part.blob))
    assert picture.width / (120 / 25.4) >= 290
    assert picture.width / picture.height == pytest.approx(shape.width / shape.height, rel=0.01)
    assert picture.convert("L").getextrema() == (0, 255)


def test_properties_name_title_author_language_and_state(draft: Document) -> None:
    properties = opened(draft).core_properties
    assert properties.title == draft.title
    assert properties.author == "Miss Q. Larkspindle"
    assert properties.language == "en-GB"
    assert properties.subject == "Mr Percival Thistlewick, TEST-0001, LEFT knee"
    assert properties.content_status == "preliminary"


def test_page_is_a4(note: Document) -> None:
    section = opened(note).sections[0]
    assert section.page_width is not None
    assert section.page_height is not None
    assert (round(section.page_width.mm), round(section.page_height.mm)) == (210, 297)


def test_each_numbered_list_starts_at_one(note: Document) -> None:
    lists = tuple(
        ItemList(id, (((Run("first"),),), ((Run("second"),),)), numbered=True) for id in ("a", "b")
    )
    word = opened(replace(note, blocks=lists))
    numbers = [number.get(qn("w:val")) for number in word.element.body.iter(qn("w:numId"))]
    assert numbers[0] == numbers[1] != numbers[2] == numbers[3]
    starts = word.part.numbering_part.element.findall(f".//{qn('w:startOverride')}")
    assert [start.get(qn("w:val")) for start in starts] == ["1", "1"]


def test_typed_new_line_is_a_line_break(note: Document) -> None:
    (paragraph,) = (p for p in opened(note).paragraphs if "flaps" in p.text)
    assert "Two small flaps at the free edge.\nBoth were trimmed." in paragraph.text


def test_ruled_line_is_underlined(note: Document) -> None:
    (paragraph,) = (p for p in opened(note).paragraphs if p.text.startswith("Stitches were tied"))
    ruled = [run.text for run in paragraph.runs if run.underline]
    assert len(ruled) == 1
    assert set(ruled[0]) == {"\u00a0"}


def test_hostile_text_is_kept_letter_by_letter(hostile_note: Document, hostile_text: str) -> None:
    text = text_of(opened(hostile_note))
    assert hostile_text in text
    assert "x" * 20_000 in text


def test_figure_is_never_wider_than_the_text(hostile_note: Document) -> None:
    for shape in opened(hostile_note).inline_shapes:
        assert shape.width.mm <= 170.1
        assert shape.height.mm <= 240


def test_sheet_for_a_patient_has_larger_letters(note: Document, risk_sheet: Document) -> None:
    def size(document: Document) -> int:
        defaults = opened(document).styles.element.find(f".//{qn('w:rPrDefault')}")
        return int(defaults.find(f".//{qn('w:sz')}").get(qn("w:val")))

    assert size(note) == 22
    assert size(risk_sheet) == 24
    assert size(in_large_print(risk_sheet)) == 36
    assert in_large_print(note) == note


def test_same_document_gives_the_same_bytes(draft: Document) -> None:
    made = docx_bytes(draft)
    assert made == docx_bytes(draft)
    with zipfile.ZipFile(io.BytesIO(made)) as package:
        assert {entry.date_time[0] for entry in package.infolist()} == {1980}


def test_shipped_template_is_the_one_its_script_makes(
    tmp_path: Path, assert_valid_docx: Callable[[Path], None]
) -> None:
    path = tmp_path / "template.docx"
    make_template.write_template(path)
    with zipfile.ZipFile(path) as made, zipfile.ZipFile(make_template.TEMPLATE) as shipped:
        assert made.namelist() == shipped.namelist()
        assert all(made.read(name) == shipped.read(name) for name in made.namelist())
