"""Pictures of the operation in each format: whole, two by two, with words, or said missing."""

from __future__ import annotations

import base64
import io
import re
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import docx
import pdfua
import pikepdf
import pypdf
import pytest
from docx.oxml.ns import qn
from openxml_audit import OpenXmlValidator
from PIL import Image

from opnote.assess import assess
from opnote.compose import compose
from opnote.compose.document import (
    Document,
    Heading,
    Paragraph,
    PicturePage,
    Run,
    sentence_text,
)
from opnote.compose.docx import docx_bytes
from opnote.compose.formats import write_document
from opnote.compose.html import html_from
from opnote.compose.pdf import pdf_bytes
from opnote.compose.photograph import with_pictures
from opnote.compose.text import text_from
from opnote.pack.case import read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.record import Record, add_row

SIZES = ((640, 480), (400, 900), (1920, 1080), (300, 300), (800, 600))
SHOWS = ("before", "reduced", "repaired", "tested", "cartilage")
SAID = (
    "Picture 1: the tear before reduction.",
    "Picture 2: the tear reduced.",
    "Picture 3: the repair.",
    "Picture 4: the test of stability.",
    "Picture 5: the cartilage.",
)
REMARK = "The handle in the notch <b>& no markup</b>"
PAGE_PT = (595.3, 841.9)  # A4


def still(width: int, height: int) -> bytes:
    """A JPEG whose bytes are like no other's."""
    file = io.BytesIO()
    Image.linear_gradient("L").resize((width, height)).save(file, "jpeg")
    return file.getvalue()


def name_of(index: int) -> str:
    return f"{index:064x}.jpg"


STILLS = {name_of(index): still(*size) for index, size in enumerate(SIZES)}


@lru_cache
def _pack() -> Pack:
    return load_pack(("meniscal_repair",))


@lru_cache
def _record(count: int) -> Record:
    path = shipped_root() / "forms" / "samples" / "case_a.json"
    record, _ = read_case(path.read_text(), path.name, lambda _: _pack())
    for index in range(count):
        values = {"file": name_of(index), "shows": SHOWS[index], "names": "none"}
        if not index:
            values["remark"] = REMARK
        record = add_row("pictures", "Add", values).apply(record)
    return record


def note_of(record: Record, stills: dict[str, bytes]) -> Document:
    view = _pack().view(record)
    return compose(_pack(), view, assess(_pack(), view), "note", stills.get)


@pytest.fixture(scope="module")
def note() -> Document:
    """A note with five pictures."""
    return note_of(_record(5), STILLS)


@pytest.fixture(scope="module")
def lacking() -> Document:
    """A note with two pictures, the second of which is nowhere."""
    return note_of(_record(2), {name_of(0): STILLS[name_of(0)]})


def test_note_without_pictures_has_no_page_for_them() -> None:
    note = note_of(_record(0), {})
    assert not [block for block in note.blocks if isinstance(block, PicturePage)]
    assert "Pictures" not in text_from(note)


def test_heading_of_the_pictures_starts_a_page_and_no_other_does(note: Document) -> None:
    starting = [b for b in note.blocks if isinstance(b, Heading) and b.starts_page]
    assert [sentence_text(heading.runs) for heading in starting] == ["Pictures"]


def test_other_documents_show_no_pictures() -> None:
    view = _pack().view(_record(5))
    for kind in ("risk_sheet", "recovery_plan", "recovery_card", "letter"):
        document = compose(_pack(), view, assess(_pack(), view), kind, STILLS.get)
        assert not [block for block in document.blocks if isinstance(block, PicturePage)]


def test_picture_without_a_caption_keeps_a_ruled_line_for_it() -> None:
    record = add_row("pictures", "Add", {"file": name_of(0)}).apply(_record(0))
    assert "Picture 1: ________." in text_from(note_of(record, STILLS))


def test_row_without_a_picture_says_so() -> None:
    record = add_row("pictures", "Add", {"shows": "repaired"}).apply(_record(0))
    assert "No picture here: ________ Picture 1: the repair." in text_from(note_of(record, STILLS))


# docx


def test_word_file_holds_each_picture_as_it_is_two_a_row(note: Document) -> None:
    word = docx.Document(io.BytesIO(docx_bytes(note)))
    table = word.tables[-1]
    assert [len(row.cells) for row in table.rows] == [2, 2, 2]
    pictures = [
        word.part.related_parts[blip.get(qn("r:embed"))].blob
        for blip in table._tbl.iter(qn("a:blip"))
    ]
    assert pictures == list(STILLS.values())
    cells = [cell.text.strip() for row in table.rows for cell in row.cells]
    assert cells == [f"{SAID[0]} {REMARK}", *SAID[1:], ""]


