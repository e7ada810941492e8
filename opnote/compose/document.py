"""A composed document: what is said, in order, before any file format.

Writers read a Document and nothing else; they never look at the record or the form.
"""

from __future__ import annotations

import enum
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import TypeAlias

from opnote.compose.figure import Drawing


class Status(enum.StrEnum):
    """The state of a document, in the words of HL7 FHIR."""

    PRELIMINARY = "preliminary"
    FINAL = "final"
    AMENDED = "amended"


@dataclass(frozen=True, slots=True)
class Run:
    """A piece of text with one look.

    `path` is the field that the text comes from; None for the wording's own words. `blank` marks a
    required value that isn't recorded: drawn as a ruled line to be filled by hand (`text` is then
    empty). A line break inside typed text is "\\n".
    """

    text: str
    path: str | None = None
    bold: bool = False
    italic: bool = False
    blank: bool = False


Sentence: TypeAlias = tuple[Run, ...]
"""The runs of one sentence; writers put one space between two sentences of a paragraph."""


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading of level 1 (title) to 4; `starts_page` puts it at the top of a page."""

    id: str
    level: int
    runs: Sentence
    starts_page: bool = False


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph; `style` is "body", "caution" (framed), "source" (small print) or "lead"."""

    id: str
    sentences: tuple[Sentence, ...]
    style: str = "body"


@dataclass(frozen=True, slots=True)
class ItemList:
    """A list, each item a paragraph of sentences; numbered or with bullets."""

    id: str
    items: tuple[tuple[Sentence, ...], ...]
    numbered: bool = False
    style: str = "body"


@dataclass(frozen=True, slots=True)
class Table:
    """A table.

    Shape: each row has as many cells as `header`. Without a header (empty tuple) it is a table of
    facts: two columns, the first cell of each row is the header of its row. `numeric` says for each
    column whether it holds numbers (set right-aligned).
    """

    id: str
    header: tuple[Sentence, ...]
    rows: tuple[tuple[Sentence, ...], ...]
    numeric: tuple[bool, ...]
    style: str = "body"


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing as SVG with a text that says the same; width is what it wants on paper.

    Units: width_mm in millimetres; height follows from the drawing. `paths` are the fields drawn.
    `large` are the drawings that take its place in large print; none if it stays as it is.
    """

    id: str
    svg: str
    alternative: str
    caption: Sentence
    width_mm: float
    height_mm: float
    paths: tuple[str, ...] = ()
    large: tuple[Drawing, ...] = ()


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph with what stands under it.

    `data` is a whole JPEG; None when there is none to show, and then `missing` says why.
    `alternative` says in words what it shows. `path` is the field that holds it.
    """

    path: str
    data: bytes | None
    width_px: int
    height_px: int
    alternative: str
    caption: tuple[Sentence, ...]
    missing: Sentence = ()


@dataclass(frozen=True, slots=True)
class PicturePage:
    """Pictures two by two; each stays whole."""

    id: str
    pictures: tuple[Picture, ...]


Block: TypeAlias = Heading | Paragraph | ItemList | Table | Figure | PicturePage


@dataclass(frozen=True, slots=True)
class Appointment:
    """A day of the recovery for a calendar."""

    day: date
    title: str
    path: str


@dataclass(frozen=True, slots=True)
class Document:
    """One document of a case.

    `kind` is "note", "risk_sheet" and so on. `title` is plain text for the file's properties,
    `running` its short name for the running header ("Operative note"). `subject` is the patient's
    line of that header (name, identifier, side), as runs so that it is traced as well.
    `appointments` are the days that a calendar can take. `state` says in one line who signed and
    when, `is_changed` that the case was changed after that. `is_large` asks for the large print of
    a document for patients. `blocks` start with the title as a level 1 heading. `language` is a
    BCP 47 tag.
    """

    kind: str
    title: str
    subject: Sentence
    status: Status
    blocks: tuple[Block, ...]
    language: str = "en-GB"
    author: str = ""
    running: str = ""
    appointments: tuple[Appointment, ...] = ()
    is_large: bool = False
    state: str = ""
    is_changed: bool = False

    @property
    def mark(self) -> str:
        """What stands large on every page; "" on a document that is final or amended."""
        if self.is_changed:
            return CHANGED_MARK
        return PRELIMINARY_MARK if self.status is Status.PRELIMINARY else ""

    def sentences(self) -> Iterator[Sentence]:
        """Every sentence, heading, list item, table cell and caption, in reading order."""
        for block in self.blocks:
            yield from sentences_of(block)


def sentences_of(block: Block) -> Iterator[Sentence]:
    """The sentences of a block in reading order."""
    match block:
        case Heading(runs=runs):
            yield runs
        case Paragraph(sentences=sentences):
            yield from sentences
        case ItemList(items=items):
            for item in items:
                yield from item
        case Table(header=header, rows=rows):
            yield from header
            for row in rows:
                yield from row
        case Figure(caption=caption):
            yield caption
        case PicturePage(pictures=pictures):
            for picture in pictures:
                if picture.missing:
                    yield picture.missing
                yield from picture.caption


PICTURE_WIDTH_MM = 82.0
PICTURE_HEIGHT_MM = 84.0
"""The room of one picture: two stand side by side, and two of them with captions above each
other on a page."""


def picture_size_mm(picture: Picture) -> tuple[float, float]:
    """The size of a picture on paper, as large as its room lets it be. Units: millimetres."""
    scale = min(
        PICTURE_WIDTH_MM / max(picture.width_px, 1), PICTURE_HEIGHT_MM / max(picture.height_px, 1)
    )
    return picture.width_px * scale, picture.height_px * scale


PATIENT_DOCUMENTS = ("risk_sheet", "recovery_plan")
"""The documents that a patient reads, set in larger letters."""
LARGE_PRINT_PT = 18.0
"""Size of the letters in large print. Units: points. Source: common practice (from memory)."""
PRELIMINARY_MARK = "PRELIMINARY"
CHANGED_MARK = "CHANGED AFTER SIGNING"
BLANK_TEXT = "________"
"""How a ruled line reads in plain text."""


def in_large_print(document: Document) -> Document:
    """The document in large print, if it is one that a patient reads; otherwise as it is."""
    if document.kind not in PATIENT_DOCUMENTS:
        return document
    blocks = tuple(each for block in document.blocks for each in _enlarged(block))
    return replace(document, blocks=blocks, is_large=True)


def _enlarged(block: Block) -> Iterator[Block]:
    """A block in large print: a figure as its large drawings, the last with the caption."""
    if not isinstance(block, Figure) or not block.large:
        yield block
        return
    for number, drawing in enumerate(block.large, start=1):
        is_last = number == len(block.large)
        yield Figure(
            block.id if is_last else f"{block.id}.{number}",
            drawing.svg,
            drawing.alternative,
            block.caption if is_last else (),
            drawing.width_mm,
            drawing.height_mm,
            block.paths,
        )


def sentence_text(sentence: Sentence) -> str:
    """A sentence as plain text; a ruled line as BLANK_TEXT."""
    return "".join(BLANK_TEXT if run.blank else run.text for run in sentence)
