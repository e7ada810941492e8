"""Values on their way into a sentence: each printed value is one opaque character.

While a wording is rendered, a value stands as one private-use character, and its field and text
wait in a table. So nothing typed can become formatting, and every piece of text knows its field.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any, Final

from opnote.pack.compiled import bare
from opnote.pack.form import Field, Place
from opnote.pack.logic import Truth, all3, among3, any3, compare3, not3, truth_of
from opnote.pack.signature_words import signature_words
from opnote.pack.view import View, date_words, words_of
from opnote.record import UNSET, Origin, Quantity
from opnote.record.signature import SIGNATURE, SUPERVISOR
from opnote.record.value import number_text

FIRST_VALUE: Final = 0xF0000
LAST_VALUE: Final = 0xFFFFD
FIRST_SCOPE: Final = 0x100000
LAST_SCOPE: Final = 0x10FFEF
VOID: Final = chr(0x10FFF0)
"""Stands where a value would have been that isn't recorded: its sentence is left out."""
SCOPE_END: Final = chr(0x10FFF1)
CUT: Final = chr(0x10FFF2)
"""Stands between two parts of a rendering; see `Reader.wants`."""

NOT_RECORDED: Final = "not recorded"


@dataclass(frozen=True, slots=True)
class Printed:
    """One value in a rendering: its field and its text; `blank` is a ruled line.

    `typed` marks a name or a number of a lot as somebody typed it, which keeps its spelling where
    it stands alone.
    """

    path: str | None
    text: str
    blank: bool = False
    typed: bool = False


@dataclass(frozen=True, slots=True)
class Shown:
    """A field's value in a wording. It can be printed or compared, and nothing else.

    `text` is None while the value stands as its field says it.
    """

    reader: Reader
    path: str
    field: Field
    value: Any
    text: str | None = None

    def __str__(self) -> str:
        raise TypeError(f"{self.path} was turned into plain text and lost its field")

    def __bool__(self) -> bool:
        raise TypeError(f"{self.path} was used as a condition outside the three-valued logic")


@dataclass(frozen=True, slots=True)
class ShownRow:
    """A row in hand."""

    table: Field
    id: str


@dataclass(frozen=True, slots=True)
class Trace:
    """What a part of a wording printed, decided by, and looked at while it was rendered.

    Shape: `reads` are fields, columns by their own path, and tables of data.
    """

    printed: list[Printed] = field(default_factory=list)
    scopes: list[str | None] = field(default_factory=list)
    reads: set[str] = field(default_factory=set)


