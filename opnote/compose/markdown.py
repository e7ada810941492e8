"""From rendered Markdown with opaque characters to the blocks of a Document.

The text is cut at empty lines into pieces, each parsed once and kept: while someone types into a
field that was already filled, no piece changes, and only the values are put in anew.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from opnote.compose.document import Run, Sentence
from opnote.pack.shown import (
    FIRST_SCOPE,
    FIRST_VALUE,
    LAST_SCOPE,
    LAST_VALUE,
    SCOPE_END,
    VOID,
    Printed,
)
from opnote.pack.wording_check import FIGURE_LINE

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token

_VALUE = re.compile(f"[{chr(FIRST_VALUE)}-{chr(LAST_VALUE)}]")
_SCOPE_MARKS = f"{chr(FIRST_SCOPE)}-{chr(LAST_SCOPE)}{SCOPE_END}"
_SCOPE = re.compile(f"[{_SCOPE_MARKS}]")
_LEADING = re.compile(f"[ \\t{_SCOPE_MARKS}]*")
_TRAILING = re.compile(f"[{_SCOPE_MARKS}]+$")
_OPAQUE = re.compile(f"[{chr(FIRST_VALUE)}-{chr(LAST_VALUE)}{chr(FIRST_SCOPE)}-{chr(LAST_SCOPE)}]")
_CELL_EDGE = re.compile(r"^\s*\|?|\|?\s*$")
_HEADING = re.compile(r"#{1,4} ")
_ONLY_MARKS = re.compile(r"[\s.,;:()*_#-]*")


@dataclass(frozen=True, slots=True)
class RawBlock:
    """A parsed block whose sentences still hold opaque characters.

    Shape: `parts` are the sentences of a paragraph or heading, the items of a list (each a tuple
    of sentences), or the rows of a table (each a tuple of cells, one sentence a cell).
    """

    kind: str
    level: int = 0
    sentences: tuple[Sentence, ...] = ()
    items: tuple[tuple[Sentence, ...], ...] = ()
    numeric: tuple[bool, ...] = ()
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Piece:
    """Some lines between two empty lines, the style they stand under, and what decided them.

    `scopes` holds for each line the fields whose values decided that it is said, the innermost
    last; `opened` the fields that decided words inside a line, `printed` the values, each in the
    order of their opaque characters.
    """

    text: str
    style: str
    scopes: tuple[tuple[str | None, ...], ...]
    printed: tuple[Printed, ...]
    opened: tuple[str | None, ...] = ()


BODY = "body"
"""The style of what stands under no other."""


def pieces_of(
    markdown: str, printed: Sequence[Printed], scopes: Sequence[str | None], style: str = BODY
) -> Iterator[Piece | str]:
    """Cut a rendering into pieces; sentences that lack a value are left out on the way.

    It begins under a style; the last thing given is the style that it ends under.
    """
    lines: list[str] = []
    deciding: list[tuple[str | None, ...]] = []

    def piece() -> Iterator[Piece]:
        yield from _piece(lines, style, deciding, printed, scopes)
        lines.clear()
        deciding.clear()

    for line, entry in _scoped_lines(markdown, scopes):
        mark = _plain(line).strip()
        if mark.startswith(":::"):
            yield from piece()
            style = mark.removeprefix(":::").strip() or BODY
            continue
        if not mark:
            yield from piece()
            continue
        kept = _without_void(line, printed)
        if kept is None:
            continue
        if _HEADING.match(kept):
            yield from piece()
        lines.append(kept)
        deciding.append(entry)
        if _HEADING.match(kept):
            yield from piece()
    yield from piece()
    yield style


def _scoped_lines(
    markdown: str, scopes: Sequence[str | None]
) -> Iterator[tuple[str, tuple[str | None, ...]]]:
    """The lines with the scopes that each begins in, from the outermost to the innermost.

    Marks at the edges of a line are taken away, so that a line begins with what Markdown looks
    for; marks inside it stay, and tell which words a condition decided.
    """
    stack: list[str | None] = []
    for line in markdown.split("\n"):
        if line.isascii():
            # No mark in it: nearly half of all lines are empty or of the wording alone.
            yield line, tuple(stack)
            continue
        edge = _LEADING.match(line)
        assert edge is not None
        _follow(edge[0], stack, scopes)
        entry = tuple(stack)
        rest = line[edge.end() :]
        _follow(rest, stack, scopes)
        yield _SCOPE.sub("", edge[0]) + _TRAILING.sub("", rest), entry


def _follow(text: str, stack: list[str | None], scopes: Sequence[str | None]) -> None:
    for mark in _SCOPE.findall(text):
        if mark == SCOPE_END:
            stack.pop()
        else:
            stack.append(scopes[ord(mark) - FIRST_SCOPE])


def _plain(text: str) -> str:
    return text if text.isascii() else _SCOPE.sub("", text)


def _without_void(line: str, printed: Sequence[Printed]) -> str | None:
    """A line without what isn't recorded; None when nothing of it is left to say."""
    if line.lstrip().startswith("|"):
        return _row_without_void(line, printed) if VOID in line else line
    if VOID in line or _ONLY_MARKS.fullmatch(_plain(line)):
        return None
    return line


