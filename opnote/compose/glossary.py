"""Explaining medical words to a patient at their first use in a document."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from opnote.compose.document import (
    Block,
    Figure,
    Heading,
    ItemList,
    Paragraph,
    Run,
    Sentence,
    Table,
)
from opnote.pack.pack import Term


def explained(blocks: Sequence[Block], glossary: Sequence[Term]) -> list[Block]:
    """Put the plain words of each term in brackets behind its first use.

    Headings and captions stay as they are, and so do words that already stand in brackets: there
    the plain words came first. The longest term wins where one holds another.
    """
    if not glossary:
        return list(blocks)
    pen = _Pen(glossary)
    return [pen.block(block) for block in blocks]


class _Pen:
    """Goes through a document once and remembers what it has explained."""

    def __init__(self, glossary: Sequence[Term]) -> None:
        self._plain = {word.casefold(): term for term in glossary for word in term.words}
        words = sorted(self._plain, key=len, reverse=True)
        self._pattern = re.compile(
            rf"(?<![\w-])(?:{'|'.join(map(re.escape, words))})(?![\w-])", re.IGNORECASE
        )
        self._explained: set[str] = set()

    def block(self, block: Block) -> Block:
        """The block with what it uses for the first time explained."""
        match block:
            case Paragraph(sentences=sentences):
                return replace(block, sentences=self._all(sentences))
            case ItemList(items=items):
                return replace(block, items=tuple(self._all(item) for item in items))
            case Table(rows=rows):
                return replace(block, rows=tuple(self._all(row) for row in rows))
            case Heading() | Figure():
                return block

    def _all(self, sentences: Sequence[Sentence]) -> tuple[Sentence, ...]:
        return tuple(self._sentence(sentence) for sentence in sentences)

    def _sentence(self, sentence: Sentence) -> Sentence:
        before = ""
        runs: list[Run] = []
        for run in sentence:
            text = self._text(run.text, before)
            runs.append(run if text == run.text else replace(run, text=text))
            before += run.text
        return tuple(runs)

    def _text(self, text: str, before: str) -> str:
        parts: list[str] = []
        end = 0
        for found in self._pattern.finditer(text):
            term = self._plain[found[0].casefold()]
            key = term.words[0]
            if key in self._explained:
                continue
            self._explained.add(key)
            if _is_in_brackets(before + text[: found.start()]) or text[found.end() :].startswith(
                " ("
            ):
                continue
            parts += [text[end : found.end()], f" ({term.plain})"]
            end = found.end()
        return "".join([*parts, text[end:]])


def _is_in_brackets(before: str) -> bool:
    return before.count("(") > before.count(")")
