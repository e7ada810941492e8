"""What a patient was told of the plan, and what has changed since a sheet was given."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date

from opnote.pack.pack import Pack
from opnote.pack.value_json import value_to_json
from opnote.pack.view import View
from opnote.record import Edit, Given, Told, give_document

SHEET = "risk_sheet"
NOTHING = "not recorded"


@dataclass(frozen=True, slots=True)
class Change:
    """Something that a patient was told otherwise: its label, the words then, the words now."""

    path: str
    label: str
    before: str
    now: str


def told(pack: Pack, view: View) -> dict[str, Told]:
    """What a patient is told of the plan, by path, as far as it is recorded."""
    return {
        field.path: Told(json.dumps(value_to_json(view.values[field.path])), view.said(field.path))
        for field in pack.form.fields
        if field.told and field.path in view.values
    }


def give_sheet(pack: Pack, view: View, on: date) -> Edit:
    """Record that the patient was given the risk sheet as it now stands."""
    edition = "" if pack.figures_of is None else pack.figures_of.edition
    return give_document(SHEET, Given(on, edition, told(pack, view)), "giving the risk sheet")


def last_given(view: View) -> Given | None:
    """The last time that the patient was given the risk sheet; None if never."""
    times = view.record.given.get(SHEET, ())
    return times[-1] if times else None


def changes_since_given(pack: Pack, view: View) -> tuple[Change, ...]:
    """What the patient was told otherwise when the sheet was last given; nothing if none was.

    Answers are compared, not their words: a department may say the same in other words.
    """
    given = last_given(view)
    if given is None:
        return ()
    now = told(pack, view)
    labels = {field.path: field.label for field in pack.form.fields if field.told}
    # What the form no longer asks was told all the same.
    paths = [*labels, *(path for path in given.said if path not in labels)]
    return tuple(
        Change(
            path,
            labels.get(path, path),
            before.words if (before := given.said.get(path)) is not None else NOTHING,
            after.words if (after := now.get(path)) is not None else NOTHING,
        )
        for path in paths
        if _value(given.said.get(path)) != _value(now.get(path))
    )


def _value(answer: Told | None) -> str | None:
    return None if answer is None else answer.value
