"""Whom can we dress? For a role on given days, over heights and weights; with a call its performers lie on the map."""

from collections.abc import Sequence
from dataclasses import dataclass

from catalog.fitting.body_queries import bodies_of, free_on_all, person_of, wearers_of
from catalog.fitting.calc.body import ADULT_AGE, Measure, Person, Shape, best_measures
from catalog.fitting.calc.dressable import Point, Stock, dressable, outfits_on
from catalog.fitting.calc.plan_types import Role as CalcRole
from catalog.fitting.problem_queries import Bands, calc_piece, calc_role, candidate, exclusion_rules
from catalog.fitting.queries import slots_of
from catalog.fitting.stock_queries import Question, stock_of
from catalog.loans.models import Call
from catalog.pieces.models import Role, Slot

# The map's columns and rows: what nearly all adults of the survey have.
HEIGHTS_MM = tuple(range(1500, 2001, 50))
WEIGHTS_G = tuple(range(45_000, 125_001, 5_000))


@dataclass(frozen=True, slots=True)
class OnMap:
    """A performer of the call: where on the map, and how many outfits fit what is known of this very body.

    What the performer must not wear is left out of the count.
    """

    number: str
    name: str
    height_mm: int
    weight_g: int
    outfits: int
    whole: int
    chance: float

    @property
    def in_hundred(self) -> int:
        """How likely any outfit fits, as so many in a hundred."""
        return round(100 * self.chance)


@dataclass(frozen=True, slots=True)
class DressMap:
    """The map of one role. `untold` pieces are not measured, or the house has no rule for them, and fit nobody here.

    `unplaced` are performers without height or weight, or under 18: nothing is said of them."""

    role: Role
    slots: tuple[Slot, ...]
    points: tuple[Point, ...]
    usable: int
    untold: int = 0
    performers: tuple[OnMap, ...] = ()
    unplaced: tuple[str, ...] = ()

    @property
    def most(self) -> int:
        """The highest count on the map."""
        return max((point.outfits or 0 for point in self.points), default=0)


def dress_map(
    role: Role, question: Question, *, shape: Shape, call: Call | None = None, sizes: str = "best"
) -> DressMap:
    """The map; with a call (for whoever reads size sheets) its performers who are there on all its days."""
    slots = slots_of([role])
    required = [slot for slot in slots if slot.required]
    calc, bands = calc_role(role, slots, 1), Bands(slots)
    rows = [row for row in stock_of([role], question) if row.usable and row.piece.slot in required]
    stock = [Stock(calc_piece(row.piece), candidate(row.piece, bands)) for row in rows]
    points = dressable(calc, stock, heights_mm=HEIGHTS_MM, weights_g=WEIGHTS_G, shape=shape)
    found, unplaced = _performers(call, calc, stock, sizes) if call is not None else ((), ())
    untold = sum(row.candidate.bands is None or bool(row.candidate.ranges.not_measured) for row in stock)
    return DressMap(role, tuple(required), points, len(rows), untold, found, unplaced)


def _performers(
    call: Call, role: CalcRole, stock: Sequence[Stock], sizes: str
) -> tuple[tuple[OnMap, ...], tuple[str, ...]]:
    wearers = [wearer for wearer in wearers_of(call) if free_on_all(wearer, call.days())]
    bodies, rules = bodies_of(wearers, sizes=sizes), exclusion_rules()
    found, unplaced = [], []
    for wearer in wearers:
        person = person_of(wearer, sizes=sizes)
        size = _stands_at(person)
        if size is None:
            unplaced.append(wearer.number)
            continue
        fit = outfits_on(role, stock, bodies[wearer.number], rules=rules)
        found.append(OnMap(wearer.number, wearer.name, *size, fit.outfits, fit.whole, fit.chance))
    found.sort(key=lambda one: (one.chance, one.outfits, one.number))
    return tuple(found), tuple(unplaced)


def _stands_at(person: Person) -> tuple[int, int] | None:
    """Height (mm) and weight (g), the surest of each; None when one is not known or nothing may be predicted."""
    if person.age_years is not None and person.age_years < ADULT_AGE:
        return None
    best: dict[str, Measure] = best_measures(person.measures)
    if "height" not in best or "weight" not in best:
        return None
    return best["height"].value, best["weight"].value
