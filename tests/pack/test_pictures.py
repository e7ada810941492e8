"""A column of pictures: what a form and a wording must say of it, and what a case may hold."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import jsonschema  # type: ignore[import-untyped]
import pytest

from opnote.pack.case import RecordError, case_schema, case_text, read_case
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack

FORM = "forms/mini_repair/form.toml"
NOTE = "templates/mini_repair/note.md"
LOT = '[[page.field.column]]\npath = "lot"\n'
COLUMNS = """[[page.field.column]]
path = "seen"
label = "Picture"
kind = "picture"
never_preset = true
vouched = "names"

[[page.field.column]]
path = "names"
label = "Name in it"
kind = "yes_no"
silent = "for the test"

"""
LINE = "{{ stitches }}.\n"
PRINTED = """
{% for stitch in stitches %}
{{ stitch.seen }}
Lot {{ stitch.lot }}.

{% endfor %}
"""
NAME = "0123456789abcdef" * 4 + ".jpg"

Change = Callable[[str, str, str], None]


@pytest.fixture
def with_picture(change: Change) -> None:
    """The small pack with a column of pictures that the note shows."""
    change(FORM, LOT, COLUMNS + LOT)
    change(NOTE, LINE, LINE + PRINTED)


@pytest.fixture
def pack(with_picture: None, mini_folder: Path) -> Pack:
    return load_pack(("mini_repair",), [mini_folder])


@pytest.mark.usefixtures("with_picture")
def test_form_and_note_with_a_picture_pass(problems: Callable[[], list[str]]) -> None:
    assert problems() == []


@pytest.mark.parametrize(
    ("file", "old", "new", "message"),
    [
        pytest.param(
            FORM,
            'vouched = "names"\n',
            "",
            "a picture is a column and needs 'vouched'; name the column in which a person says "
            "that no name can be read in it",
            id="nobody_vouches",
        ),
        pytest.param(
            FORM,
            'vouched = "names"\n',
            'vouched = "nams"\n',
            "'seen' is vouched for in no column 'nams'; did you mean 'names'?",
            id="vouched_in_no_column",
        ),
        pytest.param(
            FORM,
            'kind = "picture"\nnever_preset = true\n',
            'kind = "picture"\n',
            "a picture is of one patient; add 'never_preset = true'",
            id="preset",
        ),
        pytest.param(
            FORM,
            'path = "names"\n',
            'vouched = "lot"\npath = "names"\n',
            "a yes_no has no 'vouched'; take the line away",
            id="vouched_for_no_picture",
        ),
        pytest.param(
            NOTE,
            "{{ stitch.seen }}\n",
            "Seen: {{ stitch.seen }}\n",
            "a picture stands in a sentence; give it a line of its own; the lines under it are its "
            "caption",
            id="after_words",
        ),
        pytest.param(
            NOTE,
            "{{ stitch.seen }}\n",
            "{{ stitch.seen }}.\n",
            "a picture stands in a sentence; give it a line of its own; the lines under it are its "
            "caption",
            id="before_words",
        ),
        pytest.param(
            NOTE,
            "{{ stitch.seen }}\n",
            "{{ stitch.seen | upper }}\n",
            "a picture can't be filtered; print it as it is",
            id="filtered",
        ),
        pytest.param(
            NOTE,
            "{{ stitch.seen }}\n",
            "{{ stitch.seen }}\n{% if stitch.seen == 'x' %}x{% endif %}\n",
            "a picture is compared with a text; compare like with like",
            id="compared",
        ),
    ],
)
@pytest.mark.usefixtures("with_picture")
def test_mistake_is_told_with_its_remedy(
    file: str,
    old: str,
    new: str,
    message: str,
    change: Change,
    problems: Callable[[], list[str]],
) -> None:
    change(file, old, new)
    (said,) = problems()
    assert said.startswith(f"{file}:")
    assert said.endswith(f": {message}")


def case_of(pack: Pack, seen: object) -> str:
    case = {
        "format": 1,
        "procedures": ["mini_repair"],
        "editions": dict(pack.form.editions),
        "values": {"stitches": [{"id": "r1", "seen": seen}]},
    }
    return json.dumps(case)


def test_case_file_keeps_the_name_of_a_picture(pack: Pack) -> None:
    record, _ = read_case(case_of(pack, NAME), "c.json", lambda _: pack)
    assert record.values == {"stitches.r1.seen": NAME}
    text = case_text(record, pack.form)
    assert json.loads(text)["values"]["stitches"] == [{"id": "r1", "seen": NAME}]
    jsonschema.validate(json.loads(text), case_schema(pack.form))


@pytest.mark.parametrize(
    "seen", ["knee.jpg", "../" + NAME, NAME.replace("jpg", "svg"), 7, NAME[1:]]
)
def test_anything_else_is_no_picture(seen: object, pack: Pack) -> None:
    with pytest.raises(RecordError) as refused:
        read_case(case_of(pack, seen), "c.json", lambda _: pack)
    (line,) = refused.value.lines
    assert line.startswith("c.json: stitches.r1.seen: ")
    assert line.endswith("is no picture that opnote keeps; bring it in with the window")
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(json.loads(case_of(pack, seen)), case_schema(pack.form))
