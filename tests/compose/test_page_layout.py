"""What stays together on a page, what fits beside what, and what nothing may cut through."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass, replace

import pypdf
import pytest

from opnote.compose.document import (
    Document,
    Heading,
    ItemList,
    Paragraph,
    Run,
    Sentence,
    Status,
    Table,
    in_large_print,
)
from opnote.compose.pdf import pdf_bytes

MM = 72 / 25.4
LEFT, BOTTOM = 20 * MM, 19 * MM
"""The margins of the page, in points."""
LINE = ((Run("", blank=True),),)


@dataclass(frozen=True)
class Piece:
    """A piece of text on a page: where it begins, in points, and the size of its letters."""

    x: float
    y: float
    size: float
    text: str


def words(text: str) -> Sentence:
    return (Run(text),)


def said(*texts: str, style: str = "body") -> Paragraph:
    return Paragraph("p", tuple(map(words, texts)), style)


def facts(*rows: tuple[str, str]) -> Table:
    cells = tuple((words(label), words(value)) for label, value in rows)
    return Table("f", (), cells, (False, False))


def filler(lines: int) -> tuple[Paragraph, ...]:
    """So many short paragraphs, to bring what follows to the end of a page."""
    return tuple(said(f"Filler {number}.") for number in range(lines))


def document(*blocks: Heading | Paragraph | ItemList | Table, kind: str = "note") -> Document:
    title = Heading("t", 1, words("Title"))
    return Document(
        kind, "Title", words("Mr Example, LEFT knee"), Status.FINAL, (title, *blocks), running="Run"
    )


def pages_of(made: Document) -> list[str]:
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(made)))
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def page_with(pages: list[str], text: str) -> int:
    (found,) = [number for number, page in enumerate(pages) if text in page]
    return found


def pieces_of(page: pypdf.PageObject) -> list[Piece]:
    pieces: list[Piece] = []

    def visit(text: str, cm: list[float], tm: list[float], _font: object, size: float) -> None:
        if text.strip():
            x, y = cm[0] * tm[4] + cm[4], cm[3] * tm[5] + cm[5]
            pieces.append(Piece(x, y, size, text.strip()))

    page.extract_text(visitor_text=visit)
    return pieces


def rules_of(page: pypdf.PageObject) -> list[float]:
    """The heights of the lines from margin to margin, in points."""
    heights: list[float] = []
    start: list[tuple[float, float]] = []

    def visit(operator: bytes, operands: list[float], cm: list[float], _tm: object) -> None:
        if operator in (b"m", b"l"):
            x = cm[0] * float(operands[0]) + cm[4]
            y = cm[3] * float(operands[1]) + cm[5]
            if operator == b"l" and start:
                level = abs(start[-1][1] - y) < 0.1
                if level and abs(start[-1][0] - x) > 150 * MM:
                    heights.append(y)
            start[:] = [(x, y)]

    page.extract_text(visitor_operand_before=visit)
    return heights


def positions(made: Document) -> Iterator[tuple[list[Piece], list[float]]]:
    for page in pypdf.PdfReader(io.BytesIO(pdf_bytes(made))).pages:
        yield pieces_of(page), rules_of(page)


def test_a_row_of_facts_is_never_torn_or_clipped() -> None:
    """Labels of two lines beside a short value, and long values beside a short label."""
    rows = [
        (f"First{n} deep squat, kneeling, sitting cross-legged, end{n}", f"value{n}")
        if n % 2
        else (f"First{n}", f"value{n} " + "many words " * 20 + f"end{n}")
        for n in range(70)
    ]
    made = document(facts(*rows))
    pages = pages_of(made)
    assert len(pages) > 2
    for n in range(70):
        assert page_with(pages, f"First{n} ") == page_with(pages, f"value{n} ")
        assert page_with(pages, f"First{n} ") == page_with(pages, f"end{n} ")
    for pieces, rules in positions(made):
        body = [piece for piece in pieces if "Page" not in piece.text and piece.y > BOTTOM - 3 * MM]
        lowest = min(piece.y for piece in body)
        assert lowest >= BOTTOM - 0.1, "no text hangs into the foot of the page"
        last = min(rules)
        assert lowest - 0.8 * 10.5 < last < lowest, "the last rule stands right under the last row"
        # No rule cuts through a line of text: 10.5 point letters rise about 7 points.
        assert not any(piece.y < rule < piece.y + 6 for rule in rules for piece in body)


@pytest.mark.parametrize("lines", range(30, 50, 2))
def test_signature_lines_stay_with_their_heading_and_the_sentence_over_them(lines: int) -> None:
    rows = tuple((words(name), LINE[0]) for name in ("Your signature", "Date and time"))
    signatures = Table("s", (), rows, (False, False))
    pages = pages_of(
        document(
            *filler(lines),
            Heading("h", 2, words("Signatures")),
            said("You could ask."),
            signatures,
            said("Use with a clinician.", style="caution"),
        )
    )
    page = page_with(pages, "Signatures")
    for text in ("You could ask.", "Your signature", "Date and time", "Use with a clinician."):
        assert page_with(pages, text) == page


@pytest.mark.parametrize("lines", range(34, 50, 2))
def test_lines_for_questions_stay_together(lines: int) -> None:
    rule = Paragraph("r", LINE)
    pages = pages_of(
        document(
            *filler(lines), Heading("h", 2, words("Your questions")), said("Write them down."),
            rule, rule, rule,
        )
    )  # fmt: skip
    page = pages[page_with(pages, "Your questions")]
    assert "Write them down." in page
    assert sum("____" in word for word in page.split()) == 3


@pytest.mark.parametrize("lines", range(42, 60))
def test_the_frame_at_the_end_never_stands_alone_on_a_page(lines: int) -> None:
    items = tuple((words(f"Item {number}."),) for number in range(12))
    frame = said("The surgeon is responsible.", style="caution")
    for last in (ItemList("l", items), said("A sentence.")):
        pages = pages_of(document(*filler(lines - 10), last, frame))
        end = pages[page_with(pages, "The surgeon is responsible.")]
        assert "Item" in end or "A sentence." in end


@pytest.mark.parametrize("lines", range(34, 50, 2))
@pytest.mark.parametrize("header", [(), (words("What"), words("When"))])
def test_a_heading_keeps_two_rows_with_it(lines: int, header: tuple[Sentence, ...]) -> None:
    rows = tuple((words(f"Label{n}."), words(f"value{n}.")) for n in range(12))
    table = Table("f", header, rows, (False, False))
    pages = pages_of(document(*filler(lines), Heading("h", 2, words("Instructions")), table))
    page = page_with(pages, "Instructions")
    assert page_with(pages, "Label0.") == page_with(pages, "value1.") == page


def test_lines_for_signatures_are_equally_long_and_have_one_rule() -> None:
    rows = (
        (words("Signature"), LINE[0]),
        (words("Supervisor"), words("Mr Example")),
        (words("Signature of the supervisor"), LINE[0]),
    )
    ((pieces, rules),) = positions(document(Table("s", (), rows, (False, False))))
    lines = [piece for piece in pieces if "___" in piece.text]
    assert len(lines) == 2
    assert len(lines[0].text) == len(lines[1].text)
    for line in lines:
        assert not any(line.y - 15 < rule < line.y - 0.1 for rule in rules)


def large(*blocks: Heading | Paragraph | ItemList | Table) -> Document:
    return in_large_print(document(*blocks, kind="risk_sheet"))


def test_labels_in_large_print_leave_their_values_room() -> None:
    made = large(facts(("Antibiotic", "No antibiotic afterwards"), ("Why", "it was short")))
    ((pieces, _),) = positions(made)
    (label,) = [piece for piece in pieces if piece.text.startswith("Antibiotic")]
    (value,) = [piece for piece in pieces if piece.text.startswith("No antibiotic")]
    # Bold letters of this word are more than 0.45 of their size wide, which makes 81 points.
    assert value.x - label.x > len("Antibiotic") * 0.45 * 18 + 9


def test_header_and_footer_are_larger_in_large_print() -> None:
    ((pieces, _),) = positions(large(said("Words.")))
    sizes = {piece.size for piece in pieces if "Mr Example" in piece.text or "Page" in piece.text}
    assert sizes
    assert min(sizes) >= 14


def test_a_wide_table_is_set_row_by_row_in_large_print() -> None:
    header = tuple(map(words, ("Way", "It offers", "It risks", "Next", "Unknown")))
    rows = tuple(
        tuple(words(f"{name} {n}.") for name in ("way", "offer", "risk", "next", "unknown"))
        for n in range(14)
    )
    table = Table("w", header, rows, (False,) * 5)
    pages = pages_of(large(table))
    assert len(pages) > 1
    for n in range(14):
        page = pages[page_with(pages, f"way {n}.")]
        assert (
            f"It offers offer {n}. It risks risk {n}. Next next {n}. Unknown unknown {n}." in page
        )
    # In ordinary print it stays a table.
    (ordinary,) = pages_of(replace(large(table), is_large=False))
    assert ordinary.count("It offers") == 1


def test_a_number_stays_with_its_unit_and_a_day_with_its_month() -> None:
    for words_before in range(1, 40):
        text = "a " * words_before
        made = document(said(f"{text} for 6 weeks until 27 April 2026, an X-ray, zone 1. " * 3))
        reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(made)))
        lines = reader.pages[0].extract_text().splitlines()
        assert not any(line.rstrip().endswith((" 6", " 27", "X-", "zone")) for line in lines)
