"""Documents say in every format whether they are preliminary, final or amended, and by whom."""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import docx
import pypdf
import pytest
from openxml_audit import OpenXmlValidator
from PIL import Image

from opnote.assess import assess
from opnote.compose import compose
from opnote.compose.document import Document, Figure, PicturePage, Status, Table, sentence_text
from opnote.compose.formats import FORMATS, write_document
from opnote.compose.photograph import PictureSource, no_pictures
from opnote.compose.sign import sign
from opnote.compose.text import text_from
from opnote.desk.session import State
from opnote.pack.case import case_text, read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack
from opnote.pack.pack import DOCUMENTS, Pack
from opnote.record import Record, add_row, clear_value, set_value, set_values
from opnote.record.seal import with_addendum

AT = datetime(2026, 3, 9, 11, 30, tzinfo=timezone(timedelta(hours=1)))
LATER = datetime(2026, 3, 9, 20, 5, tzinfo=timezone(timedelta(hours=1)))
SIGNED = "signed as author by Miss Q. Larkspindle on 9 March 2026, 11:30 (UTC+01:00)"
ADDED = "The block had worn off.\nThe foot lifts <b>fully</b>."


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_pack(["meniscal_repair"], [shipped_root()])


@pytest.fixture(scope="module")
def unsigned(pack: Pack) -> Record:
    path = shipped_root() / "forms" / "samples" / "case_a.json"
    return read_case(path.read_text(encoding="utf-8"), path.name, lambda _: pack)[0]


@pytest.fixture(scope="module")
def final(pack: Pack, unsigned: Record) -> Record:
    return sign(pack, unsigned, "Miss Q. Larkspindle", AT, "left", no_pictures)


@pytest.fixture(scope="module")
def amended(final: Record) -> Record:
    return with_addendum(final, "Dr T. Thornquill", LATER, ADDED)


@pytest.fixture(scope="module")
def broken(pack: Pack, final: Record) -> Record:
    """The signed case with another length of its tear in the file."""
    case = json.loads(case_text(final, pack.form))
    case["values"]["tears"][0]["length_mm"] = "37 mm"
    return read_case(json.dumps(case), "case.json", lambda _: pack)[0]


def documents(
    pack: Pack, record: Record, kind: str = "note", pictures: PictureSource = no_pictures
) -> Document:
    view = pack.view(record)
    return compose(pack, view, assess(pack, view), kind, pictures)


def read_back(document: Document, ending: str) -> str:
    """All that a reader of the file sees, headers and footers included, on one line."""
    data = FORMATS[ending](document)
    if ending == "docx":
        word = docx.Document(io.BytesIO(data))
        section = word.sections[0]
        parts = [p.text for part in (section.header, section.footer) for p in part.paragraphs]
        parts += [paragraph.text for paragraph in word.paragraphs]
        parts += [cell.text for table in word.tables for row in table.rows for cell in row.cells]
        text = " ".join(parts)
    elif ending == "pdf":
        pages = pypdf.PdfReader(io.BytesIO(data)).pages
        text = " ".join(page.extract_text().replace("\u200b", "") for page in pages)
    else:
        text = data.decode()
    return " ".join(text.replace("\N{NO-BREAK SPACE}", " ").split())


@pytest.mark.parametrize("ending", ["docx", "pdf", "html", "txt"])
def test_each_format_says_the_state(
    ending: str, pack: Pack, unsigned: Record, final: Record, amended: Record, broken: Record
) -> None:
    said = read_back(documents(pack, unsigned), ending)
    assert "PRELIMINARY" in said
    assert "signed as author" not in said
    said = read_back(documents(pack, final), ending)
    assert "PRELIMINARY" not in said
    assert f"Final: {SIGNED}." in said
    said = read_back(documents(pack, amended), ending)
    assert f"Amended: {SIGNED}, with an addendum by Dr T. Thornquill" in said
    assert "1. Added by Dr T. Thornquill on 9 March 2026, 20:05 (UTC+01:00)" in said
    assert "The block had worn off." in said
    said = read_back(documents(pack, broken), ending)
    assert "CHANGED AFTER SIGNING" in said
    assert f"Changed after it was {SIGNED}" in said
    assert "Final:" not in said


def test_the_pages_of_a_pdf_each_say_who_signed(pack: Pack, final: Record) -> None:
    reader = pypdf.PdfReader(io.BytesIO(FORMATS["pdf"](documents(pack, final))))
    assert len(reader.pages) > 1
    for page in reader.pages:
        text = " ".join(page.extract_text().replace("\N{NO-BREAK SPACE}", " ").split())
        assert f"Final: {SIGNED}." in text


def test_the_status_is_that_of_fhir_and_stands_in_the_properties_of_a_word_file(
    pack: Pack, unsigned: Record, final: Record, amended: Record, broken: Record
) -> None:
    """Source: HL7 FHIR R4, composition-status."""
    found = []
    for record in (unsigned, final, amended, broken):
        word = docx.Document(io.BytesIO(FORMATS["docx"](documents(pack, record))))
        found.append(word.core_properties.content_status)
    assert found == ["preliminary", "final", "amended", "preliminary"]


