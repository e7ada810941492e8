"""Which blocks of a document must stand on one page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, TypeAlias

from opnote.compose.document import Block, Figure, Heading, ItemList, Paragraph, Run, Table

Group: TypeAlias = tuple[Block, ...]

_FEW_ITEMS: Final = 4
"""A list of more may be torn: only its last item then stays with a framed text after it."""

_FEW_PARAGRAPHS: Final = 2
"""More of them before a drawing are too much to be moved to another page with it."""


def kept_together(blocks: Sequence[Block]) -> list[Group]:
    """The blocks in order, in groups that a page break must not tear; most stand alone.

    Lines for handwriting stay with one another, with the sentences before them and their heading;
    a drawing with what leads up to it; and a framed text at the end with what it is said of, so
    that no last page holds the frame only.
    """
    blocks = _split_before_the_end(blocks)
    joined = [False] * len(blocks)
    """For each block, whether it stays with the one before."""
    for index, block in enumerate(blocks):
        led_up_to = isinstance(block, Figure) and _leads_up_shortly(blocks, index)
        if led_up_to or _is_by_hand(block):
            _join_up(blocks, joined, index, sentences=True)
        elif _is_framed(block) and index and index == len(blocks) - 1:
            joined[index] = True
            if not joined[index - 1]:
                _join_up(blocks, joined, index - 1, sentences=False)
    groups: list[Group] = []
    for block, stays in zip(blocks, joined, strict=True):
        if stays and groups:
            groups[-1] = (*groups[-1], block)
        else:
            groups.append((block,))
    return groups


def _join_up(blocks: Sequence[Block], joined: list[bool], index: int, *, sentences: bool) -> None:
    """Tie a block to the sentences and the headings right before it, but never to the title."""
    while index > 0:
        above = blocks[index - 1]
        is_heading = isinstance(above, Heading) and above.level > 1
        if not is_heading and not (sentences and isinstance(above, Paragraph)):
            return
        if is_heading:
            sentences = False
        joined[index] = True
        index -= 1


def _leads_up_shortly(blocks: Sequence[Block], index: int) -> bool:
    """Tell whether a heading stands over a drawing with at most a few sentences between."""
    for above in blocks[max(index - _FEW_PARAGRAPHS - 1, 0) : index][::-1]:
        if isinstance(above, Heading):
            return True
        if not isinstance(above, Paragraph):
            return False
    return False


def _split_before_the_end(blocks: Sequence[Block]) -> list[Block]:
    """The blocks, with the last item of a long list before a framed end as a list of its own."""
    if len(blocks) > 1 and _is_framed(blocks[-1]):
        last = blocks[-2]
        if isinstance(last, ItemList) and not last.numbered and len(last.items) > _FEW_ITEMS:
            start = replace(last, items=last.items[:-1])
            return [*blocks[:-2], start, replace(last, items=last.items[-1:]), blocks[-1]]
    return list(blocks)


def _is_framed(block: Block) -> bool:
    return isinstance(block, Paragraph | ItemList) and block.style == "caution"


def _is_by_hand(block: Block) -> bool:
    """Tell whether a block holds a line to write on that no field fills."""
    match block:
        case Paragraph(sentences=sentences):
            return any(map(_has_line, sentences))
        case Table(rows=rows, header=()):
            return any(_has_line(cell) for cells in rows for cell in cells)
        case _:
            return False


def _has_line(runs: Sequence[Run]) -> bool:
    return any(run.blank and run.path is None for run in runs)
