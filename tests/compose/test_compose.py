"""What a wording and a case make together: whole sentences of what was recorded, traced to it."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Mapping
from pathlib import Path

import docx
import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from opnote.assess import assess
from opnote.compose import compose
from opnote.compose.clean import printable
from opnote.compose.document import Document, Heading, ItemList, Status, Table, sentence_text
from opnote.compose.formats import FORMATS
from opnote.compose.html import html_from
from opnote.compose.text import text_from
from opnote.pack.loader import load_pack
from opnote.pack.pack import DOCUMENTS, Pack
from opnote.record import (
    Origin,
    Quantity,
    Record,
    Value,
    add_row,
    answer_no_rows,
    clear_value,
    confirm,
    give_reason,
    leave_unanswered,
    set_value,
    set_values,
)


def composed(pack: Pack, record: Record, kind: str = "note") -> Document:
    view = pack.view(record)
    return compose(pack, view, assess(pack, view), kind)


def sentences(document: Document) -> list[str]:
    return [sentence_text(s) for s in (document.subject, *document.sentences()) if s]


def changed(record: Record, values: Mapping[str, Value]) -> Record:
    return set_values(values, "x").apply(record)


Reworded = Callable[[str], Pack]


@pytest.fixture
def reworded(mini_folder: Path) -> Reworded:
    """The small pack with other findings in its note."""

    def load(wording: str) -> Pack:
        note = mini_folder / "templates/mini_repair/note.md"
        start, _, _ = note.read_text().partition("{% section findings %}")
        form = mini_folder / "forms/mini_repair/form.toml"
        quiet = re.sub(r'(?m)^(path = "\w+")$', r'\1\nsilent = "not said here"', form.read_text())
        form.write_text(quiet)
        note.write_text(f"{start}{{% section findings %}}\n{wording}\n{{% endsection %}}\n")
        return load_pack(("mini_repair",), [mini_folder])

    return load


def findings(document: Document) -> list[str]:
    """The text of the findings, a block each."""
    blocks = [b for b in document.blocks if b.id.startswith("findings.")]
    lines = []
    for block in blocks[1:]:
        alone = Document("x", "", (), Status.FINAL, (block,))
        lines.append(" ".join(sentences(alone)))
    return lines


# What is said


def test_a_sentence_whose_value_is_not_recorded_is_left_out(mini: Pack, full_case: Record) -> None:
    assert "Feeling was normal." in sentences(composed(mini, full_case))
    without = composed(mini, clear_value("feeling", "x").apply(full_case))
    assert not any("Feeling" in text for text in sentences(without) if "later" not in text)


def test_a_value_that_must_be_there_leaves_a_ruled_line_that_knows_its_field(mini: Pack) -> None:
    document = composed(mini, mini.new_record())
    blanks = {run.path for s in document.sentences() for run in s if run.blank}
    assert {"patient.name", "side", "operation.date", "cuff.used", "signature"} <= blanks
    assert "cuff.pressure" not in blanks


def test_what_is_not_recorded_is_said_with_its_reason(mini: Pack, full_case: Record) -> None:
    record = clear_value("signature", "x").apply(full_case)
    record = leave_unanswered("signature", "the pen was dry", "x").apply(record)
    said = sentences(composed(mini, record))
    assert "Signed by not recorded." in said
    assert "Signed by: not recorded, because the pen was dry." in said


def test_a_reason_for_absence_is_not_told_of_what_is_there(mini: Pack, full_case: Record) -> None:
    record = full_case.with_changes(unanswered={"signature": "the pen was dry"})
    assert not any("pen" in text for text in sentences(composed(mini, record)))


def test_a_hidden_value_is_not_said(mini: Pack, full_case: Record) -> None:
    said = sentences(composed(mini, changed(full_case, {"cuff.used": False})))
    assert "No cuff was used." in said
    assert not any("250" in text for text in said)


def test_none_is_said_and_silence_is_asked_for(mini: Pack) -> None:
    none = answer_no_rows("tears", "x").apply(mini.new_record())
    assert "No tear was found." in sentences(composed(mini, none))
    assert "Tears: ________." in sentences(composed(mini, mini.new_record()))


def test_several_things_are_one_list(mini: Pack, full_case: Record) -> None:
    two = "Done: repair of a medial bucket-handle tear and repair of a lateral radial tear."
    assert two in sentences(composed(mini, full_case))
    third = add_row("tears", "x", {"meniscus": "medial", "pattern": "radial"}).apply(full_case)
    three = (
        "Done: repair of a medial bucket-handle tear, repair of a lateral radial tear and repair "
        "of a medial radial tear."
    )
    assert three in sentences(composed(mini, third))


def test_each_row_of_a_table_has_its_cells_and_its_empty_ones(
    mini: Pack, full_case: Record
) -> None:
    record = clear_value("tears.r1.note", "x").apply(full_case)
    table = next(b for b in composed(mini, record).blocks if isinstance(b, Table) and b.header)
    assert [[sentence_text(cell) for cell in row] for row in table.rows] == [
        ["Medial", "Bucket-handle tear", "38 mm", "2.5 mm", "1", ""],
        ["Lateral", "Radial tear", "12 mm", "4 mm", "2", "short"],
    ]
    assert table.numeric == (False, False, True, True, True, False)


def test_a_row_of_which_only_the_first_cell_is_recorded_is_said(mini: Pack) -> None:
    record = add_row("tears", "x", {"meniscus": "lateral"}).apply(mini.new_record())
    assert "Lateral" in sentences(composed(mini, record))


def test_a_label_without_its_value_goes_with_its_row(mini: Pack, full_case: Record) -> None:
    assert "Born" in sentences(composed(mini, full_case))
    assert "Born" not in sentences(
        composed(mini, clear_value("patient.born", "x").apply(full_case))
    )


def test_a_heading_with_nothing_under_it_is_left_out(reworded: Reworded) -> None:
    pack = reworded("{{ remarks }}")
    headings = [
        sentence_text(b.runs)
        for b in composed(pack, pack.new_record()).blocks
        if isinstance(b, Heading)
    ]
    assert "Findings" not in headings
    assert "Course" in headings


def test_a_typed_lot_number_stands_as_it_was_typed(mini: Pack, full_case: Record) -> None:
    said = sentences(composed(mini, full_case))
    assert "7 stitches in the medial tear, lot ab12." in said
    table = changed(full_case, {"tears.r1.note": "pH strip"})
    assert "pH strip" in sentences(composed(mini, table))
    lower = changed(full_case, {"patient.name": "de Vries"})
    assert "de Vries (35 years)" in sentences(composed(mini, lower))


# Conditions and traces


def test_the_words_of_a_branch_lead_to_the_field_that_decided(
    mini: Pack, full_case: Record
) -> None:
    document = composed(mini, full_case)
    (sentence,) = [s for s in document.sentences() if sentence_text(s).startswith("There was")]
    assert {run.path for run in sentence} == {"complications"}


def test_else_is_said_only_when_the_answer_is_known(
    reworded: Reworded,
) -> None:
    pack = reworded(
        "{% if cuff.used %}\nWith.\n{% elif cuff.used == 'not_examined' %}\nNobody looked.\n"
        "{% else %}\nWithout.\n{% endif %}"
    )
    record = pack.new_record()
    assert findings(composed(pack, record)) == []
    for answer, said in ((True, "With."), (False, "Without."), ("not_examined", "Nobody looked.")):
        values: dict[str, Value] = {"cuff.used": answer}
        assert findings(composed(pack, changed(record, values))) == (
            [said] if answer != "not_examined" else []
        )


@pytest.mark.parametrize("block", ["and_list", "sentence"])
def test_a_line_of_a_list_that_is_left_out_leaves_the_others_whole(
    reworded: Reworded, block: str
) -> None:
    pack = reworded(
        f"It was {{% filter {block} %}}\n"
        "{% if side == 'left' %}\n{{ remarks }} words\n{% endif %}\n"
        "{% if cuff.used %}\ncuffed\n{{ feeling }}\n{% endif %}\nplain\n"
        "{% endfilter %}\n\n{% if side == 'left' %}\nOn the left.\n{% endif %}"
    )
    values: dict[str, Value] = {"side": "left", "cuff.used": True}
    document = composed(pack, changed(pack.new_record(), values))
    text = " ".join(findings(document))
    assert "words" not in text
    assert "cuffed" in text
    assert "plain" in text
    (left,) = [s for s in document.sentences() if sentence_text(s) == "On the left."]
    assert {run.path for run in left} == {"side"}


def test_a_phrase_can_be_given_a_table(mini_folder: Path, reworded: Reworded) -> None:
    phrases = mini_folder / "templates/common/phrases.md"
    phrases.write_text(
        phrases.read_text() + "{% macro all_of(rows) %}{% for row in rows %}{{ row.meniscus }} "
        "{% endfor %}{% endmacro %}\n"
    )
    pack = reworded("Torn: {{ all_of(tears) }}.")
    record = add_row("tears", "x", {"meniscus": "medial"}).apply(pack.new_record())
    assert findings(composed(pack, record)) == ["Torn: medial."]


# One note of several procedures


def test_a_combined_operation_is_one_note_in_the_order_of_the_case(
    mini_pack: Callable[..., Pack],
) -> None:
    def done(*names: str) -> str:
        pack = mini_pack(names)
        record = changed(pack.new_record(), {"side": "left", "graft.kind": "bone"})
        record = add_row("tears", "x", {"meniscus": "medial", "pattern": "radial"}).apply(record)
        document = composed(pack, record)
        headings = [sentence_text(b.runs) for b in document.blocks if isinstance(b, Heading)]
        assert headings.count("Findings") == 1
        assert sum(text.startswith("Operation") for text in sentences(document)) == 1
        return next(text for text in sentences(document) if text.startswith("Done"))

    repair, graft = "repair of a medial radial tear", "placing of a piece of bone"
    assert done("mini_repair", "mini_second") == f"Done: {repair} and {graft}."
    assert done("mini_second", "mini_repair") == f"Done: {graft} and {repair}."


# Values that nobody has confirmed, and the state of a document


def test_an_unconfirmed_value_says_so_until_it_is_confirmed(mini: Pack, full_case: Record) -> None:
    record = set_value("plan.brace", "hinged", "x", Origin.PRESET).apply(full_case)
    said = "You wear a hinged brace (to be confirmed)."
    assert said in sentences(composed(mini, record, "recovery_plan"))
    assert composed(mini, record, "recovery_plan").status is Status.PRELIMINARY
    confirmed = confirm(["plan.brace"], "x").apply(record)
    assert "You wear a hinged brace." in sentences(composed(mini, confirmed, "recovery_plan"))
    assert composed(mini, confirmed, "recovery_plan").status is Status.FINAL


def test_a_note_is_preliminary_until_it_is_signed(mini: Pack, full_case: Record) -> None:
    assert composed(mini, full_case).status is Status.PRELIMINARY


def test_a_sheet_with_a_ruled_line_is_preliminary(mini: Pack, full_case: Record) -> None:
    nameless = clear_value("patient.name", "x").apply(full_case)
    assert composed(mini, nameless, "risk_sheet").status is Status.PRELIMINARY
    assert composed(mini, full_case, "risk_sheet").status is Status.FINAL


def test_a_reason_is_said_with_what_it_explains(mini: Pack, full_case: Record) -> None:
    record = changed(full_case, {"cuff.pressure": Quantity(310, "mmHg")})
    record = give_reason("usual:cuff.pressure", "a thick thigh", "x").apply(record)
    assert any(
        "310 mmHg is outside the usual 200 to 300 mmHg. Reason: a thick thigh." in text
        for text in sentences(composed(mini, record))
    )


# Names of blocks


def test_block_names_are_unique_and_stay_while_values_change(mini: Pack, full_case: Record) -> None:
    for kind in DOCUMENTS:
        names = [b.id for b in composed(mini, full_case, kind).blocks]
        assert len(names) == len(set(names))
        other = changed(full_case, {"remarks": "Other.", "patient.name": "B", "side": "right"})
        assert [b.id for b in composed(mini, other, kind).blocks] == names


def test_two_headings_of_one_name_have_blocks_of_their_own(reworded: Reworded) -> None:
    pack = reworded("## Course\n\nFirst.")
    names = [b.id for b in composed(pack, pack.new_record()).blocks]
    assert len(names) == len(set(names))


# Any subset of fields


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_any_part_of_a_case_reads_as_whole_sentences(
    mini: Pack, full_case: Record, data: st.DataObject
) -> None:
    record = full_case
    for path in data.draw(st.sets(st.sampled_from(sorted(full_case.values)))):
        record = clear_value(path, "x").apply(record)
    for kind in DOCUMENTS:
        for text in sentences(composed(mini, record, kind)):
            assert text == text.strip()
            assert not re.search(r"  |[ ][.,;:)]|\(\)|\(\s|,\.|\.\.|,,|: ?\.|None|UNSET", text), (
                text
            )
            assert not re.search("[\U000f0000-\U0010ffff]", text)


# Hostile words

HOSTILE = [
    "**bold** _it_ # no heading",
    "1. first\n- second\n\n# third",
    '<b onclick="x()">bold</b> &lt; &amp; <!-- -->',
    "{{ side }} {% if x %} {# y #}",
    "a | b | c\n| --- |",
    "![](figure:map) ::: caution",
    "#panic() @ref $x$ \\ /* */",
    "שלום عليكم e\u0301n\u0303 ☐ ≤ µ 漢字",
    "\U000f0000\U000f0001 \ue000 \U00100000\U0010fff0\U0010fff1",
    "x" * 20_000,
    "word " * 4_000,
]


@pytest.mark.parametrize("words", HOSTILE, ids=range(len(HOSTILE)))
def test_typed_words_come_out_as_they_are_and_never_as_markup(
    mini: Pack, full_case: Record, words: str
) -> None:
    plain = composed(mini, full_case)
    record = changed(full_case, {"remarks": f"A{words}", "tears.r1.note": f"A{words}"})
    document = composed(mini, record)
    assert [type(b) for b in document.blocks] == [type(b) for b in plain.blocks]
    said = words.strip()
    runs = {(run.path, run.text) for s in document.sentences() for run in s}
    assert ("remarks", f"A{said}") in runs
    assert ("tears.r1.note", f"A{said}") in runs
    assert not any(run.bold or run.italic for s in document.sentences() for run in s)
    page = html_from(document)
    assert page.count("<b ") == 0
    assert page.count("<strong>") == html_from(plain).count("<strong>")
    squeezed = "".join(printable(said).split())
    assert squeezed in "".join(text_from(document).split())


@pytest.mark.parametrize("words", HOSTILE[:9], ids=range(9))
def test_typed_words_are_whole_in_word_and_pdf(mini: Pack, full_case: Record, words: str) -> None:
    document = composed(mini, changed(full_case, {"remarks": f"A{words}"}))
    wanted = "".join(f"A{printable(words)}".split())
    word = docx.Document(io.BytesIO(FORMATS["docx"](document)))
    assert wanted in "".join("".join(p.text for p in word.paragraphs).split())
    pdf = pypdf.PdfReader(io.BytesIO(FORMATS["pdf"](document)))
    if words.isascii():
        text = "".join("".join(page.extract_text() for page in pdf.pages).split())
        letters = "".join(re.findall(r"[A-Za-z]+", wanted))
        assert letters in "".join(re.findall(r"[A-Za-z]+", text))


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("a\x00b\x07c", "abc"),
        ("a\u202eb\u2066c", "abc"),
        ("a\r\nb\u2028c", "a\nb\nc"),
        ("a\tb", "a b"),
        ("  a  ", "a"),
    ],
)
def test_what_is_no_text_is_left_out(mini: Pack, full_case: Record, typed: str, said: str) -> None:
    document = composed(mini, changed(full_case, {"tears.r1.note": typed}))
    assert ("tears.r1.note", said) in {(r.path, r.text) for s in document.sentences() for r in s}


def test_a_typed_stop_is_not_doubled(mini: Pack, full_case: Record) -> None:
    record = changed(full_case, {"complication_detail": "It oozed."})
    assert "It oozed." in sentences(composed(mini, record))


def test_a_list_item_of_each_row_is_kept(mini: Pack, full_case: Record) -> None:
    lists = [b for b in composed(mini, full_case).blocks if isinstance(b, ItemList)]
    assert [[sentence_text(s) for item in b.items for s in item] for b in lists] == [
        ["7 stitches in the medial tear, lot ab12.", "2 stitches in the lateral tear."],
    ]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("ragged at the rim", "Ragged at the rim"),
        ("pH of the fluid taken", "pH of the fluid taken"),
        ("2-0 braided suture", "2-0 braided suture"),
        ("lot fict", "lot fict"),
    ],
)
def test_a_typed_phrase_in_a_cell_begins_like_the_other_cells(
    mini: Pack, full_case: Record, typed: str, said: str
) -> None:
    document = composed(mini, changed(full_case, {"tears.r1.note": typed}))
    assert ("tears.r1.note", said) in {(r.path, r.text) for s in document.sentences() for r in s}
