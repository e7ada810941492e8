"""The note says what was recorded, all of it, and nothing else: over every shipped demo case."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from opnote.assess import assess
from opnote.compose import compose
from opnote.compose.document import Document, Figure, sentence_text
from opnote.pack.case import read_case
from opnote.pack.files import shipped_root
from opnote.pack.form import Field
from opnote.pack.loader import load_pack
from opnote.pack.pack import DOCUMENTS, WORDING_TABLES, Pack
from opnote.reckon.frequency import wilson_interval
from opnote.record import NOT_EXAMINED, Quantity, Record, set_value
from opnote.record.value import MONTHS

ROOT = shipped_root()
SAMPLES = sorted((ROOT / "forms" / "samples").glob("*.json"))
NUMBER = re.compile(r"\d+(?:[.,:]\d+)*")
WORD = re.compile(r"(?<!\w)[^\W\d_]+(?!\w)")  # a code such as 0SQD4ZZ is no word
OF_A_CODE = re.compile(r"ICD-10(-CM|-PCS)?|OPCS-4")  # names of code systems
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@lru_cache
def _pack(procedures: tuple[str, ...]) -> Pack:
    return load_pack(procedures, [ROOT])


@dataclass(frozen=True)
class Composed:
    """A demo case with its documents."""

    pack: Pack
    record: Record
    documents: dict[str, Document]


def documents_of(pack: Pack, record: Record, kinds: Sequence[str]) -> dict[str, Document]:
    view = pack.view(record)
    assessment = assess(pack, view)
    return {kind: compose(pack, view, assessment, kind) for kind in kinds}


@lru_cache
def _composed(path: Path) -> Composed:
    record, pack = read_case(path.read_text(), path.name, lambda names: _pack(tuple(names)))
    return Composed(pack, record, documents_of(pack, record, DOCUMENTS))


@pytest.fixture(params=SAMPLES, ids=lambda path: path.stem)
def demo(request: pytest.FixtureRequest) -> Composed:
    return _composed(request.param)


def text_of(document: Document) -> str:
    """All that a reader reads, the drawings' words included."""
    lines = [sentence_text(s) for s in (document.subject, *document.sentences())]
    lines += [block.alternative for block in document.blocks if isinstance(block, Figure)]
    return "\n".join((document.author, *lines))


def said_paths(document: Document) -> set[str]:
    """The fields that the text comes from."""
    return {
        run.path
        for sentence in (document.subject, *document.sentences())
        for run in sentence
        if run.path is not None
    }


def others(value: Any, field: Field) -> Iterator[Any]:
    """Other values that the field could hold."""
    options = [option.value for option in field.options]
    match value:
        case bool():
            yield not value
        case str() if field.kind == "yes_no":
            yield from (True, False)
        case str() if options:
            yield from (option for option in options if option != value)
        case tuple():
            yield from ((option,) for option in options if (option,) != value)
        case str() if field.kind == "ref":
            return
        case str():
            yield f"{value} Quillfeather"
        case Quantity(amount=amount, unit=unit):
            yield from (Quantity(n, unit) for n in _near(amount, field))
        case int():
            yield from _near(value, field)
        case datetime():
            yield value + timedelta(minutes=7)
        case date():
            yield value - timedelta(days=1)
        case time():
            yield value.replace(minute=(value.minute + 7) % 60)


def _near(amount: float, field: Field) -> Iterator[Any]:
    for other in (amount + 1, amount - 1):
        low, high = field.least, field.most
        if (low is None or other >= low) and (high is None or other <= high):
            yield other


def test_there_are_demo_cases() -> None:
    assert len(SAMPLES) >= 3


def test_a_changed_field_changes_the_documents_that_say_it(demo: Composed) -> None:
    said = {kind: said_paths(document) for kind, document in demo.documents.items()}
    view = demo.pack.view(demo.record)
    tried, unmoved = 0, []
    for path, value in demo.record.values.items():
        kinds = [kind for kind in DOCUMENTS if path in said[kind]]
        field = demo.pack.field_at(path)
        if not kinds or field is None or path not in view.values or value == NOT_EXAMINED:
            continue
        before = [text_of(demo.documents[kind]) for kind in kinds]
        for other in others(value, field):
            tried += 1
            changed = documents_of(
                demo.pack, set_value(path, other, "change").apply(demo.record), kinds
            )
            if [text_of(document) for document in changed.values()] != before:
                break
        else:
            if list(others(value, field)):
                unmoved.append(path)
    assert tried > 100
    assert unmoved == []


