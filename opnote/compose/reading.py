"""How hard a composed document is to read: its sentences for the patient, and its small print."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

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

    Left out are headings, tables of facts such as name and hospital, and drawings; a cell of any
    other table counts as its sentences do.
    """
    body = [text for block in document.blocks for text in _texts(block, small_print=False)]
    small = [text for block in document.blocks for text in _texts(block, small_print=True)]
    return Reading(
        _score(body),
        _score(small),
        tuple((text, flesch_kincaid_grade(counts_of(text))) for text in body),
        hardest(body),
    )


def _score(texts: list[str]) -> Score | None:
    if not texts:
        return None
    counts = counts_of("\n".join(texts))
    return Score(
        counts.sentences,
        flesch_kincaid_grade(counts),
        flesch_reading_ease(counts),
        smog_grade(counts),
    )


def _texts(block: Block, *, small_print: bool) -> Iterator[str]:
    for sentence in _sentences(block, small_print):
        text = sentence_text(sentence).strip()
        counts: Counts = counts_of(text)
        if counts.words and counts.sentences:
            yield text


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
