"""The parts of a wording as blocks, kept from one state of a case to the next.

A part is rendered anew only when something that it looked at has changed.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from opnote.compose.document import Block, Figure, Run, Sentence
from opnote.compose.figures import draw, draw_large, reads_of
from opnote.compose.fill import blocks_of, first_sentence
from opnote.compose.markdown import BODY, figure_name, pieces_of
from opnote.pack.form import LIMIT
from opnote.pack.pack import Pack
from opnote.pack.shown import CUT, Reader, Trace
from opnote.pack.view import View

APART = ("subject", "author", "running")
"""The styles of what stands in a document's head rather than among its blocks."""


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a wording, rendered and made into blocks.

    Shape: `markdown` and `trace` are the rendering; `reads` what the blocks depend on; `apart` the
    sentences for the head by their style. `begins` and `ends` are the styles that stand before
    and behind it.
    """

    markdown: str
    trace: Trace
    reads: frozenset[str]
    blocks: tuple[Block, ...]
    apart: Mapping[str, Sentence]
    begins: str
    ends: str


def parts_of(
    kind: str,
    pack: Pack,
    view: View,
    tables: Mapping[str, list[dict[str, Any]]],
    unconfirmed: frozenset[str],
    before: Sequence[Part] = (),
    changed: Collection[str] = (),
    confirmed_otherwise: Collection[str] = (),
) -> tuple[Part, ...]:
    """Render a wording in parts.

    `before` are the parts of an earlier state, `changed` the fields and tables of data that have
    changed since, and `confirmed_otherwise` the paths that were confirmed or not since.
    """
    kept = {n for n, part in enumerate(before) if part.reads.isdisjoint(changed)}
    reader = Reader(view, pack.wording_fields, tables, kept)
    texts = pack.wordings[kind].render(reader).split(CUT)
    if reader.traces and reader.traces[0] is None:
        del texts[0]  # what stands before the first cut belongs to a part that wasn't rendered
    rendered = iter(texts)
    parts: list[Part] = []
    style = BODY
    for number, trace in enumerate(reader.traces):
        if trace is not None:
            part = _made(next(rendered), trace, style, pack, view, unconfirmed)
        else:
            part = before[number]
            if part.begins != style or _prints(part, confirmed_otherwise):
                part = _made(part.markdown, part.trace, style, pack, view, unconfirmed)
        parts.append(part)
        style = part.ends
    return tuple(parts)


def _prints(part: Part, paths: Collection[str]) -> bool:
    return bool(paths) and any(value.path in paths for value in part.trace.printed)


def _made(
    markdown: str,
    trace: Trace,
    style: str,
    pack: Pack,
    view: View,
    unconfirmed: frozenset[str],
) -> Part:
    blocks: list[Block] = []
    apart: dict[str, Sentence] = {}
    reads = set(trace.reads)
    ends = style
    for piece in pieces_of(markdown, trace.printed, trace.scopes, style):
        if isinstance(piece, str):
            ends = piece
        elif piece.style in APART:
            apart[piece.style] = first_sentence(piece, unconfirmed)
        elif (name := figure_name(piece.text)) is not None:
            reads |= reads_of(pack.form.figures[name], pack)
            blocks.extend(_figure(name, pack, view))
        else:
            blocks.extend(blocks_of(piece, unconfirmed))
    return Part(markdown, trace, frozenset(reads), tuple(blocks), apart, style, ends)


def _figure(name: str, pack: Pack, view: View) -> tuple[Figure, ...]:
    use = pack.form.figures[name]
    drawing = draw(use, view, pack)
    if drawing is None:
        return ()
    return (
        Figure(
            "",
            drawing.svg,
            drawing.alternative,
            (Run(use.caption),),
            drawing.width_mm,
            drawing.height_mm,
            tuple(path for path in use.uses.values() if not path.startswith(LIMIT)),
            draw_large(use, view, pack),
        ),
    )