def test_validator_finds_nothing_in_an_amended_note(
    pack: Pack, amended: Record, tmp_path: Path, openxml_validator: OpenXmlValidator
) -> None:
    path = tmp_path / "note.docx"
    write_document(documents(pack, amended), path)
    assert openxml_validator.validate(path).errors == []


def signature_rows(pack: Pack, record: Record) -> dict[str, str]:
    """What stands in the rows of the note that somebody signs in."""
    rows = [
        row
        for block in documents(pack, record).blocks
        if isinstance(block, Table)
        for row in block.rows
    ]
    named = {sentence_text(row[0]): sentence_text(row[1]) for row in rows if len(row) > 1}
    return {name: said for name, said in named.items() if name.startswith("Signature")}


def test_the_line_of_the_signature_is_filled(pack: Pack, unsigned: Record, final: Record) -> None:
    assert signature_rows(pack, unsigned) == {"Signature": "________"}
    said = "Miss Q. Larkspindle, author, 9 March 2026, 11:30 (UTC+01:00)"
    assert signature_rows(pack, final) == {"Signature": said}


def test_booked_checks_are_signed_with_the_note(pack: Pack, final: Record) -> None:
    assert "booked for 9 March 2026, 20:00, with Dr T. Thornquill" in text_from(
        documents(pack, final)
    )


def test_addenda_come_last_and_in_order(pack: Pack, amended: Record) -> None:
    twice = with_addendum(amended, "Dr A. Ashpenny", LATER + timedelta(hours=1), "Went home.")
    said = text_from(documents(pack, twice))
    first, second = said.index("1. Added by Dr T."), said.index("2. Added by Dr A.")
    assert said.index("Local policy comes first.") < said.index("Addenda") < first < second
    assert "Amended: " in said
    assert "with 2 addenda, the last by Dr A. Ashpenny" in said


def test_every_document_of_a_changed_case_says_so(pack: Pack, broken: Record) -> None:
    for kind in DOCUMENTS:
        document = documents(pack, broken, kind)
        assert document.status is Status.PRELIMINARY
        assert text_from(document).startswith("CHANGED AFTER SIGNING")


def test_letter_and_card_are_as_final_as_the_note(
    pack: Pack, final: Record, amended: Record
) -> None:
    for kind in ("letter", "recovery_card"):
        assert documents(pack, final, kind).status is Status.FINAL
        assert documents(pack, amended, kind).status is Status.AMENDED
        assert f"From the note. Final: {SIGNED}." in text_from(documents(pack, final, kind))


def test_what_a_patient_reads_keeps_its_own_state(
    pack: Pack, unsigned: Record, final: Record
) -> None:
    for kind in ("risk_sheet", "recovery_plan"):
        assert documents(pack, final, kind) == documents(pack, unsigned, kind)


def test_the_note_stays_as_it_was_signed_when_a_wording_changes(
    pack: Pack, final: Record, unsigned: Record
) -> None:
    """Another department's words, here those of the letter in the place of the note's."""
    other = replace(pack, wordings={**pack.wordings, "note": pack.wordings["letter"]})
    assert text_from(documents(other, unsigned)) != text_from(documents(pack, unsigned))
    assert documents(other, final) == documents(pack, final)


def test_the_note_from_the_file_is_the_one_that_was_signed(pack: Pack, final: Record) -> None:
    back, _ = read_case(case_text(final, pack.form), "case.json", lambda _: pack)
    document = documents(pack, back)
    assert any(isinstance(block, Figure) for block in document.blocks)
    assert document == documents(pack, final)
    # But for its large drawings, which only documents for patients have, nothing is lost.
    composed = text_from(documents(pack, replace(back, signature=None)))
    kept = text_from(document)
    assert [line for line in kept.splitlines() if line not in composed.splitlines()] == [
        f"Final: {SIGNED}.",
        "Signature: Miss Q. Larkspindle, author, 9 March 2026, 11:30 (UTC+01:00)",
        f"Final: {SIGNED}.",
    ]


def a_picture() -> bytes:
    buffer = io.BytesIO()
    Image.new("RGB", (40, 30), "grey").save(buffer, "JPEG")
    return buffer.getvalue()


def test_pictures_of_a_signed_note_are_found_by_their_names(pack: Pack, unsigned: Record) -> None:
    data = a_picture()
    name = hashlib.sha256(data).hexdigest() + ".jpg"
    there: Callable[[str], bytes | None] = {name: data}.get
    column = next(c for c in pack.fields["pictures"].columns if c.kind == "picture")
    row = {column.name: name, "shows": "repaired", "names": "none"}
    record = add_row("pictures", "add", row).apply(unsigned)
    final = sign(pack, record, "Miss Q. Larkspindle", AT, "left", there)

    def shown(source: PictureSource) -> bytes | None:
        page = next(
            block
            for block in documents(pack, final, pictures=source).blocks
            if isinstance(block, PicturePage)
        )
        return page.pictures[0].data

    assert shown(there) == data
    assert shown(no_pictures) is None
    assert "This picture is missing" in text_from(documents(pack, final))
    assert "This picture is missing" not in text_from(documents(pack, final, pictures=there))


