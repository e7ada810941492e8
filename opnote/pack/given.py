"""What a patient was told of the plan, and what has changed since a sheet was given."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from opnote.pack.pack import Pack
from opnote.pack.view import View
from opnote.record import Edit, Given, give_document

SHEET = "risk_sheet"
NOTHING = "not recorded"


@dataclass(frozen=True, slots=True)
class Change:
    """Something that a patient was told otherwise: its label, the words then, the words now."""

    path: str
    label: str
    before: str
    now: str


def told_words(pack: Pack, view: View) -> dict[str, str]:
    """The words of what a patient is told of the plan, by path, as far as it is recorded."""
    return {
        field.path: view.said(field.path)
        for field in pack.form.fields
        if field.told and view.is_recorded(field.path)
    }


def give_sheet(pack: Pack, view: View, on: date) -> Edit:
    """Record that the patient was given the risk sheet as it now stands."""
    edition = "" if pack.figures_of is None else pack.figures_of.edition
    return give_document(
        SHEET, Given(on, edition, told_words(pack, view)), "Risk sheet given to the patient"
    )


def changes_since_given(pack: Pack, view: View) -> tuple[Change, ...]:
    """What the patient was told otherwise when the sheet was given; nothing if none was."""
    given = view.record.given.get(SHEET)
    if given is None:
        return ()
    now = told_words(pack, view)
    return tuple(_changes(pack, given.said, now))


def _changes(pack: Pack, before: Mapping[str, str], now: Mapping[str, str]) -> list[Change]:
    return [
        Change(
            field.path,
            field.label,
            before.get(field.path, NOTHING),
            now.get(field.path, NOTHING),
        )
        for field in pack.form.fields
        if field.told and before.get(field.path) != now.get(field.path)
    ]
