"""How often a lost thing is found within the first five searched places: ours beside the plain rule."""

from collections.abc import Callable, Mapping

import numpy as np

from catalog.desk.bench.lost_world import Loss, losses
from catalog.desk.bench.measuring import BenchError, Measurement
from catalog.storage.calc.search import finds
from catalog.storage.calc.where import Vain, plain_order, rank

LOSSES, SEED, PLACES = 200, 19, 5
GOAL = 1.1


def where_to_look() -> Measurement:
    """Both search the same losses with the same luck: whether a look finds what is there is drawn once for both."""
    lost = losses(LOSSES, SEED)
    ours = [found_by(_ranked, loss, number) for number, loss in enumerate(lost)]
    plain = [found_by(_plain, loss, number) for number, loss in enumerate(lost)]
    mine, theirs = float(np.mean(ours)), float(np.mean(plain))
    if not theirs:
        raise BenchError("The plain rule found nothing: there is nothing to compare with.")
    ratio = mine / theirs
    return Measurement(
        name="where_to_look",
        value=round(100 * mine, 1),
        unit="%",
        baseline=f"last place, then its neighbours: found in the first {PLACES} of {len(lost)} simulated losses",
        baseline_value=round(100 * theirs, 1),
        ratio=round(ratio, 2),
        goal=f"at least {GOAL:g}",
        ok=ratio >= GOAL,
    )


def found_by(choose: Callable[[Loss, list[int]], int | None], loss: Loss, number: int) -> bool:
    """Whether the thing is found in the first few looked-through places that the rule chooses one by one."""
    luck = np.random.default_rng([SEED, number]).random(PLACES)
    searched: list[int] = []
    while len(searched) < PLACES:
        place = choose(loss, searched)
        if place is None:
            return False
        tries = searched.count(place)
        searched.append(place)
        kind = loss.clues.spots[place].kind
        if place == loss.truth and luck[tries] < finds(kind, "looked through", container=False):
            return True
    return False


def _ranked(loss: Loss, searched: list[int]) -> int | None:
    ranking = rank(loss.clues, [Vain(place, "looked through") for place in searched])
    return ranking.next.place if ranking.next else None


def _plain(loss: Loss, searched: list[int]) -> int | None:
    order = plain_order(loss.clues)
    return order[len(searched)] if len(searched) < len(order) else None


SEARCH_BENCHES: Mapping[str, Callable[[], Measurement]] = {"where_to_look": where_to_look}
