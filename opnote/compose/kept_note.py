"""A note as it was signed, kept as JSON in its case file.

A department may change its wordings, and opnote the way it writes them: the note that was signed
stays the same, in every format. Pictures are kept by their names, which follow from their bytes.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, assert_never

from opnote.compose.document import (
    Block,
    Document,
    Figure,
    Heading,
    ItemList,
    Paragraph,
    Picture,
    PicturePage,
    Run,
    Sentence,
    Status,
    Table,
)
from opnote.compose.photograph import PictureSource, missing_words
from opnote.reckon.jpeg import jpeg_size
from opnote.record import Record

Json = dict[str, Any]


def note_json(note: Document, record: Record) -> Json:
    """A note as JSON: its text with the field of each value, its drawings, its pictures' names."""
    return {
        "title": note.title,
        "subject": _runs(note.subject),
        "author": note.author,
        "running": note.running,
        "language": note.language,
        "blocks": [_block(block, record) for block in note.blocks],
    }


def note_from(text: str, kind: str, pictures: PictureSource) -> Document:
    """The note from the JSON text that `note_json` gave.

    Raises: LookupError, TypeError or ValueError: another program has written it.
    """
    raw: Json = json.loads(text)
    return Document(
        kind=kind,
        title=raw["title"],
        subject=_sentence(raw["subject"]),
        status=Status.FINAL,
        blocks=tuple(_block_from(each, pictures) for each in raw["blocks"]),
        language=raw["language"],
        author=raw["author"],
        running=raw["running"],
    )


# Writing


def _runs(sentence: Sentence) -> list[Json]:
    return [_run(run) for run in sentence]


def _run(run: Run) -> Json:
    told: Json = {"text": run.text}
    if run.path is not None:
        told["path"] = run.path
    marks = (("bold", run.bold), ("italic", run.italic), ("blank", run.blank))
    return {**told, **{name: True for name, is_so in marks if is_so}}


def _sentences(sentences: Sequence[Sentence]) -> list[list[Json]]:
    return [_runs(sentence) for sentence in sentences]


def _block(block: Block, record: Record) -> Json:
    match block:
        case Heading():
            told: Json = {"heading": _runs(block.runs), "level": block.level}
            told["starts_page"] = block.starts_page
        case Paragraph():
            told = {"paragraph": _sentences(block.sentences), "style": block.style}
        case ItemList():
            told = {
                "list": [_sentences(item) for item in block.items],
                "numbered": block.numbered,
                "style": block.style,
            }
        case Table():
            told = {
                "table": [_sentences(row) for row in block.rows],
                "header": _sentences(block.header),
                "numeric": list(block.numeric),
                "style": block.style,
            }
        case Figure():
            told = {
                "figure": block.svg,
                "alternative": block.alternative,
                "caption": _runs(block.caption),
                "width_mm": block.width_mm,
                "height_mm": block.height_mm,
                "paths": list(block.paths),
            }
        case PicturePage():
            told = {"pictures": [_picture(picture, record) for picture in block.pictures]}
        case _:
            assert_never(block)
    return {"id": block.id, **told}


def _picture(picture: Picture, record: Record) -> Json:
    name = record.values.get(picture.path)
    return {
        "path": picture.path,
        "name": name if isinstance(name, str) else "",
        "alternative": picture.alternative,
        "caption": _sentences(picture.caption),
        "missing": _runs(picture.missing),
    }


# Reading


def _sentence(raw: Any) -> Sentence:
    return tuple(
        Run(
            each["text"],
            each.get("path"),
            bool(each.get("bold")),
            bool(each.get("italic")),
            bool(each.get("blank")),
        )
        for each in raw
    )


def _sentences_from(raw: Any) -> tuple[Sentence, ...]:
    return tuple(_sentence(each) for each in raw)


def _block_from(raw: Json, pictures: PictureSource) -> Block:
    match raw:
        case {"heading": runs}:
            return Heading(raw["id"], raw["level"], _sentence(runs), raw["starts_page"])
        case {"paragraph": sentences}:
            return Paragraph(raw["id"], _sentences_from(sentences), raw["style"])
        case {"list": items}:
            entries = tuple(_sentences_from(item) for item in items)
            return ItemList(raw["id"], entries, raw["numbered"], raw["style"])
        case {"table": rows}:
            cells = tuple(_sentences_from(row) for row in rows)
            header = _sentences_from(raw["header"])
            return Table(raw["id"], header, cells, tuple(raw["numeric"]), raw["style"])
        case {"figure": svg}:
            return Figure(
                raw["id"],
                svg,
                raw["alternative"],
                _sentence(raw["caption"]),
                raw["width_mm"],
                raw["height_mm"],
                tuple(raw["paths"]),
            )
        case {"pictures": page}:
            return PicturePage(raw["id"], tuple(_picture_from(each, pictures) for each in page))
    raise ValueError("no block of a note")


def _picture_from(raw: Json, pictures: PictureSource) -> Picture:
    path, name = raw["path"], raw["name"]
    caption = _sentences_from(raw["caption"])
    picture = Picture(path, None, 0, 0, raw["alternative"], caption, _sentence(raw["missing"]))
    data = pictures(name) if name else None
    size = None if data is None else jpeg_size(data)
    if size is not None:
        return replace(picture, data=data, width_px=size[0], height_px=size[1], missing=())
    # It was there when the note was signed, and isn't now.
    return (
        picture
        if picture.missing or not name
        else replace(picture, missing=missing_words(name, path))
    )
