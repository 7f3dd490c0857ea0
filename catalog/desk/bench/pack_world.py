"""Invented pieces to pack, the same every time: loads bound by weight, by volume, by what must have nothing on it."""

import random

from catalog.shipping.calc.pack_problem import PackRules, Problem, Spec, Thing

TRUNK = Spec("trunk", (970, 470, 420), 9_000, 32_000)
CRATE = Spec("crate", (1_160, 760, 700), 28_000, 90_000)
APART = frozenset({("rubber or latex", "polyurethane"), ("soft PVC", "silk")})
_GROUPS = ("rubber or latex", "polyurethane", "soft PVC", "silk")
BOUND_BY = ("weight", "volume", "fragility")


def load(bound_by: str, pieces: int, seed: int, specs: tuple[Spec, ...] = (TRUNK, CRATE)) -> Problem:
    """So many pieces whose crates are full by weight, by volume, or by the floor that fragile things ask for.

    Outfits of ten; one piece in eight has a material that stays apart from another's, one in eight suffers from heat.
    """
    # Not for secrets: the same pieces every time.
    dice = random.Random(f"{bound_by} {pieces} {seed}")  # noqa: S311
    things = tuple(_thing(dice, bound_by, number) for number in range(pieces))
    return Problem(things, specs, PackRules(fill_percent=80, apart=APART))


def _thing(dice: random.Random, bound_by: str, number: int) -> Thing:
    heavy, large, fragile = {"weight": (1.0, 0.5, 0.05), "volume": (0.25, 1.0, 0.05)}.get(bound_by, (0.2, 0.5, 0.6))
    sides = tuple(int(large ** (1 / 3) * dice.uniform(low, high)) for low, high in ((200, 600), (150, 420), (80, 300)))
    return Thing(
        number=f"P-{number:04}",
        weight_g=int(heavy * dice.uniform(1_500, 12_000)),
        sides_mm=(sides[0], sides[1], sides[2]),
        on_top=dice.random() < fragile,
        heat=dice.random() < 0.125,
        groups=frozenset({dice.choice(_GROUPS)}) if dice.random() < 0.125 else frozenset(),
        outfit=f"outfit {number // 10}" if number % 5 else "",
    )