class Reader:
    """What a compiled wording calls: values, rows, tests; and the table of what was printed.

    Everything that a wording can learn of a case it learns here, so that what a part of it has
    looked at is known in full: a part none of whose reads has changed would say the same again.
    """

    __slots__ = (
        "_kept",
        "_read",
        "fields",
        "printed",
        "reads",
        "scopes",
        "tables",
        "traces",
        "view",
    )

    def __init__(
        self,
        view: View,
        fields: Mapping[str, Field],
        tables: Mapping[str, list[dict[str, Any]]],
        kept: Collection[int] = (),
    ) -> None:
        """`tables` are rows that come from data rather than from the record, such as risks;
        `kept` the numbers of the parts that need not be rendered."""
        self.view = view
        self.fields = fields
        self.tables = tables
        self._kept = kept
        self.traces: list[Trace | None] = []
        self._begin(Trace())
        self._read: list[str] = []

    # Parts

    def wants(self, number: int) -> bool:
        """Whether a part is rendered; what is read from now on is read by it."""
        if number in self._kept:
            self.traces.append(None)
            return False
        trace = Trace()
        self.traces.append(trace)
        self._begin(trace)
        self._read.clear()
        return True

    def _begin(self, trace: Trace) -> None:
        self.printed, self.scopes, self.reads = trace.printed, trace.scopes, trace.reads

    # Values

    def leaf(self, path: str) -> Shown:
        """The value at a path."""
        self.reads.add(path)
        field = self.fields[path]
        if path in self.tables:
            return Shown(self, path, field, tuple(self.tables[path]))
        if field.kind == "rows":
            return Shown(self, path, field, self.view.rows.get(path, UNSET))
        return Shown(self, path, field, bare(self.view.values.get(path, UNSET)))

    def limit(self, name: str, amount: float, unit: str) -> Shown:
        """A threshold of the pack, as a value that names its limit."""
        field = _limit_field(name, unit)
        return Shown(self, field.path, field, amount)

    def part(self, row: Any, column: str) -> Any:
        """The value of a column in a row; a ref gives the row that it refers to.

        What an unset ref leads to is as unset as the ref, and asks for it on the paper.
        """
        if isinstance(row, Shown):
            return row
        field = self.fields[f"{row.table.path}.{column}"]
        self.reads.add(field.path)
        path = f"{row.table.path}.{row.id}.{column}"
        if row.table.path in self.tables:
            value = self.tables[row.table.path][int(row.id)].get(column, UNSET)
            return Shown(self, path, field, value)
        value = bare(self.view.values.get(path, UNSET))
        if field.kind == "ref" and value is not UNSET:
            return ShownRow(self.fields[field.refers_to], value)
        return Shown(self, path, field, value)

    def rows_of(self, table: Shown) -> list[ShownRow]:
        """The rows of a table that a phrase was given."""
        return self.rows(table.path)

    def rows(self, path: str) -> list[ShownRow]:
        """The rows of a table; none while it isn't recorded."""
        self.reads.add(path)
        table = self.fields[path]
        if path in self.tables:
            return [ShownRow(table, str(index)) for index in range(len(self.tables[path]))]
        return [ShownRow(table, row) for row in self.view.rows.get(path, ())]

    # Conditions

    def decide(self, value: Any) -> bool:
        """Whether a branch is taken: only on a test that is known to be true."""
        return truth_of(self._taken(value)) is True

    def compare(self, mark: str, left: Any, right: Any) -> Truth:
        """A comparison of values."""
        return compare3(mark, self._taken(left), self._taken(right))

    def among(self, value: Any, members: Any) -> Truth:
        """Whether a value is one of some."""
        return among3(self._taken(value), self._taken(members))

    def both(self, *tests: Any) -> Truth:
        """Conjunction."""
        return all3(self._taken(test) for test in tests)

    def either(self, *tests: Any) -> Truth:
        """Disjunction."""
        return any3(self._taken(test) for test in tests)

    def negated(self, test: Any) -> Truth:
        """Negation."""
        return not3(self._taken(test))

    def recorded(self, value: Any) -> bool:
        """Whether a value is recorded."""
        return self._taken(value) is not UNSET

    def empty(self, value: Any) -> Truth:
        """Whether a table or choices was answered "none"."""
        plain = self._taken(value)
        return UNSET if plain is UNSET else len(plain) == 0

    def scanned(self, value: Any) -> bool:
        """Whether a value was read off a scanned label rather than typed."""
        return isinstance(value, Shown) and self.view.record.origin(value.path) is Origin.SCANNED

    def drawn(self, value: Any) -> bool:
        """Whether a value was placed on a drawing rather than typed."""
        return isinstance(value, Shown) and self.view.record.origin(value.path) is Origin.DRAWN

    def chosen(self, test: Any, yes: Any, no: Any) -> Any:
        """One of two values; neither while the test isn't known."""
        truth = truth_of(self._taken(test))
        return UNSET if truth is UNSET else (yes if truth else no)

    def opened(self) -> str:
        """Begin the text that the last test decided; it is traced to the first field read."""
        self.scopes.append(self._read[0] if self._read else None)
        self._read.clear()
        return chr(FIRST_SCOPE + len(self.scopes) - 1)

    def fresh(self) -> str:
        """Forget what was read before a test, so that its scope names only its own fields."""
        self._read.clear()
        return ""

    def _taken(self, value: Any) -> Any:
        """A value as a test takes it; what a test looked at decides the text that follows."""
        if not isinstance(value, Shown):
            return value
        self._read.append(value.path)
        return value.value

    # Printing

    def printed_as(self, value: Any) -> Any:
        """The opaque character of a value; other text passes as it is."""
        if value is UNSET:
            return VOID
        if isinstance(value, Shown):
            return self._print(value)
        if isinstance(value, ShownRow):
            return self._keep(Printed(f"{value.table.path}.{value.id}", self._row_words(value)))
        if isinstance(value, str):
            return value
        if isinstance(value, int):
            return self._keep(Printed(None, str(value)))
        raise TypeError(f"{value!r} can't be printed")

    def phrase(self, text: str) -> str:
        """What a phrase gave, as part of the line that uses it."""
        return text.strip("\n")

    def ruled(self) -> str:
        """A ruled line for handwriting."""
        return self._keep(Printed(None, "", blank=True))

    def signature_line(self) -> str:
        """Who signed the note and when; a ruled line for handwriting until somebody has.

        A supervisor who signed has a line of their own.
        """
        return self._signed_line(is_supervisor=False)

    def supervisor_signature_line(self) -> str:
        """As `signature_line`, for who signed as the supervisor."""
        return self._signed_line(is_supervisor=True)

    def _signed_line(self, *, is_supervisor: bool) -> str:
        self.reads.add(SIGNATURE)
        signature = self.view.record.signature
        if signature is None or (signature.role == SUPERVISOR) is not is_supervisor:
            return self.ruled()
        return self._keep(Printed(None, cleaned(signature_words(signature)), typed=True))

    def _print(self, shown: Shown) -> str:
        if shown.text is not None:
            return self._keep(Printed(shown.path, shown.text))
        if shown.value is UNSET:
            return self._absent(shown)
        text = self._words(shown)
        if text == "":
            return VOID
        return self._keep(Printed(shown.path, text, typed=_keeps_its_start(shown.field.kind, text)))

    def _absent(self, shown: Shown) -> str:
        if shown.path in self.view.record.unanswered and not self.view.is_hidden(shown.path):
            return self._keep(Printed(shown.path, NOT_RECORDED))
        rule = self.view.concrete.get(shown.path)
        if rule is not None and rule.required_when is not None:
            self.reads |= rule.required_when.paths
        if self.view.is_required(shown.path):
            return self._keep(Printed(shown.path, "", blank=True))
        return VOID

    def _words(self, shown: Shown) -> str:
        return cleaned(self._raw_words(shown))

    def _raw_words(self, shown: Shown) -> str:
        if shown.field.kind == "rows":
            return shown.field.none_said if shown.value == () else ""
        if shown.path in self.view.values:
            return self.view.said(shown.path)
        return shown.value if isinstance(shown.value, str) else _bare_words(shown)

    def _row_words(self, row: ShownRow) -> str:
        """A row by its name, with its number where there are several: "tear 2"."""
        self.reads.add(row.table.path)
        name = row.table.row_label.lower()
        rows = self.view.rows.get(row.table.path, ())
        return f"{name} {rows.index(row.id) + 1}" if len(rows) > 1 else name

    def _keep(self, printed: Printed) -> str:
        self.printed.append(printed)
        return chr(FIRST_VALUE + len(self.printed) - 1)


