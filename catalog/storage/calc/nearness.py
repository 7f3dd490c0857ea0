"""How near places are to one another in the tree: the shelf above, the trunk beside, the next bay."""

from collections import defaultdict
from collections.abc import Mapping

from catalog.storage.calc.clues import Spot
from catalog.storage.calc.walking import natural_key

# Each further step through the tree halves it; each further neighbour at the fork takes three tenths off.
STEP, GAP = 0.5, 0.7


def near(last: int, spots: Mapping[int, Spot]) -> dict[int, float]:
    """For every spot that can hold something, in the same tree: 1 for what touches the place, less with each step."""
    if last not in spots:
        return {}
    children = _children(spots)
    ranks = {pk: rank for below in children.values() for rank, pk in enumerate(below)}
    here = _up(last, spots)
    found: dict[int, float] = {}
    for pk, spot in spots.items():
        holds = spot.container or not children.get(pk)
        way = _up(pk, spots)
        shared = next((step for step in way if step in here), None)
        if pk == last or shared is None or spots[shared].kind == "site":
            continue
        # The shelf under a trunk counts although other things stand on it; the bay around a shelf does not.
        if not holds and not (spots[last].container and pk == spots[last].parent):
            continue
        up, down = here.index(shared), way.index(shared)
        found[pk] = STEP ** max(0, up + down - 2) * GAP ** max(0, _gap(here, way, up, down, ranks) - 1)
    return found


def _children(spots: Mapping[int, Spot]) -> dict[int | None, list[int]]:
    """The fixed places in each place, in walking order; what moves stands nowhere in the row."""
    below: dict[int | None, list[int]] = defaultdict(list)
    for spot in sorted(spots.values(), key=lambda one: (one.order, natural_key(one.code))):
        if not spot.container:
            below[spot.parent].append(spot.pk)
    return below


def _gap(here: list[int], way: list[int], up: int, down: int, ranks: Mapping[int, int]) -> int:
    """How many neighbours apart the two branches leave their fork."""
    if not up or not down:
        return 1
    one, other = ranks.get(here[up - 1]), ranks.get(way[down - 1])
    return 1 if one is None or other is None else abs(one - other)


def _up(pk: int, spots: Mapping[int, Spot]) -> list[int]:
    """The spot and what it stands in, innermost first."""
    way = [pk]
    while (parent := spots[way[-1]].parent) is not None and parent in spots and parent not in way:
        way.append(parent)
    return way
