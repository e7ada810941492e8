"""The side guard: words in free text that belong to the other knee, meniscus or approach.

A dictated "right" in the note of a left knee is read by the next surgeon as the truth. There is no
grammar here, only word patterns, each applied to one sentence at a time:

1. **The other side.** "right", "R", "rt" or "right-sided", at most a few describing words, then
   something of a leg ("right torn medial meniscus"); or after it ("knee (right)", "side: right",
   "tourniquet on the right"). Alone the word says nothing: "right after", "left in place", "right
   arm" and "right of the midline" are no sides of a knee.
2. Quiet where the other knee is meant: it is compared ("than the right knee"), denied ("not the
   right knee"), called the other or the good one, has a past or a future ("in 2019", "listed"), is
   only laid down and padded, has no symptoms, is set against "the left", or stands beside its twin
   ("left and right legs"). Quiet where "right" means correct ("right patient, right knee") and
   where "left" is a verb ("we left the rim").
3. **The other meniscus**, when only one is torn or treated: "lateral meniscus" with a word for a
   tear or for an act in the same sentence, before another structure is named. Quiet where that word
   is denied, past, only suspected, or where the meniscus is first called intact.
4. **The nerve of the other approach**, when there was only one: the peroneal nerve is at risk
   laterally, the saphenous nerve medially. Only where it is protected or seen; examining its
   function is honest on either side.

What it finds is a question to the surgeon, never an answer. It misses slips without such a pattern
("the right one was scrubbed") and those that look like a comparison.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from opnote.reckon.pattern import late

_OTHER = {
    "left": "right",
    "right": "left",
    "medial": "lateral",
    "lateral": "medial",
}

_FAR = 160
"""How far around a word its sentence is read, in characters: keeps the work linear."""

_DESCRIBING = (
    r"medial|lateral|anterior|posterior|(?:antero|postero)(?:medial|lateral)|superficial|deep|lower"
    r"|upper|proximal|distal|inner|outer|torn|ruptured|injured|locked|swollen|painful|operated"
    r"|operative|symptomatic|affected|marked|whole|entire|partial|arthroscopic|diagnostic|femoral"
    r"|tibial|popliteal|patellar|patellofemoral|high|sterile|pneumatic|bare|flexed|extended"
)
_LEG = (
    r"knees?|knee[ -]joint|kneecap|legs?|thighs?|limbs?|extremity|calf|shin|foot|feet|toes?|ankle"
    r"|heel|femur|tibia|fibula|patella|menisc(?:us|i)|meniscectomy|[ampl]cl|pol|cruciates?"
    r"|meniscal(?!\s+(?:device|implant|size|anchor|cannula|rasp|punch))"
    r"|collaterals?|compartment|condyles?|plateau|gutter|joint[ -]line|intercondylar notch"
    r"|hamstrings?|quadriceps|gastrocnemius|portals?|tourniquet|arthroscopy|popliteus"
    r"|popliteal fossa|saphenous|peroneal|adductor canal|nerve block"
)
_ACT_ON_LEG = (
    r"tourniquet|cuff|arthroscopy|incision|operation|surgery|repair|meniscectomy|reconstruction"
)
_CONFIRMED = r"marked|confirmed|operated|draped|prepared|scrubbed|checked|consented|agreed"

_FILL = r"(?:\s+(?:in|on|of|to|with|that|those|the|his|her|their|for|from|as|at|and|a)){0,4}"
_UNHURT = (
    r"uninjured|unaffected|uninvolved|healthy|sound|good|better|well|normal|opposite|contralateral"
    r"|other|non-?operat\w+|asymptomatic|symptomless|pain-?free"
)
_COMPARED = (
    r"compar\w+|than|versus|vs\.?|unlike|like|equal|same|as|symmetric\w*|identical|similar|opposed"
    r"|match\w*|mirror\w*|relative|contrast|differ\w*"
)
_PAST = (
    r"previous(?:ly)?|earlier|prior|history|formerly|(?:in|since|of) (?:19|20)\d\d"
    r"|(?:years?|months?|weeks?|days?) (?:ago|before|earlier|previously)|last (?:year|month|week)"
)

_SPARED = (
    r"stockings?|straps?|stirrup|pumps?|intermittent compression|compression (?:device|sleeve)"
    r"|well[- ]leg"
)

_MEANT_BEFORE = late(
    rf"\b(?:{_COMPARED}|{_UNHURT}){_FILL}\s*$"
    r"|\bdiffer\w*\b[^,;:]*\bfrom\b[^,;:]*$"
    r"|\d (?:mm|degrees|cm),?\s*$"
    rf"|\b(?:not|never|nor|neither|no|rather than|instead of|scar),?{_FILL}\s*$"
    rf"|\b(?:{_PAST}|{_SPARED})\b[^,;:]*$"
    r"|\b(?:against|versus|vs\.?) \d[^,;:]*$"
    r"|\bno (?:trouble|pain|complaints?|problems?|symptoms?)\b[^,;:]*$"
    r"|\b(?:my|our|(?:surgeon|assistant|nurse|anaesthetist|registrar)['’]s)\s*$",
    re.IGNORECASE,
)
_MEANT_AFTER = late(
    rf"\b(?:is|was|are|were|remain\w*)\s+(?:\w+ly\s+)?(?:(?:his|her|their|the)\s+)?(?:{_UNHURT})\b"
    r"|\b(?:not|never)\s+(?:been\s+|being\s+)?(?:operated|touched|examined|involved|affected"
    r"|marked|treated|draped|opened|injured)\b"
    r"|^\s+(?:has|had|showed|is|was) the same\b|\b(?:at work|childhood|takes? full weight)\b"
    r"|\b(?:for|as)\s+(?:a\s+)?(?:comparison|control|reference)\b"
    rf"|\b(?:{_PAST}|listed|planned|scheduled|postponed|later|next (?:year|month|week))\b"
    rf"|\b(?:{_SPARED}|padded|padding|strapped|lithotomy|abducted|flat|(?:on|to) the table"
    r"|out of the way)\b"
    r"|^\s+(?:side\s+|end\s+)?of\s+(?:the|his|her|my)\s+"
    r"(?:table|bed|trolley|surgeon|assistant|nurse|screen)\b",
    re.IGNORECASE,
)
_MEANT_ANYWHERE = late(
    r"\b(?:contralateral|opposite|other (?:knee|leg|side)|both (?:knees|legs)|bilateral)\b",
    re.IGNORECASE,
)
_CORRECT = late(r"\bright (?:patient|person|procedure|operation|site)\b", re.IGNORECASE)
_LEFT_AS_VERB = late(
    r"\b(?:i|we|he|she|they|who|surgeon|assistant|registrar|nurse|patient"
    r"|has|have|had|having|is|are|was|were|be|been|being)"
    r"\s*$",
    re.IGNORECASE,
)

_ACT = late(
    r"\b(?:tears?|torn|repair\w*|sutur\w*|stitch\w*|resect\w*|trimm\w*|excis\w*|refix\w*|fixed"
    r"|fixation|reduc\w*|rasp\w*|debrid\w*|trephin\w*|anchor\w*|bucket|flap|meniscectomy|displaced"
    r"|removed|shaved|sewn|re-?attach\w*|reinsert\w*)\b",
    re.IGNORECASE,
)
_UNREAL = late(r"\b(?:would|might|could) have\b|\b(?:away from|near to) the\s*$", re.IGNORECASE)
_DENIED = late(
    r"\b(?:no|not|without|never|nor|neither|nil|free of|instead of|rather than|if|exclud\w*|ruled"
    r"|possible|suspect\w*|suspicion|suggest\w*|query|risk of|before|old)\b(?:[\s,/-]+\w+){0,4}"
    r"[\s,/-]*$",
    re.IGNORECASE,
)
_LONG_AGO_OR_DOUBTED = late(
    rf"\b(?:{_PAST}|suggest\w*|suspect\w*|not (?:found|confirmed|seen)|excluded|ruled out)\b",
    re.IGNORECASE,
)
_WHOLE = late(
    r"\b(?:intact|normal|whole|unremarkable|healthy|untouched|undamaged|spared|uninjured)\b",
    re.IGNORECASE,
)
_STRUCTURE = late(
    r"\b(?:medial|lateral)\s+(?:menisc|compartment|femoral|tibial|condyle|collateral)\w*"
    r"|\b(?:[ampl]cl|cruciate|cartilage|ramp)\b",
    re.IGNORECASE,
)

_NERVES = {
    "medial": late(r"\b(?P<word>peroneal|fibular)\b", re.IGNORECASE),
    "lateral": late(r"\b(?P<word>saphenous)\b", re.IGNORECASE),
}
_GUARDED = late(
    r"\b(?:protect\w*|retract\w*|identif\w*|seen|found|dissect\w*|expos\w*|kept|guard\w*|shield\w*"
    r"|safe\w*|spared|visuali[sz]ed|isolated|freed|behind)\b",
    re.IGNORECASE,
)
_EXAMINED = late(
    r"\b(?:function\w*|sensation|sensory|motor|power|dorsiflexion|block|deficit|palsy|numb\w*|risks?"
    r"|consent\w*|warned|checked|examined|normal|not|never|no)\b",
    re.IGNORECASE,
)

_SENTENCE_END = late(r"(?<!\b[RrLl]t)(?<!\b[RL])(?<!\bvs)[.!?](?=\s|$)|[;\n]")


def _side_patterns(side: str) -> tuple[re.Pattern[str], ...]:
    letter = side[0].upper()
    word = (
        rf"(?<![\w-])(?<!\d\s)(?:(?P<word>{side})(?:[ -]sided)?|(?P<short>{letter}t)\b\.?"
        rf"|\(?(?P<letter>(?-i:{letter}))\b\)?\.?)"
    )
    plain = rf"(?P<word>{side}|{letter}t|(?-i:{letter}))\b"
    return tuple(
        late(pattern, re.IGNORECASE)
        for pattern in (
            rf"{word}[\s-]+(?:(?:{_DESCRIBING})[\s-]+){{0,4}}(?:{_LEG})(?![\w-])",
            rf"\b(?:{_LEG}|{_ACT_ON_LEG})\s*[,:(–-]\s*{plain}(?=\s*(?:[.,;:)\n]|$))",
            rf"\bside\b(?:\s+\w+){{0,3}}\s*[:=]\s*{plain}(?!\s+\w)",
            rf"\b(?P<word>{side})\s+side\b(?:(?:\s+\w+){{0,3}}?\s+(?:{_CONFIRMED})"
            r"|\s+of\s+(?:the|his|her)\s+knee)\b",
            rf"\b(?:{_ACT_ON_LEG})\b(?:\s+\w+){{0,4}}?\s+on\s+the\s+{plain}"
            r"(?=\s*(?:[.,;:)]|$)|\s+(?:at|was|to|with|and|inflated|released|side\b(?!\s+of))\b)",
        )
    )


_SIDE_PATTERNS = {side: _side_patterns(side) for side in ("left", "right")}
_MENISCUS_PATTERNS = {
    meniscus: late(
        rf"\b(?P<word>{meniscus})\s+(?:(?:posterior|anterior|partial|torn|whole)\s+){{0,2}}"
        rf"(?:menisc(?:us|al)\b|(?=meniscectomy\b))"
        rf"|(?<!\d)(?<!\d\s)\b(?P<short>(?-i:{meniscus[0].upper()}M))\b",
        re.IGNORECASE,
    )
    for meniscus in ("medial", "lateral")
}


@dataclass(frozen=True, slots=True)
class Slip:
    """A word that belongs to the other side.

    Units: `start` and `end` count characters of the text; text[start:end] is `word`. `reason` is
    one sentence for the surgeon.
    """

    start: int
    end: int
    word: str
    reason: str


def side_slips(
    text: str, *, side: str | None, menisci: Collection[str] = (), approach: str | None = None
) -> tuple[Slip, ...]:
    """Find the words of a note that name the other knee, meniscus or nerve; in order of the text.

    `side` is the knee operated on, "left" or "right"; `menisci` are those torn or treated;
    `approach` is the open one, "medial" or "lateral" ("posteromedial" counts as medial). What is
    None or empty, or holds both sides, is not looked for.

    Source: common practice (wrong side in dictation); the rules are those of the module.

    >>> [slip.word for slip in side_slips("The right knee was scrubbed.", side="left")]
    ['right']
    >>> side_slips("Valgus 3 mm more than in the right knee.", side="left")
    ()
    """
    found = [
        *_other_side(text, side),
        *_other_meniscus(text, menisci),
        *_other_nerve(text, approach),
    ]
    return tuple(sorted({slip.start: slip for slip in reversed(found)}.values(), key=_start))


def _start(slip: Slip) -> int:
    return slip.start


def _only(words: Collection[str], one: str, other: str) -> str | None:
    """Give which of two is named when the other isn't."""
    if (one in words) == (other in words):
        return None
    return one if one in words else other


