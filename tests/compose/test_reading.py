"""How hard a composed document is to read."""

from __future__ import annotations

import pytest

from opnote.assess import assess
from opnote.compose import compose
from opnote.compose.document import (
    Block,
    Document,
    Heading,
    ItemList,
    Paragraph,
    Run,
    Status,
    Table,
)
from opnote.compose.reading import TARGET_GRADE, reading_of
from opnote.pack.case import read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack


def sheet(*blocks: Block) -> Document:
    return Document("risk_sheet", "t", (), Status.FINAL, blocks)


def said(*texts: str) -> tuple[tuple[Run, ...], ...]:
    return tuple((Run(text),) for text in texts)


def test_sentences_lists_and_tables_count_and_facts_and_headings_do_not() -> None:
    reading = reading_of(
        sheet(
            Heading("h", 2, (Run("Considerations"),)),
            Paragraph("p", said("The pad may tear.", "We mend it.")),
            ItemList("l", (said("You can walk."),)),
            Table("t", said("What"), (said("The cut heals."),), (False,)),
            Table("f", (), (said("Hospital number", "TEST-0001"),), (False, False)),
        )
    )
    assert [text for text, _ in reading.graded] == [
        "The pad may tear.",
        "We mend it.",
        "You can walk.",
        "The cut heals.",
    ]
    assert reading.body is not None
    assert reading.body.sentences == 4
    assert reading.small_print is None


def test_small_print_is_scored_by_itself() -> None:
    small = Paragraph("s", said("Nobody et al., International Journal of Arthroscopy."), "source")
    reading = reading_of(sheet(Paragraph("p", said("The cut heals.")), small))
    assert reading.body is not None
    assert reading.small_print is not None
    assert reading.small_print.grade > reading.body.grade
    assert [text for text, _ in reading.graded] == ["The cut heals."]


def test_hardest_sentences_come_first() -> None:
    reading = reading_of(
        sheet(
            Paragraph(
                "p",
                said(
                    "You may go home the same day.",
                    "Postoperative rehabilitation necessitates individualised physiotherapy.",
                    "An infection of the joint can need another operation.",
                ),
            )
        )
    )
    assert reading.hardest[0].startswith("Postoperative")
    assert len(reading.hardest) == 3


def test_nothing_to_read_has_no_grade() -> None:
    reading = reading_of(sheet(Heading("h", 1, (Run("Title"),))))
    assert (reading.body, reading.small_print, reading.hardest) == (None, None, ())


@pytest.mark.parametrize("sample", ["case_a", "case_b", "case_c"])
def test_each_risk_sheet_of_the_demo_reaches_the_aim(sample: str) -> None:
    text = (shipped_root() / f"forms/samples/{sample}.json").read_text(encoding="utf-8")
    record, pack = read_case(text, sample, load_pack)
    view = pack.view(record)
    reading = reading_of(compose(pack, view, assess(pack, view), "risk_sheet"))
    assert reading.body is not None
    assert reading.body.grade <= TARGET_GRADE
