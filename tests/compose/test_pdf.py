"""What a reader of the PDF sees, hears and can check."""

from __future__ import annotations

import io
import itertools
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pdfua
import pikepdf
import pypdf
import pytest

from opnote.compose.document import (
    Document,
    Figure,
    Heading,
    Paragraph,
    Run,
    Table,
    in_large_print,
)
from opnote.compose.formats import write_document
from opnote.compose.pdf import pdf_bytes


def pages_of(document: Document) -> list[str]:
    """The text of each page on lines as set, without the places at which a long word may break."""
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(document)))
    return [page.extract_text().replace("\u200b", "") for page in reader.pages]


def body_of(document: Document) -> str:
    """The text without running header and footer."""
    head = re.compile(r"\A(PRELIMINARY\n)?.*\n")
    return "".join(
        head.sub("", re.sub(r"_+", "_" * 8, page), count=1) for page in pages_of(document)
    )


def structure(document: Document) -> list[tuple[str, str]]:
    """Kind and alternative text of the elements of the structure tree, in reading order."""

    def walk(node: pikepdf.Object) -> Iterator[tuple[str, str]]:
        if isinstance(node, pikepdf.Array):
            for child in node:
                yield from walk(child)
        elif isinstance(node, pikepdf.Dictionary) and "/S" in node:
            yield str(node["/S"]).removeprefix("/"), str(node.get("/Alt", ""))
            if "/K" in node:
                yield from walk(node["/K"])

    with pikepdf.open(io.BytesIO(pdf_bytes(document))) as file:
        return list(walk(file.Root.StructTreeRoot.K))


@pytest.mark.parametrize("name", ["note", "draft", "risk_sheet", "hostile_note"])
def test_accessibility_check_finds_nothing(
    name: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    path = tmp_path / "document.pdf"
    write_document(request.getfixturevalue(name), path)
    assert pdfua.validate(str(path)).findings == ()


@pytest.mark.parametrize("name", ["note", "risk_sheet"])
def test_sentences_stand_in_the_order_of_the_document(
    name: str, request: pytest.FixtureRequest, says_in_order: Callable[[str, Document], None]
) -> None:
    document = request.getfixturevalue(name)
    says_in_order(body_of(document), document)


def test_file_says_that_it_is_tagged_and_in_which_language(note: Document) -> None:
    file = pikepdf.open(io.BytesIO(pdf_bytes(note)))
    assert str(file.Root.Lang) == "en-GB"
    assert file.Root.MarkInfo.Marked
    assert file.Root.ViewerPreferences.DisplayDocTitle
    with file.open_metadata() as metadata:
        assert metadata["pdfuaid:part"] == "1"
        assert metadata["dc:title"] == note.title


def test_properties_name_title_and_author(note: Document) -> None:
    properties = pypdf.PdfReader(io.BytesIO(pdf_bytes(note))).metadata
    assert properties is not None
    assert properties.title == note.title
    assert properties.author == "Miss Q. Larkspindle"


def test_every_page_names_patient_document_and_number(draft: Document) -> None:
    pages = pages_of(draft)
    assert len(pages) > 1
    for number, page in enumerate(pages, start=1):
        line = " ".join(page.split())
        assert "Mr Percival Thistlewick, TEST-0001, LEFT knee" in line
        assert draft.title in line
        assert f"Page {number} of {len(pages)}" in line


def test_every_page_of_a_draft_says_preliminary(draft: Document, note: Document) -> None:
    assert all("PRELIMINARY" in page for page in pages_of(draft))
    assert not any("PRELIMINARY" in page for page in pages_of(note))


def test_elements_are_what_they_look_like(note: Document) -> None:
    names = [name for name, _ in structure(note)]
    assert names.count("H1") == 1
    assert names.count("H2") == 3
    assert names.count("TH") == 6
    assert names.count("TD") == 12
    assert names.count("Lbl") == 9 + 5, "nine labels of facts, five marks of list items"
    assert names.index("H1") < names.index("Table") < names.index("Figure")


def test_drawing_has_its_words(note: Document) -> None:
    (figure,) = (block for block in note.blocks if isinstance(block, Figure))
    assert [words for name, words in structure(note) if name == "Figure"] == [figure.alternative]


def test_headings_never_skip_a_level_for_the_ear(note: Document) -> None:
    headings = tuple(
        Heading(str(index), level, (Run(f"Heading {index}"),))
        for index, level in enumerate((2, 4, 1, 3, 4, 2))
    )
    names = [name for name, _ in structure(replace(note, blocks=headings)) if name[0] == "H"]
    assert names == ["H1", "H2", "H1", "H2", "H3", "H2"]


def test_header_cells_are_repeated_on_each_page(hostile_note: Document) -> None:
    table_pages = [page for page in pages_of(hostile_note) if "one stitch, typed" in page]
    assert len(table_pages) > 1
    assert all("Remark" in page for page in table_pages)


def test_word_without_an_end_is_broken_at_the_side(hostile_note: Document) -> None:
    """All letters of 20,000 are there, four times, and no line has more than fit on the paper."""
    pages = pages_of(hostile_note)
    assert sum(page.count("x") for page in pages) >= 80_000
    assert max(len(line) for page in pages for line in page.splitlines() if "xxx" in line) < 120


def test_typed_new_line_is_a_new_line(note: Document) -> None:
    assert "free edge.\nBoth were trimmed." in "\n".join(pages_of(note))


def test_letters_without_a_font_are_named_by_their_code(note: Document) -> None:
    paragraph = Paragraph("p", ((Run("Seen by \U000f0001 and \U000f0002 today."),),))
    (page,) = pages_of(replace(note, blocks=(*note.blocks[:1], paragraph)))
    assert "Seen by [U+F0001] and [U+F0002] today." in " ".join(page.split())


def test_signs_of_the_trade_are_printed(note: Document) -> None:
    paragraph = Paragraph("p", ((Run("≤ ≥ ± µ ° – — • ✓"),),))
    (page,) = pages_of(replace(note, blocks=(*note.blocks[:1], paragraph)))
    assert "≤ ≥ ± µ ° – — • ✓" in page


def test_letters_in_a_drawing_need_no_font_of_the_computer(note: Document) -> None:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 10"><text x="1" y="8" '
        'font-family="Nonesuch Sans" font-size="6">rim ≤ 3 mm</text></svg>'
    )
    figure = Figure("f", svg, "A rim of 3 mm.", (), 60, 10)
    (page,) = pages_of(replace(note, blocks=(*note.blocks[:1], figure)))
    assert "rim ≤ 3 mm" in page


