"""A document as a Word file, with real styles, that passes the validation of its parts."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Final, assert_never
from xml.sax.saxutils import escape

import docx
from docx.document import Document as WordFile
from docx.enum.text import WD_ALIGN_PARAGRAPH
from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls, qn
from docx.shared import Mm

from opnote.compose.binding import bound
from opnote.compose.clean import printable
from opnote.compose.columns import column_shares, stacked
from opnote.compose.document import (
    LARGE_PRINT_PT,
    PATIENT_DOCUMENTS,
    Block,
    Document,
    Figure,
    Heading,
    ItemList,
    Paragraph,
    Picture,
    PicturePage,
    Run,
    Sentence,
    Table,
    picture_size_mm,
    sentence_text,
)
from opnote.compose.photograph import caption_runs
from opnote.compose.picture import png_of
from opnote.compose.running import running_state, running_subject, running_title

_TEMPLATE: Final = Path(__file__).with_name("template.docx")
_NAMESPACES: Final = nsdecls("w", "wp", "a", "pic", "r")
_HEADING_STYLES: Final = {1: "Title", 2: "Heading1", 3: "Heading2", 4: "Heading3"}
_PARAGRAPH_STYLES: Final = {"caution": "Caution", "source": "Source", "lead": "Lead"}
_LIST_STYLES: Final = {"caution": "Caution", "source": "Source"}
_RULED_LINE: Final = "\u00a0" * 28
_RULED_BY_HAND: Final = "\u00a0" * 70
_RULED_BY_HAND_LARGE: Final = "\u00a0" * 42
"""In large print fewer letters fill the line."""
_RULED_CELL: Final = "\u00a0" * 10
"""A ruled line in a column of numbers, which is narrow."""
_TEXT_WIDTH_TWIPS: Final = 9638
_TEXT_WIDTH_MM: Final = 170.0
_TALLEST_MM: Final = 215.0
_HEADER_LINE: Final = 100
"""Characters of the running header that fit on one line."""
_SPLIT_ABOVE: Final = 1200
"""Characters in a cell; a row with more could be higher than a page, so that it may be split."""
_TEXT_PT: Final = 11
_PATIENT_PT: Final = 12
"""Sheets for patients are set in larger letters."""
_EARLIEST_DATE: Final = (1980, 1, 1, 0, 0, 0)


def docx_bytes(document: Document) -> bytes:
    """The document as a Word file; the same document gives the same bytes."""
    word = docx.Document(io.BytesIO(_template()))
    _set_properties(word, document)
    size_pt: float = _TEXT_PT
    if document.kind in PATIENT_DOCUMENTS:
        size_pt = LARGE_PRINT_PT if document.is_large else _PATIENT_PT
        _scale_styles(word, size_pt / _TEXT_PT)
    _write_header(word, document)
    _write_footer(word, document)
    blocks = tuple(stacked(document.blocks)) if document.is_large else document.blocks
    _Body(word, size_pt, is_large=document.is_large).write(blocks)
    buffer = io.BytesIO()
    word.save(buffer)
    return _undated(buffer)


@cache
def _template() -> bytes:
    return _TEMPLATE.read_bytes()


def _set_properties(word: WordFile, document: Document) -> None:
    properties = word.core_properties
    # Word refuses properties of more than 255 characters.
    properties.title = running_title(document)
    properties.subject = running_subject(document)
    properties.author = printable(document.author)[:255]
    properties.language = document.language
    properties.content_status = document.status.value
    for language in word.styles.element.iter(qn("w:lang")):
        language.set(qn("w:val"), document.language)


def _scale_styles(word: WordFile, factor: float) -> None:
    for size in word.styles.element.iter(qn("w:sz"), qn("w:szCs")):
        size.set(qn("w:val"), str(round(int(size.get(qn("w:val"))) * factor)))


def _write_header(word: WordFile, document: Document) -> None:
    header = word.sections[0].header
    (empty,) = header.paragraphs
    if document.mark:
        empty.insert_paragraph_before(document.mark, style="Preliminary")
    empty.style = "Header"
    subject, title = running_subject(document), running_title(document)
    empty.add_run(subject).bold = True
    # What would run into each other on one line is set on two.
    empty.add_run(("\t" if len(subject) + len(title) < _HEADER_LINE else "\n") + title)


def _write_footer(word: WordFile, document: Document) -> None:
    """Say on every page who signed and when, above the number of the page."""
    state = running_state(document)
    if state:
        (pages,) = word.sections[0].footer.paragraphs
        said = pages.insert_paragraph_before(state, style="Footer")
        said.alignment = WD_ALIGN_PARAGRAPH.LEFT


class _Body:
    """Writes the blocks as the XML of Word's body.

    The XML is written as text and parsed once: through python-docx's objects each cell would be
    looked up again for each property.
    """

    def __init__(self, word: WordFile, size_pt: float, *, is_large: bool) -> None:
        self._word = word
        self._size_pt = size_pt
        self._is_large = is_large
        self._pictures = 0

    def write(self, blocks: tuple[Block, ...]) -> None:
        xml = "".join(part for block in blocks for part in self._block(block))
        if self._is_large:
            xml = xml.replace(_RULED_BY_HAND, _RULED_BY_HAND_LARGE)
        parsed = parse_xml(f"<w:body {_NAMESPACES}>{xml}</w:body>")
        section = self._word.element.body.sectPr
        for element in list(parsed):
            section.addprevious(element)

    def _block(self, block: Block) -> Iterator[str]:
        match block:
            case Heading(level=level, runs=runs, starts_page=starts_page):
                page = "<w:pageBreakBefore/>" if starts_page else ""
                yield _paragraph(_HEADING_STYLES[min(level, 4)], _runs(runs), page)
            case Paragraph(sentences=sentences, style=style):
                yield _paragraph(_PARAGRAPH_STYLES.get(style, "BodyText"), _sentences(sentences))
            case ItemList():
                yield from self._list(block)
            case Table():
                yield from _table(block, self._size_pt)
            case Figure():
                yield from self._figure(block)
            case PicturePage():
                yield from self._picture_page(block)
            case _:
                assert_never(block)

    def _list(self, block: ItemList) -> Iterator[str]:
        style = _LIST_STYLES.get(block.style, "List") + ("Number" if block.numbered else "Bullet")
        properties = self._restarted_number() if block.numbered else ""
        for item in block.items:
            yield _paragraph(style, _sentences(item), properties)
        # The items stand closer together than the list and what follows it.
        yield _paragraph("AfterList", "")

    def _restarted_number(self) -> str:
        numbering = self._word.part.numbering_part.element
        number = numbering.add_num(1)
        number.add_lvlOverride(0).add_startOverride(1)
        return f'<w:numPr><w:ilvl w:val="0"/><w:numId w:val="{number.numId}"/></w:numPr>'

    def _figure(self, figure: Figure) -> Iterator[str]:
        width_mm = min(
            figure.width_mm,
            _TEXT_WIDTH_MM,
            _TALLEST_MM * figure.width_mm / max(figure.height_mm, 1.0),
        )
        png = png_of(figure.svg, width_mm)
        keep = "" if figure.caption else '<w:keepNext w:val="0"/>'
        yield _paragraph("Figure", self._image(png, width_mm, figure.alternative), keep)
        if figure.caption:
            yield _paragraph("Caption", _runs(figure.caption))

    def _picture_page(self, page: PicturePage) -> Iterator[str]:
        """A table without rules, two pictures a row, each above its caption."""
        cell = round(_TEXT_WIDTH_TWIPS / 2)
        yield (
            f'<w:tbl><w:tblPr><w:tblW w:w="{2 * cell}" w:type="dxa"/>'
            '<w:tblLayout w:type="fixed"/><w:tblCellMar><w:left w:w="0" w:type="dxa"/>'
            '<w:right w:w="170" w:type="dxa"/></w:tblCellMar></w:tblPr>'
            f'<w:tblGrid><w:gridCol w:w="{cell}"/><w:gridCol w:w="{cell}"/></w:tblGrid>'
        )
        for first in range(0, len(page.pictures), 2):
            pair = page.pictures[first : first + 2]
            whole = all(len(sentence_text(caption_runs(each))) <= _SPLIT_ABOVE for each in pair)
            yield "<w:tr><w:trPr><w:cantSplit/></w:trPr>" if whole else "<w:tr>"
            for column in range(2):
                inside = (
                    "".join(self._photograph(pair[column]))
                    if column < len(pair)
                    else _paragraph("Caption", "")
                )
                yield f'<w:tc><w:tcPr><w:tcW w:w="{cell}" w:type="dxa"/></w:tcPr>{inside}</w:tc>'
            yield "</w:tr>"
        yield "</w:tbl>" + _paragraph("AfterTable", "")

    def _photograph(self, picture: Picture) -> Iterator[str]:
        if picture.data is None:
            yield _paragraph("Caution", _runs(picture.missing), "<w:keepNext/>")
        else:
            width_mm, _ = picture_size_mm(picture)
            yield _paragraph("Figure", self._image(picture.data, width_mm, picture.alternative))
        yield _paragraph("Caption", _sentences(picture.caption))

    def _image(self, data: bytes, width_mm: float, alternative: str) -> str:
        """The run that holds a picture."""
        relation, image = self._word.part.get_or_add_image(io.BytesIO(data))
        width = int(Mm(width_mm))
        height = round(width * image.px_height / image.px_width)
        self._pictures += 1
        words = _attribute(alternative)
        name = f'id="{self._pictures}" name="Figure {self._pictures}" descr="{words}"'
        return (
            f'<w:r><w:drawing><wp:inline><wp:extent cx="{width}" cy="{height}"/><wp:docPr {name}/>'
            "<a:graphic>"
            '<a:graphicData uri="http://schemas.openxmlformats.org/drawingml/2006/picture">'
            f"<pic:pic><pic:nvPicPr><pic:cNvPr {name}/><pic:cNvPicPr/></pic:nvPicPr>"
            f'<pic:blipFill><a:blip r:embed="{relation}"/><a:stretch><a:fillRect/></a:stretch>'
            f'</pic:blipFill><pic:spPr><a:xfrm><a:off x="0" y="0"/>'
            f'<a:ext cx="{width}" cy="{height}"/>'
            '</a:xfrm><a:prstGeom prst="rect"><a:avLst/></a:prstGeom></pic:spPr></pic:pic>'
            "</a:graphicData></a:graphic></wp:inline></w:drawing></w:r>"
        )


def _table(table: Table, size_pt: float) -> Iterator[str]:
    rows = (table.header, *table.rows) if table.header else table.rows
    if not rows:
        return
    widths = [round(share * _TEXT_WIDTH_TWIPS) for share in column_shares(table, size_pt)]
    style = "Grid" if table.header else "Facts"
    look = (
        '<w:tblLook w:val="0020" w:firstRow="1" w:lastRow="0" w:firstColumn="0" w:lastColumn="0" '
        'w:noHBand="1" w:noVBand="1"/>'
        if table.header
        else '<w:tblLook w:val="0080" w:firstRow="0" w:lastRow="0" w:firstColumn="1" '
        'w:lastColumn="0" w:noHBand="1" w:noVBand="1"/>'
    )
    grid = "".join(f'<w:gridCol w:w="{width}"/>' for width in widths)
    yield (
        f'<w:tbl><w:tblPr><w:tblStyle w:val="{style}"/>'
        f'<w:tblW w:w="{sum(widths)}" w:type="dxa"/><w:tblLayout w:type="fixed"/>{look}</w:tblPr>'
        f"<w:tblGrid>{grid}</w:tblGrid>"
    )
    for index, cells in enumerate(rows):
        is_header = bool(table.header) and index == 0
        whole = all(len(sentence_text(cell)) <= _SPLIT_ABOVE for cell in cells)
        properties = ("<w:cantSplit/>" if whole else "") + ("<w:tblHeader/>" if is_header else "")
        yield f"<w:tr><w:trPr>{properties}</w:trPr>" if properties else "<w:tr>"
        for column, (cell, width) in enumerate(zip(cells, widths, strict=True)):
            label = not table.header and column == 0
            name = "TableHeading" if is_header else "FactLabel" if label else "TableText"
            numeric = bool(table.header) and table.numeric[column]
            yield (
                f'<w:tc><w:tcPr><w:tcW w:w="{width}" w:type="dxa"/></w:tcPr>'
                + _paragraph(
                    name,
                    _runs(cell, ruled_line=_RULED_CELL if table.header else _RULED_LINE),
                    '<w:jc w:val="right"/>' if numeric else "",
                )
                + "</w:tc>"
            )
        yield "</w:tr>"
    # Word joins two tables that touch, and wants a paragraph at the end of the file.
    yield "</w:tbl>" + _paragraph("AfterTable", "")


def _paragraph(style: str, runs: str, properties: str = "") -> str:
    return f'<w:p><w:pPr><w:pStyle w:val="{style}"/>{properties}</w:pPr>{runs}</w:p>'


def _sentences(sentences: tuple[Sentence, ...]) -> str:
    filled = (_runs(sentence) for sentence in sentences if sentence)
    return '<w:r><w:t xml:space="preserve"> </w:t></w:r>'.join(filled)


def _runs(runs: Sentence, *, ruled_line: str = _RULED_LINE) -> str:
    return "".join(_run(run, ruled_line) for run in runs)


def _run(run: Run, ruled_line: str) -> str:
    look = (
        ("<w:b/>" if run.bold else "")
        + ("<w:i/>" if run.italic else "")
        + ('<w:u w:val="single"/>' if run.blank else "")
    )
    look = f"<w:rPr>{look}</w:rPr>" if look else ""
    if run.blank and run.path is None:
        # A line of its own, such as a signature's.
        ruled_line = _RULED_BY_HAND
    lines = [ruled_line] if run.blank else bound(printable(run.text)).split("\n")
    text = "<w:br/>".join(f'<w:t xml:space="preserve">{escape(line)}</w:t>' for line in lines)
    return f"<w:r>{look}{text}</w:r>"


def _attribute(text: str) -> str:
    return escape(" ".join(printable(text).split()), {'"': "&quot;"})


def _undated(saved: io.BytesIO) -> bytes:
    """The same package without the time at which it was packed."""
    packed = io.BytesIO()
    with zipfile.ZipFile(saved) as source, zipfile.ZipFile(packed, "w") as target:
        for entry in source.infolist():
            # A picture is compressed already.
            is_picture = entry.filename.endswith((".png", ".jpg"))
            method = zipfile.ZIP_STORED if is_picture else zipfile.ZIP_DEFLATED
            target.writestr(
                zipfile.ZipInfo(entry.filename, _EARLIEST_DATE), source.read(entry), method
            )
    return packed.getvalue()
