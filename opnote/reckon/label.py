"""What the barcode of an implant's label says: product, lot, serial number and dates.

Three issuers of device codes are known. GS1 and HIBC codes are taken apart; a tissue code (ISBT
128) is kept whole. Text that can be read in two ways is refused, never guessed.
"""

from __future__ import annotations

import calendar
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, Literal

from opnote.reckon.pattern import late

if TYPE_CHECKING:
    from biip.gs1_element_strings import GS1ElementString

Issuer = Literal["gs1", "hibc", "iccbba"]

SCAN_AGAIN = "Scan again, or type the lot and serial number."
"""What to do when a scan can't be trusted."""

_SEPARATOR = "\x1d"
_ESCAPED_SEPARATORS = ("<GS>", "{GS}", "^", "~")
_BLANKS = " \t\r\n"  # not str.strip(): it takes the separator for a blank

_GS1_PREFIXES = ("]d2", "]C1", "]e0", "]Q3")
_PRODUCT_PREFIX = "]E"
_PLAIN_PREFIX = late(r"\](?:C0|d1|Q1|A[0-7])")

_GS1_STARTS = tuple("0123456789({")
_BRACKETED = late(r"[({]([0-9]{2,4})[)}]([^(){}]+)")

_HIBC_VALUES = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%"
_HIBC_PRODUCT = late(r"[A-Z][A-Z0-9]{3}[A-Z0-9]{1,18}[0-9]")
_HIBC_EXTRA = late(r"(?P<day>1[46]D)(?P<digits>[0-9]{8})|S(?P<serial>.+)")
_HIBC_LOT = late(r"(?P<date>[0-9]{5})(?P<lot>.*)")
_HIBC_QUANTITY = late(r"8(?P<two>[0-9]{2})|9(?P<five>[0-9]{5})")
_HIBC_DATES: Mapping[str, tuple[re.Pattern[str], str]] = {
    "2": (late(r"2([0-9]{2})([0-9]{2})([0-9]{2})"), "mdy"),
    "3": (late(r"3([0-9]{2})([0-9]{2})([0-9]{2})"), "ymd"),
    "4": (late(r"4([0-9]{2})([0-9]{2})([0-9]{2})([0-9]{2})"), "ymdh"),
    "5": (late(r"5([0-9]{2})([0-9]{3})"), "yj"),
    "6": (late(r"6([0-9]{2})([0-9]{3})([0-9]{2})"), "yjh"),
    "0": (late(r"(0[0-9])([0-9]{2})"), "my"),
    "1": (late(r"(1[0-9])([0-9]{2})"), "my"),
}

_LEAST_HIDDEN = 3
"""Shortest lot or serial number that is looked for inside another. Units: characters."""


class LabelError(ValueError):
    """A scan that is no readable device label: `message` says what it is, `remedy` what to do."""

    def __init__(self, message: str, remedy: str = SCAN_AGAIN) -> None:
        """Take one sentence each."""
        super().__init__(f"{message} {remedy}")
        self.message = message
        self.remedy = remedy


@dataclass(frozen=True, slots=True)
class Label:
    """What one barcode holds; None is what it doesn't say.

    Shape: `raw` is the scan as it came. `device_identifier` is the fixed part of the device
    identifier: 14 digits of GS1, or labeller, product and unit of measure of HIBC. `count` is a
    number of pieces. `other` holds (identifier, value) of everything else that was read. `check`
    and `link` tie two HIBC codes of one label together: the `link` of the second is the `check`
    of the first. `remark` is a sentence for people.
    """

    issuer: Issuer
    raw: str
    device_identifier: str | None = None
    lot: str | None = None
    serial: str | None = None
    made: date | None = None
    expires: date | None = None
    count: int | None = None
    other: tuple[tuple[str, str], ...] = ()
    check: str | None = None
    link: str | None = None
    remark: str | None = None


