"""A threshold can't hide in a condition of a wording."""

from __future__ import annotations

from collections.abc import Callable

NOTE = "templates/mini_repair/note.md"


def test_number_in_a_condition_is_refused_and_the_remedy_named(
    said: Callable[..., list[str]],
) -> None:
    line = "{% for each in tears if each.rim_mm > 3 %}\nWide.\n{% endfor %}\n"
    old = "{% section findings %}\n"
    assert said(NOTE, old, old + line, at="each.rim_mm > 3") == [
        "LINE: the number '3' stands in the wording; take it from a field, a limit or the risk data"
    ]


def test_none_and_one_are_grammar(said: Callable[..., list[str]]) -> None:
    line = "{% for each in tears if each.rim_mm > 0 %}\nSome.\n{% endfor %}\n"
    old = "{% section findings %}\n"
    assert said(NOTE, old, old + line) == []
