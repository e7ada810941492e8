"""What the files of a pack may hold, as pydantic models: the first stage of their validation."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Annotated, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, ValidationError

from opnote.pack.problem import Problem, did_you_mean
from opnote.pack.toml_file import Location, TomlFile
from opnote.reckon.recovery import Rule

Kind = Literal[
    "text",
    "prose",
    "choice",
    "choices",
    "grade",
    "yes_no",
    "integer",
    "quantity",
    "date",
    "time",
    "datetime",
    "person",
    "ref",
    "scan",
    "picture",
    "rows",
]
Name = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]*$")]
Path = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]*(\.[a-z][a-z0-9_]*)?$")]
Words = Annotated[str, StringConstraints(min_length=1, strip_whitespace=True)]


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)


class OptionIn(_Model):
    """One option of a choice."""

    value: Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9_]*$")]
    label: Words
    said: str | None = None
    help: str = ""
    listed_as: list[Words] = []


class FieldIn(_Model):
    """A field as a form file declares it; also a column of a table."""

    path: Path
    label: Words
    kind: Kind
    group: str = ""
    help: str = ""
    unit: str = ""
    least: float | None = None
    most: float | None = None
    usual: tuple[float, float] | None = None
    decimals: int | None = Field(default=None, ge=0, le=6)
    options: list[OptionIn] = []
    exclusive: list[str] = []
    said_yes: str = "yes"
    said_no: str = "no"
    required: bool = False
    required_when: str | None = None
    shown_when: str | None = None
    computed: str | None = None
    fills: dict[str, str] = {}
    fault: str | None = None
    vouched: str = ""
    meets: list[str] = []
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
    listed_as: list[Words] = []
    listed_never: dict[str, Words] = {}
    refers_to: str = ""
    each: str = ""
    row_label: str = ""
    none_label: str = ""
    none_said: str = ""
    column: list[FieldIn] = []


class PageIn(_Model):
    """A page of a form file."""

    id: Name
    title: Words
    order: int
    remark: Words = ""
    field: list[FieldIn] = []


class FigureIn(_Model):
    """A drawing that documents may place."""

    name: Name
    kind: Name
    caption: Words
    uses: dict[str, str] = {}


class MilestoneIn(_Model):
    """A day of the recovery that goes into a calendar."""

    date: str
    title: Words


class LimitIn(_Model):
    """A threshold with its source."""

    name: Name
    value: float
    unit: str = ""
    source: Words


class FormFileIn(_Model):
    """`forms/<procedure>/form.toml` and the files of `forms/common/`."""

    title: str = ""
    edition: Words
    review_by: date
    includes: list[str] = []
    page: list[PageIn] = []
    figure: list[FigureIn] = []
    milestone: list[MilestoneIn] = []
    limit: list[LimitIn] = []


class CheckIn(_Model):
    """One check."""

    id: Name
    ref: str = ""
    level: Literal["gap", "contradiction", "adverse", "unusual", "due"]
    each: (
        Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]* in [a-z][a-z0-9_.]*$")] | None
    ) = None
    when: Words
    say: Words
    settle: str = ""
    after: list[str] = []
    look_at: Annotated[list[str], Field(min_length=1)]
    source: Words


class ChecksFileIn(_Model):
    """`checks.toml`."""

    limit: list[LimitIn] = []
    check: list[CheckIn] = []


class NearestIn(_Model):
    """The study whose people are nearest to those a risk is told to."""

    events: int = Field(ge=0)
    patients: int = Field(gt=0)
    population: Words
    follow_up: Words
    definition: Words
    remark: str = ""
    source: Words


class ModifierIn(_Model):
    """What makes a risk higher or lower; with a condition, for whom that is so."""

    words: Words
    when: str | None = None


class RiskIn(_Model):
    """One risk of the risk sheet."""

    id: Name
    order: int = 0
    title: Words
    applies_when: str | None = None
    for_whom: str = ""
    plain: Words
    events: int | None = Field(default=None, ge=0)
    patients: int | None = Field(default=None, gt=0)
    low: float | None = Field(default=None, ge=0)
    high: float | None = Field(default=None, ge=0)
    per: int | None = Field(default=None, gt=0)
    range_low: float | None = Field(default=None, ge=0)
    range_high: float | None = Field(default=None, ge=0)
    range_definition: str = ""
    interval: tuple[float, float] | None = None
    nearest: NearestIn | None = None
    raised: list[ModifierIn] = []
    lowered: list[ModifierIn] = []
    picture: str = ""
    follow_up: str = ""
    definition: str = ""
    population: str = ""
    remark: str = ""
    source: Words
    year: int | None = None
    evidence: Literal["read", "second_hand", "memory", "common_practice"]


class AuditIn(_Model):
    """A department's or a surgeon's own counted results beside a published risk."""

    risk: Name
    whose: Words
    events: int = Field(ge=0)
    patients: int = Field(gt=0)
    period: Words
    definition: Words


class SurvivalIn(_Model):
    """Published points of a survival curve: [years, per cent, people still followed if known]."""

    id: Name
    title: Words
    held: Words
    applies_when: str | None = None
    words: Words
    points: Annotated[list[list[float]], Field(min_length=1)]
    people: int = Field(gt=0)
    population: Words
    definition: Words
    source: Words
    year: int | None = None
    evidence: Literal["read", "second_hand", "memory", "common_practice"]


class RisksFileIn(_Model):
    """`risks.toml`."""

    edition: Words | None = None
    review_by: date | None = None
    risk: list[RiskIn] = []
    audit: list[AuditIn] = []
    survival: list[SurvivalIn] = []


class PlanIn(_Model):
    """A recovery plan that fills fields of the case."""

    id: Name
    title: Words
    for_: Words = Field(alias="for")
    source: Words
    values: dict[str, str | int | float | bool | list[str]]


class RecoveryFileIn(_Model):
    """`recovery.toml`."""

    plan: list[PlanIn] = []


class TermIn(_Model):
    """A word of the glossary."""

    word: Words
    also: list[Words] = []
    plain: Words


class GlossaryFileIn(_Model):
    """`glossary.toml`."""

    term: list[TermIn] = []


class ElementIn(_Model):
    """One element of a published standard."""

    id: Name
    title: Words
    code: str = ""
    known: Literal["read", "second_hand", "memory"] = "read"
    applies_when: str | None = None
    met_when: str | None = None


class StandardIn(_Model):
    """`forms/standards/<id>.toml`."""

    id: Name
    title: Words
    source: Words
    element: Annotated[list[ElementIn], Field(min_length=1)]


ModelT = TypeVar("ModelT", bound=BaseModel)


def validated(file: TomlFile, model: type[ModelT]) -> tuple[ModelT | None, list[Problem]]:
    """The file as its model; None and the problems, each with its line, when it doesn't fit."""
    try:
        return model.model_validate(file.data), []
    except ValidationError as error:
        return None, list(_problems(file, model, error))


