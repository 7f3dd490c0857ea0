"""The way of a shipment: the countries it touches, and what a rule may ask about them.

A country is its ISO 3166-1 alpha-2 code. The European Union is one customs territory: a journey inside it crosses
borders but leaves no customs territory. Northern Ireland, the Channel Islands, free ports and overseas parts have rules
of their own, which the two letters do not tell: ask there.
"""

import re
from dataclasses import dataclass

from catalog.shipping.calc.facts import Trip

# The 27 member states since 1 February 2020 (European Union, "Country profiles"; from memory).
EU = frozenset(
    "AT BE BG CY CZ DE DK EE ES FI FR GR HR HU IE IT LT LU LV MT NL PL PT RO SE SI SK".split()  # noqa: SIM905
)
UNION = "EU"
WOOD = ("none", "marked", "unmarked")
_CODE = re.compile(r"[A-Z]{2}")


@dataclass(frozen=True, slots=True)
class Route:
    """Where a shipment starts, what it passes, where it is used, and whether it comes back the same way.

    `wood`: solid wood of more than 6 mm among crates, battens and pallets: none, marked (treated, with the mark) or
    unmarked; None is not known. Raises ValueError for a country that is no two capital letters.
    """

    start: str
    goal: str
    through: tuple[str, ...] = ()
    comes_back: bool | None = None
    wood: str | None = None

    def __post_init__(self) -> None:
        for code in self.countries:
            if not _CODE.fullmatch(code):
                raise ValueError(f"'{code}' is no country's two letters, for example GB.")
        if self.wood is not None and self.wood not in WOOD:
            raise ValueError(f"'{self.wood}' says nothing about wood; use one of {', '.join(WOOD)}.")

    def __str__(self) -> str:
        return " to ".join(self.countries)

    @property
    def countries(self) -> tuple[str, ...]:
        """All countries on the way out, in order."""
        return (self.start, *self.through, self.goal)

    @property
    def steps(self) -> list[tuple[str, str]]:
        """Every border crossed, as (left, entered); the way back too, unless all of it goes for good."""
        out = [(a, b) for a, b in zip(self.countries, self.countries[1:], strict=False) if a != b]
        return out if self.comes_back is False else out + [(b, a) for a, b in reversed(out)]


def trip_along(route: Route | None, *, to_be_worn: bool | None, year: int | None = None) -> Trip:
    """The facts of a trip. Without a route nothing about countries is known; `year` is that of the loading day."""
    if route is None:
        return Trip(to_be_worn=to_be_worn, year=year)
    left, entered, customs = set[str](), set[str](), False
    for a, b in route.steps:
        inside = a in EU and b in EU
        left |= {a} if inside else _with_union(a)
        entered |= {b} if inside else _with_union(b)
        customs |= not inside
    return Trip(
        to_be_worn=to_be_worn,
        crosses_border=bool(route.steps),
        customs_border=customs,
        leaves=frozenset(left),
        enters=frozenset(entered),
        passes=frozenset().union(*(_with_union(code) for code in route.countries)),
        comes_back=route.comes_back,
        wood=route.wood,
        year=year,
    )


def _with_union(code: str) -> set[str]:
    return {code, UNION} if code in EU else {code}
