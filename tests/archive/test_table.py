"""Lists from other programs: separators, quotation marks, encodings, and what can't be read."""

from __future__ import annotations

from pathlib import Path

import pytest

from opnote.archive import table
from opnote.archive.table import TableError, read_table, separator_of, table_of, text_of


def cells(text: str) -> list[tuple[str, ...]]:
    return [row.cells for row in table_of(text).rows]


PLAIN = [("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx")]


# The examples of RFC 4180, section 2, by the number of the rule.
@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        pytest.param("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", PLAIN, id="1_each_record_ends_with_crlf"),
        pytest.param("aaa,bbb,ccc\r\nzzz,yyy,xxx", PLAIN, id="2_the_last_may_not"),
        pytest.param(
            "field_name,field_name,field_name\r\naaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
            [("field_name",) * 3, *PLAIN],
            id="3_header_line",
        ),
        pytest.param("aaa,bbb,ccc", PLAIN[:1], id="4_no_comma_after_the_last"),
        pytest.param('"aaa","bbb","ccc"\r\nzzz,yyy,xxx', PLAIN, id="5_quoted_or_not"),
        pytest.param(
            '"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx',
            [("aaa", "b\r\nbb", "ccc"), PLAIN[1]],
            id="6_line_break_in_quotes",
        ),
        pytest.param('"aaa","b""bb","ccc"', [("aaa", 'b"bb', "ccc")], id="7_quote_twice"),
    ],
)
def test_examples_of_rfc_4180(text: str, wanted: list[tuple[str, ...]]) -> None:
    assert cells(text) == wanted


def test_spaces_are_part_of_a_field() -> None:
    # RFC 4180, section 2, rule 4.
    assert cells("aaa, bbb ,ccc") == [("aaa", " bbb ", "ccc")]


@pytest.mark.parametrize("separator", ["\t", ";", ","])
def test_each_separator_is_found(separator: str) -> None:
    lines = [["Name", "Born", "Side"], ["Ann", "1/2/90", "L"], ["Bo", "3/4/91", "R"]]
    assert cells("\n".join(map(separator.join, lines))) == [tuple(line) for line in lines]


def test_commas_in_names_and_numbers_are_no_separators() -> None:
    text = "Name;Weight;Side\nMarrow, Ann;61,5;L\nFen, Bo;70,0;R\n"
    assert separator_of(text) == ";"
    assert cells(text)[1] == ("Marrow, Ann", "61,5", "L")


def test_a_quoted_separator_does_not_count() -> None:
    text = 'Name,Side\n"a;b;c",L\n"d;e;f",R\n'
    assert cells(text) == [("Name", "Side"), ("a;b;c", "L"), ("d;e;f", "R")]


def test_a_line_that_names_the_separator_is_no_row() -> None:
    rows = table_of("sep=;\nName;Side\nAnn;L\n").rows
    assert [row.cells for row in rows] == [("Name", "Side"), ("Ann", "L")]
    assert [row.number for row in rows] == [2, 3]


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_every_end_of_line_is_read(ends: str) -> None:
    assert cells(ends.join(["a,b", "c,d", ""])) == [("a", "b"), ("c", "d")]


def test_rows_are_counted_as_a_spreadsheet_counts_them() -> None:
    text = 'Name,Note\n\nAnn,"two\nlines"\n,\nBo,x\n'
    assert [(row.number, row.cells[0]) for row in table_of(text).rows] == [
        (1, "Name"),
        (3, "Ann"),
        (5, "Bo"),
    ]


def test_short_rows_are_filled_and_long_ones_kept() -> None:
    assert cells("a,b\nc\nd,e,f\n") == [("a", "b", ""), ("c", "", ""), ("d", "e", "f")]


def test_columns_without_any_text_are_left_out() -> None:
    assert cells("Name,,Side\nAnn,,L\n") == [("Name", "Side"), ("Ann", "L")]


NAME = "Zoë Ørsted"


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(NAME.encode(), id="utf_8"),
        pytest.param(b"\xef\xbb\xbf" + NAME.encode(), id="utf_8_with_mark"),
        pytest.param(NAME.encode("cp1252"), id="windows_1252"),
        pytest.param(NAME.encode("utf-16"), id="utf_16_with_mark"),
    ],
)
def test_each_encoding_gives_the_same_words(data: bytes) -> None:
    assert text_of(data) == NAME


def said(data: bytes, folder: Path) -> str:
    path = folder / "list.csv"
    path.write_bytes(data)
    with pytest.raises(TableError) as caught:
        read_table(path)
    words = str(caught.value)
    assert "\n" not in words
    return words


def test_a_spreadsheet_is_told_from_text(tmp_path: Path) -> None:
    words = said(b"PK\x03\x04rest", tmp_path)
    assert words.startswith("list.csv: this is a spreadsheet and no text; save the list as text")


def test_other_bytes_are_no_text(tmp_path: Path) -> None:
    assert "this is no text" in said(b"a\0b,c", tmp_path)
    assert "this is no text" in said(b"a\x81b", tmp_path)  # no character of Windows-1252


def test_a_mark_that_is_never_closed_names_its_row(tmp_path: Path) -> None:
    words = said(b'Name,Side\nAnn,L\n"Bo,R\nCe,L\n', tmp_path)
    assert words.startswith("list.csv: row 3: a cell begins with a quotation mark and isn't closed")


def test_too_much_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    rows = "a,b\n" * (table.MOST_ROWS + 1)
    assert f"more than {table.MOST_ROWS} rows" in said(rows.encode(), tmp_path)
    monkeypatch.setattr(table, "MOST_BYTES", 10)
    assert "larger than any theatre list (10 bytes)" in said(b"a,b,c,d,e,f,g", tmp_path)


def test_nothing_in_it_is_said(tmp_path: Path) -> None:
    assert "there are no rows in it" in said(b"\n , \n", tmp_path)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(TableError, match=r"none\.csv: can't be read"):
        read_table(tmp_path / "none.csv")
