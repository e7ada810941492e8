"""What a form says of the day's list: the fields that are carried over, and those it can fill."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from opnote.pack.carry import carry_over, is_begun, is_of_the_same_day
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.record import (
    Origin,
    Record,
    Value,
    add_row,
    answer_no_rows,
    confirm,
    leave_unanswered,
    set_value,
    set_values,
)

COMMON = "forms/common/case.toml"
FORM = "forms/mini_repair/form.toml"
NAME = 'path = "patient.name"\nlabel = "Name"\nkind = "text"'
SIDE = 'path = "side"\nlabel = "Side"\nkind = "choice"'
BORN = 'path = "patient.born"\nlabel = "Born"\nkind = "date"'
AGE = 'path = "patient.age"\nlabel = "Age"\nkind = "integer"'
TEAR = 'path = "tear"\nlabel = "In which tear"\nkind = "ref"'
RIM = 'path = "rim_mm"\nlabel = "Rim"\nkind = "quantity"'


@pytest.mark.parametrize(
    ("file", "field", "added", "message"),
    [
        pytest.param(
            COMMON,
            SIDE,
            "carry = true",
            "'side': can't be carried over from case to case, as a person must enter it; "
            "take 'carry' away",
            id="carried_though_a_person_must_enter_it",
        ),
        pytest.param(
            COMMON,
            AGE,
            "carry = true",
            "'patient.age': can't be carried over from case to case, as it is worked out; "
            "take 'carry' away",
            id="carried_though_computed",
        ),
        pytest.param(
            FORM,
            TEAR,
            "carry = true",
            "'stitches.tear': a ref can't be carried over; carry its columns, or take 'carry' away",
            id="carried_reference",
        ),
        pytest.param(
            FORM,
            RIM,
            'listed_as = ["rim"]',
            "'tears.rim_mm': can't be filled from a theatre list; take 'listed_as' away; "
            "a list fills: text, person, choice, date, time, integer",
            id="a_column_is_in_no_list",
        ),
        pytest.param(
            COMMON,
            BORN,
            'listed_never = { soon = "wait" }',
            "'patient.born': words of a list, but no heading; add 'listed_as = [...]' to the field",
            id="words_without_a_heading",
        ),
    ],
)
def test_a_form_that_asks_for_too_much_is_told(
    said: Callable[..., list[str]], file: str, field: str, added: str, message: str
) -> None:
    where = field.partition("\n")[0]
    assert said(file, field, f"{field}\n{added}", where) == [f"LINE: {message}"]


def test_one_heading_means_one_field(
    change: Callable[[str, str, str], None],
    problems: Callable[[], list[str]],
    line: Callable[[str, str], int],
) -> None:
    change(COMMON, NAME, f'{NAME}\nlisted_as = ["Born"]')
    change(COMMON, BORN, f'{BORN}\nlisted_as = ["born."]')
    at = line(COMMON, 'path = "patient.born"')
    assert problems() == [
        f"{COMMON}:{at}: 'patient.born': the heading 'born.' is that of 'patient.name' already; "
        "take it out of one of them"
    ]


# Carrying over


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_pack(("meniscal_repair",))


TEAM: dict[str, Value] = {
    "team.surgeon": "Mr A. Sample",
    "team.surgeon_role": "Registrar",
    "team.supervision": "scrubbed",
    "team.supervisor": "Miss C. Example",
    "team.anaesthetist": "Dr B. Example",
    "operation.unit": "Nonesuch Vale",
    "operation.theatre": "Theatre 2",
    "operation.date": date(2026, 3, 9),
    "operation.urgency": "elective",
    "side": "left",
}
ASSISTANT: dict[str, Value] = {"name": "Dr T. Helper", "role": "Trainee", "tasks": ("camera",)}


@pytest.fixture(scope="module")
def last(pack: Pack) -> Record:
    """A case with its team, its room, and answers of its own."""
    record = set_values(TEAM, "").apply(pack.new_record())
    return add_row("assistants", "", ASSISTANT).apply(record)


def carried(pack: Pack, last: Record, record: Record) -> Record:
    edit = carry_over(pack, pack.view(last), record, "carry")
    return record if edit is None else edit.apply(record)


def test_people_and_room_are_carried_over_and_nothing_else(pack: Pack, last: Record) -> None:
    record = carried(pack, last, pack.new_record())
    (row,) = record.rows["assistants"]
    assert dict(record.values) == {
        "team.surgeon": "Mr A. Sample",
        "team.anaesthetist": "Dr B. Example",
        "operation.unit": "Nonesuch Vale",
        "operation.theatre": "Theatre 2",
        f"assistants.{row}.name": "Dr T. Helper",
    }


def test_what_is_carried_over_is_unconfirmed(pack: Pack, last: Record) -> None:
    record = carried(pack, last, pack.new_record())
    assert {record.origin(path) for path in record.values} == {Origin.CARRIED_OVER}
    assert all(record.is_unconfirmed(path) for path in record.values)
    path = "team.surgeon"
    assert not confirm([path], "").apply(record).is_unconfirmed(path)


def test_nothing_that_is_there_is_touched(pack: Pack, last: Record) -> None:
    record = set_value("team.surgeon", "Mr Other", "", Origin.LISTED).apply(pack.new_record())
    record = leave_unanswered("team.anaesthetist", "not known", "").apply(record)
    record = answer_no_rows("assistants", "").apply(record)
    after = carried(pack, last, record)
    assert after.values["team.surgeon"] == "Mr Other"
    assert after.origin("team.surgeon") is Origin.LISTED
    assert "team.anaesthetist" not in after.values
    assert after.rows["assistants"] == ()


def test_with_nothing_to_carry_there_is_no_step(pack: Pack) -> None:
    empty = pack.new_record()
    assert carry_over(pack, pack.view(empty), empty, "carry") is None


def test_a_case_is_begun_once_a_person_has_entered_or_confirmed_something(
    pack: Pack, last: Record
) -> None:
    listed = set_value("side", "left", "", Origin.LISTED).apply(pack.new_record())
    assert not is_begun(listed)
    assert not is_begun(carried(pack, last, listed))
    assert is_begun(confirm(["side"], "").apply(listed))
    assert is_begun(set_value("health.smoker", False, "").apply(listed))
    assert is_begun(answer_no_rows("assistants", "").apply(listed))
    assert is_begun(add_row("assistants", "").apply(listed))
    assert is_begun(leave_unanswered("team.scrub", "nobody", "").apply(listed))


def test_two_cases_without_a_date_are_of_no_day(pack: Pack, last: Record) -> None:
    empty = pack.new_record()
    assert not is_of_the_same_day(empty, empty)
    assert is_of_the_same_day(last, last)
    assert not is_of_the_same_day(
        last, set_value("operation.date", date(2026, 3, 10), "").apply(last)
    )


def test_the_note_says_the_room_and_what_was_listed(pack: Pack) -> None:
    from opnote.assess import assess
    from opnote.compose import compose
    from opnote.compose.text import text_from

    values: dict[str, Value] = {"operation.theatre": "Theatre 2", "listed.operation": "Knee look"}
    record = set_values(values, "").apply(pack.new_record())
    view = pack.view(record)
    text = text_from(compose(pack, view, assess(pack, view), "note"))
    assert "Theatre 2" in text
    assert "Knee look" in text
