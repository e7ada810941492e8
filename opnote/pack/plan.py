"""Filling a case from recovery plans: from one, or from the stricter answers of two."""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

from opnote.pack.form import Field
from opnote.pack.pack import Pack, Plan
from opnote.reckon.recovery import Cell, stricter
from opnote.record import Edit, Quantity, Value, set_values
from opnote.record.record import Origin, Record


def first_page_of_plans(pack: Pack) -> str:
    """The first page with a field that a plan fills; "" when there are no plans."""
    filled = plan_paths(pack)
    for page in pack.form.pages:
        if any(field.path in filled for field in page.fields):
            return page.id
    return ""


def plan_paths(pack: Pack) -> frozenset[str]:
    """Every path that some plan fills."""
    return frozenset(path for plan in pack.plans for path in plan.values)


def start_from(plan: Plan, pack: Pack) -> Edit:
    """Fill what is empty, or what an earlier plan filled and nobody confirmed; one step."""
    label = f"starting from {plan.id.upper()}"

    def apply(record: Record) -> Record:
        emptied, _ = _without_unconfirmed(record, pack)
        return fill_empty(emptied, plan.values, pack, label)

    return Edit(label, tuple(plan_paths(pack)), apply)


def keep_to(plan: Plan, pack: Pack) -> Edit:
    """Fill what is empty, and make stricter what a plan filled and nobody confirmed; one step.

    What was typed or confirmed stays, though a plan is stricter: it is somebody's decision.
    """
    label = f"keeping to {plan.id.upper()} as well"

    def apply(record: Record) -> Record:
        emptied, standing = _without_unconfirmed(record, pack)
        return fill_empty(emptied, stricter_values(standing, plan.values, pack), pack, label)

    return Edit(label, tuple(plan_paths(pack)), apply)


def stricter_values(
    one: Mapping[str, Value], other: Mapping[str, Value], pack: Pack
) -> dict[str, Value]:
    """Give the stricter answer of two plans to each of their questions; the only one where
    one plan says nothing, and that of the first where the form names no stricter answer."""
    found = {**other, **one}
    for path in one.keys() & other.keys():
        field = pack.field_at(path)
        if field is not None and field.stricter is not None:
            found[path] = _stricter_value(field, one[path], other[path])
            if found[path] == ():
                # The plans share no choice: the empty question asks for one.
                del found[path]
    return found


def _stricter_value(field: Field, one: Value, other: Value) -> Value:
    assert field.stricter is not None
    scale = [option.value for option in field.options]
    if isinstance(one, Quantity) and isinstance(other, Quantity):
        amount = stricter(field.stricter, one.amount, other.amount)
        return one if amount == one.amount else other
    return cast(Value, stricter(field.stricter, cast(Cell, one), cast(Cell, other), scale))


def _without_unconfirmed(record: Record, pack: Pack) -> tuple[Record, dict[str, Value]]:
    """The record without what plans filled and nobody confirmed; and that."""
    standing = {
        path: record.values[path]
        for path in plan_paths(pack)
        if path in record.values
        and record.origin(path) is Origin.PRESET
        and record.is_unconfirmed(path)
    }
    emptied = record.with_changes(
        values={path: value for path, value in record.values.items() if path not in standing},
        origins={path: origin for path, origin in record.origins.items() if path not in standing},
    )
    return emptied, standing


def fill_empty(record: Record, values: Mapping[str, Value], pack: Pack, label: str) -> Record:
    """The record with those values that are for empty fields which exist once they are filled.

    They are presets, to be confirmed; what is answered "not recorded" is not empty. Paths of
    columns are those of a row.
    """
    wanted = {
        path: value
        for path, value in values.items()
        if path not in record.values
        and path not in record.unanswered
        and (field := pack.field_at(path)) is not None
        and not field.never_preset
    }
    hidden = pack.view(set_values(wanted, label, Origin.PRESET).apply(record)).hidden
    shown = {path: value for path, value in wanted.items() if path not in hidden}
    return set_values(shown, label, Origin.PRESET).apply(record)
