"""What the author of an expression reads for each kind of mistake, on the expression's own line."""

from __future__ import annotations

from collections.abc import Callable

import pytest

CHECKS = "forms/mini_repair/checks.toml"
FORM = "forms/mini_repair/form.toml"
WHEN = 'when = "len(tears) > 0 and stitches is not recorded"'

Said = Callable[..., list[str]]

NOT_IN_LANGUAGE = " is not part of the expression language"
SEE = "; see forms/README.md, section Expressions"


@pytest.mark.parametrize(
    ("expression", "message"),
    [
        pytest.param(
            "sides == 'left'", "unknown field 'sides'; did you mean 'side'?", id="unknown_field"
        ),
        pytest.param(
            "any(t.lenght_mm > 3 for t in tears)",
            "unknown field 't.lenght_mm'; did you mean 't.length_mm'?",
            id="unknown_column",
        ),
        pytest.param(
            "any(s.tear.rim > 3 for s in stitches)",
            "unknown field 's.tear.rim'; did you mean 's.tear.rim_mm'?",
            id="unknown_column_through_a_ref",
        ),
        pytest.param(
            "any(t.rim_mm.width > 3 for t in tears)",
            "'t.rim_mm.width': a number of mm has no parts",
            id="part_of_a_number",
        ),
        pytest.param(
            "tears.length_mm > 3",
            "'tears.length_mm' is a column: it has a value in each row, not one of its own; "
            "write any(... for tear in tears)",
            id="column_outside_its_table",
        ),
        pytest.param(
            "operation.minutes > limit.long_minutes",
            "unknown limit 'limit.long_minutes'; did you mean 'limit.long_min'?",
            id="unknown_limit",
        ),
        pytest.param(
            "days_betwen(patient.born, operation.date) > 3",
            "unknown function 'days_betwen'; did you mean 'days_between'?",
            id="unknown_function",
        ),
        pytest.param(
            "days_between(patient.born) > 3",
            "days_between() takes 2 values, not 1; it takes date, date",
            id="wrong_number_of_values",
        ),
        pytest.param(
            "days_between(patient.born, side) > 3",
            "days_between(): 'side' is the choice 'side', not date",
            id="wrong_kind_of_value",
        ),
        pytest.param(
            "side == 'lefft'",
            "'side' has no option 'lefft'; did you mean 'left'?",
            id="unknown_option",
        ),
        pytest.param(
            "'lefft' == side",
            "'side' has no option 'lefft'; did you mean 'left'?",
            id="unknown_option_written_first",
        ),
        pytest.param(
            "side in ('left', 'rigth')",
            "'side' has no option 'rigth'; did you mean 'right'?",
            id="unknown_option_among_several",
        ),
        pytest.param(
            "'breakages' in complications",
            "'complications' has no option 'breakages'; did you mean 'breakage'?",
            id="unknown_option_of_choices",
        ),
        pytest.param(
            "side > 'left'",
            "the choice 'side' has no order; compare it with '==' or 'in'",
            id="order_of_a_choice",
        ),
        pytest.param(
            "cuff.used < true",
            "yes or no has no order; compare it with '==' or 'in'",
            id="order_of_yes_and_no",
        ),
        pytest.param(
            "remarks < 'm'",
            "a text has no order; compare it with '==' or 'in'",
            id="order_of_texts",
        ),
        pytest.param(
            "cuff.used == 'yes'",
            "yes or no is compared with 'yes'; compare it with true, false or 'not_examined'",
            id="yes_as_a_word",
        ),
        pytest.param(
            "cuff.used == True", "'True' is not a word here; write 'true'", id="true_with_a_capital"
        ),
        pytest.param(
            "operation.date == 3",
            "a date is compared with a number; compare like with like",
            id="date_with_number",
        ),
        pytest.param(
            "side == 3",
            "the choice 'side' is compared with a number; compare like with like",
            id="choice_with_number",
        ),
        pytest.param(
            "operation.minutes > cuff.pressure",
            "a number of min is compared with a number of mmHg; convert one of them first",
            id="units_compared",
        ),
        pytest.param(
            "operation.minutes + cuff.pressure > 3",
            "'operation.minutes + cuff.pressure' mixes min and mmHg; convert one of them first",
            id="units_added",
        ),
        pytest.param(
            "(operation.minutes if cuff.used else cuff.pressure) > 3",
            "'operation.minutes if ... else cuff.pressure' mixes min and mmHg; "
            "convert one of them first",
            id="units_of_two_answers",
        ),
        pytest.param(
            "(operation.minutes if cuff.used else side) == 3",
            "'operation.minutes' is a number of min but 'side' is the choice 'side'; "
            "both answers of a condition must be alike",
            id="answers_of_two_kinds",
        ),
        pytest.param(
            "any(s.tear == s for s in stitches)",
            "a row of 'tears' is compared with a row of 'stitches'; compare rows of one table",
            id="rows_of_two_tables",
        ),
        pytest.param(
            "operation.minutes",
            "'operation.minutes' is a number of min, not yes or no; compare it with something",
            id="no_condition",
        ),
        pytest.param(
            "remarks and cuff.used",
            "'remarks' is a text, not a condition; compare it, or ask 'is recorded'",
            id="text_as_a_condition",
        ),
        pytest.param(
            "side + 1 > 3", "'side' is the choice 'side', not a number", id="sum_of_a_choice"
        ),
        pytest.param(
            "'a' in remarks",
            "'remarks' is a text: nothing can be in it; write 'in' before choices, or before "
            "values in brackets such as ('a', 'b')",
            id="in_a_text",
        ),
        pytest.param(
            "side is None",
            "'is None' is not in the language; write 'is recorded' or 'is not recorded'; "
            "compare with '=='",
            id="is_none",
        ),
        pytest.param("len(side) > 3", "'side' is the choice 'side': it has no length", id="length"),
        pytest.param(
            "any(tears)",
            "any() needs 'for ... in ...' inside; write any(... for x in rows)",
            id="any",
        ),
        pytest.param(
            "any(t.rim_mm > 3 for t in side)",
            "'side' is the choice 'side', not a table",
            id="rows_of_no_table",
        ),
        pytest.param(
            "any(side.rim_mm > 3 for side in tears)",
            "the row name 'side' is taken; call the row otherwise",
            id="row_name_hides_a_field",
        ),
        pytest.param(
            "any(any(t.rim_mm > 1 for t in tears) for t in tears)",
            "the row name 't' is taken; call the row otherwise",
            id="row_name_hides_a_row",
        ),
        pytest.param(
            "any(limit.rim_mm > 3 for limit in tears)",
            "the row name 'limit' is taken; call the row otherwise",
            id="row_name_hides_the_limits",
        ),
        pytest.param(
            "side.__class__ == 'left'",
            "unknown field 'side.__class__'",
            id="dunder_of_a_field",
        ),
        pytest.param("''.__class__ == 'left'", "'''.__class__' is no path", id="dunder_of_a_text"),
        pytest.param("side.upper() == 'LEFT'", f"'side.upper()'{NOT_IN_LANGUAGE}", id="method"),
        pytest.param("(lambda: 1)() == 1", f"'(lambda: 1)()'{NOT_IN_LANGUAGE}", id="lambda"),
        pytest.param(
            "__import__('os') == 1",
            "unknown function '__import__'",
            id="import",
        ),
        pytest.param("tears[0] == 1", f"'tears[0]'{NOT_IN_LANGUAGE}{SEE}", id="subscript"),
        pytest.param("f'{side}' == 'x'", f"'f'{{side}}''{NOT_IN_LANGUAGE}{SEE}", id="f_string"),
        pytest.param("[1, 2] == 1", f"'[1, 2]'{NOT_IN_LANGUAGE}{SEE}", id="list"),
        pytest.param("(x := 1) == 1", f"'(x := 1)'{NOT_IN_LANGUAGE}{SEE}", id="walrus"),
        pytest.param(
            "any(t.rim_mm > 1 for t in tears if true if true)",
            f"'(t.rim_mm > 1 for t in tears if true if true)'{NOT_IN_LANGUAGE}",
            id="two_ifs",
        ),
        pytest.param(
            "operation.minutes ** 2 > 3",
            "'operation.minutes ** 2' uses an operator that is not in the language; use + - * /",
            id="power",
        ),
        pytest.param(
            "cuff.pressure % 2 == 0",
            "'cuff.pressure % 2' uses an operator that is not in the language; use + - * /",
            id="remainder",
        ),
        pytest.param(
            "side == ",
            "can't read the expression 'side ==': invalid syntax",
            id="unfinished",
        ),
        pytest.param(
            "side == 'left' or " * 150 + "true",
            "the expression has 2704 characters; keep it under 2000",
            id="too_long",
        ),
        pytest.param(
            "not " * 100 + "cuff.used",
            "the expression is nested too deeply; make two of it",
            id="too_deep",
        ),
        pytest.param(
            "-" * 1900 + "1 > 3", "the expression is nested too deeply; make two of it", id="signs"
        ),
    ],
)
def test_a_mistake_in_an_expression_is_named_on_its_line(
    said: Said, expression: str, message: str
) -> None:
    quoted = f'when = """{expression}"""'
    assert said(CHECKS, WHEN, quoted, quoted) == [f"LINE: {message}"]


