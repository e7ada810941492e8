"""Documents written by hand, of plainly invented people, with every kind of block."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from opnote.compose.clean import printable
from opnote.compose.document import (
    BLANK_TEXT,
    Block,
    Document,
    Figure,
    Heading,
    ItemList,
    Paragraph,
    Run,
    Sentence,
    Status,
    Table,
)

MAP_SVG = """<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 62" width="120mm" height="62mm">
<g fill="none" stroke="#000" stroke-width="0.5">
<path d="M14 54 A46 46 0 0 1 106 54"/><path d="M32 54 A28 28 0 0 1 88 54"/>
<path d="M20 54 A40 40 0 0 1 74 16.5" stroke-width="1.2" stroke-dasharray="2 1"/>
<path d="M22 38 l6 3 M30 26 l5 5 M41 17 l3 6" stroke-width="0.9"/>
</g>
<g font-family="Libertinus Serif" font-size="4.2">
<text x="6" y="60">posterior root</text><text x="90" y="60">anterior root</text>
<text x="44" y="44">tear 38 mm, rim ≤ 2.5 mm</text>
</g></svg>"""

MAP_WORDS = (
    "Medial meniscus seen from above: a tear 38 mm long, from 10 to 48 mm from the posterior root, "
    "closed with seven stitches."
)

HOSTILE = (
    '**not bold** # no heading | no cell <b onclick="x()">tag</b> &lt; &amp; {{ 7*7 }} {% raw %} '
    "#panic() @ref $x$ \\ /* */ ]]> </style><script>alert(1)</script>\x00\x07\ud800\ufffe\ufeff"
    "\u202eabc\u202c שלום עולם مرحبا e\u0301n\u0303\u0323 \u0301start ☐ ✓ ≤ ≥ ± µ ° – — •"
)


def words(text: str, *paths_and_text: tuple[str, str]) -> Sentence:
    """A sentence from a pattern: "born {}" with one (path, text) for each pair of braces."""
    runs: list[Run] = []
    parts = text.split("{}")
    for index, part in enumerate(parts):
        if part:
            runs.append(Run(part))
        if index < len(paths_and_text):
            path, value = paths_and_text[index]
            runs.append(Run(value, path=path, blank=value == ""))
    return tuple(runs)


def table_cells(*texts: str) -> tuple[Sentence, ...]:
    """Cells that each hold a field's text."""
    return tuple(
        (Run(text, path=f"stitches.r1.c{column}"),) if text else ()
        for column, text in enumerate(texts)
    )


def facts(id: str, *rows: tuple[str, Sentence]) -> Table:
    """A table of facts from labels and values."""
    return Table(id, (), tuple(((Run(label),), value) for label, value in rows), (False, False))


