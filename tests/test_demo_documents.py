"""The documents of the demo cases: the same sentences in every format, and valid files."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from html.parser import HTMLParser
from pathlib import Path

import docx
import pdfua
import pypdf
import pytest
from docx.table import Table as WordTable
from openxml_audit import OpenXmlValidator

from opnote.assess import assess
from opnote.compose import compose
from opnote.compose.clean import printable
from opnote.compose.document import Document, Sentence, Status, Table, sentence_text
from opnote.compose.docx import docx_bytes
from opnote.compose.html import html_from
from opnote.compose.pdf import pdf_bytes
from opnote.compose.text import text_from
from opnote.pack.case import read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack
from opnote.pack.pack import DOCUMENTS, Pack

CASES = ("case_a", "case_b", "case_c")
every_document = pytest.mark.parametrize(
    ("case", "kind"), [(case, kind) for case in CASES for kind in DOCUMENTS]
)


@lru_cache
def _pack() -> Pack:
    return load_pack(("meniscal_repair",))


@lru_cache
def _document(case: str, kind: str) -> Document:
    path = shipped_root() / "forms" / "samples" / f"{case}.json"
    record, pack = read_case(path.read_text(encoding="utf-8"), case, lambda names: _pack())
    view = pack.view(record)
    return compose(pack, view, assess(pack, view), kind)


def _word_text(document: Document) -> str:
    parts = []
    for item in docx.Document(io.BytesIO(docx_bytes(document))).iter_inner_content():
        if isinstance(item, WordTable):
            parts += [cell.text for row in item.rows for cell in row.cells]
        else:
            parts.append(item.text)
    return "\n".join(parts)


def _pdf_text(document: Document) -> str:
    """The text of the pages without the running header and footer, which come between sentences."""
    running = printable(sentence_text(document.subject))
    lines = []
    for page in pypdf.PdfReader(io.BytesIO(pdf_bytes(document))).pages:
        for line in page.extract_text().replace("\u200b", "").split("\n"):
            is_running = line.startswith(running) or line.startswith("Page ")
            if not is_running and line.strip() not in ("PRELIMINARY", document.running):
                lines.append(line)
    return re.sub("_+", "_" * 8, "\n".join(lines))


class _Body(HTMLParser):
    """The text of an HTML page's body, drawings left out."""

    def __init__(self) -> None:
        super().__init__()
        self.text = ""
        self._drawing = self._head = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._drawing += tag == "svg"
        self._head += tag == "head"
        self.text += "\n" if tag in ("p", "td", "th", "li", "br") else ""

    def handle_endtag(self, tag: str) -> None:
        self._drawing -= tag == "svg"
        self._head -= tag == "head"

    def handle_data(self, data: str) -> None:
        if not self._drawing and not self._head:
            self.text += data


def _html_text(document: Document) -> str:
    body = _Body()
    body.feed(html_from(document))
    return body.text


def _squeezed(text: str) -> str:
    """Letters and digits only: formats differ in how they break and join lines."""
    return re.sub(r"[\W_]+", "", text.replace("\N{NO-BREAK SPACE}", " "))


def _spoken(document: Document) -> Iterator[str]:
    """The sentences in order, without the headers of tables: plain text has them as labels."""
    for block in document.blocks:
        plain = replace(block, header=()) if isinstance(block, Table) else block
        for sentence in replace(document, blocks=(plain,)).sentences():
            said = _squeezed(_without_blanks(sentence))
            if said:
                yield said


def _without_blanks(sentence: Sentence) -> str:
    return "".join(printable(run.text) for run in sentence if not run.blank)


@every_document
@pytest.mark.parametrize("text_in", [text_from, _html_text, _word_text, _pdf_text])
def test_every_format_says_the_same_sentences_in_the_same_order(
    case: str, kind: str, text_in: object
) -> None:
    assert callable(text_in)
    document = _document(case, kind)
    text = _squeezed(text_in(document))
    at = 0
    for said in _spoken(document):
        # Plain text may set headings in capitals.
        found = text.lower().find(said.lower(), at)
        assert found >= 0, f"{said!r} is not said, or not after what stands before it"
        at = found + len(said)


@every_document
@pytest.mark.parametrize("text_in", [text_from, _html_text, _word_text, _pdf_text])
def test_every_format_says_what_the_columns_of_its_tables_hold(
    case: str, kind: str, text_in: object
) -> None:
    assert callable(text_in)
    document = _document(case, kind)
    text = _squeezed(text_in(document)).lower()
    headers = [h for block in document.blocks if isinstance(block, Table) for h in block.header]
    missing = [h for h in headers if _squeezed(_without_blanks(h)).lower() not in text]
    assert missing == []


@every_document
def test_word_file_is_valid(
    case: str, kind: str, tmp_path: Path, openxml_validator: OpenXmlValidator
) -> None:
    path = tmp_path / "document.docx"
    path.write_bytes(docx_bytes(_document(case, kind)))
    assert openxml_validator.validate(path).errors == []


@every_document
def test_pdf_passes_the_accessibility_check(case: str, kind: str, tmp_path: Path) -> None:
    path = tmp_path / "document.pdf"
    path.write_bytes(pdf_bytes(_document(case, kind)))
    assert pdfua.validate(str(path)).findings == ()


@pytest.mark.parametrize("case", CASES)
def test_card_of_the_recovery_room_is_one_page(case: str) -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(_document(case, "recovery_card"))))
    assert len(reader.pages) == 1


@pytest.mark.parametrize("case", CASES)
def test_unsigned_note_is_preliminary_and_a_complete_patient_sheet_is_not(case: str) -> None:
    assert _document(case, "note").status is Status.PRELIMINARY
    assert _document(case, "risk_sheet").status is Status.FINAL
