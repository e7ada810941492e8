"""Reading a TOML file together with the line that each key stands on.

The standard parser gives values without positions; a scan of the lines finds where each table and
key begins, so that a fault in the data can be named with its line.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from opnote.pack.form import Place
from opnote.pack.problem import PackError, Problem

Location = tuple[str | int, ...]

_HEADER = re.compile(r"\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"""\s*((?:"[^"]*"|'[^']*'|[A-Za-z0-9_.-]+)\s*)=\s*(.*)$""")
_KEY_PART = re.compile(r"""\s*(?:"([^"]*)"|'([^']*)'|([A-Za-z0-9_-]+))\s*(?:\.|$)""")
_SYNTAX_PLACE = re.compile(r"\(at line (\d+), column \d+\)|\(at end of document\)")


@dataclass(frozen=True, slots=True)
class TomlFile:
    """The content of one file, and where it says what."""

    name: str
    data: Mapping[str, Any]
    lines: Mapping[Location, int]

    def place(self, location: Location) -> Place:
        """The place of a key, or of the nearest table around it."""
        for length in range(len(location), 0, -1):
            line = self.lines.get(location[:length])
            if line is not None:
                return Place(self.name, line)
        return Place(self.name, 1)


def read_toml(path: Path, name: str) -> TomlFile:
    """Read one file; `name` is how messages call it.

    Raises: PackError when it can't be read or is no TOML, with the line.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise PackError(
            [Problem(name, 1, f"can't be read ({error})", "save it as UTF-8")]
        ) from error
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = _SYNTAX_PLACE.search(str(error))
        line = int(found[1]) if found and found[1] else text.count("\n") + 1
        what = _SYNTAX_PLACE.sub("", str(error)).strip()
        what = what[:1].lower() + what[1:]
        raise PackError([Problem(name, line, f"not valid TOML: {what}")]) from error
    return TomlFile(name, data, _positions(text))


def _key_parts(text: str) -> tuple[str, ...]:
    return tuple(a or b or c for a, b, c in _KEY_PART.findall(text.strip()))


def _positions(text: str) -> dict[Location, int]:
    """The line of each table, key and element of a list, by location."""
    lines: dict[Location, int] = {}
    counts: dict[Location, int] = {}
    table: Location = ()
    source = text.split("\n")
    number = 0
    while number < len(source):
        line = source[number]
        header = _HEADER.match(line)
        if header and "=" not in header[2].split('"')[0]:
            table = _located(_key_parts(header[2]), header[1] == "[[", counts)
            lines[table] = number + 1
            number += 1
            continue
        key = _KEY.match(line)
        if key is None:
            number += 1
            continue
        location = table + _key_parts(key[1])
        lines[location] = number + 1
        number = _value_end(source, number, key.start(2), location, lines)
    return lines


def _located(parts: tuple[str, ...], is_element: bool, counts: dict[Location, int]) -> Location:
    """The location of a header: earlier lists on its way stand at their last element."""
    location: Location = ()
    for index, part in enumerate(parts):
        location = (*location, part)
        if index == len(parts) - 1 and is_element:
            counts[location] = counts.get(location, -1) + 1
            for inner in [
                k for k in counts if len(k) > len(location) and k[: len(location)] == location
            ]:
                if inner[len(location)] == counts[location]:
                    del counts[inner]
        if location in counts:
            location = (*location, counts[location])
    return location


def _value_end(
    source: list[str], number: int, start: int, location: Location, lines: dict[Location, int]
) -> int:
    """The line after a value; elements of a list over several lines get their own line."""
    depth = element = 0
    quote = ""
    column = start
    while number < len(source):
        line = source[number]
        while column < len(line):
            rest = line[column:]
            if quote:
                if rest.startswith("\\") and quote.startswith('"'):
                    column += 2
                    continue
                if rest.startswith(quote):
                    column += len(quote)
                    quote = ""
                    continue
                column += 1
                continue
            mark = rest[0]
            if mark in "\"'":
                quote = mark * 3 if rest.startswith(mark * 3) else mark
                column += len(quote)
                continue
            if mark == "#":
                break
            if mark in "[{":
                if depth == 1 and mark == "{":
                    lines[(*location, element)] = number + 1
                    element += 1
                depth += 1
            elif mark in "]}":
                depth -= 1
            column += 1
        number += 1
        column = 0
        if len(quote) == 1:
            quote = ""
        if depth <= 0 and not quote:
            return number
    return number
