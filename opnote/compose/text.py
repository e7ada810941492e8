"""A document as plain text, for pasting into a hospital's record system."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, assert_never

from opnote.compose.clean import printable
from opnote.compose.document import (
    Block,
    Document,
    Figure,
    Heading,
    ItemList,
    Paragraph,
    PicturePage,
    Sentence,
    Table,
    sentence_text,
)
from opnote.compose.photograph import caption_runs

_UNDERLINES: Final = {1: "=", 2: "-", 3: "."}
_WIDEST_ALIGNED: Final = 96
"""Characters; a wider table, which a record system would wrap, has one line a cell."""
_LONGEST_UNDERLINE: Final = 80


def text_from(document: Document) -> str:
    """The document as plain text, one paragraph a line, wrapped nowhere.

    A preliminary document says so in its first and last line, a signed one who signed and when.
    Below the first line stands the patient's line, which other formats have in the running header.
    """
    mark = [line for line in (document.mark, _one_line(document.state)) if line]
    subject = [_line(document.subject)] if document.subject else []
    blocks = ["\n".join(_block_lines(block)) for block in document.blocks]
    return "\n\n".join([*mark, *subject, *filter(None, blocks), *mark]) + "\n"


def _block_lines(block: Block) -> Iterator[str]:
    match block:
        case Heading(level=level, runs=runs):
            heading = _line(runs)
            yield heading
            if level in _UNDERLINES:
                yield _UNDERLINES[level] * min(len(heading), _LONGEST_UNDERLINE)
        case Paragraph(sentences=sentences):
            # Indented, so that no typed line can pass for a heading of the note.
            yield _hanging(_paragraph(sentences), 4)
        case ItemList(items=items, numbered=numbered):
            for number, item in enumerate(items, start=1):
                mark = f"{number}. " if numbered else "- "
                yield mark + _hanging(_paragraph(item), len(mark))
        case Table():
            yield from _table_lines(block)
        case Figure(alternative=alternative, caption=caption):
            yield f"[Figure: {_one_line(alternative)}]"
            if caption:
                yield _text(caption)
        case PicturePage(pictures=pictures):
            for picture in pictures:
                yield "- " + _hanging(_text(caption_runs(picture)), 2)
        case _:
            assert_never(block)


def _table_lines(table: Table) -> Iterator[str]:
    if not table.header:
        for cells in table.rows:
            yield _labelled(_line(cells[0]), _text(cells[1]))
        return
    header = [_line(cell) for cell in table.header]
    rows = [[_text(cell) for cell in cells] for cells in table.rows]
    widths = [max(map(len, column)) for column in zip(header, *rows, strict=True)]
    several_lines = any("\n" in cell for cells in rows for cell in cells)
    if several_lines or sum(widths) + 2 * len(widths) > _WIDEST_ALIGNED:
        yield from _one_line_a_cell(header, rows)
        return
    yield _aligned(header, widths, table.numeric)
    yield "  ".join("-" * width for width in widths)
    for filled in rows:
        yield _aligned(filled, widths, table.numeric)


def _one_line_a_cell(header: list[str], rows: list[list[str]]) -> Iterator[str]:
    for number, cells in enumerate(rows):
        if number:
            yield ""
        for label, cell in zip(header, cells, strict=True):
            if cell:
                yield _labelled(label, cell)


def _aligned(cells: list[str], widths: list[int], numeric: tuple[bool, ...]) -> str:
    padded = (
        cell.rjust(width) if is_number else cell.ljust(width)
        for cell, width, is_number in zip(cells, widths, numeric, strict=True)
    )
    return "  ".join(padded).rstrip()


def _labelled(label: str, value: str) -> str:
    colon = "" if label.endswith((":", "?")) or not label else ":"
    return f"{label}{colon} {_hanging(value, 2)}".strip()


def _hanging(text: str, indent: int) -> str:
    """A text whose further lines stand in; empty ones go."""
    lines = [line.rstrip() for line in text.split("\n")]
    return ("\n" + " " * indent).join(line for line in lines if line.strip())


def _paragraph(sentences: tuple[Sentence, ...]) -> str:
    return " ".join(filter(None, map(_text, sentences)))


def _line(sentence: Sentence) -> str:
    return _one_line(sentence_text(sentence))


def _one_line(text: str) -> str:
    return " ".join(printable(text).split())


def _text(sentence: Sentence) -> str:
    return printable(sentence_text(sentence))
