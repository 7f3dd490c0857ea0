"""Invented pieces and routes for the measurement of the travel check; the same every time for the same seed."""

from random import Random

from catalog.shipping.calc.facts import Mode, Pack, PieceFacts, Trip, WildPart
from catalog.shipping.calc.routes import Route, trip_along

_MATERIALS = (
    "wool", "cotton", "silk", "leather", "waxed canvas", "natural rubber", "foam latex", "fur felt", "rabbit fur",
    "feathers", "brass", "steel", "lead", "electrics", "polyurethane foam", "glass", "ivory", "celluloid",
)  # fmt: skip
_KINDS = ("coat", "boots", "hat", "lamp", "sword", "prop", "helmet", "gloves")
_DECISIONS = ("wear", "wear", "wear", "wear with limits", "wear after repair", "reference only", None)
ROUTES: tuple[tuple[Mode, Trip], ...] = (
    (Mode.ROAD, trip_along(Route("GB", "GB"), to_be_worn=True, year=2026)),
    (Mode.PASSENGER_AIR, trip_along(Route("GB", "US", (), True, "none"), to_be_worn=True, year=2026)),
    (Mode.SEA, trip_along(Route("GB", "ES", ("FR",), True, "marked"), to_be_worn=False, year=2026)),
)


def pieces(number: int, seed: int) -> list[PieceFacts]:
    """So many pieces: most are plain, some have packs, findings, parts of animals, and gaps."""
    random = Random(seed)  # noqa: S311
    return [_piece(random, index) for index in range(number)]


def _piece(random: Random, index: int) -> PieceFacts:
    def sometimes(share: float, value: object) -> object:
        return value if random.random() < share else None

    packs = (
        Pack("lithium_ion", random.choice([20.0, 48.0, 120.0, None]), random.choice(["sound", "damaged"]), "fitted"),
    )
    part = WildPart(random.choice(["bird feather", "crocodilian", "seal"]), random.choice(["I", "II", "none", None]))
    return PieceFacts(
        number=f"P{index:05d}",
        kind=random.choice(_KINDS),
        materials=frozenset(random.sample(_MATERIALS, random.choice([0, 1, 2, 2, 3]))),
        made_year=random.choice([1890, 1955, 1990, 2005, 2016, None]),
        hazards=(("old_poison", random.choice(["cleared", "confirmed"])),) if random.random() < 0.1 else (),
        packs=packs if random.random() < 0.1 else (),
        wild=(part,) if random.random() < 0.05 else (),
        values=(("GBP", float(random.choice([400, 9_000, 60_000]))),) if random.random() < 0.7 else (),
        wear_decision=random.choice(_DECISIONS),
        longest_mm=sometimes(0.8, random.choice([400, 900, 1500, 2400])),  # type: ignore[arg-type]
        weight_g=sometimes(0.9, random.choice([900, 4_000, 26_000])),  # type: ignore[arg-type]
        held_elsewhere=random.random() < 0.03,
    )
