"""How hard a composed document is to read: its sentences for the patient, and its small print."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from functools import lru_cache

from opnote.compose.document import (
    Block,
    Document,
    ItemList,
    Paragraph,
    Sentence,
    Table,
    sentence_text,
)
from opnote.reckon.readability import (
    Counts,
    counts_of,
    flesch_kincaid_grade,
    flesch_reading_ease,
    hardest,
    sentences_of,
    smog_grade,
)

SMALL_PRINT = "source"
"""The style of the notes on sources, which are scored by themselves."""
TARGET_GRADE = 6.0
"""Grade that a patient's document should reach: a reading age of about 11. Source: AMA and NIH, as
cited by orthopaedic papers on readability (second hand)."""


@dataclass(frozen=True, slots=True)
class Score:
    """The grades of one text. Units: years of school; `ease` in points, the higher the easier."""

    sentences: int
    grade: float
    ease: float
    smog: float


@dataclass(frozen=True, slots=True)
class Reading:
    """How hard a document is to read.

    Shape: `body` and `small_print` are None where there is nothing to read. `graded` holds every
    sentence of the body with its grade, in order; `hardest` the three hardest.
    """

    body: Score | None
    small_print: Score | None
    graded: tuple[tuple[str, float], ...]
    hardest: tuple[str, ...]


def reading_of(document: Document) -> Reading:
    """Score what a patient reads in sentences.

    Left out are headings, tables of facts such as name and hospital, and drawings. A sentence that
    stands in several rows counts once: "We do not have a good number." would flatter the sheet.
    """
    body = _distinct(document, small_print=False)
    small = _distinct(document, small_print=True)
    return Reading(
        _score(body.values()),
        _score(small.values()),
        tuple((text, flesch_kincaid_grade(counts)) for text, counts in body.items()),
        hardest(body),
    )


def _score(counted: Collection[Counts]) -> Score | None:
    if not counted:
        return None
    whole = Counts(
        sum(each.sentences for each in counted),
        sum(each.words for each in counted),
        sum(each.syllables for each in counted),
        sum(each.long_words for each in counted),
    )
    return Score(
        whole.sentences,
        flesch_kincaid_grade(whole),
        flesch_reading_ease(whole),
        smog_grade(whole),
    )


def _distinct(document: Document, *, small_print: bool) -> dict[str, Counts]:
    """Each sentence once, in order, with its counts; those without a word are left out."""
    texts = (
        text
        for block in document.blocks
        for sentence in _sentences(block, small_print)
        for text in sentences_of(sentence_text(sentence))
    )
    counted = {text: _counts_of(text) for text in dict.fromkeys(texts)}
    return {text: counts for text, counts in counted.items() if counts.words and counts.sentences}


@lru_cache(maxsize=4096)
def _counts_of(text: str) -> Counts:
    """Most sentences are the same after the next keystroke."""
    return counts_of(text)


def _sentences(block: Block, small_print: bool) -> Iterator[Sentence]:
    match block:
        case Paragraph(sentences=sentences, style=style) if (style == SMALL_PRINT) is small_print:
            yield from sentences
        case ItemList(items=items, style=style) if (style == SMALL_PRINT) is small_print:
            for item in items:
                yield from item
        case Table(header=header, rows=rows) if header and not small_print:
            for row in rows:
                yield from row
