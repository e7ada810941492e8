"""Wording and record make a Document: a pure function of pack and view."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from opnote.assess import Assessment
from opnote.assess.assess import label_of
from opnote.compose.document import (
    PATIENT_DOCUMENTS,
    Appointment,
    Block,
    Document,
    Figure,
    Heading,
    Run,
    Sentence,
    Status,
    sentence_text,
)
from opnote.compose.figures import draw, draw_large
from opnote.compose.fill import blocks_of, first_sentence
from opnote.compose.glossary import explained
from opnote.compose.markdown import figure_name, pieces_of
from opnote.compose.photograph import PictureSource, no_pictures, with_pictures
from opnote.compose.risk_words import risk_rows, sheet_rows, survival_rows
from opnote.pack.form import LIMIT
from opnote.pack.given import changes_since_given, last_given
from opnote.pack.pack import Pack, plain_rows
from opnote.pack.shown import Reader
from opnote.pack.view import View, date_words


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
    reader = Reader(view, pack.wording_fields, _tables(pack, view, assessment))
    markdown = pack.wordings[kind].render(reader, pack.environment)
    unconfirmed = frozenset(p for p in view.record.origins if view.record.is_unconfirmed(p))
    blocks: list[Block] = []
    kept: dict[str, Sentence] = {"subject": (), "author": (), "running": ()}
    for piece in pieces_of(markdown, reader.printed, reader.scopes):
        if piece.style in kept:
            kept[piece.style] = first_sentence(piece, unconfirmed)
        elif (figure := figure_name(piece.text)) is not None:
            blocks.extend(_figure(figure, pack, view))
        else:
            blocks.extend(blocks_of(piece, unconfirmed))
    whole = with_pictures(_without_empty_headings(blocks), pack, view, pictures)
    if kind in PATIENT_DOCUMENTS:
        whole = explained(whole, pack.glossary, partial(_is_typed, pack))
    named = tuple(_named(whole))
    title = next((b for b in named if isinstance(b, Heading) and b.level == 1), None)
    return Document(
        kind=kind,
        title=sentence_text(title.runs) if title is not None else kind,
        subject=kept["subject"],
        status=_status(kind, kept["subject"], named, view, assessment),
        blocks=named,
        author=sentence_text(kept["author"]),
        running=sentence_text(kept["running"]),
        appointments=tuple(_appointments(pack, view)) if kind == "recovery_plan" else (),
    )


def _tables(pack: Pack, view: View, assessment: Assessment) -> Mapping[str, list[dict[str, Any]]]:
    """The rows that wordings walk besides the form's tables."""
    reasons = view.record.reasons
    explained = [
        {"level": f.level, "message": f.fact, "reason": reasons[f.id]}
        for f in assessment.findings
        if f.settled and f.id in reasons
    ]
    due = view.record.due
    booked = [
        {
            "id": f.id,
            "message": f.fact,
            "at": f"{date_words(due[f.id].at)}, {due[f.id].at:%H:%M}",
            "by": due[f.id].by,
        }
        for f in assessment.findings
        if f.settled and f.id in due
    ]
    unanswered = [
        {"label": label_of(view.concrete[path].field, path, view), "because": because}
        for path, because in view.record.unanswered.items()
        if because.strip() and not view.is_hidden(path) and not view.is_recorded(path)
    ]
    return {
        "risks": plain_rows(risk_rows(pack.risks, view)),
        "survival": plain_rows(survival_rows(pack.survival, view)),
        "sheet": plain_rows(sheet_rows(pack, view)),
        "given_sheet": plain_rows(_given_sheet(view)),
        "sheet_changes": plain_rows(
            [
                {"label": change.label, "before": change.before, "now": change.now}
                for change in changes_since_given(pack, view)
            ]
        ),
        "explanations": plain_rows(explained),
        "booked": plain_rows(booked),
        "unanswered": plain_rows(unanswered),
    }


def _is_typed(pack: Pack, path: str) -> bool:
    field = pack.field_at(path)
    return field is not None and field.kind in ("text", "prose", "person")


def _given_sheet(view: View) -> list[dict[str, str]]:
    given = last_given(view)
    return [] if given is None else [{"on": date_words(given.on), "edition": given.edition}]


def _appointments(pack: Pack, view: View) -> Iterator[Appointment]:
    for milestone in pack.form.milestones:
        day = view.values.get(milestone.path)
        if day is not None:
            yield Appointment(day, milestone.title, milestone.path)


def _figure(name: str, pack: Pack, view: View) -> Iterator[Figure]:
    use = pack.form.figures[name]
    drawing = draw(use, view, pack)
    if drawing is not None:
        yield Figure(
            "",
            drawing.svg,
            drawing.alternative,
            (Run(use.caption),),
            drawing.width_mm,
            drawing.height_mm,
            tuple(path for path in use.uses.values() if not path.startswith(LIMIT)),
            draw_large(use, view, pack),
        )


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


def _named(blocks: Sequence[Block]) -> list[Block]:
    """Give each block an id that stays while others come and go: its section and its number."""
    named: list[Block] = []
    section = "top"
    counts: Counter[str] = Counter()
    for block in blocks:
        if isinstance(block, Heading):
            # The title stands once; its words change while the case is filled in.
            heading = "title" if block.level == 1 else sentence_text(block.runs).lower()
            words = "".join(c if c.isalnum() else "-" for c in heading)
            section = words.strip("-")[:40] or "section"
        named.append(replace(block, id=f"{section}.{counts[section]}"))
        counts[section] += 1
    return named


def _status(
    kind: str, subject: Sentence, blocks: Sequence[Block], view: View, assessment: Assessment
) -> Status:
    """A clinician's document is preliminary until signed; a patient's while it lacks anything.

    A sheet lacks something when it holds a ruled line for a field, says that something is not
    recorded, or holds a value that nobody has confirmed or that an open finding disputes.
    """
    if kind not in PATIENT_DOCUMENTS:
        return Status.PRELIMINARY
    document = Document(kind, "", subject, Status.FINAL, tuple(blocks))
    runs = [run for sentence in (subject, *document.sentences()) for run in sentence]
    said = {run.path for run in runs if run.path is not None}
    disputed = {
        path
        for finding in assessment.open
        if finding.level in ("contradiction", "adverse")
        for path in finding.fields
    }
    lacking = any(run.blank and run.path is not None for run in runs)
    lacking = lacking or bool(said & view.record.unanswered.keys() - view.values.keys())
    if lacking or said & disputed or any(view.record.is_unconfirmed(path) for path in said):
        return Status.PRELIMINARY
    return Status.FINAL