def _slip(match: re.Match[str], reason: str) -> Slip:
    group = next(name for name, part in match.groupdict().items() if part is not None)
    return Slip(match.start(group), match.end(group), match[group], reason)


def _around(text: str, start: int, end: int) -> tuple[str, str]:
    """Give what stands before and after a place in its own sentence."""
    before = _after_last(_SENTENCE_END, text[max(0, start - _FAR) : start])
    after = text[end : end + _FAR]
    stop = _SENTENCE_END.search(after)
    return before, after[: stop.start()] if stop else after


def _after_last(pattern: re.Pattern[str], text: str) -> str:
    return text[max((match.end() for match in pattern.finditer(text)), default=0) :]


def _other_side(text: str, side: str | None) -> Iterator[Slip]:
    if side not in _SIDE_PATTERNS:
        return
    other = _OTHER[side]
    short = r"(?:" + side + "|" + side[0] + "t?)"
    twin_before = re.compile(rf"\b{short}\s*(?:and|or|/|&)\s*(?:the\s+)?$", re.IGNORECASE)
    contrasted = re.compile(rf"\bthe {side}(?=\s*(?:[,.\d]|to\b|at\b|was\b|is\b|had\b|$))")
    for pattern in _SIDE_PATTERNS[other]:
        for match in pattern.finditer(text):
            slip = _slip(match, f'"{" ".join(match[0].split())}" in a note about the {side} knee.')
            before, _ = _around(text, slip.start, slip.end)
            _, after = _around(text, match.start(), match.end())
            if not (
                _MEANT_BEFORE.search(before)
                or twin_before.search(before)
                or contrasted.search(before + after)
                or _MEANT_AFTER.search(after.partition(",")[0])
                or _MEANT_ANYWHERE.search(before + after)
                or (other == "right" and _CORRECT.search(before + slip.word + after))
                or (other == "left" and _LEFT_AS_VERB.search(before))
            ):
                yield slip