def test_signing_is_seen_at_once_in_an_open_case(
    pack: Pack, unsigned: Record, final: Record
) -> None:
    """What is taken over from the state before says nothing that no longer holds."""
    state = State(pack, unsigned)
    assert state.document("letter").status is Status.PRELIMINARY
    before = state.document("note")
    after = State(pack, final, before=state)
    assert after.document("note") == documents(pack, final)
    assert after.document("note") != before
    assert after.document("letter").status is Status.FINAL


@pytest.fixture(scope="module")
def supervised(pack: Pack, unsigned: Record) -> Record:
    """The case with a supervisor who read the note."""
    changes = {"team.supervision": "available", "team.supervisor": "Mr I. Dunmarrow"}
    record = set_values({**changes, "author.supervisor": "Mr I. Dunmarrow"}, "").apply(unsigned)
    assert assess(pack, pack.view(record)).is_ready
    return record


def test_a_supervisor_signs_as_such(pack: Pack, supervised: Record) -> None:
    signed = sign(pack, supervised, "Mr I. Dunmarrow", AT, "left", no_pictures)
    assert "signed as supervisor by Mr I. Dunmarrow" in documents(pack, signed).state
    other = sign(pack, supervised, "Dr N. Elsewhere", AT, "left", no_pictures)
    assert "Final: signed by Dr N. Elsewhere on" in documents(pack, other).state


def test_a_signature_stands_in_the_row_of_who_gave_it(pack: Pack, supervised: Record) -> None:
    at, blank = "9 March 2026, 11:30 (UTC+01:00)", "________"
    for by, author, supervisor in (
        ("Mr I. Dunmarrow", blank, f"Mr I. Dunmarrow, supervisor, {at}"),
        ("Miss Q. Larkspindle", f"Miss Q. Larkspindle, author, {at}", blank),
    ):
        signed = sign(pack, supervised, by, AT, "left", no_pictures)
        assert signature_rows(pack, signed) == {
            "Signature": author,
            "Signature of the supervisor": supervisor,
        }


@pytest.mark.parametrize(
    ("supervisor", "by", "role"),
    [
        ("Mr I. Dunmarrow", "quilla larkspindle", "author"),
        ("Mr I. Dunmarrow", "Prof Ivo Dunmarrow", "supervisor"),
        ("Mr I. Dunmarrow", "Mr T. Dunmarrow", ""),
        ("Q Larkspindle", "Q. Larkspindle", "author"),
        # Of two of one family, who is told apart by the first name, and else nobody.
        ("Mr T. Larkspindle", "Tam Larkspindle", "supervisor"),
        ("Mr T. Larkspindle", "Dr Larkspindle", ""),
        (None, "None", ""),
    ],
)
def test_a_role_is_that_of_the_person_however_the_name_is_written(
    supervisor: str | None, by: str, role: str, pack: Pack, supervised: Record
) -> None:
    path = "author.supervisor"
    edit = clear_value(path, "") if supervisor is None else set_value(path, supervisor, "")
    record = edit.apply(supervised)
    signature = sign(pack, record, by, AT, "left", no_pictures).signature
    assert signature is not None
    assert (signature.by, signature.role) == (by, role)


def test_who_is_not_asked_for_as_supervisor_signs_as_another(
    pack: Pack, supervised: Record
) -> None:
    """The answer of a question that isn't asked any more stands aside."""
    record = set_value("team.supervision", "none", "").apply(supervised)
    signature = sign(pack, record, "Mr I. Dunmarrow", AT, "left", no_pictures).signature
    assert signature is not None
    assert signature.role == ""


def test_nothing_is_signed_that_must_not_be(pack: Pack, unsigned: Record, final: Record) -> None:
    by = "Miss Q. Larkspindle"
    for side in ("right", ""):
        with pytest.raises(ValueError, match="the side is not that of the case"):
            sign(pack, unsigned, by, AT, side, no_pictures)
    open_case = clear_value("operation.unit", "").apply(unsigned)
    with pytest.raises(ValueError, match="something is open: Hospital"):
        sign(pack, open_case, by, AT, "left", no_pictures)
    with pytest.raises(ValueError, match="signed already"):
        sign(pack, final, by, AT, "left", no_pictures)


def test_a_letter_of_another_edition_than_was_signed_says_so(pack: Pack, final: Record) -> None:
    later = "Composed after the note was signed, with another edition of the forms"
    newer = replace(final, editions={**final.editions, next(iter(final.editions)): "2099.1"})
    for kind in ("letter", "recovery_card"):
        assert later not in text_from(documents(pack, final, kind))
        for ending in ("docx", "pdf"):
            said = read_back(documents(pack, newer, kind), ending)
            assert later in said
            assert f"From the note. Final: {SIGNED}." in said
    # The note is the one that was signed.
    assert documents(pack, newer) == documents(pack, final)