def test_long_label_of_a_fact_does_not_run_into_the_next(note: Document) -> None:
    labels = tuple(f"Label {n} that needs several lines beside its short value" for n in range(4))
    rows = tuple(((Run(label),), (Run("short"),)) for label in labels)
    table = Table("f", (), rows, (False, False))
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(replace(note, blocks=(*note.blocks[:1], table)))))
    height: dict[str, float] = {}

    def visit(text: str, cm: list[float], tm: list[float], _font: object, _size: object) -> None:
        for label in re.findall(r"Label \d", text):
            height[label] = cm[5] + cm[3] * tm[5]

    reader.pages[0].extract_text(visitor_text=visit)
    starts = [height[f"Label {n}"] for n in range(4)]
    two_lines_pt = 2 * 10.5
    assert all(above - below > two_lines_pt for above, below in itertools.pairwise(starts))


def test_sheet_for_a_patient_has_larger_letters(note: Document, risk_sheet: Document) -> None:
    def commonest_size(document: Document) -> float:
        sizes: list[float] = []
        reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(document)))
        reader.pages[0].extract_text(
            visitor_text=lambda text, _cm, _tm, _font, size: sizes.extend([size] * len(text))
        )
        return max(set(sizes), key=sizes.count)

    paragraph = Paragraph("p", ((Run("A sentence that is long enough to be most of it. " * 9),),))
    assert commonest_size(replace(note, blocks=(*note.blocks[:1], paragraph))) == pytest.approx(
        10.5
    )
    sheet = replace(risk_sheet, blocks=(*risk_sheet.blocks[:1], paragraph))
    assert commonest_size(sheet) == pytest.approx(12)
    assert commonest_size(in_large_print(sheet)) == pytest.approx(18)


def test_same_document_gives_the_same_bytes(note: Document) -> None:
    assert pdf_bytes(note) == pdf_bytes(note)