def _other_meniscus(text: str, menisci: Collection[str]) -> Iterator[Slip]:
    meniscus = _only(menisci, "medial", "lateral")
    if meniscus is None:
        return
    other = _OTHER[meniscus]
    for match in _MENISCUS_PATTERNS[other].finditer(text):
        before, after = _around(text, match.start(), match.end())
        if _is_treated(before, after):
            yield _slip(
                match, f"The {other} meniscus as torn or treated; only the {meniscus} one is."
            )


def _is_treated(before: str, after: str) -> bool:
    """Tell whether the meniscus named between two parts of a sentence is called torn or treated."""
    if _LONG_AGO_OR_DOUBTED.search(before + " " + after):
        return False
    if _UNREAL.search(before) or _UNREAL.search(after):
        return False
    stop = _STRUCTURE.search(after)
    after = after[: stop.start()] if stop else after
    before = _after_last(_STRUCTURE, before).rpartition(",")[2]
    whole = _WHOLE.search(after)
    after = after[: whole.start()] if whole else after
    if any(not _DENIED.search(after[: act.start()]) for act in _ACT.finditer(after)):
        return True
    return whole is None and any(
        not _DENIED.search(before[: act.start()]) for act in _ACT.finditer(before)
    )


def _other_nerve(text: str, approach: str | None) -> Iterator[Slip]:
    side = _only(approach or "", "medial", "lateral")
    if side is None:
        return
    for match in _NERVES[side].finditer(text):
        sentence = "".join(_around(text, match.start(), match.end()))
        if _GUARDED.search(sentence) and not _EXAMINED.search(sentence):
            yield _slip(match, f"The {match[0].lower()} nerve is not met by a {side} approach.")