def note_blocks() -> tuple[Block, ...]:
    """An operative note such as a surgeon would sign, with every kind of block."""
    return (
        Heading(
            "title",
            1,
            words(
                "{} knee arthroscopy: repair of a bucket-handle tear of the {} meniscus "
                "({} stitches)",
                ("side", "LEFT"),
                ("tears.r1.meniscus", "medial"),
                ("stitches", "7"),
            ),
        ),
        facts(
            "facts",
            (
                "Patient",
                words(
                    "{}, born {} ({} years), {}",
                    ("patient.name", "Mr Percival Thistlewick"),
                    ("patient.born", "14 February 2001"),
                    ("patient.age", "25"),
                    ("patient.number", "TEST-0001"),
                ),
            ),
            ("Hospital", words("{}", ("hospital", "Nonesuch Vale Infirmary"))),
            (
                "Operation",
                words(
                    "{}, {} to {} ({} minutes), expedited",
                    ("date", "9 March 2026"),
                    ("start", "08:40"),
                    ("end", "10:10"),
                    ("minutes", "90"),
                ),
            ),
            (
                "Surgeon / assistant",
                words(
                    "{} / {}",
                    ("team.surgeon", "Miss Q. Larkspindle"),
                    ("team.assistant", "Dr T. Thornquill (registrar)"),
                ),
            ),
            (
                "Position, leg holder and side support",
                words("Supine; side post at {}.", ("post", "mid-thigh")),
            ),
            (
                "Tourniquet",
                words(
                    "{} mmHg for {} minutes", ("tourniquet.mmhg", "280"), ("tourniquet.minutes", "")
                ),
            ),
        ),
        Paragraph(
            "lead",
            (
                words(
                    "The {} meniscus was torn and has been repaired.",
                    ("tears.r1.meniscus", "medial"),
                ),
            ),
            style="lead",
        ),
        Heading("findings", 2, words("Findings")),
        Heading("medial", 3, words("Medial compartment")),
        Paragraph(
            "medial.text",
            (
                words(
                    "Complete longitudinal-vertical tear, {} mm long, from {} to {} mm "
                    "along the rim.",
                    ("tears.r1.length_mm", "38"),
                    ("tears.r1.from_mm", "10"),
                    ("tears.r1.to_mm", "48"),
                ),
                words("Rim {} mm (zone {}).", ("tears.r1.rim_mm", "2.5"), ("tears.r1.zone", "1")),
                (
                    Run("Cartilage "),
                    Run("normal", path="cartilage.medial", bold=True),
                    Run("; "),
                    Run("no ramp lesion", path="ramp", italic=True),
                    Run("."),
                ),
                words(
                    "{}",
                    ("tears.r1.comment", "Two small flaps at the free edge.\nBoth were trimmed."),
                ),
            ),
        ),
        Heading("measured", 4, words("Measured")),
        ItemList(
            "measured.list",
            (
                (words("Medial gap under valgus {} mm.", ("gap_mm", "7")),),
                (
                    words("Extension ≥ {}°.", ("extension", "0")),
                    words("Flexion ± {}°.", ("flexion", "3")),
                ),
            ),
        ),
        Heading("procedure", 2, words("Procedure")),
        ItemList(
            "steps",
            (
                (words("The handle was reduced with a {} probe.", ("probe", "blunt")),),
                (
                    words("Both faces were rasped."),
                    words("The notch was vented at {} sites.", ("vents", "5")),
                ),
                (words("Stitches were tied at {}° of flexion.", ("tied_at", "")),),
            ),
            numbered=True,
        ),
        Table(
            "stitches",
            tuple(
                (Run(text),)
                for text in (
                    "Segment",
                    "Technique",
                    "Stitches",
                    "Configuration",
                    "Spacing (mm)",
                    "Depth stop (mm)",
                )
            ),
            (
                table_cells(
                    "Posterior horn", "all-inside anchors", "3", "vertical, femoral face", "7", "14"
                ),
                table_cells(
                    "Body",
                    "inside-out, 2-0 non-absorbable",
                    "4",
                    "vertical, alternating faces",
                    "4",
                    "",
                ),
            ),
            (False, False, True, False, True, True),
        ),
        Figure(
            "map",
            MAP_SVG,
            MAP_WORDS,
            words("Medial meniscus with tear and stitches, to scale."),
            120,
            62,
            ("tears.r1.length_mm",),
        ),
        Heading("check", 2, words("Check of the repair")),
        Paragraph(
            "check.text",
            (
                words("Probed: no gap."),
                words(
                    "Stable through {} to {} degrees.", ("stable.from", "0"), ("stable.to", "110")
                ),
            ),
        ),
        Paragraph(
            "caution",
            (
                (
                    Run("Lax knee: ", bold=True),
                    Run("valgus opening "),
                    Run("4 mm", path="valgus_mm"),
                    Run(" more than the other knee."),
                ),
                words("{}", ("reasons.valgus", "Healed ligament injury; hinged brace.")),
            ),
            style="caution",
        ),
        facts(
            "ends",
            ("Blood loss", words("{} mL", ("blood_ml", "20"))),
            ("Counts", words("correct")),
            ("Specimens", words("none")),
        ),
        Paragraph(
            "source",
            (words("Zones: distance from the capsule, as entered by the surgeon."),),
            style="source",
        ),
    )


@pytest.fixture
def note() -> Document:
    """A signed operative note."""
    return Document(
        kind="note",
        title="Operative note: LEFT knee arthroscopy, meniscal repair",
        subject=words(
            "{}, {}, {} knee",
            ("patient.name", "Mr Percival Thistlewick"),
            ("patient.number", "TEST-0001"),
            ("side", "LEFT"),
        ),
        status=Status.FINAL,
        blocks=note_blocks(),
        author="Miss Q. Larkspindle",
    )


@pytest.fixture
def draft(note: Document) -> Document:
    """The same note before it is signed, long enough for several pages."""
    more = tuple(
        Paragraph(f"more.{number}", (words(f"Further remark {number} of the operation. " * 6),))
        for number in range(24)
    )
    return replace(note, status=Status.PRELIMINARY, blocks=note.blocks + more)


