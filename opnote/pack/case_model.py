"""What a case file must be, as a pydantic model built from the form: its problems, its JSON Schema.

A module of its own because pydantic is slow to import, and a file in order is read without it.
"""

from __future__ import annotations

from datetime import date, datetime
from functools import lru_cache
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    PlainValidator,
    StringConstraints,
    WithJsonSchema,
    create_model,
)
from pydantic_core import PydanticCustomError

from opnote.pack.form import Field as FormField
from opnote.pack.form import Form
from opnote.pack.plain_case import MOST_ROWS
from opnote.pack.value_json import (
    MOST_CHARACTERS,
    PICTURE_NAME,
    ROW_ID,
    ValueProblem,
    day_from_json,
    moment_from_json,
    value_from_json,
)
from opnote.record import NOT_EXAMINED, Origin, Value

RowId = Annotated[str, StringConstraints(pattern=f"^{ROW_ID.pattern}$")]


def _moment(raw: Any) -> datetime:
    try:
        return moment_from_json(raw)
    except ValueProblem as error:
        raise _custom(error) from error


def _custom(error: ValueProblem) -> PydanticCustomError:
    words = f"{error.message}; {error.remedy}" if error.remedy else error.message
    return PydanticCustomError("value", "{words}", {"words": words})


def _day(raw: Any) -> date:
    try:
        return day_from_json(raw)
    except ValueProblem as error:
        raise _custom(error) from error


_DAY_SCHEMA = {"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}$"}
_SIGNED_AT = r"^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}[+-]\d{2}:\d{2}(:\d{2})?$"
_SEAL = "^[0-9a-f]{64}$"
_MOMENT_SCHEMA = {"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}$"}


class DueIn(BaseModel):
    """A booked check."""

    model_config = ConfigDict(extra="forbid")
    at: Annotated[datetime, PlainValidator(_moment), WithJsonSchema(_MOMENT_SCHEMA)]
    by: str


class ToldIn(BaseModel):
    """An answer that a patient was told."""

    model_config = ConfigDict(extra="forbid")
    value: str
    words: str


class GivenIn(BaseModel):
    """A document that a patient was given."""

    model_config = ConfigDict(extra="forbid")
    on: Annotated[date, PlainValidator(_day), WithJsonSchema(_DAY_SCHEMA)]
    edition: str
    said: dict[str, ToldIn] = {}


class LeftoverIn(BaseModel):
    """A value that an edition of the form had no place for."""

    model_config = ConfigDict(extra="forbid")
    value: Any
    because: str
    edition: str


class AddendumIn(BaseModel):
    """What was added to a signed note."""

    model_config = ConfigDict(extra="forbid")
    by: str
    at: Annotated[str, Field(pattern=_SIGNED_AT)]
    text: str
    seal: Annotated[str, Field(pattern=_SEAL)]


class BegunIn(BaseModel):
    """An addendum that is not signed yet."""

    model_config = ConfigDict(extra="forbid")
    by: str
    text: str


class SignatureIn(BaseModel):
    """The signature under the note; `opnote.pack.signed_case` reads it."""

    model_config = ConfigDict(extra="forbid")
    by: str
    role: Literal["author", "supervisor", ""]
    at: Annotated[str, Field(pattern=_SIGNED_AT)]
    side: str
    put_aside: list[str]
    note: dict[str, Any]
    seal: Annotated[str, Field(pattern=_SEAL)]


class CaseIn(BaseModel):
    """A case file, apart from its values."""

    model_config = ConfigDict(extra="forbid")
    format: Literal[1]
    procedures: Annotated[list[str], Field(min_length=1)]
    editions: dict[str, str] = {}
    values: dict[str, Any] = {}
    origins: dict[str, Origin] = {}
    confirmed: list[str] = []
    reasons: dict[str, str] = {}
    facts: dict[str, str] = {}
    unanswered: dict[str, str] = {}
    due: dict[str, DueIn] = {}
    leftover: dict[str, LeftoverIn] = {}
    given: dict[str, list[GivenIn]] = {}
    next_row: Annotated[int, Field(ge=1)] = 1
    signature: SignatureIn | None = None
    addenda: list[AddendumIn] = []
    addendum_begun: BegunIn | None = None


