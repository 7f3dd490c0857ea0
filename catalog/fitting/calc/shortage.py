"""Which slot is short: for each slot alone, how many of the performers could have a piece that fits.

The bound is exact for a slot alone (Hall, 1935; Ore, 1955): people minus the largest matching are left without.
"""

from collections import Counter
from dataclasses import dataclass

from catalog.fitting.calc.plan_pairs import Fitting
from catalog.fitting.calc.plan_types import Limit, PlanPiece, Problem, Role
from catalog.fitting.calc.shortage_graph import slot_graphs


@dataclass(frozen=True, slots=True)
class Shortage:
    """`matched` of the `people` who may play the role can have a piece of this slot at the same time.

    `short_by`: what is missing to the role's need, or to all of the people when there are fewer.
    """

    role: str
    slot: str
    people: int
    matched: int
    short_by: int
    sentence: str

    @property
    def deficiency(self) -> int:
        """How many pieces are missing to give every one of the people one that fits."""
        return self.people - self.matched


def shortages(problem: Problem) -> tuple[Shortage, ...]:
    """Every slot of every role that is asked for, in the problem's order; those not short have short_by 0."""
    found = []
    for (role, slot), graph in slot_graphs(problem).items():
        people, count = len(graph.wearers), graph.matched
        short = max(0, min(role.need, people) - count)
        said = f"{problem.word(role.code)}, {problem.word(slot)}: {count} can have one that fits"
        said += f"; {short} short." if short else "; enough."
        found.append(Shortage(role.code, slot, people, count, short, said))
    return tuple(found)


def group_bounds(role: Role, pieces: list[PlanPiece]) -> list[tuple[int, str, str]]:
    """Per match group: how many outfits its slots allow by count, its name, and the count per value ("A 4 + B 4")."""
    found = []
    for group in role.groups:
        counts = {slot: Counter[str]() for slot in group.slots if slot in role.slots}
        for piece in pieces:
            if piece.slot in counts and group.name in piece.values:
                counts[piece.slot][piece.values[group.name]] += 1
        values = sorted({value for counter in counts.values() for value in counter})
        least = {value: min(counter[value] for counter in counts.values()) for value in values}
        words = " + ".join(f"{value} {count}" for value, count in least.items() if count)
        found.append((sum(least.values()), group.name, words or "none"))
    return found


def tightest(
    role: Role, slots: dict[str, int], groups: list[tuple[int, str, str]], people: int | None, words: Problem | None
) -> Limit:
    """The smallest of the bounds: a slot, a match group when that is tighter still, or only the number of people."""

    def word(code: str) -> str:
        return words.word(code) if words is not None else code.replace("_", " ")

    slot = min(slots, key=lambda name: slots[name], default="")
    best = Limit("slot", slot, slots.get(slot, 0), f"At most {slots.get(slot, 0)}: {word(slot)}.")
    for count, name, values in groups:
        if count < best.count:
            best = Limit("group", name, count, f"At most {count}: pieces that share one {word(name)} ({values}).")
    if people is not None and people <= best.count:
        return Limit("people", "", people, f"At most {people}: so many performers are free for {word(role.code)}.")
    return best


def limits(problem: Problem, pairs: Fitting | None = None) -> dict[str, Limit]:
    """Per role asked for, what keeps it from more with the pieces there are (nothing made), were it dressed alone."""
    counts: dict[str, dict[str, int]] = {role.code: {} for role in problem.roles}
    for (role, slot), graph in slot_graphs(problem, pairs).items():
        counts[role.code][slot] = graph.matched
    found: dict[str, Limit] = {}
    for role in problem.roles:
        able = sum(wearer.may_play(role) for wearer in problem.wearers)
        pieces = [piece for piece in problem.pieces if piece.role == role.code]
        people = able if all(count >= able for count in counts[role.code].values()) else None
        found[role.code] = tightest(role, counts[role.code], group_bounds(role, pieces), people, problem)
    return found