def _row_without_void(line: str, printed: Sequence[Printed]) -> str | None:
    """A row with the cells that lack their value empty; None when it only has its label left.

    A first cell that holds a value of the case is no label: what was recorded is said.
    """
    cells = _CELL_EDGE.sub("", line).split("|")
    kept = ["" if VOID in cell or not _plain(cell).strip() else cell.strip() for cell in cells]
    says = any(printed[ord(mark) - FIRST_VALUE].path for mark in _VALUE.findall(kept[0]))
    if not says and not any(kept[1:]):
        return None
    return "| " + " | ".join(kept) + " |"


def _piece(
    lines: list[str],
    style: str,
    deciding: list[tuple[str | None, ...]],
    printed: Sequence[Printed],
    scopes: Sequence[str | None],
) -> Iterator[Piece]:
    """A piece with its marks numbered from zero, so that equal pieces have equal text."""
    if not lines:
        return
    used: list[Printed] = []
    opened: list[str | None] = []

    def renumbered(found: re.Match[str]) -> str:
        mark = ord(found[0])
        if mark < FIRST_SCOPE:
            used.append(printed[mark - FIRST_VALUE])
            return chr(FIRST_VALUE + len(used) - 1)
        opened.append(scopes[mark - FIRST_SCOPE])
        return chr(FIRST_SCOPE + len(opened) - 1)

    text = _OPAQUE.sub(renumbered, "\n".join(lines))
    yield Piece(text, style, tuple(deciding), tuple(used), tuple(opened))


@lru_cache(maxsize=1)
def _parser() -> MarkdownIt:
    # Late: the window shows the first page before it composes anything.
    from markdown_it import MarkdownIt

    parser = MarkdownIt("zero")
    return parser.enable(["heading", "list", "table", "emphasis", "escape", "newline"])


def figure_name(text: str) -> str | None:
    """The figure that a piece places; None when it is anything else."""
    found = FIGURE_LINE.fullmatch(text.strip())
    return None if found is None else found[1]


@lru_cache(maxsize=4096)
def raw_blocks_of(text: str) -> tuple[tuple[RawBlock, int], ...]:
    """The blocks of a piece, each with the number of the line that it starts on."""
    return tuple(_blocks(_parser().parse(text)))


def _blocks(tokens: list[Token]) -> Iterator[tuple[RawBlock, int]]:
    index = 0
    while index < len(tokens):
        token = tokens[index]
        line = token.map[0] if token.map else 0
        end = _closing(tokens, index)
        inner = tokens[index + 1 : end]
        match token.type:
            case "heading_open":
                yield RawBlock("heading", int(token.tag[1]), _sentences(inner)), line
            case "paragraph_open":
                yield RawBlock("paragraph", sentences=_sentences(inner)), line
            case "bullet_list_open" | "ordered_list_open":
                items = tuple(_items(inner))
                if items:
                    numbered = token.type == "ordered_list_open"
                    yield RawBlock("list", items=items, numbered=numbered), line
            case "table_open":
                table = _table(inner)
                if table is not None:
                    yield table, line
        index = end + 1


def _closing(tokens: list[Token], index: int) -> int:
    depth = 0
    for place in range(index, len(tokens)):
        depth += tokens[place].nesting
        if depth == 0:
            return place
    return len(tokens) - 1


def _items(tokens: list[Token]) -> Iterator[tuple[Sentence, ...]]:
    index = 0
    while index < len(tokens):
        end = _closing(tokens, index)
        sentences = _sentences(tokens[index:end])
        if sentences:
            yield sentences
        index = end + 1


def _table(tokens: list[Token]) -> RawBlock | None:
    rows: list[tuple[Sentence, ...]] = []
    numeric: list[bool] = []
    for index, token in enumerate(tokens):
        if token.type == "tr_open":
            rows.append(tuple(_cells(tokens[index + 1 : _closing(tokens, index)])))
        elif token.type == "th_open":
            numeric.append("right" in str(token.attrGet("style") or ""))
    if len(rows) < 2:
        return None
    header = rows[0] if any(rows[0]) else ()
    return RawBlock("table", sentences=header, items=tuple(rows[1:]), numeric=tuple(numeric))


def _cells(tokens: list[Token]) -> Iterator[Sentence]:
    for token in tokens:
        if token.type == "inline":
            sentences = list(_inline(token))
            yield sentences[0] if sentences else ()


def _sentences(tokens: list[Token]) -> tuple[Sentence, ...]:
    return tuple(
        sentence for token in tokens if token.type == "inline" for sentence in _inline(token)
    )


def _inline(token: Token) -> Iterator[Sentence]:
    """The sentences of an inline token: one a source line. Values stay opaque characters."""
    runs: list[Run] = []
    bold = italic = 0
    for child in token.children or ():
        match child.type:
            case "text" | "text_special":
                runs.append(Run(child.content, bold=bold > 0, italic=italic > 0))
            case "strong_open":
                bold += 1
            case "strong_close":
                bold -= 1
            case "em_open":
                italic += 1
            case "em_close":
                italic -= 1
            case "softbreak" | "hardbreak":
                yield tuple(runs)
                runs = []
    yield tuple(runs)
