"""The rows of a list from another program: a file with commas, semicolons or tabs, or a paste.

Nothing here knows what a column means.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

SEPARATORS: Final = ("\t", ";", ",")
MOST_BYTES: Final = 2 * 1024 * 1024
"""A list of a day holds a few thousand; more than this is another file."""

MOST_ROWS: Final = 200
_PACKED: Final = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
"""How the files of spreadsheets begin that are no text: a zip archive, or a compound file."""

_AS_TEXT: Final = "save the list as text with commas (CSV) and read that"


class TableError(Exception):
    """A list can't be read as rows; one line for people, with the remedy."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its number as a spreadsheet counts it, empty rows included, and its cells."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of equally many cells; the empty ones are left out."""

    rows: tuple[Row, ...]

    @property
    def width(self) -> int:
        """How many columns there are."""
        return len(self.rows[0].cells) if self.rows else 0


def read_table(path: Path) -> Table:
    """The rows of a file.

    Raises: TableError.
    """
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        words = f"{path}: can't be read ({error.strerror}); choose another file"
        raise TableError(words) from error
    try:
        if len(data) > MOST_BYTES:
            raise TableError(f"larger than any theatre list ({MOST_BYTES} bytes); {_AS_TEXT}")
        return table_of(text_of(data))
    except TableError as error:
        raise TableError(f"{path.name}: {error}") from error


def text_of(data: bytes) -> str:
    """The text of a file in UTF-8 or UTF-16 with a byte order mark, in UTF-8, or in Windows-1252.

    What is valid UTF-8 is taken for it: a text of another encoding that happens to be valid in it
    is too rare to ask about. Raises: TableError. Source: RFC 3629; the Unicode Standard, 23.8.
    """
    if data.startswith(_PACKED):
        raise TableError(f"this is a spreadsheet and no text; {_AS_TEXT}")
    is_wide = data.startswith((b"\xff\xfe", b"\xfe\xff"))
    for encoding in ("utf-16",) if is_wide else ("utf-8-sig", "cp1252"):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" in text:
            break
        return text
    raise TableError(f"this is no text; {_AS_TEXT}")


def table_of(text: str) -> Table:
    """The rows of a text, whichever separator it uses.

    Quotation marks are read as RFC 4180 says: a cell in them may hold the separator, new lines,
    and a quotation mark written twice. A first line "sep=;" names the separator.
    Raises: TableError: no rows, too many, or a quotation mark that is never closed.
    """
    skipped, separator = 0, ""
    first, _, rest = text.partition("\n")
    told = first.strip().lower().removeprefix("sep=")
    if first.lower().startswith("sep=") and told in SEPARATORS:
        text, separator, skipped = rest, told, 1
    separator = separator or separator_of(text)
    rows = list(_rows(text, separator, skipped))
    if not rows:
        raise TableError(f"there are no rows in it; {_AS_TEXT}")
    if len(rows) > MOST_ROWS:
        raise TableError(f"it holds more than {MOST_ROWS} rows; read the list of one day")
    width = max(len(row.cells) for row in rows)
    full = (Row(row.number, (*row.cells, *[""] * (width - len(row.cells)))) for row in rows)
    kept = [i for i in range(width) if any(len(r.cells) > i and r.cells[i].strip() for r in rows)]
    return Table(tuple(Row(r.number, tuple(r.cells[i] for i in kept)) for r in full))


def separator_of(text: str) -> str:
    """The separator by which most rows have the same number of cells, more than one.

    Of two that do equally well the one that makes more columns; a comma when none makes any.
    """
    best, found = (0, 0), ","
    for separator in SEPARATORS:
        widths = Counter(width for width in _widths(text, separator) if width > 1)
        if widths:
            width, count = max(widths.items(), key=lambda item: (item[1], item[0]))
            if (count, width) > best:
                best, found = (count, width), separator
    return found


def _widths(text: str, separator: str) -> Iterator[int]:
    """The number of cells of each row, as far as the text can be read with a separator."""
    try:
        for row in _rows(text, separator, 0):
            yield len(row.cells)
    except TableError:
        return


def _rows(text: str, separator: str, skipped: int) -> Iterator[Row]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    number = skipped
    try:
        for cells in reader:
            number += 1
            if any(cell.strip() for cell in cells):
                yield Row(number, tuple(cells))
    except csv.Error as error:
        raise TableError(
            f"row {number + 1}: a cell begins with a quotation mark and isn't closed by one before "
            "the next cell; close it, and write a mark within it twice"
        ) from error