def test_brackets_without_end_are_told_and_no_failure(said: Said) -> None:
    (message,) = said(CHECKS, WHEN, f'when = "{"(" * 900}"', 'when = "(')
    assert message.startswith("LINE: can't read the expression '(")


@pytest.mark.parametrize("key", ["shown_when", "required_when", "computed"])
def test_a_mistake_in_a_fields_expression_is_named_on_the_line_of_its_key(
    said: Said, key: str
) -> None:
    old = 'path = "rim_mm"\nlabel = "Rim"'
    new = f"{old}\nhelp = 'over the\\nlines'\n{key} = 'tear.patern is recorded'"
    found = said(FORM, old, new, f"{key} = 'tear.patern")
    assert found == ["LINE: unknown field 'tear.patern'; did you mean 'tear.pattern'?"]


def test_a_computed_field_has_the_unit_that_it_declares(said: Said) -> None:
    old = 'computed = "sum(s.count for s in stitches)"'
    new = 'unit = "mmHg"\ncomputed = "operation.minutes"'
    assert said(FORM, old, new, 'computed = "operation.minutes"') == [
        "LINE: 'stitch_count': it is computed in min but declared in mmHg; "
        "change the kind or the expression"
    ]


def test_what_the_language_has_is_understood(said: Said) -> None:
    everything = (
        "side in ('left', 'right') and not (cuff.used == 'not_examined') "
        "and sum(s.count for s in stitches if s.tear.meniscus == 'medial') + 1 > -2 * 3 / 4 "
        "and all(t.zone is recorded for t in tears) and 'bleeding' not in complications "
        "and 10 < operation.minutes < limit.long_min and len(complications) >= 1 "
        "and (1 if cuff.used else 2) == 1 and any(s.tear == s.tear for s in stitches)"
    )
    assert said(CHECKS, WHEN, f'when = """{everything}"""', 'when = """') == []


@pytest.mark.parametrize(
    ("expression", "slip"),
    [
        ("side = 'left'", "'=' compares nothing; write '=='"),
        ("cuff.used && cuff.used", "'&&' is no word here; write 'and'"),
        ("cuff.used || cuff.used", "'||' is no word here; write 'or'"),
        (
            "cuff.used AND cuff.used",
            "a word of the language in capitals; write it in small letters",
        ),
        ("!cuff.used", "'!' is no word here; write 'not'"),
        (
            "operation.minutes > 60 min",
            "a number with its unit; write the number alone: the field knows its unit",
        ),
        (
            "side == \N{LEFT SINGLE QUOTATION MARK}left\N{RIGHT SINGLE QUOTATION MARK}",
            "a curly quote; write straight quotes, 'left'",
        ),
        ("side == 'left", "quotes that are never closed; close them"),
        ("(side == 'left'", "brackets that don't close; count them"),
    ],
)
def test_a_slip_of_another_language_is_named_with_what_to_write(
    said: Said, expression: str, slip: str
) -> None:
    assert said(CHECKS, WHEN, f'when = "{expression}"') == [
        f"LINE: can't read the expression '{expression}': {slip}"
    ]
