"""Every shipped rule row: one case that fires it and one, close by, that does not."""

import pytest

from catalog.shipping.calc.facts import PieceFacts, Trip
from catalog.shipping.calc.verdicts import Verdict
from tests.shipping.calc import test_route_rows as route_rows
from tests.shipping.calc.shipped import BOOK, RESHOOT, check, piece, with_hazard, with_pack

SHOWN = Trip(to_be_worn=False, crosses_border=False, year=2026)
Case = PieceFacts | tuple[PieceFacts, Trip]


def metal(**pack: object) -> PieceFacts:
    return with_pack(**({"chemistry": "lithium_metal", "energy_wh": None, "lithium_g": 1.0} | pack))


def magnet(at_2_1m: float | None, at_4_6m: float | None = 0.1) -> PieceFacts:
    return piece("magnets", magnet_mg_at_2_1m=at_2_1m, magnet_mg_at_4_6m=at_4_6m)


COAT = piece()
PASSENGER, CARGO, CREW = "passenger_air", "cargo_air", "crew_baggage"

ROWS: dict[str, tuple[str, Case, Case]] = {
    "PACK-DAMAGED-AIR": (PASSENGER, with_pack(state="damaged"), with_pack()),
    "PACK-DAMAGED-HOUSE": ("road", with_pack(state="damaged"), with_pack()),
    "PACK-DAMAGED-ROAD": ("road", with_pack(state="damaged"), with_pack(state="damaged", chemistry="dry")),
    "LI-ROAD": ("road", with_pack(energy_wh=None), with_pack(chemistry="dry")),
    "LI-SEA-SMALL": ("sea", with_pack(energy_wh=100), with_pack(energy_wh=101)),
    "LI-SEA-LARGE": ("sea", metal(lithium_g=2.1), metal(lithium_g=2.0)),
    "LI-ION-FITTED-SMALL": (PASSENGER, with_pack(energy_wh=100), with_pack(energy_wh=100.1)),
    "LI-ION-FITTED-LARGE": (CARGO, with_pack(energy_wh=100.1), with_pack(energy_wh=100)),
    "LI-ION-PACKED-WITH-SMALL": (PASSENGER, with_pack(placed="packed_with"), with_pack()),
    "LI-ION-PACKED-WITH-LARGE": (
        CARGO,
        with_pack(placed="packed_with", energy_wh=120),
        with_pack(placed="packed_with", energy_wh=90),
    ),
    "LI-ION-PACKED-WITH-CHARGE": (
        PASSENGER,
        with_pack(placed="packed_with", charge_pct=31),
        with_pack(placed="packed_with", charge_pct=30),
    ),
    "LI-ION-ALONE-PASSENGER": (PASSENGER, with_pack(placed="alone"), with_pack(placed="packed_with")),
    "LI-ION-ALONE-SMALL": (CARGO, with_pack(placed="alone"), with_pack(placed="alone", energy_wh=150)),
    "LI-ION-ALONE-LARGE": (CARGO, with_pack(placed="alone", energy_wh=150), with_pack(placed="alone")),
    "LI-ION-ALONE-CHARGE": (CARGO, with_pack(placed="alone", charge_pct=45), with_pack(placed="alone", charge_pct=30)),
    "LI-METAL-FITTED-SMALL": (PASSENGER, metal(lithium_g=2), metal(lithium_g=2.4)),
    "LI-METAL-FITTED-LARGE": (CARGO, metal(lithium_g=2.4), metal(lithium_g=2)),
    "LI-METAL-PACKED-WITH-SMALL": (PASSENGER, metal(placed="packed_with"), metal()),
    "LI-METAL-PACKED-WITH-LARGE": (CARGO, metal(placed="packed_with", lithium_g=3), metal(placed="packed_with")),
    "LI-METAL-ALONE-PASSENGER": (PASSENGER, metal(placed="alone"), metal()),
    "LI-METAL-ALONE-SMALL": (CARGO, metal(placed="alone"), metal(placed="alone", lithium_g=3)),
    "LI-METAL-ALONE-LARGE": (CARGO, metal(placed="alone", lithium_g=3), metal(placed="alone")),
    "LI-ION-CREW-SMALL": (CREW, with_pack(energy_wh=100), with_pack(energy_wh=130)),
    "LI-ION-CREW-MIDDLE": (CREW, with_pack(energy_wh=160), with_pack(energy_wh=161)),
    "LI-ION-CREW-LARGE": (CREW, with_pack(energy_wh=161), with_pack(energy_wh=160)),
    "LI-METAL-CREW-SMALL": (CREW, metal(lithium_g=2), metal(lithium_g=2.1)),
    "LI-METAL-CREW-LARGE": (CREW, metal(lithium_g=2.1), metal(lithium_g=2)),
    "DRY-AIR": (PASSENGER, with_pack(chemistry="dry"), with_pack(chemistry="dry", state="damaged")),
    "DRY-SURFACE": ("sea", with_pack(chemistry="dry"), with_pack()),
    "BATTERY-ASK": ("road", piece("brass", "electrics"), with_hazard("battery", "cleared")),
    "RADIUM-STAYS": ("road", piece("radium paint"), piece("paint")),
    "RADIUM-PACKAGE": ("sea", piece("radium paint"), piece("radium paint", hazards=(("radium", "cleared"),))),
    "LEAD-HANDLING": ("road", piece("leather", "lead"), piece("leather")),
    "OLD-POISON-ASK": ("road", piece("old fur"), with_hazard("old_poison", "confirmed")),
    "OLD-POISON-FOUND": ("road", with_hazard("old_poison"), with_hazard("old_poison", "untested")),
    "OLD-POISON-WORN": ("road", with_hazard("old_poison"), (with_hazard("old_poison"), SHOWN)),
    "MERCURY-FELT-ASK": ("road", piece("fur felt"), piece("wool felt")),
    "MERCURY-FELT-FOUND": ("road", with_hazard("mercury"), with_hazard("mercury", "cleared")),
    "MERCURY-FELT-WORN": ("road", with_hazard("mercury"), (with_hazard("mercury"), SHOWN)),
    "MERCURY-ARTICLE": ("road", piece("glass", "mercury"), piece("glass")),
    "MERCURY-ARTICLE-AIR": (CARGO, piece("glass", "mercury"), piece("glass")),
    "ASBESTOS-STAYS": ("road", piece("asbestos cloth"), piece("cloth")),
    "CELLULOID": ("road", piece("celluloid"), piece("cellulose acetate")),
    "CELLULOID-UN": ("sea", piece("nitrate film"), piece("paper")),
    "SPECIES-BORDER-ASK": ("road", piece("feathers"), (piece("feathers"), SHOWN)),
    "SPECIES-HOME": ("road", (piece("feathers"), SHOWN), piece("feathers")),
    "SPECIES-PROTECTED": ("road", with_hazard("protected_species"), with_hazard("protected_species", "cleared")),
    "IVORY-UK": ("road", piece("wool", "ivory buttons"), piece("wool", "horn buttons")),
    "WEAPON-PAPER": ("road", piece("ash", kind="halberd"), piece("ash", kind="staff")),
    "WEAPON-BAGGAGE": (CREW, piece(is_prop_weapon=True), piece(is_prop_weapon=False)),
    "WEAPON-DULLED": (CARGO, piece(kind="sword"), piece(kind="sword", is_prop_weapon=False)),
    "GUN-REPLICA": ("road", piece("resin", kind="pistol"), piece("resin", kind="knife")),
    "LONG-BAGGAGE": (CREW, piece(longest_mm=2031), piece(longest_mm=2030)),
    "LONG-BAGGAGE-EXTRA": (CREW, piece(longest_mm=1581), piece(longest_mm=1580)),
    "HEAVY-BAGGAGE": (CREW, piece(weight_g=32001), piece(weight_g=32000)),
    "HEAVY-BAGGAGE-EXTRA": (CREW, piece(weight_g=23001), piece(weight_g=23000)),
    "LONG-PASSENGER": (PASSENGER, piece(longest_mm=1401), piece(longest_mm=1400)),
    "LONG-PASSENGER-WIDE": (PASSENGER, piece(longest_mm=1001), piece(longest_mm=1000)),
    "LONG-CARGO": (CARGO, piece(longest_mm=1401), piece(longest_mm=1400)),
    "HEAVY-PASSENGER": (PASSENGER, piece(weight_g=80001), piece(weight_g=80000)),
    "WEAR-REFERENCE": ("road", (piece(wear_decision="reference only"), SHOWN), COAT),
    "WEAR-REFERENCE-WORN": (
        "road",
        piece(wear_decision="reference only"),
        (piece(wear_decision="reference only"), SHOWN),
    ),
    "WEAR-NONE": ("road", piece(wear_decision=None), (piece(wear_decision=None), SHOWN)),
    "WEAR-REPAIR": ("road", piece(wear_decision="wear after repair"), COAT),
    "WEAR-LIMITS": ("road", piece(wear_decision="wear with limits"), COAT),
    "PEST-WORK-OPEN": ("road", piece(pest_work_open=True), piece(in_quarantine=True)),
    "QUARANTINE-OPEN": ("sea", piece(in_quarantine=True), piece(pest_work_open=True)),
    "NOT-FOUND": (CREW, piece(not_found=True), COAT),
    "AEROSOL-FREIGHT": (PASSENGER, with_hazard("aerosol"), COAT),
    "AEROSOL-BAGGAGE": (CREW, with_hazard("aerosol"), with_hazard("aerosol", "cleared")),
    "AEROSOL-SURFACE": ("sea", with_hazard("aerosol"), COAT),
    "AEROSOL-UN": ("road", with_hazard("aerosol"), COAT),
    "GAS-FREIGHT": (CARGO, with_hazard("gas_cartridge"), COAT),
    "GAS-BAGGAGE": (CREW, with_hazard("gas_cartridge"), COAT),
    "GAS-SURFACE": ("road", with_hazard("gas_cartridge"), with_hazard("gas_cartridge", "cleared")),
    "PYRO-STAYS": ("road", with_hazard("pyrotechnic"), COAT),
    "BLANKS-STAYS": ("road", with_hazard("blanks"), COAT),
    "BLANKS-CARGO": (CARGO, with_hazard("blanks"), with_hazard("blanks", "cleared")),
    "MAGNET-FORBIDDEN": (PASSENGER, magnet(55, 5.26), magnet(55, 5.25)),
    "MAGNET-DECLARE": (PASSENGER, magnet(5.25), magnet(5.24)),
    "MAGNET-ASK": (PASSENGER, magnet(2), magnet(1.9)),
    "MAGNET-FREE": (PASSENGER, magnet(1.9), magnet(2)),
    "MAGNET-SURFACE": ("road", magnet(None, None), COAT),
    "HEAT-RUBBER": ("road", piece("natural rubber"), piece("silicone rubber")),
    "HEAT-WAX": ("road", piece("oiled cotton"), piece("cotton")),
    "HEAT-LEATHER": ("road", piece("leather"), piece("linen")),
    "HEAT-PRINT": ("sea", piece("PLA"), piece("polyester resin")),
    "HEAT-FOAM": ("road", piece("polyurethane foam"), piece("wool")),
    "HEAT-GELATINE": ("road", piece("gelatine"), piece("silicone")),
    "HEAT-ACETATE": ("road", piece("cellulose acetate"), piece("linen")),
    "SHATTERED-SILK": ("road", piece("shattered silk"), piece("silk")),
    "GLASS-PACK": ("road", piece("brass", "glass"), piece("polyester resin", "glass fibre")),
    "FRAGILE-PACK": ("road", with_hazard("fragile"), COAT),
    "HANDLING": ("road", with_hazard("pinch"), with_hazard("rigid")),
    "WEARER-ONLY": ("road", with_hazard("vision"), COAT),
}


