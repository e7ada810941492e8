"""What the author of a wording reads for each kind of mistake: exact line, cause, remedy."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from opnote.pack.loader import load_pack

NOTE = "templates/mini_repair/note.md"
SKELETON = "templates/common/note.md"
PHRASES = "templates/common/phrases.md"
OLD = "{{ stitches }}.\n"

Said = Callable[..., list[str]]

ROW = "a row of 'tears'"
NOT_HERE = "is not part of the language of wordings; see forms/README.md, section Wordings"


@pytest.mark.parametrize(
    ("wording", "message"),
    [
        pytest.param("{{ sides }}", "unknown field 'sides'; did you mean 'side'?", id="field"),
        pytest.param(
            "{% for tear in tears %}{{ tear.lenght_mm }}{% endfor %}",
            "unknown field 'tear.lenght_mm'; did you mean 'tear.length_mm'?",
            id="column",
        ),
        pytest.param(
            "{% for tear in tear %}x{% endfor %}",
            "unknown field 'tear'; did you mean 'tears'?",
            id="table",
        ),
        pytest.param(
            "{% for tear in side %}x{% endfor %}",
            "the choice 'side' has no rows to walk; walk a table of the form",
            id="rows_of_no_table",
        ),
        pytest.param(
            "{{ limit.long_minn }}",
            "unknown limit 'limit.long_minn'; did you mean 'limit.long_min'?",
            id="limit",
        ),
        pytest.param(
            "{{ side | uper }}", "unknown filter 'uper'; did you mean 'upper'?", id="filter"
        ),
        pytest.param(
            "{{ side | number }}",
            "the filter 'number' can't be used on the choice 'side'",
            id="filter_of_the_wrong_kind",
        ),
        pytest.param(
            "{{ stitch_count | counted('stitch') }}",
            "the filter 'counted' takes 2 words, not 1",
            id="words_of_a_filter",
        ),
        pytest.param(
            "{{ stitch_count | counted(side, 'x') }}",
            "the filter 'counted' takes words in quotes",
            id="words_of_a_filter_without_quotes",
        ),
        pytest.param(
            "{% if side is defined %}x{% endif %}",
            "unknown test 'is defined'; use one of 'drawn', 'empty', 'recorded', 'scanned'",
            id="test",
        ),
        pytest.param(
            "{% if side is empty %}x{% endif %}",
            "the choice 'side' is never empty; ask 'is recorded'",
            id="empty_of_a_choice",
        ),
        pytest.param(
            "{{ tolled(side, 'x') }}", "unknown phrase 'tolled'; did you mean 'told'?", id="phrase"
        ),
        pytest.param(
            "{{ told(side) }}",
            "the phrase 'told' takes 2 values, not 1; write told(value, label)",
            id="values_of_a_phrase",
        ),
        pytest.param(
            "{{ told(side, 'x') | upper }}",
            "the filter 'upper' takes the value of a field",
            id="filter_of_a_phrase",
        ),
        pytest.param(
            "{% if told(side, 'x') %}x{% endif %}",
            "a phrase stands alone in {{ }}; take what is around it away",
            id="phrase_as_a_condition",
        ),
        pytest.param("![](figure:mapp)", "unknown figure 'mapp'", id="figure"),
        pytest.param(
            "{{ side ~ remarks }}",
            "'~' would lose the fields of its values; write them one after the other",
            id="tilde",
        ),
        pytest.param(
            "{{ '%s' % side }}",
            "a wording does no arithmetic; declare a computed field in the form",
            id="percent",
        ),
        pytest.param(
            "{{ stitch_count + stitch_count }}",
            "a wording does no arithmetic; declare a computed field in the form",
            id="plus",
        ),
        pytest.param("{% set x = side %}", f"'set' {NOT_HERE}", id="set"),
        pytest.param(
            "{% call told(side, 'x') %}y{% endcall %}", f"'call' {NOT_HERE}", id="call_block"
        ),
        pytest.param("{% include 'x.md' %}", f"'include' {NOT_HERE}", id="include"),
        pytest.param("{% import 'x.md' as x %}", f"'import' {NOT_HERE}", id="import"),
        pytest.param("{% from 'x.md' import y %}", f"'import' {NOT_HERE}", id="from_import"),
        pytest.param("{% block x %}y{% endblock %}", f"'block' {NOT_HERE}", id="block"),
        pytest.param(
            "{{ tears[0] }}",
            "a wording has no [ ]; name the field, or walk the table",
            id="subscript",
        ),
        pytest.param(
            "{{ side.__class__.__mro__ }}", "unknown field 'side.__class__.__mro__'", id="dunder"
        ),
        pytest.param(
            "{% for tear in tears %}{{ tear.table }}{% endfor %}",
            "unknown field 'tear.table'; did you mean 'tear.note'?",
            id="inside_of_a_row",
        ),
        pytest.param(
            "{{ ''.__class__ }}",
            "only the name of a field can stand before a dot",
            id="dunder_of_text",
        ),
        pytest.param(
            "{{ ''['__class__'] }}",
            "a wording has no [ ]; name the field, or walk the table",
            id="dunder_by_subscript",
        ),
        pytest.param(
            "{{ side | attr('__class__') }}",
            "unknown filter 'attr'; use one of 'any_of', 'any_of_but', 'article', 'capital', "
            "'counted', 'number', 'plural_of', 'upper', 'weekday', 'words'",
            id="dunder_by_filter",
        ),
        pytest.param(
            "{{ namespace() }}", "unknown phrase 'namespace'; use one of 'told'", id="namespace"
        ),
        pytest.param(
            "{{ told.__globals__ }}", "unknown field 'told.__globals__'", id="inside_of_a_phrase"
        ),
        pytest.param(
            "{{ side.upper() }}",
            "only phrases can be called; see forms/README.md, section Wordings",
            id="method",
        ),
        pytest.param(
            "{{ reader_.view }}",
            "unknown field 'reader_.view'",
            id="the_compiled_wordings_own_name",
        ),
        pytest.param(
            "{% for x in range(999999999) %}y{% endfor %}",
            "unknown phrase 'range'; use one of 'told'",
            id="endless_loop",
        ),
        pytest.param(
            "At least 3 weeks.",
            "the number '3' stands in the wording; take it from a field, a limit or the risk data",
            id="digit",
        ),
        pytest.param(
            "{{ 2.5 }} mm.",
            "the number '2.5' stands in the wording; "
            "take it from a field, a limit or the risk data",
            id="digit_as_a_value",
        ),
        pytest.param(
            "{{ 'left' if cuff.used else '3 weeks' }}",
            "the number '3 weeks' stands in the wording; "
            "take it from a field, a limit or the risk data",
            id="digit_in_an_answer",
        ),
        pytest.param(
            "{{ stitch_count | counted('1 stitch', 'stitches') }}",
            "the number '1 stitch' stands in the wording; "
            "take it from a field, a limit or the risk data",
            id="digit_in_a_filter",
        ),
        pytest.param(
            "The \U000f0000 knee.",
            "a private-use character stands in the wording; delete it",
            id="private_use",
        ),
        pytest.param(
            "{% if side == 'lefft' %}x{% endif %}",
            "'side' has no option 'lefft'; did you mean 'left'?",
            id="option",
        ),
        pytest.param(
            "{% if 'breakages' in complications %}x{% endif %}",
            "'complications' has no option 'breakages'; did you mean 'breakage'?",
            id="option_of_choices",
        ),
        pytest.param(
            "{% if side in ('left', 'rigth') %}x{% endif %}",
            "'side' has no option 'rigth'; did you mean 'right'?",
            id="option_among_several",
        ),
        pytest.param(
            "{% if operation.minutes > cuff.pressure %}x{% endif %}",
            "a number of min is compared with a number of mmHg; convert one of them first",
            id="units",
        ),
        pytest.param(
            "{% if remarks %}x{% endif %}",
            "a text is no condition; compare it, or ask 'is recorded'",
            id="text_as_a_condition",
        ),
        pytest.param(
            "{{ side == 'left' }}",
            "a condition can't be printed; write {% if ... %} words {% endif %}",
            id="condition_printed",
        ),
        pytest.param(
            "{% for tear in tears %}{{ loop.first }}{% endfor %}",
            "a condition can't be printed; write {% if ... %} words {% endif %}",
            id="first_printed",
        ),
        pytest.param(
            "{% for tear in tears %}{{ loop.length }}{% endfor %}",
            "unknown part of the loop 'loop.length'; use one of 'first', 'index', 'last'",
            id="part_of_the_loop",
        ),
        pytest.param(
            "{% for tear in tears %}x{% else %}y{% endfor %}",
            "a loop has no 'else' and doesn't call itself; ask {% if rows is empty %} before it",
            id="for_else",
        ),
        pytest.param(
            "{% for side in tears %}x{% endfor %}",
            "the row name 'side' is taken; call the row otherwise",
            id="row_name_hides_a_field",
        ),
        pytest.param(
            "{% for told in tears %}x{% endfor %}",
            "the row name 'told' is taken; call the row otherwise",
            id="row_name_hides_a_phrase",
        ),
        pytest.param(
            "{% for a, b in tears %}x{% endfor %}",
            "a loop takes one row at a time; write {% for row in rows %}",
            id="two_names_in_a_loop",
        ),
        pytest.param(
            "{% macro here() %}x{% endmacro %}",
            "the phrase 'here' is declared in a document; move it to phrases.md",
            id="phrase_in_a_document",
        ),
        pytest.param(
            "{% filter indent %}x{% endfilter %}",
            "unknown block filter 'indent'; use one of 'and_list', 'sentence'",
            id="block_filter",
        ),
        pytest.param(
            "{% filter indent | and_list %}x{% endfilter %}",
            "a block has one filter; take the others away",
            id="two_block_filters",
        ),
        pytest.param(
            "::: caushion", "unknown style 'caushion'; did you mean 'caution'?", id="style"
        ),
        pytest.param(
            "{{ side | }}",
            "wording: expected token 'name', got 'end of print statement'",
            id="unfinished",
        ),
        pytest.param(
            "{% frobnicate %}",
            "wording: encountered unknown tag 'frobnicate'",
            id="unknown_tag",
        ),
        pytest.param(
            "{% if " + "not " * 80 + "cuff.used %}x{% endif %}",
            "wording: it is nested too deeply; make phrases or sections of its parts",
            id="too_deep",
        ),
    ],
)
def test_a_mistake_in_a_wording_is_named_on_its_line(
    said: Said, wording: str, message: str
) -> None:
    found = said(NOTE, OLD, f"{OLD}\nFirst line.\n{wording}\n", wording)
    assert len(found) == 1
    assert found[0].startswith(f"LINE: {message}")
    assert found[0] == f"LINE: {message}" or "unknown tag" in message


def test_a_mistake_in_a_phrase_names_the_line_that_uses_it(said: Said) -> None:
    phrase = "{% macro rim(tear) %}\n{{ tear.rim }}\n{% endmacro %}\n"
    first = "{% macro told"
    said(PHRASES, first, phrase + first)
    use = "{% for tear in tears %}{{ rim(tear) }}{% endfor %}"
    (message,) = [text for text in said(NOTE, OLD, f"{OLD}{use}\n", use) if "tear.rim" in text]
    assert message.startswith(
        f"{PHRASES}:2: unknown field 'tear.rim' (in the phrase used at {NOTE}:"
    )
    assert message.endswith("; did you mean 'tear.rim_mm'?")


@pytest.mark.parametrize(
    ("phrase", "message"),
    [
        ("{% macro a() %}{{ a() }}{% endmacro %}", "the phrase 'a' uses itself, without end"),
        ("{% macro a(x='y') %}z{% endmacro %}", "the phrase 'a' gives a value a default"),
        ("{% macro a(loop) %}z{% endmacro %}", "the phrase 'a' can't call a value 'loop'"),
        ("{% macro a(reader_) %}z{% endmacro %}", "the phrase 'a' can't call a value 'reader_'"),
        ("{% macro a() %}at 3 weeks{% endmacro %}", "the number '3' stands in the wording"),
        ("{% macro told() %}x{% endmacro %}", "the phrase 'told' is there twice"),
        ("Words.", "only phrases may stand here"),
    ],
)
def test_a_phrase_that_can_never_be_used_well_is_named(
    said: Said, change: Callable[[str, str, str], None], phrase: str, message: str
) -> None:
    change(NOTE, OLD, f"{OLD}{{{{ a() }}}}\n" if "{{ a() }}" in phrase else OLD)
    first = "{% macro told(value"
    new = f"{phrase}\n{first}"
    found = said(PHRASES, first, new)
    assert any(message in text and PHRASES in text.replace("LINE", PHRASES) for text in found)


def test_a_phrase_that_is_not_used_by_a_document_does_not_stop_it(
    change: Callable[[str, str, str], None], problems: Callable[[], list[str]]
) -> None:
    change(PHRASES, "{% macro told", "{% macro a(x) %}{% set y = x %}{% endmacro %}\n{% macro told")
    assert problems() == []


def test_text_outside_a_section_is_named(said: Said) -> None:
    start = "{% section findings %}"
    assert said(NOTE, start, f"Lost words.\n\n{start}", "Lost words.") == [
        "LINE: this text stands outside a section; "
        "put it between {% section id %} and {% endsection %}"
    ]


def test_a_section_that_the_skeleton_lacks_is_named(said: Said) -> None:
    (message,) = [
        text
        for text in said(NOTE, "{% section findings %}", "{% section finding %}")
        if "LINE" in text
    ]
    assert message == (
        "LINE: the skeleton has no section 'finding'; "
        "add {% sections finding %} to templates/common/note.md, or rename the section"
    )


def test_a_field_that_no_document_says_is_named(
    change: Callable[[str, str, str], None],
    problems: Callable[[], list[str]],
    line: Callable[[str, str], int],
) -> None:
    change(SKELETON, "Feeling was {{ feeling }}.\n", "")
    number = line("forms/common/case.toml", 'path = "feeling"')
    assert problems() == [
        f"forms/common/case.toml:{number}: no document says 'feeling'; "
        'print it in a wording, or give the field a reason: silent = "..."'
    ]


def test_a_reason_for_silence_is_enough(
    change: Callable[[str, str, str], None], problems: Callable[[], list[str]]
) -> None:
    change(SKELETON, "Feeling was {{ feeling }}.\n", "")
    change(
        "forms/common/case.toml",
        'path = "feeling"\n',
        'path = "feeling"\nsilent = "for the audit only"\n',
    )
    assert problems() == []


def test_deciding_a_branch_that_prints_is_saying(
    change: Callable[[str, str, str], None], problems: Callable[[], list[str]]
) -> None:
    change(
        SKELETON,
        "Feeling was {{ feeling }}.\n",
        "{% if feeling == 'normal' %}\nAll was felt.\n{% endif %}\n",
    )
    assert problems() == []


def test_a_branch_that_prints_nothing_says_nothing(
    change: Callable[[str, str, str], None], problems: Callable[[], list[str]]
) -> None:
    change(
        SKELETON,
        "Feeling was {{ feeling }}.\n",
        "{% if feeling == 'normal' %}\n{% endif %}\n",
    )
    assert [text.split(": ")[1] for text in problems()] == [
        "no document says 'feeling'; print it in a wording, or give the field a reason"
    ]


def test_all_mistakes_of_a_wording_are_told_at_once(said: Said) -> None:
    wrong = "{{ sides }}\n{{ side | uper }}\n{% set x = side %}\nAt 3 weeks.\n"
    assert len(said(NOTE, OLD, OLD + wrong, "{{ sides }}")) == 4


def test_two_sentences_on_a_line_are_warned_of(mini_folder: Path) -> None:
    path = mini_folder / NOTE
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace(OLD, "Stitched with {{ stitches }}. Nothing else was done.\n" + OLD),
        encoding="utf-8",
    )
    found = [str(each) for each in load_pack(["mini_repair"], [mini_folder]).warnings]
    line = next(n for n, each in enumerate(path.read_text().split("\n"), 1) if "Nothing" in each)
    assert found == [
        f"{NOTE}:{line}: warning: two sentences stand on one line, and go together when a value "
        "is missing; give each a line of its own"
    ]


@pytest.mark.parametrize(
    "line",
    [
        "| No cuts. It makes the leg strong. | {{ stitches }} |",
        "Stitched with {{ stitches }}, e.g. as before.",
        "{% if side is recorded %}Stitched. {% endif %}Nothing else.",
    ],
)
def test_a_cell_or_a_choice_may_hold_several(mini_folder: Path, line: str) -> None:
    path = mini_folder / NOTE
    path.write_text(path.read_text().replace(OLD, f"{line}\n\n{OLD}"), encoding="utf-8")
    assert load_pack(["mini_repair"], [mini_folder]).warnings == ()