_PHRASE_WORDS: Final = 3
"""Words of a line; a typed text of fewer may be a number of a lot or a name of a thing."""


def _keeps_its_start(kind: str, text: str) -> bool:
    """Whether a typed text begins as it was typed, in a cell of its own: a name, a lot number."""
    if kind == "person":
        return True
    first_line = text.partition("\n")[0]
    return kind in ("text", "prose") and len(first_line.split()) < _PHRASE_WORDS


_LINE_ENDS = re.compile("\r\n?|[\u2028\u2029\x0b\x0c\x85]")
_NOT_TEXT = re.compile(
    "[\x00-\x08\x0e-\x1f\x7f-\x84\x86-\x9f\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff]"
)


def cleaned(text: str) -> str:
    """Typed text without what is no text: control characters, and marks that turn the reading
    direction of the words around them."""
    return _NOT_TEXT.sub("", _LINE_ENDS.sub("\n", text)).replace("\t", " ").strip()


def _limit_field(name: str, unit: str) -> Field:
    return Field(f"limit.{name}", name, "quantity", Place("", 0), unit=unit)


def _bare_words(shown: Shown) -> str:
    value = shown.value
    if shown.field.kind == "quantity" and not isinstance(value, Quantity):
        value = Quantity(value, shown.field.unit)
    return words_of(value, shown.field)


def _changed(value: Any, change: Callable[[str], str]) -> Any:
    """A value with its words changed; what is absent stays absent."""
    if not isinstance(value, Shown) or value.value is UNSET:
        return value
    text = value.text if value.text is not None else value.reader._words(value)
    return replace(value, text=change(text))


def upper(value: Any) -> Any:
    """In capitals: LEFT."""
    return _changed(value, str.upper)


def capital(value: Any) -> Any:
    """With a capital first letter."""
    return _changed(value, lambda text: text[:1].upper() + text[1:])


def number(value: Any) -> Any:
    """A quantity without its unit."""
    return _changed(value, lambda text: number_text(value.value))