def label_from(scan: str, on: date) -> Label:
    """Read the barcode of a device label as a scanner sends it, or as it is printed under it.

    GS1: printed text with brackets, round or curly, or a scan with group separators (character
    29, or `<GS>`, `{GS}`, `^`, `~` in its place); prefixes ]d2, ]C1, ]e0 and ]Q3 are taken off.
    The check digit of the product number must be right, and elements may come in any order. A
    lot or serial number is kept as it is, with capitals and leading zeros. Two-digit years are
    read by `on`, the day of the operation: 49 years back to 50 ahead; day 00 is the last of its
    month.

    Where a scan has no separator at all, a lot that could hold a product number, a date, or a lot,
    serial or part number of three characters or more is refused: it may have swallowed it. A
    count of pieces (30) is not looked for: too many plain lots hold that number.

    HIBC: first, second or both codes of a label, with a right check character; two-digit years
    are of this century, and a month without a day ends on its last.

    Raises: LabelError: anything else.
    Source: GS1 General Specifications and Barcode Syntax Dictionary; HIBC supplier labelling
    standard 2.x; ISBT 128 (recognised only); FDA, UDI formats by issuing agency, 1.3 (2017).

    >>> label = label_from("(01)00844588003288(17)141120(10)7654321D", date(2014, 3, 9))
    >>> label.device_identifier, label.lot, label.expires
    ('00844588003288', '7654321D', datetime.date(2014, 11, 20))
    """
    text = scan.strip(_BLANKS)
    if not text:
        raise LabelError("The scan is empty.")
    if not text.isascii() or any(ord(sign) < 32 and sign != _SEPARATOR for sign in text):
        raise LabelError(f"No barcode holds what was read: {_shown(text)}.")
    prefix, text = _without_prefix(text)
    if prefix.startswith(_PRODUCT_PREFIX):
        raise _only_a_product(text)
    is_gs1 = prefix in _GS1_PREFIXES
    if text.startswith("=") and not is_gs1:
        return _tissue_label(scan, text)
    if text.startswith(("+", "*+")) and not is_gs1:
        return replace(_hibc_label(text, _trailing_space(scan)), raw=scan)
    text = _with_separators(text)
    if is_gs1 or (not prefix and text[:1] in _GS1_STARTS):
        return replace(_gs1_label(text, on), raw=scan)
    raise LabelError(f"This is no label of a device: {_shown(text)}.")


def gs1_check_digit(digits: str) -> int:
    """Give the check digit that belongs behind the digits of a GS1 number.

    From the right the digits count 3, 1, 3, 1 and so on; the check digit fills the sum up to ten.

    Raises: ValueError: no digits. Source: GS1, how to calculate a check digit manually.

    >>> gs1_check_digit("629104150021")
    3
    """
    if not (digits.isascii() and digits.isdigit()):
        raise ValueError(f"not digits: {digits}")
    total = sum(int(digit) * (1 if i % 2 else 3) for i, digit in enumerate(reversed(digits)))
    return -total % 10


def hibc_check_character(text: str) -> str:
    """Give the check character that belongs behind a HIBC code, its "+" included.

    Raises: ValueError: a character that HIBC doesn't have.
    Source: HIBC supplier labelling standard, modulus 43.

    >>> hibc_check_character("+A99912345")
    '7'
    """
    unknown = sorted(set(text) - set(_HIBC_VALUES))
    if unknown:
        raise ValueError(f"no characters of HIBC: {' '.join(unknown)}")
    return _HIBC_VALUES[sum(map(_HIBC_VALUES.index, text)) % len(_HIBC_VALUES)]


def _shown(text: str) -> str:
    text = text.replace(_SEPARATOR, "<GS>")
    short = text if len(text) <= 60 else f"{text[:57]}..."
    return "".join(sign if sign.isprintable() else "?" for sign in short)


def _trailing_space(scan: str) -> str:
    """A space at the end may be the check character of a HIBC code, or of no meaning."""
    return " " if scan.rstrip("\t\r\n").endswith(" ") else ""


