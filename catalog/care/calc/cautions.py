"""What each hazard is called on a page, and the usual caution for the hand that reaches for the piece.

Usual cautions of the trade; where no source is named they are common practice, no source. They never replace the
local rules for health and safety or the word of a licensed person, and LOCAL_RULES says so under each of them.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from catalog.care.calc.hazards import CLEARED

LOCAL_RULES = "Local rules decide."


@dataclass(frozen=True, slots=True)
class HazardWords:
    """The name of a hazard and what to do where the hand is; "testable" ones wait for a test until they are cleared."""

    name: str
    caution: str
    testable: bool = False


# Mercury gives more vapour when heated: ICOM Costume, "Dangerous costume". Old dressings of fur and feather: posts of
# conservators on the CoOL and NHCOLL lists, 1997 and 2013. Where asbestos was used: museums' hazard lists.
HAZARDS: Mapping[str, HazardWords] = {
    "mercury": HazardWords("mercury in felt", "Wear gloves; no steam and no heat, they drive out vapour.", True),
    "old_poison": HazardWords(
        "old poison in fur, feather or skin", "Gloves and a mask; do not beat or brush; wash hands after.", True
    ),
    "asbestos": HazardWords(
        "asbestos", "Do not touch, shake or open it: seal the bag and call somebody licensed for it.", True
    ),
    "radium": HazardWords(
        "radium paint",
        "Do not open or scratch it; keep it in its bag, away from places where people stay; wash hands after.",
        True,
    ),
    "protected_species": HazardWords("protected species", "It crosses no border until its species is named.", True),
    "celluloid": HazardWords("celluloid", "Burns fast: no flame, no heat; look for a sharp smell and yellowing.", True),
    "lead": HazardWords("lead", "Gloves; wash hands before eating; white powder on it is poisonous."),
    "battery": HazardWords("battery", "Look at the pack first: swollen, warm or leaking is kept apart, never charged."),
    "mercury_article": HazardWords("mercury in a switch or glass", "Do not break or open it; keep it upright."),
    "prop_weapon": HazardWords("prop weapon", "Handed over and taken back by the person in charge of weapons."),
    "replica_gun": HazardWords("replica gun", "Treat it as loaded until the person in charge has shown it is not."),
    "magnet": HazardWords("magnet", "Keep it away from pacemakers, cards and compasses; strong ones pinch."),
    "aerosol": HazardWords("aerosol", "No heat, no sun."),
    "gas_cartridge": HazardWords("gas cartridge", "No heat; taken out before storage."),
    "pyrotechnic": HazardWords("pyrotechnic", "Only for the licensed person; not in this store."),
    "blanks": HazardWords("blank cartridges", "Only for the licensed person; locked away from the weapon."),
    "glass": HazardWords("glass", "It breaks and cuts: cut-proof gloves for splinters."),
    "foam_latex": HazardWords(
        "foam latex", "Handle little and with clean gloves; it tears and crumbles. Never freeze it."
    ),
    "natural_rubber": HazardWords("natural rubber", "Some skins and airways react to latex: ask before it is worn."),
    "latex_contact": HazardWords("latex on the skin", "Ask about latex before it is worn."),
    "heat_load": HazardWords("heat", "Water, shade and breaks; off between takes."),
    "vision": HazardWords("narrow view", "Somebody walks with the wearer; no stairs alone."),
    "breathing": HazardWords("closed headgear", "Short takes, off between them; the wearer can open it alone."),
    "rigid": HazardWords("stiff", "Nobody sits or falls in it; two people to put it on."),
    "heavy": HazardWords("heavy", "Two people lift; the wearer rests often."),
    "pinch": HazardWords("pinch point", "Fingers away from joints and rods."),
    "sharp": HazardWords("sharp edge", "Gloves; cover the edge before packing."),
    "sole_ageing": HazardWords("ageing sole", "Bend it by hand first: an old sole breaks off without warning."),
    "foam_ageing": HazardWords("ageing foam", "Crumbs are not breathed in: mask, and no wear if it powders."),
    "tacky": HazardWords("tacky finish", "Interleave with silicone paper; nothing may lie on it."),
    "fragile": HazardWords("fragile", "Both hands, on a tray."),
    "fur": HazardWords("fur", "Ask about fur before it is worn."),
}
DAMAGED_PACK = (
    "A swollen, leaking or damaged pack can catch fire: do not charge, press or open it. Keep it alone, in the open or "
    "in a fireproof box, not in the battery cabinet, and tell whoever is in charge of fire safety."
)

# Common practice, no source: what is not known is handled as the worst that old pieces of the trade carry.
UNKNOWN_MATERIALS = (
    "Handle it like an old piece until they are: clean gloves, and a mask for fur, feather, felt or skin; no steam, no "
    "heat, no beating or brushing; keep apart what smells sharp, powders or sticks; wash hands after."
)


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution for a page."""

    name: str
    text: str


def cautions_for(
    hazards: Mapping[str, str], *, damaged_pack: bool = False, materials_known: bool = True
) -> tuple[Caution, ...]:
    """Cautions for all hazards that are not cleared, the gravest first: a damaged pack, materials nobody has recorded,
    then what waits for a test.
    """
    open_codes = [code for code, state in hazards.items() if state != CLEARED and code in HAZARDS]
    ordered = sorted(open_codes, key=lambda code: (not HAZARDS[code].testable, list(HAZARDS).index(code)))
    pack = [Caution("damaged pack", DAMAGED_PACK)] if damaged_pack else []
    pack += [] if materials_known else [Caution("materials not recorded", UNKNOWN_MATERIALS)]
    return (*pack, *(Caution(HAZARDS[code].name, HAZARDS[code].caution) for code in ordered))


def hazard_name(code: str) -> str:
    """The name of a hazard for a page; one that the house added is shown by its own code."""
    return HAZARDS[code].name if code in HAZARDS else code.replace("_", " ")


def what_is_known(materials: Collection[str], hazards: Mapping[str, str]) -> str:
    """How far the hazards of a piece are known: not at all without materials, and never further than they reach.

    `hazards` are those shown beside it, code to state.
    """
    if not materials:
        others = "other hazards" if hazards else "hazards"
        return f"Materials are not recorded, so {others} are not known."
    if not hazards:
        return f"No hazard is known from its materials ({', '.join(sorted(materials))}), and none was found."
    if all(state == CLEARED for state in hazards.values()):
        return f"No other hazard is known from its materials ({', '.join(sorted(materials))})."
    return f"Judged by the materials recorded ({', '.join(sorted(materials))}) and by what was found."


def waiting_for_a_test(hazards: Mapping[str, str]) -> tuple[str, ...]:
    """The codes that only a test can settle and that are neither cleared nor confirmed."""
    return tuple(
        code
        for code, state in hazards.items()
        if state in {"untested", "suspected"} and code in HAZARDS and HAZARDS[code].testable
    )