def _problems(file: TomlFile, model: type[BaseModel], error: ValidationError) -> Iterator[Problem]:
    groups: set[Location] = set()
    for item in error.errors():
        location: Location = item["loc"]
        if "values" in location and isinstance(item["input"], dict):
            # A path without quotes reads as groups within groups.
            group = location[: location.index("values") + 2]
            if group not in groups:
                groups.add(group)
                yield _path_without_quotes(file, group, item["input"])
            continue
        place = file.place(location)
        where = ".".join(str(part) for part in location if not isinstance(part, int)) or "the file"
        key = str(location[-1]) if location else ""
        message, remedy = f"{where}: {_lower(item['msg'])}", ""
        match item["type"]:
            case "extra_forbidden":
                message = f"unknown key '{key}'"
                remedy = did_you_mean(key, _keys_at(model, location))
            case "missing" if isinstance(location[-1], int):
                message = f"{where}: a number is missing"
                remedy = "write two, such as [1, 40]"
            case "missing":
                message = f"'{key}' is missing"
                remedy = f"add a line '{key} = ...'"
            case "literal_error":
                message = f"unknown {key} '{item['input']}'"
                remedy = did_you_mean(str(item["input"]), _expected(item))
            case "string_pattern_mismatch":
                message = f"{key} '{item['input']}' is not written as asked"
                remedy = _FORMS.get(key, "use lower-case words joined by '_'")
            case "string_too_short" | "too_short":
                message, remedy = f"{where}: is empty", "fill it in"
            case kind if kind.startswith("date"):
                message, remedy = f"{where}: '{item['input']}' is no date", "write 2027-11-01"
        yield Problem(place.file, place.line, message, remedy)


def _path_without_quotes(file: TomlFile, group: Location, inside: Mapping[str, object]) -> Problem:
    path = f"{group[-1]}.{next(iter(inside), '...')}"
    place = file.place(group)
    return Problem(
        place.file, place.line, f"the path {path} stands without quotes", f'write "{path}" = ...'
    )


_FORMS = {
    "path": "use lower-case words joined by '_', with one dot at most, such as patient.name",
    "each": "write it as 's in stitches'",
}
"""How a key is written, where it isn't by words joined by '_'."""


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _expected(item: object) -> list[str]:
    context = item.get("ctx", {}) if isinstance(item, dict) else {}
    return [
        word.strip("'\" ")
        for word in str(context.get("expected", "")).replace(" or ", ", ").split(",")
    ]


def _keys_at(model: type[BaseModel], location: Location) -> list[str]:
    """The keys that the table at a location may have."""
    here: type[BaseModel] = model
    for part in location[:-1]:
        if isinstance(part, int):
            continue
        annotation = here.model_fields[part].annotation if part in here.model_fields else None
        inner = [a for a in getattr(annotation, "__args__", ()) if isinstance(a, type)]
        for candidate in inner:
            if issubclass(candidate, BaseModel):
                here = candidate
    return [field.alias or name for name, field in here.model_fields.items()]
