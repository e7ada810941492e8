"""Answering what is left of a page with "nothing to note", once it was looked at."""

from __future__ import annotations

from collections.abc import Iterable

from opnote.pack.pack import Pack
from opnote.pack.view import View
from opnote.record import Edit, Value, set_values


def normal_answers(pack: Pack, view: View, paths: Iterable[str]) -> dict[str, Value]:
    """The normal answers of those fields that must be answered, that have one, and are empty.

    What may be left out is not said to have been looked at by an answer to all of a page.
    """
    found: dict[str, Value] = {}
    for path in paths:
        field = pack.field_at(path)
        if field is None or not field.normal or not view.is_required(path):
            continue
        if path not in view.record.values and path not in view.record.unanswered:
            found[path] = field.normal
    return found


def rest_is_normal(pack: Pack, view: View, paths: Iterable[str]) -> Edit:
    """A person states that what is left of these fields is normal; one step, as if typed."""
    answers = normal_answers(pack, view, paths)
    return set_values(answers, f"the rest is normal ({len(answers)})")