def test_word_file_says_of_each_picture_what_it_shows(note: Document) -> None:
    word = docx.Document(io.BytesIO(docx_bytes(note)))
    shapes = list(word.tables[-1]._tbl.iter(qn("wp:docPr")))
    assert [shape.get("descr") for shape in shapes] == [f"{SAID[0]} {REMARK}", *SAID[1:]]
    ids = [shape.get("id") for shape in word.element.body.iter(qn("wp:docPr"))]
    assert len(set(ids)) == len(ids)


def test_word_sets_pictures_whole_in_their_shape_on_their_page(note: Document) -> None:
    word = docx.Document(io.BytesIO(docx_bytes(note)))
    extents = list(word.tables[-1]._tbl.iter(qn("wp:extent")))
    for extent, (width, height) in zip(extents, SIZES, strict=True):
        wide, high = (int(str(extent.get(side))) / 36_000 for side in ("cx", "cy"))
        assert wide <= 85
        assert high <= 100
        assert wide / high == pytest.approx(width / height, rel=0.01)
    assert all(row._tr.trPr.find(qn("w:cantSplit")) is not None for row in word.tables[-1].rows)
    (heading,) = (p for p in word.paragraphs if p.text == "Pictures")
    assert heading._p.find(f"{qn('w:pPr')}/{qn('w:pageBreakBefore')}") is not None


@pytest.mark.parametrize("name", ["note", "lacking"])
def test_word_file_is_valid(
    name: str, request: pytest.FixtureRequest, tmp_path: Path, openxml_validator: OpenXmlValidator
) -> None:
    path = tmp_path / "note.docx"
    write_document(request.getfixturevalue(name), path)
    assert openxml_validator.validate(path).errors == []


# PDF


def test_pdf_sets_pictures_on_pages_of_their_own(note: Document) -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(note)))
    texts = [page.extract_text() for page in reader.pages]
    (first,) = (i for i, text in enumerate(texts) if re.search(r"^Pictures$", text, re.MULTILINE))
    rest = re.sub(r"\s+", " ", " ".join(texts[first:]))
    for said in (*SAID, REMARK):
        assert said in rest
    assert "Local policy comes first." in texts[first - 1]
    assert "Local policy comes first." not in rest


def test_pdf_holds_each_picture_as_it_is_and_inside_the_page(note: Document) -> None:
    with pikepdf.open(io.BytesIO(pdf_bytes(note))) as file:
        found = {}
        for page in file.pages:
            for image, place in _placed(page):
                found[image] = place
    assert set(found) == set(STILLS.values())
    for data, (left, bottom, width, height) in found.items():
        pixels = Image.open(io.BytesIO(data)).size
        assert width / height == pytest.approx(pixels[0] / pixels[1], rel=0.01)
        assert left >= 20
        assert bottom >= 20
        assert left + width <= PAGE_PT[0] - 20
        assert bottom + height <= PAGE_PT[1] - 20


def _placed(page: pikepdf.Page) -> list[tuple[bytes, tuple[float, float, float, float]]]:
    """The JPEGs of a page, each with its left, bottom, width and height in points."""
    found = []

    def walk(content: pikepdf.Object, resources: pikepdf.Object, at: pikepdf.Matrix) -> None:
        stack = [at]
        for step in pikepdf.parse_content_stream(content):
            operands = list(step.operands)
            match str(step.operator):
                case "q":
                    stack.append(stack[-1])
                case "Q":
                    stack.pop()
                case "cm":
                    stack[-1] = pikepdf.Matrix(*map(float, operands)) @ stack[-1]
                case "Do":
                    thing = resources.XObject[str(operands[0])]
                    if thing.Subtype == "/Form":
                        inside = pikepdf.Matrix(
                            *map(float, thing.get("/Matrix", (1, 0, 0, 1, 0, 0)))
                        )
                        walk(thing, thing.Resources, inside @ stack[-1])
                    elif thing.get("/Filter") == "/DCTDecode":
                        corners = [stack[-1].transform(corner) for corner in ((0, 0), (1, 1))]
                        (x, y), (right, top) = corners
                        low, high = sorted((y, top))
                        found.append((thing.read_raw_bytes(), (x, low, right - x, high - low)))

    walk(page.obj, page.obj.Resources, pikepdf.Matrix())
    return found