_WORDS: Final = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


def words(value: Any) -> Any:
    """A whole number up to twelve in words."""
    return _changed(value, lambda text: _in_words(value.value))


def _in_words(amount: int | float) -> str:
    if amount == int(amount) and 0 <= amount < len(_WORDS):
        return _WORDS[int(amount)]
    return number_text(amount)


def counted(value: Any, singular: str, plural: str) -> Any:
    """A number with its noun: "1 stitch", "3 stitches"."""
    return _changed(
        value, lambda text: f"{number_text(value.value)} {singular if value.value == 1 else plural}"
    )


def plural_of(value: Any, singular: str, plural: str) -> Any:
    """The noun that fits a number, without the number."""
    return _changed(value, lambda text: singular if value.value == 1 else plural)


_VOWEL_SOUND: Final = tuple("aeiou")
_NOT_A_VOWEL_SOUND: Final = ("uni", "use", "usu", "eu", "one", "once")
_SILENT_H: Final = ("hour", "honest", "hono")


def any_of(value: Any) -> Any:
    """Choices as a list of which any one counts: "a, b or c"; "a or b; c" where one has an "or"."""

    def change(text: str) -> str:
        said = [words_of(one, value.field) for one in value.value]
        if any(" or " in one for one in said):
            return "; ".join(said)
        return text if len(said) < 2 else f"{', '.join(said[:-1])} or {said[-1]}"

    return _changed(value, change)


def any_of_but(value: Any, *left_out: str) -> Any:
    """The same without some choices, which are said apart; nothing if no other is left."""

    def change(text: str) -> str:
        kept = [words_of(one, value.field) for one in value.value if one not in left_out]
        return "; ".join(kept) if kept else text

    return _changed(value, change)


def article(value: Any) -> Any:
    """With "a" or "an" as it is spoken."""
    return _changed(value, lambda text: f"{'an' if _takes_an(text) else 'a'} {text}")


def _takes_an(text: str) -> bool:
    low = text.lower()
    first_word = low.split(" ")[0].split("-")[0]
    if first_word.isdigit():
        return first_word.startswith("8") or first_word in ("11", "18")
    if low.startswith(_SILENT_H):
        return True
    return low.startswith(_VOWEL_SOUND) and not low.startswith(_NOT_A_VOWEL_SOUND)


_WEEKDAYS: Final = (
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
)


def weekday(value: Any) -> Any:
    """A date with its day of the week."""

    def change(text: str) -> str:
        day: date | datetime = value.value
        return f"{_WEEKDAYS[day.weekday()]} {date_words(day)}"

    return _changed(value, change)


def and_list(body: str) -> str:
    """The lines of a block as a list: "a, b and c"; a line that lacks its value is left out."""
    items = _kept_lines(body)
    if len(items) < 2:
        return items[0]
    return f"{', '.join(items[:-1])} and {items[-1]}"


def sentence(body: str) -> str:
    """The lines of a block as one sentence; a clause that lacks its value is left out."""
    return " ".join(_kept_lines(body)) + "\n"


def _kept_lines(body: str) -> list[str]:
    """The lines that say something; VOID when there are none.

    Where a decided text begins and ends is kept even when the line that it begins or ends in is
    left out.
    """
    kept: list[str] = []
    marks = ""
    for line in body.split("\n"):
        if _has_text(line) and VOID not in line:
            kept.append(marks + line.strip())
            marks = ""
        else:
            marks += "".join(mark for mark in line if ord(mark) >= FIRST_SCOPE and mark != VOID)
    if not kept:
        return [marks + VOID]
    kept[-1] += marks
    return kept


def _has_text(item: str) -> bool:
    return any(ord(mark) < FIRST_SCOPE and not mark.isspace() for mark in item)


VALUE_FILTERS: Final[Mapping[str, tuple[Callable[..., Any], int | None]]] = {
    "upper": (upper, 0),
    "capital": (capital, 0),
    "number": (number, 0),
    "words": (words, 0),
    "counted": (counted, 2),
    "plural_of": (plural_of, 2),
    "article": (article, 0),
    "any_of": (any_of, 0),
    "any_of_but": (any_of_but, None),
    "weekday": (weekday, 0),
}
"""Filters of values, with how many words each takes besides; None for one or more."""

BLOCK_FILTERS: Final[Mapping[str, Callable[[str], str]]] = {
    "and_list": and_list,
    "sentence": sentence,
}