def _without_prefix(text: str) -> tuple[str, str]:
    if not text.startswith("]"):
        return "", text
    prefix, rest = text[:3], text[3:]
    is_known = (
        prefix in _GS1_PREFIXES
        or prefix.startswith(_PRODUCT_PREFIX)
        or _PLAIN_PREFIX.fullmatch(prefix)
    )
    if not is_known or not rest:
        raise LabelError(f"This is no label of a device: {_shown(text)}.")
    return prefix, rest


def _with_separators(text: str) -> str:
    """The text with each way to write a separator made one, and none before the first element."""
    for escaped in _ESCAPED_SEPARATORS:
        text = text.replace(escaped, _SEPARATOR)
    return text.lstrip(_SEPARATOR)


def _only_a_product(text: str) -> LabelError:
    return LabelError(
        f"This code holds only the product number {_shown(text)}, no lot.",
        "Scan the other code on the label, or type the lot and serial number.",
    )


def _is_product_number(text: str) -> bool:
    return (
        len(text) in (8, 12, 13, 14)
        and text.isascii()
        and text.isdigit()
        and gs1_check_digit(text[:-1]) == int(text[-1])
    )


def _tissue_label(scan: str, text: str) -> Label:
    return Label(
        "iccbba",
        scan,
        other=(("ISBT 128", text),),
        remark="A code of donated tissue (ISBT 128): kept whole, not taken apart.",
    )


def _gs1_label(text: str, on: date) -> Label:
    is_printed = text.startswith(("(", "{"))
    elements = _bracketed_elements(text) if is_printed else _raw_elements(text)
    known = {ai: elements.pop(ai, None) for ai in ("01", "10", "21", "11", "17", "30")}
    if not any(known.values()):
        raise LabelError(f"Neither product nor lot, serial number or date in {_shown(text)}.")
    return Label(
        "gs1",
        text,
        device_identifier=known["01"],
        lot=known["10"],
        serial=known["21"],
        made=_gs1_date(known["11"], on),
        expires=_gs1_date(known["17"], on) or _gs1_moment(elements.get("7003"), on),
        count=int(known["30"]) if known["30"] else None,
        other=tuple(elements.items()),
    )


def _element(text: str, whole: str, *, is_whole: bool) -> GS1ElementString:
    # biip takes 140 ms to import, so it waits for the first scan.
    from biip import ParseConfig, ParseError
    from biip.gs1_element_strings import GS1ElementString

    # Dates are read here: biip reads the century by today, not by the day of the operation.
    config = ParseConfig(gs1_element_strings_verify_date=False, separator_chars=(_SEPARATOR,))
    read = GS1ElementString.parse if is_whole else GS1ElementString.extract
    try:
        element = read(text, config=config)
    except ParseError:
        if _is_product_number(whole):
            raise _only_a_product(whole) from None
        raise LabelError(f"No GS1 element begins or fits at: {_shown(text)}.") from None
    # A wrong check digit is no error for biip.
    if element.ai.ai in ("01", "02", "03") and element.gtin is None:
        raise LabelError(f"The check digit of the product number {element.value} is wrong.")
    if element.sscc_error or element.gln_error:
        raise LabelError(f"The check digit of {element.value} is wrong.")
    return element


def _bracketed_elements(text: str) -> dict[str, str]:
    if _BRACKETED.sub("", text):
        raise LabelError(
            f"Not each pair of brackets is followed by a value: {_shown(text)}.",
            "Type it as printed: (01)... (10)... ; a lot with brackets in it goes in its own box.",
        )
    elements: dict[str, str] = {}
    for ai, printed in _BRACKETED.findall(text):
        value = printed.strip(_BLANKS + _SEPARATOR)
        element = _element(f"{ai}{value}", text, is_whole=True)
        if element.ai.ai != ai:
            raise LabelError(f"GS1 has no element ({ai}): {_shown(text)}.")
        _add(elements, ai, element.value)
    return elements


