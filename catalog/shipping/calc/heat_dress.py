"""What clothing adds to the WBGT: two lists that disagree, kept apart; the house chooses one and it is named. Pure.

ISO 7243:2017 annex F, read as JIS Z 8504:2021 and in a Japanese report of 2015; the other list is that of ACGIH, NIOSH
and OSHA, read in secondary pages. Foam, fur, padding and sealed creature suits are in neither.
"""

from collections.abc import Mapping
from dataclasses import dataclass

# The highest value of either list that has no suit under it, for what is in no list: house judgement.
ASSUMED = 11.0
HOOD_ADDS = 1.0
NOT_LISTED = "in no list"


@dataclass(frozen=True, slots=True)
class DressList:
    """One published list: what each sort of clothing adds, in °C of WBGT."""

    key: str
    words: str
    limits: str
    adds: Mapping[str, float]


ISO = DressList(
    "iso",
    "ISO 7243:2017, annex F",
    "iso",
    {
        "work_clothes": 0,
        "coveralls": 0,
        "nonwoven_SMS_single": 0,
        "nonwoven_polyolefin_single": 2,
        "double_woven": 3,
        "long_vb_apron_over_coveralls": 4,
        "vb_coverall_no_hood": 10,
        "vb_coverall_with_hood": 11,
        "vb_over_coveralls_no_hood": 12,
    },
)
ACGIH = DressList(
    "acgih",
    "ACGIH, NIOSH and OSHA list",
    "niosh",
    {
        "short_sleeves_and_trousers": -1,
        "work_clothes": 0,
        "coveralls": 0,
        "nonwoven_SMS_single": 0.5,
        "nonwoven_polyolefin_single": 1,
        "double_woven": 3,
        "vb_limited_use_coverall_with_hood": 11,
    },
)
LISTS: Mapping[str, DressList] = {found.key: found for found in (ISO, ACGIH)}
# Rows that have a hood in them already.
_HOODED = frozenset({"vb_coverall_with_hood", "vb_limited_use_coverall_with_hood"})
# The only rows for which a table made for normal clothing may be read.
NORMAL = frozenset({"work_clothes", "short_sleeves_and_trousers"})
CREATURE = "creature"
WORDS: Mapping[str, str] = {
    "short_sleeves_and_trousers": "short sleeves and trousers",
    "work_clothes": "one woven layer: shirt and trousers",
    "coveralls": "woven coveralls over light underclothes",
    "nonwoven_SMS_single": "single SMS non-woven suit",
    "nonwoven_polyolefin_single": "single polyolefin non-woven suit",
    "double_woven": "two woven layers, as a lined coat over a suit",
    "long_vb_apron_over_coveralls": "long impermeable apron or tabard over one layer",
    "vb_coverall_no_hood": "impermeable suit, no hood",
    "vb_coverall_with_hood": "impermeable suit with hood or closed helmet",
    "vb_limited_use_coverall_with_hood": "limited-use impermeable suit with hood",
    "vb_over_coveralls_no_hood": "impermeable suit over woven coveralls, no hood",
    CREATURE: "in no list: foam, fur, padding, sealed creature suit (+11 assumed)",
}


@dataclass(frozen=True, slots=True)
class Adds:
    """What the dress adds in °C of WBGT, `None` where the chosen list does not say; and whether it is assumed only."""

    value: float | None
    why: str
    assumed: bool = False
    normal: bool = False


def adds(dress: str, hood: bool, chosen: DressList) -> Adds:
    """What this dress adds by the chosen list; nothing is borrowed from the other one."""
    words = WORDS.get(dress, dress)
    if dress == CREATURE:
        return Adds(ASSUMED, f"{words[0].upper()}{words[1:]}; a competent person decides.", assumed=True)
    value = chosen.adds.get(dress)
    if value is None:
        return Adds(None, f"“{words}” is not in {chosen.words}: choose a row of that list.")
    extra = HOOD_ADDS if hood and dress not in _HOODED else 0.0
    hooded = ", and a hood or closed helmet" if extra else ""
    total = value + extra
    return Adds(total, f"{words}{hooded}: {total:+g} °C by {chosen.words}", normal=dress in NORMAL and not extra)