@pytest.fixture
def risk_sheet(note: Document) -> Document:
    """A sheet for the patient."""
    return Document(
        kind="risk_sheet",
        title="Your left knee: mending a torn cartilage",
        subject=note.subject,
        status=Status.FINAL,
        blocks=(
            Heading("title", 1, words("Your left knee: mending a torn cartilage")),
            Paragraph(
                "wrong",
                (
                    words("The meniscus is a pad that shares the load in your knee."),
                    words("Yours has a long tear."),
                ),
                style="lead",
            ),
            Table(
                "risks",
                tuple((Run(text),) for text in ("What", "How many", "What we don't know")),
                (
                    table_cells(
                        "The mend does not hold",
                        "15 in 100. It holds for 85 in 100.",
                        "Studies differ a lot: from none to 69 in 100. That study had 39 people.",
                    ),
                    table_cells(
                        "A numb patch on the inner shin. It often fades.",
                        "9 in 100. 91 in 100 have none.",
                        "How many keep it for good.",
                    ),
                ),
                (False, False, False),
            ),
            Paragraph("ring", (words("Ring us on {}.", ("phone", "")),), style="caution"),
        ),
    )


@pytest.fixture
def hostile_note(note: Document) -> Document:
    """A note into which someone typed what could harm a file, and far too much of it."""
    typed = Run(HOSTILE, path="tears.r1.comment")
    endless = Run("x" * 20_000, path="tears.r2.comment")
    long_cell = "A long remark on one stitch, typed into a cell of a table. " * 120
    blocks: tuple[Block, ...] = (
        Heading("title", 1, (Run("Note: "), typed)),
        Heading("deep", 4, (typed,)),
        Paragraph("typed", ((typed,), (endless,), (), (Run("a\r\nb\x85c\td", path="p"),))),
        Paragraph("framed", ((typed,),), style="caution"),
        ItemList("list", (((typed,), (typed,)), ((endless,),), ()), numbered=True, style="source"),
        facts(
            "facts",
            ("A label", (typed,)),
            ("L" * 80, (endless,)),
            ("Empty", ()),
            ("Blank", (Run("", path="q", blank=True),)),
        ),
        facts("long_labels", ("A label that goes on and on " * 40, (typed,))),
        Table(
            "table",
            ((typed,), (Run("Remark"),), (Run("mm"),)),
            (
                ((typed,), (Run(long_cell, path="r"),), (Run("4"),)),
                ((), (endless,), (Run("", blank=True),)),
            ),
            (False, False, True),
        ),
        Table("empty", ((Run("Nothing"),), (Run("recorded"),)), (), (False, True)),
        Table("adjacent", ((Run("One"),),), (((Run("1"),),),), (True,)),
        Figure("map", MAP_SVG, HOSTILE, (typed,), 400, 900),
        Figure("no_caption", MAP_SVG, "", (), 60, 31),
        facts("last", ("Last", (typed,))),
    )
    return Document(
        "note",
        HOSTILE,
        (Run(HOSTILE * 9, path="patient.name"),),
        Status.PRELIMINARY,
        blocks,
        author=HOSTILE,
    )


def spoken(sentence: Sentence) -> str:
    """A sentence as formats are compared: without white space, a ruled line as one sign."""
    return squeezed("".join("▁" if run.blank else printable(run.text) for run in sentence))


def squeezed(text: str) -> str:
    """A text without white space, a ruled line as one sign."""
    ruled = re.sub(r"(\xa0 ?){6,}|" + BLANK_TEXT, "▁", text)
    return re.sub(r"\s+", "", ruled)


def assert_says_in_order(text: str, document: Document) -> None:
    """The text holds every sentence of the document, in the document's order."""
    rest = squeezed(text)
    for sentence in filter(None, map(spoken, document.sentences())):
        before, found, rest = rest.partition(sentence)
        assert found, f"{sentence[:200]!r} is missing in {before[:400]!r}"


@pytest.fixture
def hostile_text() -> str:
    """The text that is typed into the hostile note, as far as any file may hold it."""
    return printable(HOSTILE)


@pytest.fixture
def says_in_order() -> Callable[[str, Document], None]:
    """Fails unless a text holds every sentence of a document, in the document's order."""
    return assert_says_in_order
