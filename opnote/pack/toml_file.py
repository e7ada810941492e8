"""Reading a TOML file together with the line that each key stands on.

The standard parser gives values without positions; a scan of the lines finds where each table and
key begins, so that a fault in the data can be named with its line.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from opnote.pack.form import Place
from opnote.pack.problem import PackError, Problem

Location = tuple[str | int, ...]

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
        slip, remedy = _slip_on(text.split("\n")[line - 1])
        said = f"not valid TOML: {slip or what}"
        raise PackError([Problem(name, line, said, remedy)]) from error
    return TomlFile(name, data, _positions(text))


_QUOTED = re.compile(r'"(?:\\.|[^"\\])*"|\'[^\']*\'')
_BARE_VALUE = re.compile(
    r"(?:=|\[|,)\s*(?!true\b|false\b|inf\b|nan\b)([A-Za-z_]\w*)\s*(?:[,}\]#]|$)"
)


def _slip_on(line: str) -> tuple[str, str]:
    """What is most likely wrong on a line that is no TOML, and the remedy; "" twice."""
    if re.search("[\u2018\u2019\u201c\u201d]", line):
        return "curly quotes", 'write straight ones, "..."'
    bare = _QUOTED.sub("0", line)
    if '"' in bare.partition("#")[0]:
        return "quotes that are never closed on their line", "close them"
    found = _BARE_VALUE.search(bare)
    if found is not None:
        return f"'{found[1]}' stands without quotes", f'write "{found[1]}"'
    return "", ""


def _positions(text: str) -> dict[Location, int]:
    """The line of each table, key and element of a list, by location."""
    scanner = _Scanner(text)
    scanner.document()
    return scanner.lines


_SKIPPED = re.compile(r"(?:[ \t\n]+|#[^\n]*)*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}(?!")'
    r"|'''.*?'{3,5}(?!')"
    r'|"(?:\\.|[^"\\])*"'
    r"|'[^']*'",
    re.DOTALL,
)
_PLAIN_VALUE = re.compile(r"[^,\]}#\n]+")


class _Scanner:
    """Walks a text that is known to be TOML and notes where each thing begins."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self._starts = [0, *(found.end() for found in re.finditer("\n", text))]
        self._counts: dict[Location, int] = {}
        self.lines: dict[Location, int] = {}

    def document(self) -> None:
        """Walk headers and keys to the end."""
        table: Location = ()
        self._skip()
        while self._at < len(self._text):
            if self._sees("["):
                table = self._header()
            else:
                self._pair(table)
            self._skip()

    def _sees(self, mark: str) -> bool:
        return self._text.startswith(mark, self._at)

    def _match(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self._text, self._at)
        if found is None:
            return ""
        self._at = found.end()
        return found[0]

    def _skip(self) -> None:
        """Pass space, new lines and comments."""
        self._match(_SKIPPED)

    def _note(self, location: Location) -> None:
        self.lines.setdefault(location, bisect_right(self._starts, self._at))

    def _header(self) -> Location:
        brackets = 2 if self._sees("[[") else 1
        line_at = self._at
        self._at += brackets
        location = self._located(self._key(), brackets == 2)
        end, self._at = self._at + brackets, line_at
        self._note(location)
        self._at = end
        return location

    def _located(self, parts: Location, is_element: bool) -> Location:
        """The location of a header: earlier lists on its way stand at their last element."""
        location: Location = ()
        for index, part in enumerate(parts):
            location = (*location, part)
            if index == len(parts) - 1 and is_element:
                self._counts[location] = self._counts.get(location, -1) + 1
            if location in self._counts:
                location = (*location, self._counts[location])
        return location

    def _key(self) -> Location:
        """A key of one or more parts with dots between."""
        parts: list[str] = []
        while True:
            self._skip()
            quoted = self._match(_STRING)
            part = tomllib.loads(f"k = {quoted}")["k"] if quoted else self._match(_BARE_KEY)
            parts.append(part)
            self._skip()
            if not self._sees("."):
                return tuple(parts)
            self._at += 1

    def _pair(self, table: Location) -> None:
        line_at = self._at
        location = table + self._key()
        end, self._at = self._at, line_at
        for length in range(len(table) + 1, len(location) + 1):
            self._note(location[:length])
        self._at = end + 1
        self._value(location)

    def _value(self, location: Location) -> None:
        self._skip()
        if self._sees("["):
            self._list(location)
        elif self._sees("{"):
            self._inline_table(location)
        elif not self._match(_STRING):
            self._match(_PLAIN_VALUE)

    def _list(self, location: Location) -> None:
        self._at += 1
        element = 0
        self._skip()
        while not self._sees("]"):
            self._note((*location, element))
            self._value((*location, element))
            element += 1
            self._skip()
            if self._sees(","):
                self._at += 1
            self._skip()
        self._at += 1

    def _inline_table(self, location: Location) -> None:
        self._at += 1
        self._skip()
        while not self._sees("}"):
            self._pair(location)
            self._skip()
            if self._sees(","):
                self._at += 1
            self._skip()
        self._at += 1
