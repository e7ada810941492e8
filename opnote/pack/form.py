"""The compiled form of a case: its pages and fields, after validation.

A field of a table is a column; its path is that of the table and the column, `tears.length_mm`,
and the value in one row stands at `tears.r3.length_mm`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from opnote.reckon.recovery import Rule


@dataclass(frozen=True, slots=True)
class Place:
    """Where something is declared, for messages."""

    file: str
    line: int


@dataclass(frozen=True, slots=True)
class Option:
    """One answer of a choice: stored value, label on screen, words in a sentence, meaning.

    `listed_as` are other words for it in a theatre list.
    """

    value: str
    label: str
    said: str
    help: str = ""
    listed_as: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Field:
    """One question.

    Units: `least`, `most` and `usual` are in `unit`. `shown_when`, `required_when` and `computed`
    are expressions in source form, and so are those of a scan: `fills` maps other columns of its
    row to what is read from it, `fault` says why a text can't be read. `vouched` is the column in
    which a person says that no name can be read in a picture. `table` is the path of the
    table that a column belongs to, and `each` the name of one row of it in expressions. `preset`
    says that a usual practice may fill it; `preset_by`, of a table, names the column whose answer
    decides which; `normal` is the option that means "nothing to note". `examined` says that one
    examines it, so that "not examined" answers a `yes_no` field.
    `listed_as` are headings that its column may have in a theatre list, `listed_never` words that
    such a list may hold and this field can't, each with what to do instead.
    """

    path: str
    label: str
    kind: str
    place: Place
    page: str = ""
    group: str = ""
    help: str = ""
    unit: str = ""
    least: float | None = None
    most: float | None = None
    usual: tuple[float, float] | None = None
    decimals: int | None = None
    options: tuple[Option, ...] = ()
    exclusive: tuple[str, ...] = ()
    said_yes: str = "yes"
    said_no: str = "no"
    required: bool = False
    required_when: str | None = None
    shown_when: str | None = None
    computed: str | None = None
    fills: Mapping[str, str] = field(default_factory=dict)
    fault: str | None = None
    vouched: str = ""
    meets: tuple[str, ...] = ()
    silent: str = ""
    stricter: Rule | None = None
    never_preset: bool = False
    preset: bool = False
    preset_by: str = ""
    normal: str = ""
    examined: bool = False
    must: bool = False
    deliberate: bool = False
    told: bool = False
    carry: bool = False
    listed_as: tuple[str, ...] = ()
    listed_never: Mapping[str, str] = field(default_factory=dict)
    refers_to: str = ""
    table: str = ""
    each: str = ""
    row_label: str = ""
    none_label: str = ""
    none_said: str = ""
    columns: tuple[Field, ...] = ()

    @property
    def name(self) -> str:
        """The last part of the path: the name of a column within its table."""
        return self.path.rpartition(".")[2]

    @property
    def is_computed(self) -> bool:
        """True when the value is worked out and can't be typed."""
        return self.computed is not None

    def option(self, value: str) -> Option | None:
        """The option that stores a value; None when there is none."""
        return next((option for option in self.options if option.value == value), None)


TEXTS: Final = Field(
    path="texts",
    label="Free text",
    kind="rows",
    place=Place("", 0),
    silent="each text is said where it belongs",
    columns=(
        Field("texts.words", "Words", "text", Place("", 0), table="texts", each="text"),
        Field("texts.label", "Label", "text", Place("", 0), table="texts", each="text"),
        Field("texts.path", "Path", "text", Place("", 0), table="texts", each="text"),
    ),
)
"""The table of all free text of a case, for checks of wording: its rows are the paths of the
recorded fields of kind text and prose, its columns their words, the label of the
field and its path, `tears.why` for a column."""


REMARK: Final = "remark."
"""What the path of a page's remark begins with; the id of the page follows."""


@dataclass(frozen=True, slots=True)
class Page:
    """One thought of the case: a title and its fields in order, a remark last."""

    id: str
    title: str
    order: int
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class Limit:
    """A threshold as data, with its source; `limit.<name>` in expressions and wordings."""

    name: str
    value: float
    unit: str
    source: str
    place: Place


LIMIT: Final = "limit."
"""What the name of a limit begins with, where a path could stand as well."""


@dataclass(frozen=True, slots=True)
class FigureUse:
    """A drawing of the documents and what feeds it: argument name to a path or a limit."""

    name: str
    kind: str
    caption: str
    uses: Mapping[str, str]
    place: Place


@dataclass(frozen=True, slots=True)
class Milestone:
    """A day of the recovery for a calendar: the path of its date, and its title."""

    path: str
    title: str
    place: Place


@dataclass(frozen=True, slots=True, eq=False)
class Form:
    """Everything that can be recorded about a case with these procedures.

    Two forms are never equal: what is made from one is kept for it alone.
    """

    procedures: tuple[str, ...]
    titles: Mapping[str, str]
    editions: Mapping[str, str]
    pages: tuple[Page, ...]
    limits: Mapping[str, Limit] = field(default_factory=dict)
    figures: Mapping[str, FigureUse] = field(default_factory=dict)
    milestones: tuple[Milestone, ...] = ()

    @property
    def fields(self) -> Iterator[Field]:
        """The fields of all pages in order, tables included, their columns not."""
        for page in self.pages:
            yield from page.fields

    def every_field(self) -> Iterator[Field]:
        """All fields in order, each table followed by its columns."""
        for each in self.fields:
            yield each
            yield from each.columns