def _raw_elements(text: str) -> dict[str, str]:
    elements: dict[str, str] = {}
    rest = text
    has_separator = _SEPARATOR in rest
    while rest:
        element = _element(rest, text, is_whole=False)
        ai, value = element.ai.ai, element.value
        _add(elements, ai, value)
        rest = rest[len(element) :]
        if element.ai.separator_required:
            if rest and not rest.startswith(_SEPARATOR):
                raise LabelError(f"({ai}) does not end where it must: {_shown(ai + value + rest)}.")
            if not has_separator and _may_hide(value, frozenset(elements)):
                raise LabelError(
                    f"({ai}) reads {value}, but may have swallowed what follows it: the scan has "
                    "no separators.",
                    "Scan again with a scanner that sends them, or type the lot and serial number.",
                )
        rest = rest.lstrip(_SEPARATOR)
    return elements


def _add(elements: dict[str, str], ai: str, value: str) -> None:
    if elements.setdefault(ai, value) != value:
        raise LabelError(f"({ai}) is there twice: {elements[ai]} and {value}.")


def _may_hide(value: str, present: frozenset[str]) -> bool:
    """Tell whether an end of the value could be further elements that aren't there yet."""
    return any(_could_be_elements(value[i:], present) for i in range(1, len(value)))


def _could_be_elements(text: str, present: frozenset[str]) -> bool:
    for ai in ("10", "21", "240", "241", "8012"):
        if ai not in present and text.startswith(ai) and len(text) >= len(ai) + _LEAST_HIDDEN:
            return True
    for ai, size in (("01", 14), ("11", 6), ("17", 6), ("7003", 10)):
        body, rest = text[len(ai) : len(ai) + size], text[len(ai) + size :]
        if ai not in present and text.startswith(ai) and _could_be_fixed(ai, body, size):
            return not rest or _could_be_elements(rest, present | {ai})
    return False


def _could_be_fixed(ai: str, body: str, size: int) -> bool:
    if len(body) != size or not body.isdigit():
        return False
    if ai == "01":
        return _is_product_number(body)
    # In a leap year each day that any year has is a day.
    return _day(2000, int(body[2:4]), int(body[4:6]), may_be_00=ai != "7003") is not None


def _gs1_date(value: str | None, on: date) -> date | None:
    if value is None:
        return None
    return _gs1_day(value, on, may_be_00=True)


def _gs1_moment(value: str | None, on: date) -> date | None:
    """The day of an expiry with a time of day, where 00 is no day."""
    return None if value is None else _gs1_day(value[:6], on, may_be_00=False)


def _gs1_day(value: str, on: date, *, may_be_00: bool) -> date:
    year, month, day = int(value[:2]), int(value[2:4]), int(value[4:6])
    ahead = year - on.year % 100
    century = on.year - on.year % 100
    if ahead >= 51:
        century -= 100
    elif ahead <= -50:
        century += 100
    found = _day(century + year, month, day, may_be_00=may_be_00)
    if found is None:
        raise LabelError(f"{value} is no date (year, month, day).")
    return found


def _day(year: int, month: int, day: int, *, may_be_00: bool) -> date | None:
    if not 1 <= month <= 12:
        return None
    last = calendar.monthrange(year, month)[1]
    if day == 0 and may_be_00:
        return date(year, month, last)
    return date(year, month, day) if 1 <= day <= last else None


def _hibc_label(text: str, trailing: str) -> Label:
    if text.startswith("*") and text.endswith("*"):
        text, trailing = text[1:-1], ""
    foreign = sorted(set(text) - set(_HIBC_VALUES))
    if foreign:
        raise LabelError(
            f"HIBC has no {' '.join(foreign)}: {_shown(text)}.",
            "Scan again; a typed code has capitals only.",
        )
    right = [t for t in dict.fromkeys((text, text + trailing)) if _has_right_check(t)]
    if not right:
        raise LabelError("The check character of the HIBC code is wrong.")
    if len(right) > 1:
        raise LabelError("The space at the end may be the check character, or none.")
    text = right[0]
    body, check = text[1:-1], text[-1]
    if body[0] == "$" or body[0].isdigit():
        label = Label("hibc", text, link=body[-1])
        return _with_hibc_parts(label, body[:-1])
    product, slash, rest = body.partition("/")
    if not _HIBC_PRODUCT.fullmatch(product):
        raise LabelError(f"No labeller, product and unit of measure: {_shown(product)}.")
    label = Label("hibc", text, device_identifier=product, check=None if slash else check)
    return _with_hibc_parts(label, rest) if slash else label