@lru_cache(maxsize=8)
def case_model(form: Form) -> type[BaseModel]:
    """The pydantic model of a case file on this form; all values may be missing."""
    values: dict[str, Any] = {}
    for index, field in enumerate(form.fields):
        if not field.is_computed:
            kind = _table_type(field) if field.kind == "rows" else _value_type(field)
            values[f"v{index}"] = (kind, Field(default=None, alias=field.path))
    strict = ConfigDict(extra="forbid", populate_by_name=False)
    values_model = create_model("Values", __config__=strict, **values)
    procedure: Any = Literal[tuple(form.procedures)]
    procedures: Any = Annotated[list[procedure], Field(min_length=1)]
    return create_model(
        "Case",
        __base__=CaseIn,
        values=(values_model, Field(default_factory=values_model)),
        procedures=(procedures, ...),
    )


def case_schema(form: Form) -> dict[str, Any]:
    """The JSON Schema of a case file on this form."""
    schema = case_model(form).model_json_schema(by_alias=True)
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["title"] = "opnote case: " + ", ".join(form.titles[name] for name in form.procedures)
    return schema


def _table_type(table: FormField) -> Any:
    columns: dict[str, Any] = {"id": (RowId, ...)}
    for index, column in enumerate(table.columns):
        if not column.is_computed:
            columns[f"c{index}"] = (_value_type(column), Field(default=None, alias=column.name))
    row: Any = create_model(
        "Row_" + table.path.replace(".", "_"), __config__=ConfigDict(extra="forbid"), **columns
    )
    return Annotated[list[row], Field(max_length=MOST_ROWS)]


def _value_type(field: FormField) -> Any:
    def validate(raw: Any) -> Value:
        try:
            return value_from_json(raw, field)
        except ValueProblem as error:
            raise _custom(error) from error

    return Annotated[Any, PlainValidator(validate), WithJsonSchema(_schema_of(field))]


def _schema_of(field: FormField) -> dict[str, Any]:
    schema = {"title": field.label, **_kind_schema(field)}
    if field.help:
        schema["description"] = field.help
    return schema


def _kind_schema(field: FormField) -> dict[str, Any]:
    options = [option.value for option in field.options]
    match field.kind:
        case "choice" | "grade":
            return {"enum": options}
        case "choices":
            return {"type": "array", "items": {"enum": options}, "minItems": 1, "uniqueItems": True}
        case "yes_no":
            return {"enum": [True, False, *((NOT_EXAMINED,) if field.examined else ())]}
        case "integer":
            return {
                "type": "integer",
                **({"minimum": field.least} if field.least is not None else {}),
                **({"maximum": field.most} if field.most is not None else {}),
            }
        case "quantity":
            unit = "".join(f"\\{c}" if not c.isalnum() and c != " " else c for c in field.unit)
            return {"type": "string", "pattern": rf"^-?\d+(\.\d+)? {unit}$"}
        case "date":
            return {"type": "string", "format": "date", "pattern": "^(19|20|2100)"}
        case "time":
            return {"type": "string", "pattern": r"^\d{2}:\d{2}$"}
        case "datetime":
            return _MOMENT_SCHEMA
        case "picture":
            return {"type": "string", "pattern": f"^{PICTURE_NAME.pattern}$"}
        case "ref":
            return {"type": "string", "pattern": f"^{ROW_ID.pattern}$"}
        case "text" | "person":
            return {"type": "string", "maxLength": MOST_CHARACTERS, "pattern": r"^[^\r\n]*$"}
        case _:
            return {"type": "string", "maxLength": MOST_CHARACTERS}