def rules_that_spoke(code: str, case: Case) -> set[str]:
    facts, trip = case if isinstance(case, tuple) else (case, RESHOOT)
    said = check(facts, ROWS[code][0], trip)
    return {reason.rules[0].split("@")[0] for reason in said.reasons if len(reason.rules) == 1 and fired(reason.text)}


def fired(text: str) -> bool:
    return not text.startswith("Not known:")


def test_every_shipped_row_has_its_two_cases() -> None:
    here_and_there = [*ROWS, *route_rows.ROWS, *route_rows.JOURNEYS]
    assert sorted(here_and_there) == sorted(rule.code for rule in BOOK.rules)


@pytest.mark.parametrize("code", sorted(ROWS))
def test_the_row_fires(code: str) -> None:
    assert code in rules_that_spoke(code, ROWS[code][1])


@pytest.mark.parametrize("code", sorted(ROWS))
def test_the_row_keeps_silent(code: str) -> None:
    assert code not in rules_that_spoke(code, ROWS[code][2])


@pytest.mark.parametrize("code", sorted(ROWS))
def test_the_verdict_is_never_better_than_the_row_that_fired(code: str) -> None:
    mode, case, _ = ROWS[code]
    facts, trip = case if isinstance(case, tuple) else (case, RESHOOT)
    row = next(rule for rule in BOOK.rules if rule.code == code)
    said = check(facts, mode, trip)
    assert said.verdict.rank >= row.verdict.rank
    assert row.name in said.rules
    assert row.citation in said.sources


def test_the_plain_coat_goes_every_way_and_no_rule_speaks() -> None:
    for mode in ("road", "sea", PASSENGER, CARGO, CREW):
        said = check(COAT, mode)
        assert (said.verdict, said.rules, said.questions) == (Verdict.MAY, (), ())