def test_a_recorded_field_that_no_text_names_decides_words_or_is_silent(demo: Composed) -> None:
    """Such as a loss of extension of nothing, which is said as full extension."""
    said = set().union(*(said_paths(document) for document in demo.documents.values()))
    view = demo.pack.view(demo.record)
    before = [text_of(document) for document in demo.documents.values()]
    unsaid = []
    for path in view.values:
        field = view.concrete[path].field
        if path in said or field.silent or field.is_computed or field.kind == "ref":
            continue
        for other in others(demo.record.values[path], field):
            record = set_value(path, other, "change").apply(demo.record)
            changed = documents_of(demo.pack, record, DOCUMENTS)
            if [text_of(document) for document in changed.values()] != before:
                break
        else:
            unsaid.append(path)
    assert unsaid == []


def test_a_number_in_a_document_is_a_number_of_the_case_or_of_the_data(demo: Composed) -> None:
    view = demo.pack.view(demo.record)
    most_rows = max((len(rows) for rows in view.rows.values()), default=0)
    counting = {str(number) for number in range(1, most_rows + 1)}
    data = set(NUMBER.findall("\n".join(_data_texts())))
    everything = set(NUMBER.findall("\n".join(view.said(path) for path in view.values)))
    for document in demo.documents.values():
        for sentence in (document.subject, *document.sentences()):
            for run in sentence:
                numbers = set(NUMBER.findall(OF_A_CODE.sub("", run.text)))
                table = (run.path or "").partition(".")[0]
                if run.path in view.values:
                    allowed = set(NUMBER.findall(view.said(run.path))) | counting
                elif table in WORDING_TABLES or table == "limit":
                    allowed = data | everything | _figures(demo.pack)
                else:
                    allowed = counting
                assert numbers <= allowed, (run.path, run.text, numbers - allowed)


def _figures(pack: Pack) -> set[str]:
    """Numbers that follow from the data: so many in so many, and so many who haven't it."""
    found = {"1", "100", "10,000"}
    for risk in pack.risks:
        shares = []
        if risk.events is not None and risk.patients is not None:
            found.add(f"{risk.patients:,}")
            shares += [risk.events / risk.patients, *wilson_interval(risk.events, risk.patients)]
        if risk.per is not None:
            ends = (risk.low, risk.high, risk.range_low, risk.range_high, *(risk.interval or ()))
            shares += [end / risk.per for end in ends if end is not None]
        if risk.nearest is not None:
            near = risk.nearest
            found |= {str(near.events), str(near.patients)}
            shares += [near.events / near.patients, *wilson_interval(near.events, near.patients)]
        for share in shares:
            for whole in (100, 10_000):
                count = int(share * whole + 0.5)
                ends = (int(share * whole), int(share * whole) + 1)
                found |= {f"{number:,}" for number in (count, whole - count, *ends)}
    return found


@lru_cache
def _data_texts() -> tuple[str, ...]:
    folders = (ROOT / "forms", ROOT / "templates")
    files = [path for folder in folders for path in folder.rglob("*.*")]
    return tuple(path.read_text() for path in files if path.suffix in (".toml", ".md"))


def test_a_name_in_a_document_is_of_the_case_or_of_the_wording(demo: Composed) -> None:
    record = demo.record
    typed = [value for value in record.values.values() if isinstance(value, str)]
    typed += [*record.reasons.values(), *record.unanswered.values()]
    typed += [due.by for due in record.due.values()]
    words = "\n".join((*_data_texts(), *typed, *MONTHS, *WEEKDAYS)).casefold()
    known = set(WORD.findall(words))
    for document in demo.documents.values():
        said = [
            run.text for sentence in (document.subject, *document.sentences()) for run in sentence
        ]
        strange = {word for text in said for word in WORD.findall(text) if word[:1].isupper()}
        assert {name for name in strange if name.casefold() not in known} <= _OWN_WORDS


_OWN_WORDS = {
    "None",  # "None of the 50 people in the study", which opnote says itself
    "Fewer",  # "Fewer than 1 in 10,000"
}
