"""Ways of writing a dose that have been read wrongly, and what to write instead.

The rules are those of the published lists, as far as their items turn up in notes of operations.
Nearly all ask for a dose beside the abbreviation, because alone it often means something honest:
OD is a diameter, IJ a vein, SSI an infection of the wound, MS a disease, U a shape, and 5.0 mm is a
measurement, where the zero says how well it was measured.

Left alone, because the lists contradict each other: "0.5 mg" is the safe form for the Joint
Commission, "500 micrograms" for the BNF. "mcg" is right in the United States and wrong in Britain;
"micrograms" is safe in both.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from opnote.reckon.pattern import late

_JC = "Joint Commission, Do Not Use list, 2004"
_ISMP = "ISMP, list of error-prone abbreviations, 2021"
_BNF = "BNF, prescription writing"
_SI = "BIPM, SI Brochure (unit symbols)"
_COMMON = "common practice"

_UNIT = r"(?:mg|MG|g|mcg|MCG|[µμ]g|micrograms?|nanograms?|ng|m[lL]|ML|units?)"
_DOSE_UNIT = rf"{_UNIT}(?!\w|\s?/\s?d?[lL]\b)"
# What stands before a first digit is looked at after it: the search leaps from digit to digit.
_FIRST = r"\d(?<![\w.,]\d)"
_NUMBER = rf"{_FIRST}[\d,]*(?:\.\d+)?"
_PER = r"(?:/(?:kg|m[lL]|h|hour|min|day)\b)?"
_DOSE = rf"\d[\d.,]{{0,12}}\s?{_DOSE_UNIT}"
_DOSE_BEFORE = rf"{_FIRST}[\d.,]{{0,12}}\s?{_DOSE_UNIT}{_PER}(?:\s(?:of\s)?[a-z]{{1,30}})?"
_MEASURED = late(
    r"\b(?:loss|aspirat\w*|drain\w*|effusion|volume|output|urine|weigh\w*|level|concentration"
    r"|measur\w*)\b[^.;\n]*$",
    re.IGNORECASE,
)
_SCLEROSIS = late(
    r"\b(?:multiple sclerosis|relaps\w*|remitting|neurolog\w*|diagnos\w*|known|sclerosis)\b",
    re.IGNORECASE,
)
_FAR = 60
"""How far around a place its meaning is read, in characters: keeps the work linear."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A way of writing that has been read wrongly.

    Units: `start` and `end` count characters of the text; text[start:end] is `found`. `remedy`
    says what to write instead, `source` which list asks for it.
    """

    start: int
    end: int
    found: str
    remedy: str
    source: str


_Instead = Callable[[re.Match[str]], str | None]


@dataclass(frozen=True, slots=True)
class _Rule:
    pattern: re.Pattern[str]
    instead: str | _Instead
    source: str


def _plain(number: str) -> str:
    value = Decimal(number.replace(",", ""))
    return f"{value.normalize():f}"


def _unit(word: str) -> str:
    small = word.lower()
    return {"mcg": "micrograms", "μg": "micrograms", "µg": "micrograms", "ml": "mL"}.get(
        small, small
    )


def _dose(match: re.Match[str]) -> str | None:
    """Give the same dose with a leading zero, no trailing zero, and a space before the unit."""
    number, unit = match["number"], match["unit"]
    if unit.lower() == "ml" and _MEASURED.search(_sentence_before(match)):
        return None
    return f"{_plain(number)} {_unit(unit)}"


def _leading(match: re.Match[str]) -> str:
    number = _plain("0" + match["number"])
    return number + match["unit"] if match["unit"] == "%" else f"{number} {_unit(match['unit'])}"


def _milligrams(match: re.Match[str]) -> str:
    return f"{_plain(str(Decimal(match['number']) * 1000))} mg"


def _grams(match: re.Match[str]) -> str:
    return f"{_plain(str(Decimal(match['number'].replace(',', '')) / 1000))} g"


def _spaced(match: re.Match[str]) -> str:
    return f"{match['number']} {_unit(match['unit'])}"


def _grouped(match: re.Match[str]) -> str:
    return f"{int(match['number']):,} {_unit(match['unit'])}"


def _morphine(match: re.Match[str]) -> str | None:
    """Give what MS may stand for; None where the disease is meant."""
    around = match.string[max(0, match.start() - _FAR) : match.end() + _FAR]
    return None if _SCLEROSIS.search(around) else "morphine sulfate, or magnesium sulfate"


def _sentence_before(match: re.Match[str]) -> str:
    return match.string[max(0, match.start() - _FAR) : match.start()]


def _rule(pattern: str, instead: str | _Instead, source: str) -> _Rule:
    return _Rule(late(pattern), instead, source)


_SIDE_NOUN = (
    r"(?:(?:medial|lateral|torn|lower)\s+)?(?:knee|leg|thigh|limb|menisc(?:us|al)|foot|ankle|hip"
    r"|side|ACL|PCL|MCL|LCL)\b"
)
_SUBSTANCE = r"(?:\d[\d.]*\s?%\s+)?(?:saline|water|air|local|adrenaline|\w+caine)\b"
_GIVEN = r"(?i:given|dose|doses|iv|im|intravenous(?:ly)?|infusion|bolus)"

# Of two rules that meet in one place the earlier stands.
_RULES = (
    # A number and its unit.
    _rule(rf"(?P<number>{_FIRST}\d*\.\d*0)\s?(?P<unit>{_DOSE_UNIT})", _dose, _JC),
    _rule(rf"(?<![\w.])(?P<number>\.\d+)\s?(?P<unit>{_DOSE_UNIT}|%)", _leading, _JC),
    _rule(
        rf"(?P<number>{_NUMBER})\s?[Uu]\b(?!-|\s?(?:shaped?|stitch\w*|sutures?|turns?|bends?)\b)",
        r"\g<number> units",
        _JC,
    ),
    _rule(
        rf"(?P<number>{_NUMBER})\s?(?:IU|iu|I\.U\.|i\.u\.)(?!\w)",
        r"\g<number> international units",
        _JC,
    ),
    _rule(r"\bIU\b", "international units", _JC),
    _rule(
        rf"(?P<number>{_NUMBER})\s?(?:[µμ]g|ug)\b",
        r"\g<number> micrograms",
        _ISMP,
    ),
    _rule(r"[µμ]g\b", "micrograms", _ISMP),
    _rule(rf"(?P<number>{_NUMBER})\s?mcg\b", r"\g<number> micrograms", _BNF),
    _rule(rf"(?P<number>{_NUMBER})\s?ng\b(?!/)", r"\g<number> nanograms", _BNF),
    _rule(rf"(?P<number>{_NUMBER})\s?(?:cc|CC)\b", r"\g<number> mL", _BNF),
    _rule(
        rf"(?P<number>{_NUMBER})\s?cm(?:3|³)(?=\s+(?:of\s+)?{_SUBSTANCE})", r"\g<number> mL", _BNF
    ),
    _rule(rf"(?P<number>{_NUMBER})\s?l\b(?!/)", r"\g<number> L", _ISMP),
    _rule(rf"(?P<number>{_NUMBER})\s?MM\b", r"\g<number> mm", _SI),
    _rule(r"(?<![\w.,])(?P<number>0\.\d*[1-9])\s?g\b(?!/)", _milligrams, _BNF),
    _rule(rf"(?P<number>{_FIRST}\d*,?\d{{3}}(?:\.\d+)?)\s?mg\b(?!/)", _grams, _BNF),
    _rule(rf"(?P<number>{_FIRST}\d{{4,11}})\s?(?P<unit>{_DOSE_UNIT})", _grouped, _ISMP),
    _rule(
        rf"\b(?P<drug>[A-Za-z]{{4,}})(?P<number>\d+(?:\.\d+)?)\s?(?P<unit>{_DOSE_UNIT})",
        lambda match: f"{match['drug']} {_spaced(match)}",
        _ISMP,
    ),
    _rule(rf"(?P<number>{_NUMBER})(?P<unit>{_DOSE_UNIT})", _spaced, _ISMP),
    _rule(r"(?<=\d )(?P<unit>mg|m[lL])\.(?=\s+[a-z])", r"\g<unit>, with no stop", _ISMP),
    # How often.
    _rule(r"\b(?:QOD|qod|Q\.O\.D\.?|q\.o\.d\.?)(?!\w)", "every other day", _JC),
    _rule(r"\b(?:QD|qd|Q\.D\.?|q\.d\.?)(?!\w)", "daily", _JC),
    _rule(r"\bq1d\b", "daily", _ISMP),
    _rule(r"\bq(?P<hour>\d{1,2})(?P<half>[AP]M)\b", r"daily at \g<hour> \g<half>", _ISMP),
    _rule(r"\bq(?P<hours>\d{1,2})\s?°", r"every \g<hours> hours", _ISMP),
    _rule(r"\b(?:qhs|qn|QHS)\b", "nightly at bedtime", _ISMP),
    _rule(rf"(?P<dose>{_DOSE_BEFORE})\s+(?:OD\b|o\.d\.)", r"\g<dose> daily", _ISMP),
    _rule(
        rf"(?P<dose>{_DOSE_BEFORE})\s+(?:HS|hs|BT)\b",
        r"\g<dose> at bedtime (or half-strength, if that was meant)",
        _ISMP,
    ),
    # By which way.
    _rule(rf"(?P<dose>{_DOSE_BEFORE})\s+(?:SC|SQ|s\.c\.)(?!\w)", r"\g<dose> subcut", _ISMP),
    _rule(r"\bsub q\b", "subcut", _ISMP),
    _rule(rf"(?P<dose>{_DOSE_BEFORE})\s+IJ\b", r"\g<dose> by injection", _ISMP),
    _rule(rf"(?P<dose>{_DOSE_BEFORE})\s+IN\b", r"\g<dose> intranasal", _ISMP),
    _rule(r"\b[Pp]er os\b", "by mouth", _ISMP),
    _rule(
        r"\b[Dd]rops?\s+(?:to\s+|in\s+)?(?P<where>A[DSU]|O[DSU])\b",
        "drops, and the eye or ear in words",
        _ISMP,
    ),
    _rule(r"\b(?P<drug>[Ii]nsulin)\s+(?:SSI|SSRI|ss)\b", r"\g<drug> by sliding scale", _ISMP),
    _rule(r"\b[Dd]/[Cc]\b", "discharge or discontinue", _ISMP),
    # Which drug.
    _rule(r"\bMSO4\b", "morphine sulfate", _JC),
    _rule(r"\bMgSO4\b", "magnesium sulfate", _JC),
    _rule(rf"\bMS(?=\s+\d[\d.]*\s?{_UNIT}\b)", _morphine, _JC),
    _rule(rf"(?<=mg )MS\b|\bMS(?=\s+(?:was\s+)?{_GIVEN}\b)", _morphine, _JC),
    # Signs.
    _rule(rf">(?=\s?{_DOSE})", "more than", _ISMP),
    _rule(rf"<(?=\s?{_DOSE})", "less than", _ISMP),
    _rule(r"@(?=\s?\d)", "at", _ISMP),
    _rule(rf"(?P<dose>{_DOSE_BEFORE}\s?)&", r"\g<dose>and", _ISMP),
    _rule(rf"&(?=\s?(?:[a-z]+\s)?{_DOSE})", "and", _ISMP),
    _rule(rf"(?P<dose>{_DOSE_BEFORE}\s?)\+", r"\g<dose>and", _ISMP),
    _rule(
        rf"(?P<one>{_NUMBER}\s?(?P<unit>{_UNIT}))\s?/\s?(?=\d[\d.,]{{0,12}}\s?(?P=unit)\b)",
        r"\g<one> and",
        _ISMP,
    ),
    # The side.
    _rule(rf"(?<!\d\s)\(?\b(?:R|Rt|RT)\b\)?\.?(?=[\s-]+{_SIDE_NOUN})", "right", _COMMON),
    _rule(rf"(?<!\d\s)\(?\b(?:L|Lt|LT)\b\)?\.?(?=[\s-]+{_SIDE_NOUN})", "left", _COMMON),
    _rule(r"(?<=knee )\([RL]\)", "the side in full", _COMMON),
)


def notation_faults(text: str) -> tuple[Fault, ...]:
    """Find doses, units and sides written in a way that has been misread; in order of the text.

    No two overlap: where two rules meet, the one that mends more stands.

    Source: for each fault, its `source`. All lists were read as quoted elsewhere.

    >>> [(fault.found, fault.remedy) for fault in notation_faults("Morphine .5 mg, rim 5.0 mm")]
    [('.5 mg', 'write 0.5 mg')]
    """
    found: list[Fault] = []
    taken = bytearray(len(text))
    for rule in _RULES:
        for match in rule.pattern.finditer(text):
            start, end = match.span()
            if any(taken[start:end]):
                continue
            instead = (
                match.expand(rule.instead) if isinstance(rule.instead, str) else rule.instead(match)
            )
            if instead is not None:
                taken[start:end] = b"\1" * (end - start)
                found.append(Fault(start, end, match[0], f"write {instead}", rule.source))
    return tuple(sorted(found, key=lambda fault: fault.start))
