"""Which group a drug or material belongs to, and whether an allergy names that group.

Read from free text, by names and by the words that deny them; a doubt is read as an allergy. An
answer is a question to the surgeon and no advice: whether a drug may be given is a decision of the
people who know the patient.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from opnote.reckon.pattern import late

_COMMON = "common practice"
_BNF = "BNF, drug classes (from memory)"
_MEMORY = "from memory"


@dataclass(frozen=True, slots=True)
class _Group:
    """A group of drugs or materials.

    Shape: `members` and `called` are patterns of names: each member, and the group as a whole.
    `shared` tells whether an allergy to one member is taken as one to all; where not, it only
    cross-reacts.
    """

    name: str
    members: str
    called: str
    source: str
    shared: bool = True


_GROUPS = (
    _Group(
        "penicillin",
        r"flucloxacillin|amoxicillin|amoxycillin|co-amoxiclav|ampicillin|benzylpenicillin"
        r"|piperacillin|phenoxymethylpenicillin",
        r"penicillins?|beta-?lactams?",
        _BNF,
    ),
    _Group(
        "cephalosporin",
        r"cefazolin|cephazolin|cefuroxime|cefalexin|ceftriaxone|cefotaxime|cefradine",
        r"cephalosporins?|cefalosporins?|beta-?lactams?",
        _BNF,
    ),
    _Group("carbapenem", r"meropenem|ertapenem", r"carbapenems?|beta-?lactams?", _BNF),
    _Group("glycopeptide", r"vancomycin|teicoplanin", r"glycopeptides?", _BNF),
    _Group("lincosamide", r"clindamycin", r"lincosamides?", _BNF),
    _Group("aminoglycoside", r"gentamicin|tobramycin", r"aminoglycosides?", _BNF),
    _Group("chlorhexidine", r"chlorhexidine", r"biguanides?", _COMMON),
    _Group(
        "iodine",
        r"povidone[ -]iodine",
        r"iodine(?!\s+contrast)|iodophors?",
        _COMMON,
    ),
    _Group("alcohol", r"isopropyl alcohol|ethanol|propanol", r"alcohol(?:ic)?", _COMMON),
    _Group(
        "NSAID",
        r"ibuprofen|diclofenac|naproxen|ketorolac|celecoxib|etoricoxib|parecoxib|aspirin"
        r"|acetylsalicylic acid",
        r"nsaids?|non-?steroidals?|anti-?inflammator(?:y|ies)|salicylates?",
        _BNF,
    ),
    _Group("sulfonamide", r"co-trimoxazole|sulfamethoxazole", r"sul(?:f|ph)onamides?|sulfa", _BNF),
    _Group("latex", r"latex", r"natural rubber|rubber", _COMMON),
    _Group(
        "acrylic adhesive",
        r"acrylic adhesive|acrylates?|cyanoacrylate",
        r"(?:sticking )?plasters?(?! of paris)|adhesives?|(?<!suture )tapes?",
        _COMMON,
    ),
    _Group(
        "heparin",
        r"enoxaparin|dalteparin|tinzaparin|heparin",
        r"heparins?|hit\b|heparin-induced",
        _BNF,
    ),
    _Group("paracetamol", r"paracetamol|acetaminophen", r"aminophenols?", _COMMON),
    _Group(
        "opioid",
        r"morphine|codeine|dihydrocodeine|oxycodone|fentanyl|alfentanil|remifentanil|tramadol"
        r"|hydromorphone|pethidine",
        r"opioids?|opiates?",
        _BNF,
        shared=False,
    ),
    _Group(
        "amide local anaesthetic",
        r"bupivacaine|levobupivacaine|ropivacaine|lidocaine|lignocaine|prilocaine|mepivacaine",
        r"local anaesthetics?|local anesthetics?|amide (?:local )?an(?:a)?esthetics?",
        _BNF,
        shared=False,
    ),
    _Group(
        "ester local anaesthetic",
        r"procaine|chloroprocaine|tetracaine|amethocaine|benzocaine",
        r"local anaesthetics?|local anesthetics?|ester (?:local )?an(?:a)?esthetics?",
        _BNF,
    ),
)

_CROSSES = {
    ("penicillin", "cephalosporin"): _COMMON,
    ("penicillin", "carbapenem"): _COMMON,
    ("cephalosporin", "penicillin"): _COMMON,
    ("cephalosporin", "carbapenem"): _COMMON,
    ("carbapenem", "penicillin"): _MEMORY,
    ("carbapenem", "cephalosporin"): _MEMORY,
    ("sulfonamide", "celecoxib"): "celecoxib product information (from memory)",
}
"""Allergy to a group, and the group or drug that may react with it; with the source."""

_NAME = late(
    r"(?<!\w)(?<!non-)(?:"
    + "|".join(f"{group.members}|{group.called}" for group in _GROUPS)
    + r")(?!\w|-free)",
    re.IGNORECASE,
)

_CLAUSE_END = late(r"[;\n]|\.(?=\s|$)|\b(?:but|except|apart from|other than)\b", re.IGNORECASE)
_DENIAL = late(
    r"\b(?:no|not|nil|never|denies|denied|without|negative for|tolerat(?:es|ed|ing)"
    r"|(?:mother|father|sister|brother|son|daughter|wife|husband)(?:'s|\s+(?:is|has|was|had|allergic))"
    r"|family history)\b(?P<rest>[^:]*)$",
    re.IGNORECASE,
)
_INSTRUCTION = late(
    r"\bno\s*$|\b(?:never|not|don't|no)\s+(?:to\s+)?(?:be\s+)?"
    r"(?:give|given|have|use|receive|take|prescribe)\s*$",
    re.IGNORECASE,
)
"""What forbids a drug, which in a line of allergies is a reason to think of one."""
_NOT_FORBIDDEN = late(
    r"\s*(?:or\b|nor\b|and\b|/|,|allerg|hypersensitiv|sensitiv|reaction|intoleran|problem|issue)",
    re.IGNORECASE,
)
_STILL = late(
    r"\b(?:poorly|badly|barely|no longer)\s+tolerat|\bavoid\b|\bexcluded from\b"
    r"|\breactions?\s+(?:details|recorded|noted|documented)"
    r"|(?<!\bno )(?<!\bwithout )\b(?:rash|anaphyla\w+|hives|urticaria|swelling|wheez\w+)\b",
    re.IGNORECASE,
)
"""What says that a drug is a danger, whatever else the words around it say."""
_DENIAL_IS_OVER = late(
    r"\b(?:allerg(?:y|ies)|reactions?|intolerances?)\b(?!\s+(?:to|for|of|with|after|from)\b)"
    r"|\band\b[^,]*\b(?:rash|anaphyla\w+|allergic|reacts|reacted|hives|swelling)\b",
    re.IGNORECASE,
)
_IN_DOUBT = late(
    r"\b(?:not|un)\s?(?:sure|known|certain|clear)\b"
    r"|\b(?:cannot|can't|could not|not|never)\s+(?:be\s+)?(?:tolerat|exclud|ruled|disprov)\w*",
    re.IGNORECASE,
)
_REACTED = late(
    r":|\b(?:rash|anaphyla\w+|hives|urticaria|swelling|reaction|allerg\w+|wheez\w+)\b",
    re.IGNORECASE,
)
_LIST = late(r"\s*,?\s*(?:(?:or|nor|and)\s+)?", re.IGNORECASE)
_FAR = 160
"""How far before a name the words that deny it are looked for, in characters."""
_NEXT = "\0"
"""Stands where the next name begins: what is tolerated may be that one."""
_ALLOWED = late(
    rf"^[^,{_NEXT}]{{0,60}}?\b(?:tolerat(?:es|ed)(?!\s*(?:\w+\s+){{0,2}}{_NEXT})|de-?labell?ed"
    r"|disproved|excluded|ruled out|refuted|not confirmed|test(?:ed)? negative"
    r"|negative (?:test|challenge)|challenge negative|without (?:a )?reaction|no reaction"
    r"|no longer)\b"
    r"|^(?: allergy)?\s*[:=–-]\s*(?:no|nil|none|negative)\s*(?:[,.;]|$)"
    r"|^ free\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class _Mention:
    """A group named in a text; `drug` is the member named, None for the group as a whole."""

    group: _Group
    drug: str | None
    is_denied: bool


def drug_class(name: str) -> str | None:
    """Give the group a generic name belongs to; None when it isn't known here, or not a single one.

    Knows what is used at knee arthroscopy: antibiotics, skin preparations, painkillers, local
    anaesthetics, latex and adhesive. The name may stand among other words ("cefazolin 2 g").

    Source: for each group as in the table; generic names from the BNF (from memory).

    >>> drug_class("Cefazolin"), drug_class("povidone iodine"), drug_class("saline")
    ('cephalosporin', 'iodine', None)
    """
    groups = {mention.group.name for mention in _mentions(name)}
    return groups.pop() if len(groups) == 1 else None


def allergy_conflict(allergies: str, given: str) -> str | None:
    """Give the group that an allergy names and something given belongs to; None if there is none.

    Both are free text and may name several things. An allergy that is denied ("no known
    allergies", "not allergic to penicillin", "penicillin: tolerated since", the mother's) is none;
    one in doubt counts. One member stands for its whole group, except among opioids and amide
    local anaesthetics. What only cross-reacts is told by `cross_reaction`.

    Source: common practice; the groups as in the table.

    >>> allergy_conflict("Penicillin: rash", "flucloxacillin 2 g")
    'penicillin'
    """
    named = _mentions(allergies)
    for drug in _given(named, given):
        for allergy in named:
            if not allergy.is_denied and _is_same(allergy, drug):
                return allergy.group.name
    return None


def cross_reaction(allergies: str, given: str) -> str | None:
    """Give the group an allergy names when what was given may react with it, less surely.

    What `allergy_conflict` tells of a drug isn't told again.
    A penicillin allergy and a cephalosporin; one opioid and another. None where nothing crosses, or
    where the drug given, or its group, is said to be tolerated. Cefazolin shares no side chain with
    the penicillins and crosses rarely (from memory); it is named all the same.

    Source: common practice; the pairs as in the table.

    >>> cross_reaction("penicillin rash", "cefazolin"), cross_reaction("latex", "cefazolin")
    ('penicillin', None)
    """
    named = _mentions(allergies)
    positive = [allergy for allergy in named if not allergy.is_denied]
    for drug in _given(named, given):
        if any(_is_same(allergy, drug) for allergy in positive):
            continue
        for allergy in positive:
            pair = {(allergy.group.name, drug.group.name), (allergy.group.name, drug.drug)}
            if allergy.group == drug.group or pair & _CROSSES.keys():
                return allergy.group.name
    return None


def _is_same(allergy: _Mention, drug: _Mention) -> bool:
    return allergy.group == drug.group and (
        allergy.group.shared or allergy.drug in (None, drug.drug)
    )


def _given(named: tuple[_Mention, ...], given: str) -> list[_Mention]:
    """Give what was given and isn't expressly tolerated."""
    return [
        drug
        for drug in _mentions(given, is_allergy=False)
        if not drug.is_denied and not _is_tolerated(drug, named)
    ]


def _is_tolerated(drug: _Mention, named: tuple[_Mention, ...]) -> bool:
    in_group = [mention for mention in named if mention.group == drug.group]
    itself = [mention for mention in in_group if mention.drug == drug.drug]
    return bool(in_group) and all(mention.is_denied for mention in itself or in_group)


def names_known_drug(text: str) -> bool:
    """Tell whether a text of allergies names anything that can be compared with what was given.

    >>> names_known_drug("penicillin rash"), names_known_drug("the white tablets")
    (True, False)
    """
    return bool(_mentions(text))


def _mentions(text: str, *, is_allergy: bool = True) -> tuple[_Mention, ...]:
    """Give the names in a text; underscores are read as spaces, as in values of a choice."""
    found: list[_Mention] = []
    text = text.replace("_", " ").replace(_NEXT, " ")
    start = 0
    for end in [*(match.span() for match in _CLAUSE_END.finditer(text)), (len(text), len(text))]:
        clause = text[start : end[0]]
        start = end[1]
        names = list(_NAME.finditer(clause))
        is_denied, last_end = False, 0
        for i, name in enumerate(names):
            has_next = i + 1 < len(names)
            after = clause[name.end() : names[i + 1].start() if has_next else None]
            is_listed = is_denied and bool(_LIST.fullmatch(clause[last_end : name.start()]))
            piece = clause[max(0, name.start() - _FAR) : name.start()].rpartition(",")[2]
            told = after + (_NEXT if has_next else "")
            is_denied = _is_denied(piece, told, is_listed) and not (
                is_allergy and _is_danger(piece, told)
            )
            last_end = name.end()
            found += _read(name[0], is_denied)
    return tuple(found)


def _is_denied(before: str, after: str, is_listed: bool) -> bool:
    """Tell whether a name is denied by the words around it, or as one of a list that is.

    `before` begins after the last comma, `after` ends at the next name.
    """
    said_of_it = after.partition(",")[0]
    if _IN_DOUBT.search(before) or _IN_DOUBT.search(said_of_it):
        return False
    if _ALLOWED.search(after):
        return True
    denial = _DENIAL.search(before)
    if denial:
        return not _DENIAL_IS_OVER.search(denial["rest"])
    return is_listed and not _REACTED.search(said_of_it)


def _is_danger(before: str, after: str) -> bool:
    """Tell whether a drug is forbidden or said to harm, in words that look like a denial."""
    is_forbidden = _INSTRUCTION.search(before) and not _NOT_FORBIDDEN.match(after)
    return bool(is_forbidden or _STILL.search(after.partition(",")[0]))


def _read(name: str, is_denied: bool) -> list[_Mention]:
    found = []
    for group in _GROUPS:
        if re.fullmatch(group.members, name, re.IGNORECASE):
            found.append(_Mention(group, name.lower(), is_denied))
        elif re.fullmatch(group.called, name, re.IGNORECASE):
            found.append(_Mention(group, None, is_denied))
    return found
