"""The pictures of the operation: from the lines of a wording to a page of pictures.

A wording prints a picture on a line of its own; the lines under it are its caption.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Final, TypeAlias

from opnote.compose.document import (
    Block,
    Heading,
    Paragraph,
    Picture,
    PicturePage,
    Run,
    Sentence,
    sentence_text,
)
from opnote.pack.form import Form
from opnote.pack.pack import Pack
from opnote.pack.view import View
from opnote.reckon.jpeg import jpeg_size

PictureSource: TypeAlias = Callable[[str], bytes | None]
"""From the name of a kept picture to its bytes; None when they can't be had."""

_LETTERS: Final = 12
"""Letters of a file's name that tell it from any other, and that a person can compare."""


def no_pictures(name: str) -> None:
    """A source that has none."""


def with_pictures(
    blocks: Sequence[Block], pack: Pack, view: View, source: PictureSource
) -> list[Block]:
    """The blocks with their pictures in place of their lines.

    Pictures that follow one another stand together. They begin a page with the heading over them,
    and so does the heading after them.
    """
    if not any(view.rows.get(table) for table in _tables_of(pack.form)):
        return list(blocks)
    done: list[Block] = []
    for block in blocks:
        before = done[-1] if done else None
        picture = _picture(block, pack, view, source)
        if picture is None:
            if isinstance(block, Heading) and isinstance(before, PicturePage):
                block = replace(block, starts_page=True)
            done.append(block)
        elif isinstance(before, PicturePage):
            done[-1] = replace(before, pictures=(*before.pictures, picture))
        else:
            if isinstance(before, Heading):
                done[-1] = replace(before, starts_page=True)
            done.append(PicturePage("", (picture,)))
    return done


@lru_cache(maxsize=8)
def _tables_of(form: Form) -> tuple[str, ...]:
    """The tables of a form that hold pictures."""
    return tuple(f.path for f in form.fields if any(c.kind == "picture" for c in f.columns))


def _picture(block: Block, pack: Pack, view: View, source: PictureSource) -> Picture | None:
    """The picture that a paragraph begins with; None when it is any other block."""
    if not isinstance(block, Paragraph) or len(block.sentences[0]) != 1:
        return None
    (run,) = block.sentences[0]
    field = None if run.path is None else pack.field_at(run.path)
    if run.path is None or field is None or field.kind != "picture":
        return None
    caption = block.sentences[1:]
    words = " ".join(filter(None, (sentence_text(sentence) for sentence in caption)))
    name = view.values.get(run.path)
    if not isinstance(name, str):
        missing = (Run("No picture here: "), run) if run.text or run.blank else ()
        return Picture(run.path, None, 0, 0, words, caption, missing)
    data = source(name)
    size = None if data is None else jpeg_size(data)
    if size is None:
        return Picture(run.path, None, 0, 0, words, caption, missing_words(name, run.path))
    return Picture(run.path, data, *size, words or field.label, caption)


def missing_words(name: str, path: str) -> Sentence:
    """What stands in the place of a picture whose file isn't there."""
    stem, _, ending = name.rpartition(".")
    return (
        Run("This picture is missing: its file "),
        Run(f"{stem[:_LETTERS]}\N{HORIZONTAL ELLIPSIS}.{ending}", path),
        Run(" is not in the folder \N{LEFT SINGLE QUOTATION MARK}pictures"),
        Run("\N{RIGHT SINGLE QUOTATION MARK} beside the case, or is damaged."),
    )


def caption_runs(picture: Picture) -> Sentence:
    """What stands under a picture, or in its place, as one line."""
    runs: list[Run] = []
    for sentence in filter(None, (picture.missing, *picture.caption)):
        if runs:
            runs.append(Run(" "))
        runs.extend(sentence)
    return tuple(runs)
