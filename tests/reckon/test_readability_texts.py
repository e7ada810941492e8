"""Counting and ranking of whole texts, and texts that nobody would write."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from opnote.reckon.readability import (
    Counts,
    counts_of,
    flesch_kincaid_grade,
    flesch_reading_ease,
    hardest,
    sentences_of,
    smog_grade,
    syllables,
    words_of,
)

EASY = "We mend the torn pad."
HARD = "Complications are uncommon after arthroscopy."
HARDER = "Thromboprophylaxis minimises postoperative complications."


def test_repeats_of_a_long_word_are_counted() -> None:
    counts = counts_of("Infection is rare. Tell us of an infection.\nInfection?")
    assert counts == Counts(sentences=3, words=9, syllables=15, long_words=3)


def test_headings_and_lines_are_sentences_and_rules_are_not() -> None:
    assert counts_of("Your knee\n---\n\n* * *\nRest it.").sentences == 2


@pytest.mark.parametrize("grade", [flesch_kincaid_grade, flesch_reading_ease, smog_grade])
@pytest.mark.parametrize("text", ["", " \n ", "...", "— * —"])
def test_text_without_a_word_has_no_grade(grade: object, text: str) -> None:
    assert counts_of(text) == Counts(0, 0, 0, 0)
    assert callable(grade)
    with pytest.raises(ValueError, match="without a word"):
        grade(counts_of(text))


def test_hardest_sentences_come_first() -> None:
    assert hardest([EASY, HARD, HARDER]) == (HARDER, HARD, EASY)
    assert hardest([EASY, HARD, HARDER], 1) == (HARDER,)


def test_sentences_that_are_as_hard_stay_in_the_order_of_the_text() -> None:
    twins = ["The cat sat on the mat.", "The dog ran to the cat."]
    assert hardest(twins) == tuple(twins)
    assert hardest(twins[::-1]) == tuple(twins[::-1])


def test_sentences_of_fewer_than_four_words_are_not_ranked() -> None:
    assert hardest(["Postoperative thromboprophylaxis complications.", EASY]) == (EASY,)
    assert hardest(["Yes.", ""]) == ()


@pytest.mark.parametrize("count", [0, -1])
def test_none_are_ranked_when_none_are_asked_for(count: int) -> None:
    assert hardest([EASY, HARD], count) == ()


@given(st.text())
def test_any_text_can_be_counted(text: str) -> None:
    counts = counts_of(text)
    assert counts.syllables >= counts.words >= counts.sentences >= 0
    assert counts.long_words <= counts.words
    assert (counts.words == 0) == (counts.sentences == 0)


@given(st.text())
def test_sentences_and_words_stand_in_the_text_in_order(text: str) -> None:
    at = 0
    for sentence in sentences_of(text):
        at = text.index(sentence, at) + len(sentence)
        place = 0
        for word in words_of(sentence):
            place = sentence.index(word, place) + len(word)


@given(st.integers(min_value=0, max_value=10**18))
def test_any_number_can_be_read_aloud(number: int) -> None:
    assert syllables(str(number)) >= 1
    assert syllables(f"{number:,}") >= 1


@pytest.mark.parametrize(
    "text",
    [
        "a" * 50_000,
        "1" * 50_000,
        "1," * 50_000,
        "a.b" * 50_000,
        "-" * 50_000,
        "a-" * 50_000,
        "Dr. " * 50_000,
        "1. " * 50_000,
        "." * 50_000 + "x",
        ".'" * 50_000 + "x",
        " " * 50_000,
        "e\u0301" * 50_000,
    ],
    ids=range(12),
)
def test_long_texts_of_one_sign_are_counted(text: str) -> None:
    counts = counts_of(text)
    assert counts.syllables >= counts.words
