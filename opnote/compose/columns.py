"""How wide the columns of a table are, from the words in them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Final

from opnote.compose.document import Block, Paragraph, Sentence, Table, sentence_text

_PAGE: Final = 92
"""Characters of table text of the size below on one line of an A4 page, about."""
_SIZE_PT: Final = 10.5
_LONGEST_WORD: Final = 18
"""Characters; a longer word is broken rather than given more room."""
_LONGEST_LINE: Final = 60
"""Characters; a longer cell is wrapped rather than given more room."""
_GUTTER: Final = 2
_LABEL_LEAST: Final = 0.16
_LABEL_MOST: Final = 0.34
_MOST_FOR_A_WORD: Final = 0.5
_BOLD: Final = 1.12
"""How much wider a bold label is than other text."""
_LONGEST_LARGE_CELL: Final = 60
"""Characters; in large print a table with a longer cell is set row by row."""
_MOST_LARGE_COLUMNS: Final = 3


def column_shares(table: Table, size_pt: float = _SIZE_PT) -> tuple[float, ...]:
    """The share of the table's width for each column; they add up to 1.

    Each column first gets room for its longest word, then the rest is given to those whose cells
    would otherwise wrap. The label column of a table of facts stays within a sixth and a third,
    but always has room for a word.
    Units: `size_pt`, the size of the letters, in points.
    Shape: as many as the table has columns; empty for a table without rows and header.
    """
    rows = (table.header, *table.rows) if table.header else table.rows
    if not rows:
        return ()
    columns = tuple(zip(*rows, strict=True))
    page = _PAGE * _SIZE_PT / size_pt
    words = [_GUTTER + min(_longest_word(column), _LONGEST_WORD) for column in columns]
    lines = [_GUTTER + min(_longest_line(column), _LONGEST_LINE) for column in columns]
    if not table.header and len(columns) == 2:
        label = min(max(lines[0] * _BOLD / page, _LABEL_LEAST), _LABEL_MOST)
        label = max(label, min(words[0] * _BOLD / page, _MOST_FOR_A_WORD))
        return label, 1 - label
    spare = max(page - sum(words), 0)
    wished = [line - word for line, word in zip(lines, words, strict=True)]
    given = [
        word + spare * wish / (sum(wished) or 1) for word, wish in zip(words, wished, strict=True)
    ]
    return tuple(width / sum(given) for width in given)


def is_crowded(table: Table) -> bool:
    """Tell whether a table is too wide or too wordy for the letters of large print."""
    longest = max((len(sentence_text(cell)) for cells in table.rows for cell in cells), default=0)
    return bool(table.header) and (
        len(table.header) > _MOST_LARGE_COLUMNS or longest > _LONGEST_LARGE_CELL
    )


def stacked(blocks: Iterable[Block]) -> Iterator[Block]:
    """The blocks with each crowded table row by row: its first cell, then facts of the others."""
    for block in blocks:
        if isinstance(block, Table) and is_crowded(block):
            for number, (first, *others) in enumerate(block.rows, start=1):
                named = tuple(replace(run, bold=True) for run in first)
                is_bold = any(run.bold for run in first)
                name = first if is_bold else named
                yield Paragraph(f"{block.id}.{number}", (name,), block.style)
                rows = tuple(
                    (label, cell)
                    for label, cell in zip(block.header[1:], others, strict=True)
                    if any(run.blank or run.text.strip() for run in cell)
                )
                if rows:
                    yield Table(f"{block.id}.{number}.facts", (), rows, (False, False), block.style)
        else:
            yield block


def _longest_word(column: tuple[Sentence, ...]) -> int:
    return max((len(word) for cell in column for word in sentence_text(cell).split()), default=0)


def _longest_line(column: tuple[Sentence, ...]) -> int:
    return max(len(line) for cell in column for line in sentence_text(cell).split("\n"))
