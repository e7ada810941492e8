"""Going from value to value on the paper by key, as a hand does by clicking."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from PySide6.QtGui import QTextBlock, QTextCursor, QTextDocument


@dataclass(frozen=True, slots=True)
class Link:
    """A run of text that leads somewhere: from the first to behind the last position."""

    start: int
    end: int
    address: str


def links_in(document: QTextDocument) -> Iterator[Link]:
    """The links of a text in reading order; those that touch and lead to the same are one."""
    open_link: Link | None = None
    block = document.begin()
    while block.isValid():
        for link in _in_block(block):
            if (
                open_link is not None
                and open_link.end == link.start
                and open_link.address == link.address
            ):
                open_link = Link(open_link.start, link.end, link.address)
                continue
            if open_link is not None:
                yield open_link
            open_link = link
        block = block.next()
    if open_link is not None:
        yield open_link


def _in_block(block: QTextBlock) -> Iterator[Link]:
    pieces = block.begin()
    while not pieces.atEnd():
        piece = pieces.fragment()
        address = piece.charFormat().anchorHref()
        if address:
            yield Link(piece.position(), piece.position() + piece.length(), address)
        pieces += 1


def next_link(document: QTextDocument, cursor: QTextCursor, by: int) -> Link | None:
    """The link after (1) or before (-1) what a cursor holds; the last one at the end."""
    links = list(links_in(document))
    if by > 0:
        after = cursor.selectionEnd() if cursor.hasSelection() else cursor.position()
        return next((link for link in links if link.start >= after), links[-1] if links else None)
    before = cursor.selectionStart()
    earlier = [link for link in links if link.end <= before]
    return earlier[-1] if earlier else next(iter(links), None)


def link_at(document: QTextDocument, cursor: QTextCursor) -> Link | None:
    """The link that a cursor has selected; None when it has selected something else."""
    start, end = cursor.selectionStart(), cursor.selectionEnd()
    return next((e for e in links_in(document) if (e.start, e.end) == (start, end)), None)
