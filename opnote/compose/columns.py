"""How wide the columns of a table are, from the words in them."""

from __future__ import annotations

from typing import Final

from opnote.compose.document import Sentence, Table, sentence_text

_PAGE: Final = 92
"""Characters of table text on one line of an A4 page, about."""
_LONGEST_WORD: Final = 18
"""Characters; a longer word is broken rather than given more room."""
_LONGEST_LINE: Final = 60
"""Characters; a longer cell is wrapped rather than given more room."""
_GUTTER: Final = 2
_LABEL_LEAST: Final = 0.16
_LABEL_MOST: Final = 0.34


def column_shares(table: Table) -> tuple[float, ...]:
    """The share of the table's width for each column; they add up to 1.

    Each column first gets room for its longest word, then the rest is given to those whose cells
    would otherwise wrap. The label column of a table of facts stays within a sixth and a third.
    Shape: as many as the table has columns; empty for a table without rows and header.
    """
    rows = (table.header, *table.rows) if table.header else table.rows
    if not rows:
        return ()
    columns = tuple(zip(*rows, strict=True))
    words = [_GUTTER + min(_longest_word(column), _LONGEST_WORD) for column in columns]
    lines = [_GUTTER + min(_longest_line(column), _LONGEST_LINE) for column in columns]
    if not table.header and len(columns) == 2:
        label = min(max(lines[0] / _PAGE, _LABEL_LEAST), _LABEL_MOST)
        return label, 1 - label
    spare = max(_PAGE - sum(words), 0)
    wished = [line - word for line, word in zip(lines, words, strict=True)]
    given = [
        word + spare * wish / (sum(wished) or 1) for word, wish in zip(words, wished, strict=True)
    ]
    return tuple(width / sum(given) for width in given)


def _longest_word(column: tuple[Sentence, ...]) -> int:
    return max((len(word) for cell in column for word in sentence_text(cell).split()), default=0)


def _longest_line(column: tuple[Sentence, ...]) -> int:
    return max(len(line) for cell in column for line in sentence_text(cell).split("\n"))
