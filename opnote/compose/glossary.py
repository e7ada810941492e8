"""Explaining medical words to a patient at their first use in a document."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import TypeAlias

from opnote.compose.document import (
    Block,
    Figure,
    Heading,
    ItemList,
    Paragraph,
    PicturePage,
    Run,
    Sentence,
    Table,
)
from opnote.pack.pack import Term

Explained: TypeAlias = Mapping[int, tuple[Block, frozenset[str], Block, frozenset[str]]]
"""What was made of a block, by its identity: the block, the terms that were explained before it,
the block with its words explained, the terms explained behind it."""


def explained(
    blocks: Sequence[Block], glossary: Sequence[Term], is_typed: Callable[[str], bool]
) -> list[Block]:
    """Put the plain words of each term in brackets behind its first use.

    Headings and captions stay as they are, and so do words that already stand in brackets: there
    the plain words came first. Nor is anything put into what somebody typed at a path for which
    `is_typed` is true: a name, or the patient's own words. The longest term wins where one holds
    another.
    """
    return explained_after({}, blocks, glossary, is_typed)[0]


def explained_after(
    before: Explained,
    blocks: Sequence[Block],
    glossary: Sequence[Term],
    is_typed: Callable[[str], bool],
) -> tuple[list[Block], Explained]:
    """The same, and what the next time can take over.

    `before` is what was made the last time: a block that comes again behind the same terms is
    explained as it was.
    """
    if not glossary:
        return list(blocks), {}
    pen = _Pen(glossary, is_typed)
    made: list[Block] = []
    kept: dict[int, tuple[Block, frozenset[str], Block, frozenset[str]]] = {}
    known: frozenset[str] = frozenset()
    for block in blocks:
        entry = before.get(id(block))
        if entry is None or entry[0] is not block or entry[1] != known:
            pen.explained = set(known)
            new = pen.block(block)
            entry = (block, known, new, frozenset(pen.explained))
        kept[id(block)] = entry
        made.append(entry[2])
        known = entry[3]
    return made, kept


class _Pen:
    """Goes through a document once and remembers what it has explained."""

    def __init__(self, glossary: Sequence[Term], is_typed: Callable[[str], bool]) -> None:
        self._is_typed = is_typed
        self._plain = {word.casefold(): term for term in glossary for word in term.words}
        self._pattern = _pattern_of(tuple(sorted(self._plain, key=len, reverse=True)))
        self.explained: set[str] = set()

    def block(self, block: Block) -> Block:
        """The block with what it uses for the first time explained."""
        match block:
            case Paragraph(sentences=sentences):
                return replace(block, sentences=self._all(sentences))
            case ItemList(items=items):
                return replace(block, items=tuple(self._all(item) for item in items))
            case Table(rows=rows):
                return replace(block, rows=tuple(self._all(row) for row in rows))
            case Heading() | Figure() | PicturePage():
                return block

    def _all(self, sentences: Sequence[Sentence]) -> tuple[Sentence, ...]:
        return tuple(self._sentence(sentence) for sentence in sentences)

    def _sentence(self, sentence: Sentence) -> Sentence:
        before = ""
        runs: list[Run] = []
        for run in sentence:
            is_typed = run.path is not None and self._is_typed(run.path)
            text = run.text if is_typed else self._text(run.text, before)
            runs.append(run if text == run.text else replace(run, text=text))
            before += run.text
        return tuple(runs)

    def _text(self, text: str, before: str) -> str:
        parts: list[str] = []
        end = 0
        for found in _matches(self._pattern, text):
            # A sign such as a dotless i matches its letter, and is no other case of it.
            term = self._plain.get(found[0].casefold())
            if term is None or (key := term.words[0]) in self.explained:
                continue
            self.explained.add(key)
            if _is_in_brackets(before + text[: found.start()]) or text[found.end() :].startswith(
                " ("
            ):
                continue
            parts += [text[end : found.end()], f" ({term.plain})"]
            end = found.end()
        return "".join([*parts, text[end:]])


@lru_cache(maxsize=16)
def _pattern_of(words: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile(rf"(?<![\w-])(?:{'|'.join(map(re.escape, words))})(?![\w-])", re.IGNORECASE)


@lru_cache(maxsize=4096)
def _matches(pattern: re.Pattern[str], text: str) -> tuple[re.Match[str], ...]:
    """Most sentences are the same after the next keystroke."""
    return tuple(pattern.finditer(text))


def _is_in_brackets(before: str) -> bool:
    return before.count("(") > before.count(")")
