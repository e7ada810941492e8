"""Identifiers of people that carry their own check."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from types import MappingProxyType

NATIONAL_SCHEMES: Mapping[str, str] = MappingProxyType(
    {
        "be_nn": "Belgian national number",
        "br_cpf": "Brazilian CPF",
        "ca_bc_phn": "British Columbia personal health number",
        "ch_ssn": "Swiss social insurance number",
        "cz_rc": "Czech birth number",
        "dk_cpr": "Danish CPR number",
        "ee_ik": "Estonian personal code",
        "es_dni": "Spanish DNI",
        "fi_hetu": "Finnish personal identity code",
        "fr_nir": "French NIR",
        "ie_pps": "Irish PPS number",
        "is_kennitala": "Icelandic kennitala",
        "it_codicefiscale": "Italian codice fiscale",
        "nl_bsn": "Dutch BSN",
        "pl_pesel": "Polish PESEL",
        "se_personnummer": "Swedish personnummer",
        "za_idnr": "South African identity number",
    }
)
"""Kinds of identifier that are checked by their country's rule, with their names.

Source: python-stdnum, whose modules the kinds are named after. Numbers of tax offices that are no
identifiers of patients are left out.
"""

_NHS_DIGITS = 10


def identifier_fault(kind: str, text: str) -> str | None:
    """Say what is wrong with an identifier of a person; None when nothing is known to be.

    Kinds: "nhs", those of `NATIONAL_SCHEMES`, and "hospital", whose numbers follow no rule that
    could be checked. The check finds slips; it can't tell whose number it is. Some schemes hold
    a date of birth with a two-digit year, which is read by today's date.

    Raises: ValueError: unknown kind. Source: see `nhs_number_is_valid` and `NATIONAL_SCHEMES`.

    >>> identifier_fault("nhs", "943 476 5918")
    'The check digit of the NHS number is wrong: a digit is wrong, or two are swapped.'
    >>> identifier_fault("hospital", "00-A 17") is None
    True
    """
    if kind == "hospital":
        return None
    if kind == "nhs":
        return _nhs_fault(text)
    return _national_fault(kind, text)


def identifier_is_valid(kind: str, text: str) -> bool:
    """Tell whether nothing is wrong with an identifier, as far as its kind can be checked.

    Raises: ValueError: unknown kind. Source: see `identifier_fault`.

    >>> identifier_is_valid("nhs", "943 476 5919")
    True
    """
    return identifier_fault(kind, text) is None


def identifier_shown(kind: str, text: str) -> str:
    """Give an identifier as its country writes it; one with a fault stays as it was typed.

    An NHS number stands in groups of 3, 3 and 4. A hospital's number is never changed.

    Raises: ValueError: unknown kind. Source: NHS Data Dictionary; python-stdnum.

    >>> identifier_shown("nhs", "9434765919"), identifier_shown("hospital", "00-A 17")
    ('943 476 5919', '00-A 17')
    """
    if kind == "hospital" or identifier_fault(kind, text) is not None:
        return text
    if kind == "nhs":
        digits = _digits(text)
        return f"{digits[:3]} {digits[3:6]} {digits[6:]}"
    scheme = import_module(f"stdnum.{_module(kind)}")
    shown = scheme.format(text) if hasattr(scheme, "format") else scheme.compact(text)
    return str(shown)


def nhs_number_is_valid(text: str) -> bool:
    """Tell whether a text is an NHS number: ten digits whose last is the right check digit.

    Spaces and hyphens between digits are allowed. The first nine digits times 10 down to 2 are
    added; 11 minus the remainder on division by 11 is the check digit, 11 counts as 0, and 10
    means that no such number exists. Ten equal digits pass that arithmetic and are refused.

    Source: NHS Data Dictionary, NHS number, modulus 11 (read as quoted elsewhere).

    >>> nhs_number_is_valid("943 476 5919"), nhs_number_is_valid("943 476 5918")
    (True, False)
    """
    digits = _digits(text)
    if len(digits) != _NHS_DIGITS or not (digits.isascii() and digits.isdigit()):
        return False
    if len(set(digits)) == 1:
        return False
    total = sum(int(digit) * (10 - i) for i, digit in enumerate(digits[:9]))
    return (11 - total % 11) % 11 == int(digits[9])


def _digits(text: str) -> str:
    return text.strip().replace(" ", "").replace("-", "")


def _nhs_fault(text: str) -> str | None:
    if nhs_number_is_valid(text):
        return None
    digits = _digits(text)
    if not (digits.isascii() and digits.isdigit()):
        return "An NHS number holds digits only."
    if len(digits) != _NHS_DIGITS:
        return f"An NHS number has {_NHS_DIGITS} digits; this has {len(digits)}."
    if len(set(digits)) == 1:
        return "Ten equal digits are no NHS number."
    return "The check digit of the NHS number is wrong: a digit is wrong, or two are swapped."


def _module(kind: str) -> str:
    country, _, scheme = kind.partition("_")
    # `is` is a word of Python, so stdnum names that country `is_`.
    return f"{'is_' if country == 'is' else country}.{scheme}"


def _national_fault(kind: str, text: str) -> str | None:
    name = NATIONAL_SCHEMES.get(kind)
    if name is None:
        known = ", ".join(["nhs", "hospital", *NATIONAL_SCHEMES])
        raise ValueError(f"unknown kind of identifier '{kind}'; known are {known}")
    # stdnum is imported with the first identifier of another country.
    from stdnum import exceptions

    if not text.isascii():
        return f"The {name} holds plain letters and digits only."
    try:
        import_module(f"stdnum.{_module(kind)}").validate(text)
    except exceptions.InvalidLength:
        return f"The {name} has the wrong length."
    except exceptions.InvalidChecksum:
        return f"The check of the {name} is wrong: a sign is wrong, or two are swapped."
    except exceptions.InvalidComponent:
        return f"A part of the {name} can't be right."
    except ValueError:
        return f"This isn't written as a {name}."
    return None
