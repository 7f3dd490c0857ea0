"""What to mind of a piece while somebody has it on, for the hand that gives it out on set. Pure; values in, words out.

Usual cautions: where no source is named they are common practice, no source. SET_RULES stands under every list of
them: nothing here replaces the set's medic, the local rules or the word of a licensed person.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from catalog.care.calc.cautions import DAMAGED_PACK, HAZARDS
from catalog.care.calc.hazards import CLEARED

SET_RULES = "The set's medic and local rules decide."
PRACTICE = "common practice, no source"
# Water: the amounts of NIOSH 2017-126. First days: NIOSH 2016-106. Both were written for heat at work in normal
# clothing; a costume heavier than that asks for more rest, never for less.
_HEAT = "NIOSH 2017-126 and 2016-106, for work in normal clothing"
_LISTS = "posts of conservators, CoOL 1997 and NHCOLL 2013, seen as excerpts"


@dataclass(frozen=True, slots=True)
class SetCaution:
    """One caution: what it is about, what to do, and where that is from."""

    code: str
    name: str
    text: str
    source: str = PRACTICE


_ON_SET: tuple[SetCaution, ...] = (
    SetCaution(
        "old_poison",
        "old fur, feather or skin",
        "Untested it is not worn, not brushed or beaten, not steamed. Gloves and a mask to carry it; wash hands after.",
        _LISTS,
    ),
    SetCaution(
        "mercury",
        "old felt",
        "Untested it is not worn and not steamed: steam and heat drive mercury out of it. Gloves.",
        "ICOM Costume, “Dangerous costume”",
    ),
    SetCaution("asbestos", "asbestos", "Not worn. Do not touch, shake or open it: call somebody licensed for it."),
    SetCaution("radium", "radium paint", "Not worn. Keep it in its bag, away from where people stay."),
    SetCaution(
        "breathing",
        "closed headgear",
        "Off between takes, each time. Somebody who can open it stands beside the wearer, and the wearer shows the "
        "fast release before the first take. At the first word it comes off.",
    ),
    SetCaution(
        "foam_ageing",
        "crumbling foam",
        "Look inside and knock it out over white paper before it goes on: crumbs and dust are breathed in. With crumbs "
        "it is not worn.",
    ),
    SetCaution(
        "vision",
        "narrow sight",
        "The wearer walks the path once without it. Somebody leads; no stairs, edges, vehicles or animals alone.",
    ),
    SetCaution(
        "heat_load",
        "heat",
        "Shade, a quarter of a litre of water every 15 to 20 minutes and never above 1.4 litres in an hour; off and "
        "cool whenever the wearer asks. Who is new to it begins with a fifth of the time.",
        _HEAT,
    ),
    SetCaution(
        "lead",
        "lead",
        "Gloves for whoever handles it; not on bare skin. Wash hands and face before eating, drinking or smoking; "
        "nobody eats in it or beside it. White powder on it is poisonous.",
        "29 CFR 1910.1025 (hygiene), from memory",
    ),
    SetCaution(
        "heavy",
        "weight",
        "Two people put it on and take it off. Between takes it rests on a stand, not on the wearer; numb or sore is "
        "off at once.",
    ),
    SetCaution("rigid", "stiff", "Nobody sits, kneels or falls in it; two people to put it on."),
)
_BY_CODE = {one.code: one for one in _ON_SET}
# A closed helmet that nobody noted as one still closes.
_CLOSES = frozenset({"helmet"})


def set_cautions_for(
    hazards: Mapping[str, str], *, kind: str = "", damaged_pack: bool = False
) -> tuple[SetCaution, ...]:
    """Cautions of every hazard that is not cleared, the gravest for whoever wears it first, then the rest of them."""
    open_codes = [code for code, state in hazards.items() if state != CLEARED]
    found = [one for one in _ON_SET if one.code in open_codes]
    if kind in _CLOSES and "breathing" not in hazards:
        closed = _BY_CODE["breathing"]
        text = f"If it closes over the face: {closed.text[0].lower()}{closed.text[1:]}"
        found.append(SetCaution(closed.code, closed.name, text, closed.source))
    found += [
        SetCaution(code, HAZARDS[code].name, HAZARDS[code].caution)
        for code in HAZARDS
        if code in open_codes and code not in _BY_CODE
    ]
    pack = [SetCaution("damaged_pack", "damaged pack", DAMAGED_PACK)] if damaged_pack else []
    return (*pack, *found)
