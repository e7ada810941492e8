"""Medical words are explained where a patient first meets them."""

from __future__ import annotations

from pathlib import Path

import pytest

from opnote.compose.document import Block, Heading, ItemList, Paragraph, Run, Table, sentences_of
from opnote.compose.document import sentence_text as text_of
from opnote.compose.glossary import explained
from opnote.pack.loader import load_pack
from opnote.pack.pack import Term
from opnote.pack.problem import PackError

GLOSSARY = (
    Term(("ligament", "ligaments"), "a strong band"),
    Term(("cruciate ligament", "ACL"), "a band in the middle"),
    Term(("rasping",), "roughening"),
)


def said(*blocks: Block) -> list[str]:
    return [
        text_of(s) for block in explained(blocks, GLOSSARY, is_typed) for s in sentences_of(block)
    ]


def is_typed(path: str) -> bool:
    return path == "patient.name"


def paragraph(*texts: str) -> Paragraph:
    return Paragraph("p", tuple((Run(text),) for text in texts))


def test_a_term_is_explained_once_at_its_first_use() -> None:
    assert said(paragraph("The Ligaments hold.", "A ligament tore.")) == [
        "The Ligaments (a strong band) hold.",
        "A ligament tore.",
    ]


def test_the_longer_term_wins_and_parts_of_words_are_left_alone() -> None:
    assert said(paragraph("The cruciate ligament, and unrasping.", "The ACL.")) == [
        "The cruciate ligament (a band in the middle), and unrasping.",
        "The ACL.",
    ]


def test_plain_words_that_stand_there_already_are_enough() -> None:
    assert said(paragraph("Roughening (rasping) helps.", "Then rasping.")) == [
        "Roughening (rasping) helps.",
        "Then rasping.",
    ]
    assert said(paragraph("Rasping (with a file) helps.")) == ["Rasping (with a file) helps."]


def test_nothing_is_put_into_a_name_and_the_term_waits_for_its_next_use() -> None:
    name = Paragraph("p", ((Run("Mr Rasping", "patient.name"),), (Run("Then rasping."),)))
    assert said(name) == ["Mr Rasping", "Then rasping (roughening)."]


def test_letters_of_other_alphabets_are_no_term() -> None:
    assert said(paragraph("The l\N{LATIN SMALL LETTER DOTLESS I}gament.")) == [
        "The l\N{LATIN SMALL LETTER DOTLESS I}gament."
    ]


def test_headings_are_left_alone_and_tables_and_lists_are_read_in_order() -> None:
    row = ((Run("Done"),), (Run("rasping", "bed.rasped"),))
    blocks = (
        Heading("h", 2, (Run("About rasping"),)),
        Table("t", (), (row,), (False, False)),
        ItemList("l", (((Run("rasping"),),),)),
    )
    assert said(*blocks) == ["About rasping", "Done", "rasping (roughening)", "rasping"]
    table = explained(blocks, GLOSSARY, is_typed)[1]
    assert isinstance(table, Table)
    # The words still lead to their field.
    assert table.rows[0][1][0].path == "bed.rasped"


def test_plain_words_hold_no_number_and_not_the_word_itself() -> None:
    glossary = load_pack(("meniscal_repair",)).glossary
    assert len(glossary) > 20
    for term in glossary:
        assert not any(sign.isdigit() for sign in term.plain)
        assert term.words[0].casefold() not in term.plain.casefold().split()


def test_a_word_that_is_there_twice_is_refused(mini_folder: Path) -> None:
    path = mini_folder / "forms/mini_repair/glossary.toml"
    term = '[[term]]\nword = "rim"\nplain = "the edge"\n'
    path.write_text(term + "\n" + term, encoding="utf-8")
    with pytest.raises(PackError, match=r"glossary.toml:6: the word 'rim' is there twice; keep"):
        load_pack(("mini_repair",), [mini_folder])
