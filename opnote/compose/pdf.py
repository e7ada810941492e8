"""A document as tagged PDF (PDF/UA-1), set by typst from our page design."""

from __future__ import annotations

import base64
import json
import unicodedata
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final, TypeAlias, assert_never

from opnote.compose.binding import HYPHENATED, TOGETHER
from opnote.compose.clean import printable
from opnote.compose.columns import column_shares, is_crowded
from opnote.compose.document import (
    LARGE_PRINT_PT,
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
from opnote.compose.keeping import kept_together
from opnote.compose.running import running_state, running_subject, running_title
from opnote.compose.typesetter import pages_from, pdf_from

_Json: TypeAlias = str | float | bool | list["_Json"] | dict[str, "_Json"] | None

_PAGE: Final = Path(__file__).with_name("page.typ")
_TEXT_SIZE_PT: Final = {"note": 10.5, "letter": 10.5, "recovery_card": 9.5}
"""The card of the recovery room is to be one page."""
_PATIENT_TEXT_SIZE_PT: Final = 12.0
_LONGEST_WORD: Final = 24
"""Characters; a longer word may be broken, because it could be wider than a column."""
_PIECE: Final = 8
"""Characters between two places where a long word may be broken."""
_LONGEST_LABEL: Final = 140
"""Characters; a longer label of a fact stands above its value instead of beside it."""
_FURNITURE_PT: Final = 9.0
_LARGE_FURNITURE_PT: Final = 14.0
"""Size of header and footer. Units: points."""


def pdf_bytes(document: Document) -> bytes:
    """The document as PDF/UA-1; the same document gives the same bytes.

    A character that no font on this computer can show is printed as its code, "[U+0E44]".
    """
    return pdf_from(_PAGE, lambda missing: {"document": _Page(missing).document(document)})


def page_pictures(document: Document, pixels_an_inch: float) -> list[bytes]:
    """The pages of that PDF as PNG pictures, for a printer or a screen."""
    return pages_from(
        _PAGE, lambda missing: {"document": _Page(missing).document(document)}, pixels_an_inch
    )


class _Page:
    """The document as data for page.typ, with the characters that no font has named by code."""

    def __init__(self, missing: frozenset[str]) -> None:
        self._codes = {ord(character): f"[U+{ord(character):04X}]" for character in missing}
        self._is_large = False
        self._size_pt = _PATIENT_TEXT_SIZE_PT

    def document(self, document: Document) -> str:
        self._is_large = document.is_large
        self._size_pt = _size_pt(document)
        language, _, region = document.language.partition("-")
        title = self._plain(running_title(document)) or document.kind
        page: dict[str, _Json] = {
            "title": title,
            "author": self._plain(document.author),
            "language": language.lower(),
            "region": region.upper() if len(region) == 2 else None,
            "size_pt": self._size_pt,
            "furniture_pt": _LARGE_FURNITURE_PT if document.is_large else _FURNITURE_PT,
            "mark": document.mark or None,
            "state": self._plain(running_state(document)) or None,
            "running_subject": self._plain(running_subject(document)),
            "running_title": title,
            "together": f"{TOGETHER}|{HYPHENATED}",
            "blocks": self._blocks(document.blocks),
        }
        return json.dumps(page)

    def _blocks(self, blocks: tuple[Block, ...]) -> list[_Json]:
        """The blocks as data; those that must stand on one page as one group."""
        groups = kept_together(blocks)
        headings = self._outline([block for group in groups for block in group])
        made: list[_Json] = []
        for group in groups:
            items = [
                next(headings) if isinstance(block, Heading) else self._block(block)
                for block in group
            ]
            made += items if len(group) == 1 else [{"kind": "together", "blocks": items}]
        return made

    def _outline(self, blocks: Sequence[Block]) -> Iterator[_Json]:
        outline = 0
        for block in blocks:
            if isinstance(block, Heading):
                # PDF/UA allows no jump from level 1 to level 3; the look stays that of the level.
                outline = min(block.level, outline + 1)
                yield {
                    "kind": "heading",
                    "level": outline,
                    "look": block.level,
                    "runs": self._runs(block.runs),
                    "starts_page": block.starts_page,
                }

    def _block(self, block: Paragraph | ItemList | Table | Figure | PicturePage) -> _Json:
        match block:
            case Paragraph(sentences=sentences, style=style):
                return {"kind": "paragraph", "style": style, "runs": self._sentences(sentences)}
            case ItemList(items=items, numbered=numbered, style=style):
                entries: list[_Json] = [self._sentences(item) for item in items]
                return {
                    "kind": "list",
                    "style": style,
                    "numbered": numbered,
                    "items": entries,
                }
            case Table():
                return self._table(block)
            case Figure():
                return {
                    "kind": "figure",
                    "svg": self._plain(block.svg),
                    "alternative": self._plain(block.alternative) or "Figure",
                    "caption": self._runs(block.caption),
                    "width_mm": block.width_mm,
                    "height_mm": block.height_mm,
                }
            case PicturePage(pictures=pictures):
                return {"kind": "pictures", "pictures": [self._picture(each) for each in pictures]}
            case _:
                assert_never(block)

    def _picture(self, picture: Picture) -> _Json:
        width_mm, height_mm = picture_size_mm(picture)
        # A drawing that holds nothing but the photograph: typst takes bytes only as a text, and
        # puts what the drawing holds into the file as it is.
        svg = (
            None
            if picture.data is None
            else (
                f'<svg xmlns="http://www.w3.org/2000/svg" width="{picture.width_px}" '
                f'height="{picture.height_px}"><image width="{picture.width_px}" '
                f'height="{picture.height_px}" href="data:image/jpeg;base64,'
                f'{base64.b64encode(picture.data).decode()}"/></svg>'
            )
        )
        return {
            "svg": svg,
            "alternative": self._plain(picture.alternative) or "Picture",
            "missing": self._runs(picture.missing),
            "caption": self._sentences(picture.caption),
            "width_mm": width_mm,
            "height_mm": height_mm,
        }

    def _table(self, table: Table) -> _Json:
        rows: list[_Json] = [[self._runs(cell) for cell in cells] for cells in table.rows]
        shares: list[_Json] = list(column_shares(table, self._size_pt))
        if not table.header:
            longest = max((len(sentence_text(cells[0])) for cells in table.rows), default=0)
            return {
                "kind": "facts",
                "style": table.style,
                "rows": rows,
                "shares": shares,
                "beside": longest <= _LONGEST_LABEL,
            }
        return {
            "kind": "cards" if self._is_large and is_crowded(table) else "table",
            "style": table.style,
            # A first cell that marks its own name in bold keeps the difference.
            "strong_first": not any(run.bold for cells in table.rows for run in cells[0]),
            "header": [self._runs(cell) for cell in table.header],
            "rows": rows,
            "shares": shares,
            "numeric": list(table.numeric),
        }

    def _sentences(self, sentences: tuple[Sentence, ...]) -> list[_Json]:
        runs: list[_Json] = []
        for sentence in filter(None, sentences):
            if runs:
                runs.append(self._run(Run(" ")))
            runs.extend(self._runs(sentence))
        return runs

    def _runs(self, runs: Sentence) -> list[_Json]:
        return [self._run(run) for run in runs]

    def _run(self, run: Run) -> _Json:
        lines: list[_Json] = [list(_pieces(line)) for line in self._plain(run.text).split("\n")]
        return {
            "text": lines,
            "bold": run.bold,
            "italic": run.italic,
            "blank": run.blank,
            "by_hand": run.blank and run.path is None,
        }

    def _plain(self, text: str) -> str:
        return printable(text).translate(self._codes)


def _size_pt(document: Document) -> float:
    if document.is_large:
        return LARGE_PRINT_PT
    return _TEXT_SIZE_PT.get(document.kind, _PATIENT_TEXT_SIZE_PT)


def _pieces(line: str) -> Iterator[str]:
    """The line in pieces between which it may also be broken; one piece unless a word is long."""
    if len(line) <= _LONGEST_WORD or max(map(len, line.split(" "))) <= _LONGEST_WORD:
        yield line
        return
    start = 0
    for end in range(1, len(line)):
        # A mark stays with the letter it stands on.
        if end - start >= _PIECE and not unicodedata.combining(line[end]):
            yield line[start:end]
            start = end
    yield line[start:]
