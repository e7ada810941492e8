"""Every change that a person can make to a record, as a value that can be applied and named.

An edit is a function from one snapshot to the next. `key` says what may be merged with it into
one step of undo (None: never); `paths` is what it touches.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from opnote.record.record import Due, Given, Origin, Record
from opnote.record.value import Value


@dataclass(frozen=True, slots=True)
class Edit:
    """One change: its name for "Undo ...", the paths it touches, and the change itself."""

    label: str
    paths: tuple[str, ...]
    apply: Callable[[Record], Record]
    key: str | None = None


def _without(mapping: Mapping[str, object], path: str) -> dict[str, object]:
    return {key: part for key, part in mapping.items() if not _is_at_or_under(key, path)}


def _is_at_or_under(path: str, ancestor: str) -> bool:
    return path == ancestor or path.startswith(ancestor + ".")


def _column_of(path: str) -> str:
    """The column that a path in a row belongs to: `stitches.r3.tear` is in `stitches.tear`."""
    table, _, rest = path.rpartition(".")
    return f"{table.rpartition('.')[0]}.{rest}"


def _values_set(record: Record, values: Mapping[str, Value], origin: Origin) -> Record:
    origins = {path: kept for path, kept in record.origins.items() if path not in values}
    if origin is not Origin.TYPED:
        origins.update(dict.fromkeys(values, origin))
    return record.with_changes(
        values={**record.values, **values},
        origins=origins,
        confirmed=record.confirmed - values.keys(),
        unanswered={p: why for p, why in record.unanswered.items() if p not in values},
    )


def set_value(path: str, value: Value, label: str, origin: Origin = Origin.TYPED) -> Edit:
    """Record one value; a reason for its absence, and an old confirmation, no longer hold."""
    return Edit(label, (path,), lambda r: _values_set(r, {path: value}, origin), key=path)


def set_values(
    values: Mapping[str, Value],
    label: str,
    origin: Origin = Origin.TYPED,
    key: str | None = None,
) -> Edit:
    """Record several values as one step; `key` lets a scanner's keystrokes be one step of undo."""
    kept = dict(values)
    return Edit(label, tuple(kept), lambda r: _values_set(r, kept, origin), key)


def set_value_afresh(path: str, value: Value, label: str, about: Iterable[str]) -> Edit:
    """Record one value; what a person has said about the one before, at `about`, goes.

    Never merged: each picture is one step of undo.
    """
    said = tuple(about)

    def apply(record: Record) -> Record:
        for each in said:
            record = clear_value(each, label).apply(record)
        return _values_set(record, {path: value}, Origin.TYPED)

    return Edit(label, (path, *said), apply)


def clear_value(path: str, label: str) -> Edit:
    """Take a value back: the field is unset again; a table, with its rows or its "none"."""

    def apply(record: Record) -> Record:
        return record.with_changes(
            values=_without(record.values, path),
            rows=_without(record.rows, path),
            origins=_without(record.origins, path),
            unanswered=_without(record.unanswered, path),
            confirmed=frozenset(p for p in record.confirmed if not _is_at_or_under(p, path)),
        )

    return Edit(label, (path,), apply, key=path)


def add_row(
    table: str,
    label: str,
    values: Mapping[str, Value] | None = None,
    at: int | None = None,
    origins: Mapping[str, Origin] | None = None,
) -> Edit:
    """Add a row to a table, at the end unless told.

    `values` maps column names to values; `origins` names those that were not typed.
    """
    given = dict(values or {})
    made = dict(origins or {})

    def apply(record: Record) -> Record:
        row = f"r{record.next_row}"
        rows = list(record.rows.get(table, ()))
        rows.insert(len(rows) if at is None else at, row)
        return record.with_changes(
            rows={**record.rows, table: tuple(rows)},
            values={**record.values, **{f"{table}.{row}.{c}": v for c, v in given.items()}},
            origins={**record.origins, **{f"{table}.{row}.{c}": o for c, o in made.items()}},
            unanswered={p: why for p, why in record.unanswered.items() if p != table},
            next_row=record.next_row + 1,
        )

    return Edit(label, (table,), apply)


