"""What a form's author reads for each kind of mistake: exact line, what is wrong, what helps."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from opnote.assess.lint import lint_folder

COMMON = "forms/common/case.toml"
FORM = "forms/mini_repair/form.toml"
CHECKS = "forms/mini_repair/checks.toml"
RISKS = "forms/mini_repair/risks.toml"
PLAN = "forms/mini_repair/recovery.toml"
STANDARD = "forms/standards/mini.toml"

Said = Callable[..., list[str]]

RIM = 'path = "rim_mm"\nlabel = "Rim"\nkind = "quantity"\nunit = "mm"'
REF = 'path = "tear"\nlabel = "In which tear"\nkind = "ref"\nrefers_to = "tears"'
EVENTS = "events = 15\npatients = 100"


@pytest.mark.parametrize(
    ("file", "old", "new", "at", "message"),
    [
        pytest.param(
            FORM,
            RIM,
            RIM + '\nstricter = "last"',
            'path = "rim_mm"',
            "LINE: 'tears.rim_mm': stricter = 'last' doesn't fit a quantity; "
            "write 'less' or 'more'",
            id="stricter_of_another_kind",
        ),
        pytest.param(
            COMMON,
            'path = "patient.name"',
            'path = "patient.name"\npreset = true\nnever_preset = true',
            'path = "patient.name"',
            "LINE: 'patient.name': a usual practice can't fill this; "
            "take 'preset' away, or the other key",
            id="preset_and_never_preset",
        ),
        pytest.param(
            FORM,
            RIM,
            RIM + "\npreset = true",
            'path = "tears"',
            "LINE: 'tears': which row a usual practice fills isn't said; "
            "add 'preset_by' to the table",
            id="preset_in_a_table_that_names_no_deciding_column",
        ),
        pytest.param(
            FORM,
            RIM,
            RIM + '\nnormal = "thin"',
            'path = "rim_mm"',
            "LINE: 'tears.rim_mm': normal names no option 'thin'; "
            "make it a choice, or take the line away",
            id="normal_of_a_number",
        ),
        pytest.param(
            FORM,
            RIM,
            RIM + "\nexamined = true",
            'path = "rim_mm"',
            "LINE: 'tears.rim_mm': a quantity can't be answered 'not examined'; "
            "make that one of its options",
            id="a_number_that_is_not_examined",
        ),
        pytest.param(
            FORM,
            RIM,
            RIM.replace('"Rim"', '"Rim:"'),
            'path = "rim_mm"',
            "LINE: 'tears.rim_mm': the label 'Rim:' holds a colon; "
            "take it away: the window sets its own",
            id="colon_in_a_label",
        ),
        pytest.param(
            FORM,
            RIM,
            RIM.replace('"quantity"', "quantity"),
            "kind = quantity",
            "LINE: not valid TOML: 'quantity' stands without quotes; write \"quantity\"",
            id="value_without_quotes",
        ),
        pytest.param(
            FORM,
            RIM,
            RIM.replace('"quantity"', "\u201cquantity\u201d"),
            "kind = \u201cquantity",
            'LINE: not valid TOML: curly quotes; write straight ones, "..."',
            id="curly_quotes",
        ),
        pytest.param(
            PLAN,
            '"plan.weeks" = "6 weeks"',
            'plan.weeks = "6 weeks"',
            "plan.weeks =",
            'LINE: the path plan.weeks stands without quotes; write "plan.weeks" = ...',
            id="path_of_a_plan_without_quotes",
        ),
        pytest.param(
            FORM,
            RIM,
            RIM.replace("unit", "unti"),
            'unti = "mm"',
            "LINE: unknown key 'unti'; did you mean 'unit'?",
            id="unknown_key",
        ),
        pytest.param(
            FORM,
            RIM,
            RIM.replace('"quantity"', '"quantiti"'),
            'kind = "quantiti"',
            "LINE: unknown kind 'quantiti'; did you mean 'quantity'?",
            id="unknown_kind",
        ),
        pytest.param(
            CHECKS,
            'value = 9\nsource = "invented for tests"\n',
            "value = 9\n",
            "[[limit]]",
            "LINE: 'source' is missing; add a line 'source = ...'",
            id="missing_key",
        ),
        pytest.param(
            FORM,
            'path = "stitch_count"',
            'path = "remarks"',
            'path = "remarks"',
            "LINE: the path 'remarks' is there twice; first at forms/common/case.toml:127; "
            "give one of them another path",
            id="duplicate_path",
        ),
        pytest.param(
            FORM,
            'path = "note"',
            'path = "Note"',
            'path = "Note"',
            "LINE: path 'Note' is not written as asked; use lower-case words joined by '_', "
            "with one dot at most, such as patient.name",
            id="path_not_written_as_asked",
        ),
        pytest.param(
            FORM,
            'path = "note"',
            'path = "id"',
            'path = "id"',
            "LINE: 'tears.id': each row has an 'id' already; call the column otherwise",
            id="column_called_id",
        ),
        pytest.param(
            FORM,
            'path = "note"',
            'path = "not"',
            'path = "not"',
            "LINE: 'tears.not': 'not' is a word of the language; call the field otherwise",
            id="path_is_a_word_of_the_language",
        ),
        pytest.param(
            FORM,
            'each = "tear"',
            'each = "side"',
            'path = "tears"',
            "LINE: 'tears': the row name 'side' is taken; call the row otherwise",
            id="row_name_hides_a_field",
        ),
        pytest.param(
            FORM,
            RIM,
            RIM.replace('"quantity"\nunit = "mm"', '"choice"'),
            'path = "rim_mm"',
            "LINE: 'tears.rim_mm': a choice needs options; add 'options = [...]'",
            id="choice_without_options",
        ),
        pytest.param(
            FORM,
            RIM,
            RIM.replace('\nunit = "mm"', ""),
            'path = "rim_mm"',
            "LINE: 'tears.rim_mm': a quantity needs a unit; add 'unit = \"mm\"'",
            id="quantity_without_unit",
        ),
        pytest.param(
            FORM,
            '{ value = "radial", label = "Radial", said = "radial tear" }',
            '{ value = "radial", lable = "Radial", label = "Radial" }',
            "lable",
            "LINE: unknown key 'lable'; did you mean 'label'?",
            id="unknown_key_in_an_option_of_several_lines",
        ),
        pytest.param(
            FORM,
            '{ value = "radial", label = "Radial", said = "radial tear" }',
            '{ value = "bucket_handle", label = "Radial" }',
            'path = "pattern"',
            "LINE: 'tears.pattern': the option 'bucket_handle' is there twice; keep one",
            id="option_twice",
        ),
        pytest.param(
            COMMON,
            'exclusive = ["none"]',
            'exclusive = ["nothing"]',
            'path = "complications"',
            "LINE: 'complications': exclusive names no option 'nothing'; "
            "use one of 'bleeding', 'breakage', 'none'",
            id="exclusive_names_no_option",
        ),
        pytest.param(
            FORM,
            "usual = [10, 60]",
            "usual = [60, 10]",
            'path = "length_mm"',
            "LINE: 'tears.length_mm': 'usual' ends before it begins; swap its numbers",
            id="usual_range_backwards",
        ),
        pytest.param(
            FORM,
            "usual = [10, 60]",
            "usual = [10]",
            "usual = [10]",
            "LINE: page.field.column.usual: a number is missing; write two, such as [1, 40]",
            id="usual_range_with_one_number",
        ),
        pytest.param(
            FORM,
            "most = 120",
            "most = 0",
            'path = "length_mm"',
            "LINE: 'tears.length_mm': 'least' is more than 'most'; swap them",
            id="least_more_than_most",
        ),
        pytest.param(
            FORM,
            'path = "note"\nlabel = "Note"',
            'path = "note"\nleast = 3\nlabel = "Note"',
            'path = "note"',
            "LINE: 'tears.note': a text has no 'least'; make it a number, or take the line away",
            id="limits_on_a_text",
        ),
        pytest.param(
            FORM,
            'none_said = "no tear was found"\n',
            "",
            'path = "tears"',
            "LINE: 'tears': none_label and none_said belong together; give both or neither",
            id="none_label_without_none_said",
        ),
        pytest.param(
            FORM,
            REF,
            REF.replace('"tears"', '"tars"'),
            'path = "tear"',
            "LINE: 'stitches.tear' refers to the unknown table 'tars'; did you mean 'tears'?",
            id="bad_ref",
        ),
        pytest.param(
            FORM,
            REF,
            REF.replace('"tears"', '"side"'),
            'path = "tear"',
            "LINE: 'stitches.tear' refers to the unknown table 'side'; "
            "use one of 'stitches', 'tears'",
            id="ref_to_a_field_that_is_no_table",
        ),
        pytest.param(
            FORM,
            'computed = "sum(s.count for s in stitches)"',
            'required = true\ncomputed = "sum(s.count for s in stitches)"',
            'path = "stitch_count"',
            "LINE: 'stitch_count': a computed field can't be required; "
            "require what it is computed from",
            id="computed_and_required",
        ),
        pytest.param(
            FORM,
            'includes = ["case"]',
            'includes = [\n  # what all share\n  "case",\n  "cases",\n]',
            '  "cases"',
            "LINE: unknown common form 'cases'; did you mean 'case'?",
            id="unknown_include_in_a_list_of_several_lines",
        ),
        pytest.param(
            FORM,
            "review_by = 2027-11-01",
            'review_by = "next year"',
            "review_by",
            "LINE: review_by: 'next year' is no date; write 2027-11-01",
            id="review_by_no_date",
        ),
        pytest.param(
            FORM,
            'title = "Mini repair"',
            'title = "Mini repair',
            'title = "Mini repair',
            "LINE: not valid TOML: quotes that are never closed on their line; close them",
            id="no_toml",
        ),
        pytest.param(
            STANDARD,
            '[[element]]\nid = "signature"',
            '[[element]]\nid = "sign"\ntitle = "Sign"\n\n[[element]]\nid = "signature"',
            'id = "sign"',
            "LINE: no field meets 'mini.sign'; add meets = [\"mini.sign\"] to a field",
            id="element_that_no_field_meets",
        ),
        pytest.param(
            COMMON,
            'meets = ["mini.patient"]',
            'meets = ["mini.patient", "mini.pacient"]',
            'path = "patient.name"',
            "LINE: 'patient.name' meets the unknown element 'mini.pacient'; "
            "did you mean 'mini.patient'?",
            id="unknown_element_in_meets",
        ),
        pytest.param(
            PLAN,
            '"plan.weeks"',
            '"plan.week"',
            '"plan.week"',
            "LINE: unknown field 'plan.week'; did you mean 'plan.weeks'?",
            id="plan_of_an_unknown_field",
        ),
        pytest.param(
            PLAN,
            '"6 weeks"',
            '"6 days"',
            '"plan.weeks"',
            "LINE: 'plan.weeks': \"6 days\" is in days, not in weeks; write a number and weeks",
            id="plan_value_in_another_unit",
        ),
        pytest.param(
            PLAN,
            '"plan.brace" = "hinged"',
            '"plan.brace" = "hinge"',
            '"plan.brace"',
            "LINE: 'plan.brace': has no option \"hinge\"; did you mean 'hinged'?",
            id="plan_value_no_option",
        ),
        pytest.param(
            PLAN,
            '"plan.brace" = "hinged"',
            '"side" = "left"',
            '"side"',
            "LINE: 'side' can't be filled by a plan; take the line away",
            id="plan_fills_what_is_never_preset",
        ),
        pytest.param(
            RISKS,
            EVENTS,
            EVENTS.replace("15", "150"),
            'id = "retear"',
            "LINE: the risk 'retear' has more events (150) than patients (100); correct it",
            id="risk_with_more_events_than_patients",
        ),
        pytest.param(
            RISKS,
            'follow_up = "two years"\n',
            "",
            'id = "retear"',
            "LINE: the risk 'retear' has a figure without a follow-up; "
            "say how long people were followed",
            id="risk_without_follow_up",
        ),
        pytest.param(
            RISKS,
            EVENTS,
            "events = 15\npatients = 0",
            "patients = 0",
            "LINE: risk.patients: input should be greater than 0",
            id="risk_of_nobody",
        ),
        pytest.param(
            RISKS,
            EVENTS,
            "low = 1\nhigh = 3\nper = 0",
            "per = 0",
            "LINE: risk.per: input should be greater than 0",
            id="risk_in_a_hundred_of_nothing",
        ),
        pytest.param(
            RISKS,
            EVENTS,
            "events = 15",
            'id = "retear"',
            "LINE: the risk 'retear' has events without patients, or patients without events; "
            "give both",
            id="risk_with_half_a_figure",
        ),
        pytest.param(
            RISKS,
            EVENTS,
            "low = 30\nhigh = 3\nper = 100",
            'id = "retear"',
            "LINE: the risk 'retear' has a range that ends before it begins; swap low and high",
            id="risk_range_backwards",
        ),
        pytest.param(
            RISKS,
            EVENTS,
            "low = 3\nhigh = 300\nper = 100",
            'id = "retear"',
            "LINE: the risk 'retear' affects more people (300) than there are (100); correct it",
            id="risk_for_more_than_all",
        ),
        pytest.param(
            RISKS,
            'source = "Nobody et al., Invented Journal"\n',
            "",
            "[[risk]]",
            "LINE: 'source' is missing; add a line 'source = ...'",
            id="risk_without_a_source",
        ),
        pytest.param(
            RISKS,
            'source = "Nobody et al., Invented Journal"',
            'source = " "',
            'source = " "',
            "LINE: risk.source: is empty; fill it in",
            id="risk_with_an_empty_source",
        ),
        pytest.param(
            RISKS,
            'applies_when = "stitches is recorded"',
            'applies_when = "stiches is recorded"',
            'applies_when = "stiches is recorded"',
            "LINE: unknown field 'stiches'; did you mean 'stitches'?",
            id="risk_that_applies_to_an_unknown_field",
        ),
        pytest.param(
            CHECKS,
            'look_at = ["t.rim_mm", "t.length_mm"]',
            'look_at = [\n  "t.rim_mm",\n  "t.lenght_mm",\n]',
            '"t.lenght_mm"',
            "LINE: unknown field 't.lenght_mm'; did you mean 't.length_mm'?",
            id="look_at_an_unknown_column",
        ),
        pytest.param(
            CHECKS,
            'look_at = ["stitches"]',
            "look_at = []",
            "look_at = []",
            "LINE: check.look_at: is empty; fill it in",
            id="look_at_nothing",
        ),
        pytest.param(
            CHECKS,
            "{t.rim_mm}",
            "{t.rim}",
            "{t.rim}",
            "LINE: unknown field 't.rim'; did you mean 't.rim_mm'?",
            id="say_an_unknown_column",
        ),
        pytest.param(
            CHECKS,
            'settle = "Correct one of them."',
            'settle = "Correct {t.rim_mm."',
            "{t.rim_mm.",
            "LINE: a brace stands alone in the message; write the path as {patient.name}",
            id="brace_never_closed",
        ),
        pytest.param(
            CHECKS,
            'settle = "Correct one of them."',
            'settle = "At most {limit.most_stitchs}."',
            "{limit.most_stitchs}",
            "LINE: unknown limit 'limit.most_stitchs'; did you mean 'limit.most_stitches'?",
            id="settle_with_an_unknown_limit",
        ),
        pytest.param(
            CHECKS,
            'each = "t in tears"',
            'each = "t in tear"',
            'each = "t in tear"',
            "LINE: 'tear' is no table; did you mean 'tears'?",
            id="check_for_each_row_of_no_table",
        ),
        pytest.param(
            CHECKS,
            'each = "t in tears"',
            'each = "tears"',
            'each = "tears"',
            "LINE: each 'tears' is not written as asked; write it as 's in stitches'",
            id="check_for_each_not_written_as_asked",
        ),
        pytest.param(
            CHECKS,
            'level = "unusual"',
            'level = "strange"',
            'level = "strange"',
            "LINE: unknown level 'strange'; use one of 'adverse', 'contradiction', 'due', 'gap', "
            "'unusual'",
            id="unknown_level",
        ),
        pytest.param(
            CHECKS,
            'id = "many_stitches"',
            'id = "long"',
            'id = "long"',
            "LINE: the check 'long' is there twice; rename one of them",
            id="check_twice",
        ),
    ],
)
def test_a_mistake_is_named_with_its_line_and_what_helps(
    said: Said, file: str, old: str, new: str, at: str, message: str
) -> None:
    assert said(file, old, new, at) == [message]


def test_fields_that_depend_on_one_another_are_named_in_their_circle(said: Said) -> None:
    found = said(
        COMMON,
        'path = "remarks"\nlabel = "Remarks"\nkind = "prose"',
        'path = "remarks"\nlabel = "Remarks"\nkind = "prose"\nshown_when = "feeling is recorded"',
        'path = "remarks"',
    )
    assert found == []
    path = 'path = "feeling"\nlabel = "Feeling"'
    (message,) = said(
        COMMON, path, path + '\nshown_when = "remarks is recorded"', 'path = "feeling"'
    )
    assert message.endswith("; take one of the conditions away")
    assert "depend on one another in a circle: " in message
    assert {"feeling", "remarks"} <= set(message.split("circle: ")[1].split(";")[0].split(" -> "))
    assert message.startswith("LINE: ") or f"{COMMON}:" in message


def test_a_drawing_names_the_fields_and_columns_that_it_lacks(
    said: Said, change: Callable[[str, str, str], None], line: Callable[[str, str], int]
) -> None:
    figure = (
        '[[figure]]\nname = "map"\nkind = "{kind}"\ncaption = "Map"\n[figure.uses]\n'
        'side = "{side}"\ntears = "tears"\nstitches = "stitches"\nresections = "stitches"\n'
        'gap = "limit.{gap}"\n\n[[page]]\nid = "tears"'
    )
    start = '[[page]]\nid = "tears"'
    first = figure.format(kind="meniscal_mop", side="side", gap="most_stitches")
    (unknown,) = said(FORM, start, first, "[[figure]]")
    assert unknown == ("LINE: unknown kind of figure 'meniscal_mop'; did you mean 'meniscal_map'?")
    found = said(
        FORM, first, figure.format(kind="meniscal_map", side="syde", gap="stich_gap"), "[[figure]]"
    )
    assert "LINE: unknown field 'syde'; did you mean 'side'?" in found
    assert any(
        text.startswith("LINE: the figure 'map' needs a column 'tears.from_mm'") for text in found
    )
    assert any(text.startswith("LINE: unknown limit 'limit.stich_gap'") for text in found)
    # The side and the limit; from, to, displaced of tears; technique, from, to of stitches;
    # segment, length, width and rim left of resections.
    assert len(found) == 12


def test_all_mistakes_of_a_stage_are_told_at_once(
    change: Callable[[str, str, str], None], problems: Callable[[], list[str]]
) -> None:
    change(FORM, "tear.pattern is recorded", "tear.patern is recorded")
    change(CHECKS, "t.rim_mm > t.length_mm", "t.rim_mm > t.lenght_mm")
    change(RISKS, "stitches is recorded", "stiches is recorded")
    change("templates/common/note.md", "{{ remarks }}", "{{ remark }}")
    change("templates/mini_repair/note.md", "{{ tear.zone }}", "{{ tear.zon }}")
    found = problems()
    assert [text.split(":")[0] for text in found] == [
        CHECKS,
        FORM,
        RISKS,
        "templates/common/note.md",
        "templates/mini_repair/note.md",
    ]


def test_a_missing_file_is_named(mini_folder: Path, problems: Callable[[], list[str]]) -> None:
    (mini_folder / "templates/common/risk_sheet.md").unlink()
    assert problems() == ["templates/common/risk_sheet.md:1: the file is missing; add it"]


def test_an_edition_past_its_review_is_a_warning_and_no_mistake(mini_folder: Path) -> None:
    from datetime import date

    found = lint_folder(mini_folder, date(2028, 1, 1))
    assert found
    assert all(problem.is_warning for problem in found)
    assert str(found[0]) == (
        "forms/common/case.toml:2: warning: edition 2026.1 was to be reviewed by 2027-11-01; "
        "review it and set a new date"
    )
    assert lint_folder(mini_folder, date(2027, 11, 1)) == ()


def test_two_procedures_alone_and_together_have_no_problem(mini_folder: Path) -> None:
    assert lint_folder(mini_folder) == ()


def test_two_plans_need_to_know_which_answer_is_stricter(
    mini_folder: Path, problems: Said, line: Callable[[str, str], int]
) -> None:
    path = mini_folder / PLAN
    text = path.read_text()
    path.write_text(text + text.replace('"p1"', '"p2"'))
    assert problems() == [
        f"{COMMON}:{line(COMMON, f'path = {field}')}: several plans fill {said}, "
        f"which of its answers is stricter isn't said; add 'stricter = ...', {rules}"
        for field, said, rules in (
            ('"plan.weeks"', "'plan.weeks'", "'less' or 'more'"),
            ('"plan.brace"', "'plan.brace'", "'first' or 'last'"),
        )
    ]


@pytest.mark.parametrize(
    ("first", "second", "message"),
    [
        ("ligament", "ligament", "the word 'ligament' is there twice; keep one"),
        ("ligament", "Ligament", "the word 'Ligament' is there twice, as 'ligament'; keep one"),
        ("ligament", "ligaments", "the word 'ligaments' is there twice, as 'ligament'; keep one"),
        ("ligament", "ligature", ""),
    ],
)
def test_a_word_of_the_glossary_is_one_word_in_any_case_and_number(
    mini_folder: Path, first: str, second: str, message: str
) -> None:
    path = mini_folder / "forms/mini_repair/glossary.toml"
    terms = [f'[[term]]\nword = "{word}"\nplain = "a band"\n' for word in (first, second)]
    path.write_text("\n".join(terms), encoding="utf-8")
    found = [str(problem) for problem in lint_folder(mini_folder)]
    assert found == ([f"forms/mini_repair/glossary.toml:6: {message}"] if message else [])