@pytest.mark.parametrize("name", ["note", "lacking"])
def test_pdf_passes_the_accessibility_check(
    name: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    path = tmp_path / "note.pdf"
    write_document(request.getfixturevalue(name), path)
    assert pdfua.validate(str(path)).findings == ()


def test_pdf_says_of_each_picture_what_it_shows(note: Document) -> None:
    with pikepdf.open(io.BytesIO(pdf_bytes(note))) as file:
        said = [
            str(o.Alt) for o in file.objects if isinstance(o, pikepdf.Dictionary) and "/Alt" in o
        ]
    assert {f"{SAID[0]} {REMARK}", *SAID[1:]} <= set(said)


def test_remark_longer_than_a_page_is_printed_to_its_end() -> None:
    remark = " ".join(f"word{number}" for number in range(3000))
    values = {"file": name_of(0), "shows": "other", "remark": remark, "names": "none"}
    note = note_of(add_row("pictures", "Add", values).apply(_record(0)), STILLS)
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(note)))
    text = "".join(page.extract_text() for page in reader.pages)
    assert all(f"word{number}" in text for number in (0, 1500, 2999))
    row = docx.Document(io.BytesIO(docx_bytes(note))).tables[-1].rows[0]
    assert row._tr.trPr is None or row._tr.trPr.find(qn("w:cantSplit")) is None


# HTML and text


def test_page_holds_each_picture_with_its_words(note: Document) -> None:
    html = html_from(note)
    sources = re.findall(r'<img src="data:image/jpeg;base64,([^"]+)"', html)
    assert [base64.b64decode(source) for source in sources] == list(STILLS.values())
    assert re.findall(r' alt="(Picture [^"]+)"', html)[1:] == list(SAID[1:])
    assert "<b>&" not in html
    assert re.search(r'<h2 [^>]*class="new-page">Pictures</h2>', html)


def test_text_lists_what_stands_under_the_pictures(note: Document) -> None:
    lines = text_from(note).splitlines()
    start = lines.index("Pictures")
    listed = [line for line in lines[start:] if line.startswith("- ")]
    assert listed == [f"- {SAID[0]} {REMARK}", *(f"- {said}" for said in SAID[1:])]


# Missing


def test_missing_picture_is_said_in_every_format(lacking: Document) -> None:
    missing = (
        f"This picture is missing: its file {name_of(1)[:12]}\N{HORIZONTAL ELLIPSIS}.jpg is not in "
        "the folder \N{LEFT SINGLE QUOTATION MARK}pictures\N{RIGHT SINGLE QUOTATION MARK} beside "
        "the case, or is damaged."
    )
    pages = pypdf.PdfReader(io.BytesIO(pdf_bytes(lacking))).pages
    pdf = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))
    word = docx.Document(io.BytesIO(docx_bytes(lacking)))
    cells = [cell.text for row in word.tables[-1].rows for cell in row.cells]
    html = re.sub(r"<[^>]+>", "", html_from(lacking))
    for text in (pdf, "\n".join(cells), html, text_from(lacking)):
        assert missing in text
        assert SAID[1] in text


def test_bytes_that_are_no_picture_are_said_to_be_damaged() -> None:
    note = note_of(_record(1), {name_of(0): b"\xff\xd8 cut short"})
    assert "is missing" in text_from(note)


def test_reader_finds_the_row_of_each_picture(note: Document) -> None:
    (page,) = (block for block in note.blocks if isinstance(block, PicturePage))
    rows = _record(5).rows["pictures"]
    assert [picture.path for picture in page.pictures] == [f"pictures.{r}.file" for r in rows]
    runs = [run for sentence in page.pictures[0].caption for run in sentence]
    assert f"pictures.{rows[0]}.remark" in [run.path for run in runs]


def test_heading_after_the_pictures_starts_a_page_too() -> None:
    """A department may put the pictures elsewhere in its note."""
    record = _record(1)
    (row,) = record.rows["pictures"]
    line = Paragraph("", ((Run("x", f"pictures.{row}.file"),),))
    after = Heading("", 2, (Run("Findings"),))
    blocks = with_pictures([line, after], _pack(), _pack().view(record), STILLS.get)
    assert [type(block) for block in blocks] == [PicturePage, Heading]
    assert blocks[1] == replace(after, starts_page=True)
