"""The values of one case as an immutable snapshot, their origin, and the case file."""

from opnote.record.edit import (
    Edit,
    add_row,
    answer_no_rows,
    book_due,
    clear_value,
    confirm,
    forget_leftover,
    give_document,
    give_reason,
    leave_unanswered,
    move_row,
    remove_row,
    set_value,
    set_value_afresh,
    set_values,
)
from opnote.record.record import Due, Given, Leftover, Origin, Record, Told
from opnote.record.signature import Addendum, BegunAddendum, Signature
from opnote.record.value import NOT_EXAMINED, UNSET, Quantity, Unset, Value

__all__ = [
    "NOT_EXAMINED",
    "UNSET",
    "Addendum",
    "BegunAddendum",
    "Due",
    "Edit",
    "Given",
    "Leftover",
    "Origin",
    "Quantity",
    "Record",
    "Signature",
    "Told",
    "Unset",
    "Value",
    "add_row",
    "answer_no_rows",
    "book_due",
    "clear_value",
    "confirm",
    "forget_leftover",
    "give_document",
    "give_reason",
    "leave_unanswered",
    "move_row",
    "remove_row",
    "set_value",
    "set_value_afresh",
    "set_values",
]
