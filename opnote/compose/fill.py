"""Putting the values of a case into parsed blocks, and the wording's own words in order."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache

from opnote.compose.document import (
    Block,
    Heading,
    ItemList,
    Paragraph,
    Run,
    Sentence,
    Table,
)
from opnote.compose.markdown import Piece, RawBlock, raw_blocks_of
from opnote.pack.shown import (
    FIRST_SCOPE,
    FIRST_VALUE,
    LAST_SCOPE,
    LAST_VALUE,
    SCOPE_END,
    Printed,
)

_MARK = re.compile(
    f"[{chr(FIRST_VALUE)}-{chr(LAST_VALUE)}{chr(FIRST_SCOPE)}-{chr(LAST_SCOPE)}{SCOPE_END}]"
)
_SPACES = re.compile(r"[ \t]+")
_SPACE_BEFORE = re.compile(r" +([.,;:)])")


def blocks_of(piece: Piece, unconfirmed: frozenset[str]) -> tuple[Block, ...]:
    """The blocks of a piece with its values; their ids are given later.

    `unconfirmed` are the paths whose values nobody has confirmed, which the text says. A piece in
    which nothing changed since it was last asked for gives the same blocks at once.
    """
    return _kept_blocks(piece, _marks_in(piece, unconfirmed))


def first_sentence(piece: Piece, unconfirmed: frozenset[str]) -> Sentence:
    """The first sentence of a piece; empty when it says nothing."""
    for block in blocks_of(piece, unconfirmed):
        if isinstance(block, Paragraph):
            return block.sentences[0]
    return ()


def _marks_in(piece: Piece, unconfirmed: frozenset[str]) -> frozenset[str]:
    if not unconfirmed:
        return unconfirmed
    return unconfirmed & {value.path for value in piece.printed if value.path is not None}


@lru_cache(maxsize=4096)
def _kept_blocks(piece: Piece, marks: frozenset[str]) -> tuple[Block, ...]:
    return tuple(
        block
        for raw, line in raw_blocks_of(piece.text)
        for block in _block(raw, line, piece, marks)
    )


def _block(raw: RawBlock, line: int, piece: Piece, marks: frozenset[str]) -> Iterator[Block]:
    """A block with its values, if anything of it is left."""

    def fill(sentences: Sequence[Sentence], first: int) -> tuple[Sentence, ...]:
        done = (
            filled(sentence, piece, first + index, marks)
            for index, sentence in enumerate(sentences)
        )
        return tuple(sentence for sentence in done if sentence)

    match raw.kind:
        case "heading":
            sentences = fill(raw.sentences, line)
            if sentences:
                yield Heading("", raw.level, sentences[0])
        case "paragraph":
            sentences = fill(raw.sentences, line)
            if sentences:
                yield Paragraph("", sentences, piece.style)
        case "list":
            items = []
            for item in raw.items:
                items.append(fill(item, line))
                line += len(item)
            kept = tuple(item for item in items if item)
            if kept:
                yield ItemList("", kept, raw.numbered, piece.style)
        case "table":
            yield _table(raw, line, piece, marks)


def _table(raw: RawBlock, line: int, piece: Piece, marks: frozenset[str]) -> Table:
    def cells(row: Sequence[Sentence], at: int) -> tuple[Sentence, ...]:
        return tuple(filled(cell, piece, at, marks, in_cell=True) for cell in row)

    header = cells(raw.sentences, line)
    # The rows begin two lines on: the header's marks stand between.
    rows = tuple(cells(row, line + 2 + index) for index, row in enumerate(raw.items))
    return Table("", header, rows, raw.numeric, piece.style)


def filled(
    sentence: Sentence,
    piece: Piece,
    line: int,
    marks: frozenset[str],
    in_cell: bool = False,
) -> Sentence:
    """A sentence with its values put in, its spaces in order, and a capital at its start.

    `line` is the line of the piece that it stands on: what decided that line, or words in it, is
    what the wording's own words are traced to. `marks` are the paths whose values still have to be
    confirmed, which the sentence says. In the cell of a table, a typed name or number of a
    lot begins as it was typed; a typed phrase begins with a capital like the other cells.
    """
    made = _Line(piece.scopes[min(line, len(piece.scopes) - 1)], in_cell)
    for run in sentence:
        end = 0
        for found in _MARK.finditer(run.text):
            made.add_words(run.text[end : found.start()], run)
            end = found.end()
            mark = ord(found[0])
            if found[0] == SCOPE_END:
                made.leave()
            elif mark >= FIRST_SCOPE:
                made.enter(piece.opened[mark - FIRST_SCOPE])
            else:
                value = piece.printed[mark - FIRST_VALUE]
                made.add_value(value, run)
                if value.path in marks:
                    made.add_words(" (to be confirmed)", run)
        made.add_words(run.text[end:], run)
    return made.finished()


class _Line:
    """A sentence in the making. Only the wording's own words are tidied, never a typed value."""

    def __init__(self, scopes: Sequence[str | None], in_cell: bool) -> None:
        self._scopes = list(scopes)
        self._in_cell = in_cell
        self._keeps_start = False
        self._runs: list[Run] = []

    def enter(self, scope: str | None) -> None:
        """What follows was decided by another field."""
        self._scopes.append(scope)

    def leave(self) -> None:
        """What that field decided ends here; a cell may hold the end of what began before it."""
        if self._scopes:
            self._scopes.pop()

    @property
    def _scope(self) -> str | None:
        return next((scope for scope in reversed(self._scopes) if scope is not None), None)

    def add_value(self, value: Printed, like: Run) -> None:
        """Add a value exactly as it is."""
        # A line for handwriting is nobody's value, whatever decided that it is there.
        path = value.path if value.blank else value.path or self._scope
        if not self._runs:
            self._keeps_start = value.typed and self._in_cell
        self._runs.append(Run(value.text, path, like.bold, like.italic, value.blank))

    def add_words(self, text: str, like: Run) -> None:
        """Add words of the wording, without a doubled space or stop."""
        text = _tidied(text)
        last = self._runs[-1] if self._runs else None
        if last is None or last.text.endswith((" ", "\n")):
            text = text.lstrip(" ")
        if (
            last is not None
            and text.startswith(".")
            and last.text.rstrip().endswith((".", "!", "?"))
        ):
            text = text[1:]
        if text:
            self._runs.append(Run(text, self._scope, like.bold, like.italic))

    def finished(self) -> Sentence:
        """The runs, with a capital at the start and no space at the end."""
        runs = self._runs
        if runs and not runs[0].blank and not self._keeps_start:
            runs[0] = replace(runs[0], text=_begun(runs[0].text))
        if runs and not runs[-1].blank:
            runs[-1] = replace(runs[-1], text=runs[-1].text.rstrip())
        return tuple(run for run in runs if run.text or run.blank)


@lru_cache(maxsize=8192)
def _tidied(text: str) -> str:
    # The wording's own words are the same ones at every key.
    return _SPACES.sub(" ", _SPACE_BEFORE.sub(r"\1", text))


def _begun(text: str) -> str:
    """A text with a capital at its start, unless its first word has a spelling of its own: pH."""
    word = text.split(maxsplit=1)[0] if text.strip() else ""
    keeps = any(mark.isupper() or mark.isdigit() for mark in word)
    return text if keeps else text[:1].upper() + text[1:]