def remove_row(table: str, row: str, label: str, references: Iterable[str] = ()) -> Edit:
    """Remove a row; a field that referred to it becomes unset, which is a gap, not a lie.

    `references` are the columns that may refer to the table, such as `stitches.tear`. Removing the
    last row leaves the table unset: "none" is an answer only a person gives.
    """
    prefix = f"{table}.{row}"
    referring = frozenset(references)

    def apply(record: Record) -> Record:
        if row not in record.rows.get(table, ()):
            return record
        left = tuple(other for other in record.rows.get(table, ()) if other != row)
        rows = {**record.rows, table: left} if left else _without(record.rows, table)
        kept = {
            path: value
            for path, value in _without(record.values, prefix).items()
            if not (value == row and _column_of(path) in referring)
        }
        return record.with_changes(
            rows=rows,
            values=kept,
            origins={p: o for p, o in record.origins.items() if p in kept},
            confirmed=record.confirmed & kept.keys(),
            unanswered=_without(record.unanswered, prefix),
        )

    return Edit(label, (table,), apply)


def move_row(table: str, row: str, to: int, label: str) -> Edit:
    """Put a row at another place in its table."""

    def apply(record: Record) -> Record:
        if row not in record.rows.get(table, ()):
            return record
        rows = [other for other in record.rows[table] if other != row]
        rows.insert(to, row)
        return record.with_changes(rows={**record.rows, table: tuple(rows)})

    return Edit(label, (table,), apply)


def answer_no_rows(table: str, label: str) -> Edit:
    """Answer "none" to a table that is still unset."""

    def apply(record: Record) -> Record:
        if record.rows.get(table):
            return record
        return record.with_changes(
            rows={**record.rows, table: ()},
            unanswered={p: why for p, why in record.unanswered.items() if p != table},
        )

    return Edit(label, (table,), apply)


def confirm(paths: Iterable[str], label: str) -> Edit:
    """A person has looked at these values and stands by them. Never merged with another step."""
    looked_at = frozenset(paths)
    return Edit(
        label,
        tuple(sorted(looked_at)),
        lambda r: r.with_changes(confirmed=r.confirmed | (looked_at & r.values.keys())),
    )


def leave_unanswered(path: str, because: str, label: str) -> Edit:
    """Answer "not recorded, because ..."; an empty reason takes the answer back."""

    def apply(record: Record) -> Record:
        unanswered = {p: why for p, why in record.unanswered.items() if p != path}
        if because.strip():
            unanswered[path] = because
        return record.with_changes(unanswered=unanswered)

    return Edit(label, (path,), apply, key=f"unanswered:{path}")


def _facts(record: Record, finding: str, fact: str) -> dict[str, str]:
    facts = {f: was for f, was in record.facts.items() if f != finding}
    if fact:
        facts[finding] = fact
    return facts


def give_reason(finding: str, reason: str, label: str, fact: str = "") -> Edit:
    """Explain an adverse or unusual finding; an empty reason takes the explanation back.

    `fact` is what is explained (`Finding.basis`): when it changes, the explanation no longer holds.
    """

    def apply(record: Record) -> Record:
        reasons = {f: why for f, why in record.reasons.items() if f != finding}
        if reason.strip():
            reasons[finding] = reason
        facts = _facts(record, finding, fact if finding in reasons else "")
        return record.with_changes(reasons=reasons, facts=facts)

    return Edit(label, (), apply, key=f"reason:{finding}")


def book_due(finding: str, due: Due | None, label: str, fact: str = "") -> Edit:
    """Book a check that can only be made after signing; None takes the booking back.

    `fact` is what the check is booked for, as in `give_reason`.
    """

    def apply(record: Record) -> Record:
        booked = {f: when for f, when in record.due.items() if f != finding}
        if due is not None:
            booked[finding] = due
        facts = _facts(record, finding, fact if finding in booked else "")
        return record.with_changes(due=booked, facts=facts)

    return Edit(label, (), apply, key=f"due:{finding}")


def give_document(kind: str, given: Given, label: str) -> Edit:
    """Record that a patient was given a document; all that were given stand in order of days."""

    def apply(record: Record) -> Record:
        before = record.given.get(kind, ())
        times = tuple(sorted((*before, given), key=lambda each: each.on))
        return record.with_changes(given={**record.given, kind: times})

    return Edit(label, (), apply)


def forget_leftover(path: str, label: str) -> Edit:
    """Let go of a value that the form has no place for, once a person has dealt with it."""
    return Edit(label, (path,), lambda r: r.with_changes(leftover=_without(r.leftover, path)))