def _has_right_check(text: str) -> bool:
    return len(text) >= 4 and hibc_check_character(text[:-1]) == text[-1]


def _with_hibc_parts(label: Label, secondary: str) -> Label:
    for part in secondary.split("/"):
        label = _with_hibc_part(label, part)
    return label


def _with_hibc_part(label: Label, part: str) -> Label:
    extra = _HIBC_EXTRA.fullmatch(part)
    if extra and extra["serial"]:
        return _once(label, serial=extra["serial"])
    if extra:
        digits = extra["digits"]
        day = _day(int(digits[:4]), int(digits[4:6]), int(digits[6:]), may_be_00=False)
        if day is None:
            raise LabelError(f"{digits} is no date (year, month, day).")
        return _once(label, **{"made" if extra["day"] == "16D" else "expires": day})
    if part.startswith("$$+"):
        _, expires, serial = _hibc_dated(part[3:])
        return _once(label, expires=expires, serial=serial)
    if part.startswith("$$"):
        count, expires, lot = _hibc_dated(part[2:])
        return _once(label, count=count, expires=expires, lot=lot)
    if part.startswith("$+"):
        return _once(label, serial=part[2:])
    if part.startswith("$"):
        return _once(label, lot=part[1:])
    dated = _HIBC_LOT.fullmatch(part)
    if dated:
        expires = _day_of_year(dated["date"][:2], dated["date"][2:])
        return _once(label, expires=expires, lot=dated["lot"])
    raise LabelError(f"HIBC has no part that reads {_shown(part)}.")


def _once(label: Label, **found: str | date | int | None) -> Label:
    """Take over what was found; the same thing said twice must be the same."""
    for name, value in found.items():
        if value is None or value == "":
            continue
        if getattr(label, name) not in (None, value):
            raise LabelError(f"The code says two things of one: {getattr(label, name)}, {value}.")
        given: dict[str, Any] = {name: value}
        label = replace(label, **given)
    return label


def _hibc_dated(text: str) -> tuple[int | None, date | None, str]:
    """Take a quantity and a date off the front of what stands behind `$$`."""
    count = None
    quantity = _HIBC_QUANTITY.match(text)
    if quantity:
        count = int(quantity["two"] or quantity["five"])
        text = text[quantity.end() :]
    if not text:
        return count, None, ""
    if text.startswith("7"):
        return count, None, text[1:]
    shape, order = _HIBC_DATES.get(text[0], (None, ""))
    match = shape.match(text) if shape else None
    if match is None:
        raise LabelError(f"No date of HIBC begins {_shown(text)}.")
    parts = dict(zip(order, match.groups(), strict=True))
    if int(parts.get("h", "0")) > 23:
        raise LabelError(f"No hour of the day in {_shown(match[0])}.")
    if "j" in parts:
        return count, _day_of_year(parts["y"], parts["j"]), text[match.end() :]
    has_day = "d" in parts
    year, month = 2000 + int(parts["y"]), int(parts["m"])
    day = _day(year, month, int(parts["d"]) if has_day else 0, may_be_00=not has_day)
    if day is None:
        raise LabelError(f"No date of HIBC in {_shown(match[0])}.")
    return count, day, text[match.end() :]


def _day_of_year(year: str, day: str) -> date:
    first, number = date(2000 + int(year), 1, 1), int(day)
    found = first + timedelta(days=number - 1)
    if number < 1 or found.year != first.year:
        raise LabelError(f"{year}{day} is no date (year, day of the year).")
    return found
