"""Columns have room for their words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from opnote.compose.columns import column_shares
from opnote.compose.document import Run, Sentence, Table


def row(*texts: str) -> tuple[Sentence, ...]:
    return tuple((Run(text),) for text in texts)


@given(
    st.integers(1, 8).flatmap(
        lambda width: st.lists(
            st.lists(st.text(), min_size=width, max_size=width), min_size=1, max_size=4
        )
    )
)
def test_shares_make_a_whole(cells: list[list[str]]) -> None:
    header, *rows = (row(*texts) for texts in cells)
    shares = column_shares(Table("t", header, tuple(rows), (False,) * len(header)))
    assert len(shares) == len(header)
    assert sum(shares) == pytest.approx(1)
    assert min(shares) > 0


def test_longer_cells_get_more_room() -> None:
    table = Table("t", row("mm", "Remark"), (row("4", "The rim was ragged."),), (True, False))
    narrow, wide = column_shares(table)
    assert narrow < wide


def test_endless_cell_leaves_the_others_room_for_a_word() -> None:
    table = Table("t", row("Technique", "Remark"), (row("inside-out", "x" * 9000),), (False,) * 2)
    assert column_shares(table)[0] > 0.12


@pytest.mark.parametrize("label", ["", "No", "Position, leg holder and side support", "L" * 500])
def test_labels_of_facts_take_a_sixth_to_a_third(label: str) -> None:
    share, rest = column_shares(Table("t", (), (row(label, "value"),), (False, False)))
    assert 0.15 < share < 0.35
    assert share + rest == pytest.approx(1)


def test_table_without_rows_has_no_columns() -> None:
    assert column_shares(Table("t", (), (), ())) == ()


def test_a_label_in_large_letters_has_room_for_its_longest_word() -> None:
    table = Table("t", (), (row("Antibiotic", "none"),), (False, False))
    share, _ = column_shares(table, 18)
    # Ten bold letters of 18 points, about half as wide as high, on a page of 482 points.
    assert share * 482 > 10 * 0.5 * 18
    assert column_shares(table)[0] < share
