"""Wording and record make a Document: a pure function of pack and view."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial

from opnote.assess import Assessment
from opnote.compose.data_table import DataTables
from opnote.compose.document import (
    PATIENT_DOCUMENTS,
    Appointment,
    Block,
    Document,
    Heading,
    Sentence,
    Status,
    sentence_text,
    sentences_of,
)
from opnote.compose.glossary import Explained, explained_after
from opnote.compose.part import APART, Part, parts_of
from opnote.compose.photograph import PictureSource, no_pictures, with_pictures
from opnote.pack.pack import Pack
from opnote.pack.view import View, differing
from opnote.record.signature import SIGNATURE


@dataclass(frozen=True, slots=True)
class Composed:
    """A document with the work that went into it, to be taken over by the next.

    Shape: `tables` are the rows of data that were asked for; `explained`, `named` and `said` hold
    for a block, by its identity, the block itself and what was made of it.
    """

    document: Document
    pack: Pack
    view: View
    parts: tuple[Part, ...]
    tables: DataTables
    unconfirmed: frozenset[str]
    explained: Explained
    named: Mapping[int, tuple[Block, Block]]
    said: Mapping[int, tuple[Block, Said]]


def compose(
    pack: Pack,
    view: View,
    assessment: Assessment,
    kind: str,
    pictures: PictureSource = no_pictures,
) -> Document:
    """Compose one document of a case.

    `kind` is one of the pack's documents: "note", "risk_sheet", "recovery_plan". What isn't
    recorded and must be is a ruled line; what doesn't apply is left out. `pictures` gives the
    bytes of a kept picture by its name; what it hasn't is said to be missing.
    """
    return composed(pack, view, assessment, kind, pictures=pictures).document


def composed(
    pack: Pack,
    view: View,
    assessment: Assessment,
    kind: str,
    before: Composed | None = None,
    pictures: PictureSource = no_pictures,
) -> Composed:
    """Compose one document of a case, and keep what the next time can take over.

    `before` is the same document of an earlier state of the case: parts that looked at nothing
    which has changed since are taken from it. The document is the same without it.
    """
    if before is not None and (before.pack is not pack or before.document.kind != kind):
        before = None
    changed = frozenset[str]() if before is None else _changed(view, before.view)
    tables = DataTables(pack, view, assessment, None if before is None else before.tables, changed)
    unconfirmed = frozenset(p for p in view.record.origins if view.record.is_unconfirmed(p))
    if before is None:
        parts = parts_of(kind, pack, view, tables, unconfirmed)
    else:
        parts = parts_of(
            kind,
            pack,
            view,
            tables,
            unconfirmed,
            before.parts,
            changed | tables.changed_since(before.tables),
            unconfirmed ^ before.unconfirmed,
        )
    apart: dict[str, Sentence] = dict.fromkeys(APART, ())
    for part in parts:
        apart.update(part.apart)
    blocks = _without_empty_headings([block for part in parts for block in part.blocks])
    blocks = with_pictures(blocks, pack, view, pictures)
    explaining: Explained = {}
    if kind in PATIENT_DOCUMENTS:
        earlier = {} if before is None else before.explained
        is_typed = partial(_is_typed, pack)
        blocks, explaining = explained_after(earlier, blocks, pack.glossary, is_typed)
    naming = _named(blocks, {} if before is None else before.named)
    named = tuple(made for _, made in naming)
    status = Status.PRELIMINARY
    said: dict[int, tuple[Block, Said]] = {}
    if kind in PATIENT_DOCUMENTS:
        said = _said(named, {} if before is None else before.said)
        parts_said = [each for _, each in said.values()]
        status = _patient_status(apart["subject"], parts_said, view, assessment)
    title = next((b for b in named if isinstance(b, Heading) and b.level == 1), None)
    document = Document(
        kind=kind,
        title=sentence_text(title.runs) if title is not None else kind,
        subject=apart["subject"],
        status=status,
        blocks=named,
        author=sentence_text(apart["author"]),
        running=sentence_text(apart["running"]),
        appointments=tuple(_appointments(pack, view)) if kind == "recovery_plan" else (),
    )
    if view.record.signature is not None:
        # Late, as most cases aren't signed.
        from opnote.compose.signed import in_its_state

        document = in_its_state(document, view.record, pictures)
    kept = {id(block): (block, made) for block, made in naming}
    return Composed(document, pack, view, parts, tables, unconfirmed, explaining, kept, said)


def _changed(view: View, before: View) -> frozenset[str]:
    """The fields of which a wording may say something else: their values, whether they are
    hidden, where they come from, or why they are not recorded."""
    old, new = before.record, view.record
    paths = {*differing(old.unanswered, new.unanswered), *differing(old.origins, new.origins)}
    rules = (view.concrete.get(path) or before.concrete.get(path) for path in paths)
    signature = () if old.signature is new.signature else (SIGNATURE,)
    changed = (rule.field.path for rule in rules if rule is not None)
    return view.changed_since(before).union(changed, signature)


def _is_typed(pack: Pack, path: str) -> bool:
    field = pack.field_at(path)
    return field is not None and field.kind in ("text", "prose", "person")


def _appointments(pack: Pack, view: View) -> Iterator[Appointment]:
    for milestone in pack.form.milestones:
        day = view.values.get(milestone.path)
        if day is not None:
            yield Appointment(day, milestone.title, milestone.path)


def _without_empty_headings(blocks: Sequence[Block]) -> list[Block]:
    """Drop a heading that nothing stands under; the title stays."""
    kept: list[Block] = []
    for block in reversed(blocks):
        follower = kept[-1] if kept else None
        if isinstance(block, Heading) and block.level > 1:
            if follower is None:
                continue
            if isinstance(follower, Heading) and follower.level <= block.level:
                continue
        kept.append(block)
    kept.reverse()
    return kept


def _named(
    blocks: Sequence[Block], before: Mapping[int, tuple[Block, Block]]
) -> list[tuple[Block, Block]]:
    """Each block with itself under an id that stays while others come and go: its section and its
    number."""
    named: list[tuple[Block, Block]] = []
    section = "top"
    counts: Counter[str] = Counter()
    for block in blocks:
        if isinstance(block, Heading):
            section = _section(block)
        name = f"{section}.{counts[section]}"
        counts[section] += 1
        kept = before.get(id(block))
        if kept is not None and kept[0] is block and kept[1].id == name:
            named.append(kept)
        else:
            named.append((block, replace(block, id=name)))
    return named


def _section(heading: Heading) -> str:
    # The title stands once; its words change while the case is filled in.
    return _section_name("title" if heading.level == 1 else sentence_text(heading.runs))


@lru_cache(maxsize=512)
def _section_name(said: str) -> str:
    words = "".join(c if c.isalnum() else "-" for c in said.lower())
    return words.strip("-")[:40] or "section"


@dataclass(frozen=True, slots=True)
class Said:
    """The fields that a block speaks of, and whether it holds a ruled line for one."""

    paths: frozenset[str]
    is_lacking: bool


def _said(
    blocks: Sequence[Block], before: Mapping[int, tuple[Block, Said]]
) -> dict[int, tuple[Block, Said]]:
    found: dict[int, tuple[Block, Said]] = {}
    for block in blocks:
        kept = before.get(id(block))
        if kept is None or kept[0] is not block:
            kept = (block, _said_in(sentences_of(block)))
        found[id(block)] = kept
    return found


def _said_in(sentences: Iterable[Sentence]) -> Said:
    runs = [run for sentence in sentences for run in sentence if run.path is not None]
    paths = frozenset(run.path for run in runs if run.path is not None)
    return Said(paths, any(run.blank for run in runs))


def _patient_status(
    subject: Sentence, blocks: Sequence[Said], view: View, assessment: Assessment
) -> Status:
    """A clinician's document is preliminary until signed; a patient's while it lacks anything.

    A sheet lacks something when it holds a ruled line for a field, says that something is not
    recorded, or holds a value that nobody has confirmed or that an open finding disputes.
    """
    parts = (_said_in([subject]), *blocks)
    said = frozenset[str]().union(*(part.paths for part in parts))
    disputed = {
        path
        for finding in assessment.open
        if finding.level in ("contradiction", "adverse", "gap")
        for path in finding.fields
    }
    lacking = any(part.is_lacking for part in parts)
    lacking = lacking or bool(said & view.record.unanswered.keys() - view.values.keys())
    if lacking or said & disputed or any(view.record.is_unconfirmed(path) for path in said):
        return Status.PRELIMINARY
    return Status.FINAL
