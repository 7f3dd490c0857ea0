"""Walking up and down the tree of places in one query each, on either database."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from django.db import connection
from django.db.models import QuerySet

from catalog.storage.models import Place

_ABOVE = (
    "WITH RECURSIVE above(start, id, parent_id) AS (SELECT id, id, parent_id FROM catalog_place WHERE id IN ({}) UNION "
    "SELECT a.start, p.id, p.parent_id FROM catalog_place p JOIN above a ON p.id = a.parent_id) "
    "SELECT start, id FROM above"
)
_STEPS = (
    "WITH RECURSIVE above(id, parent_id, code, kind, state) AS (SELECT id, parent_id, code, kind, state "
    "FROM catalog_place WHERE id = %s UNION SELECT p.id, p.parent_id, p.code, p.kind, p.state "
    "FROM catalog_place p JOIN above a ON p.id = a.parent_id) SELECT code, kind, state FROM above"
)
# Both databases take far more parameters in one statement; this keeps each statement short.
_AT_ONCE = 500


def under(place: Place) -> QuerySet[Place]:
    """The place and everything that lies in it, at any depth; usable as a subquery."""
    return Place.objects.descendants(place, include_self=True)


def ids_under(place: Place) -> set[int]:
    """Ids of the place and of everything in it, at any depth."""
    return set(under(place).values_list("pk", flat=True))


def paths(place_ids: Iterable[int]) -> dict[int, list[Place]]:
    """For each place its path, outermost first and itself last; two queries for every 500 places."""
    wanted = sorted(set(place_ids))
    above: dict[int, set[int]] = {}
    for start in range(0, len(wanted), _AT_ONCE):
        some = wanted[start : start + _AT_ONCE]
        with connection.cursor() as cursor:
            cursor.execute(_ABOVE.format(", ".join(["%s"] * len(some))), some)
            for below, one in cursor.fetchall():
                above.setdefault(below, set()).add(one)
    known: dict[int, Place] = {}
    needed = sorted(set().union(*above.values())) if above else []
    for start in range(0, len(needed), _AT_ONCE):
        known |= Place.objects.in_bulk(needed[start : start + _AT_ONCE])
    return {below: _climb(known[below], known) for below in above}


def path(place: Place) -> list[Place]:
    """Where a place is: its path, outermost first and itself last."""
    return paths([place.pk])[place.pk]


class Step(NamedTuple):
    """What a move asks of each place on its way."""

    code: str
    kind: str
    state: str


def steps(place: Place) -> list[Step]:
    """The path in one query, outermost first, with only what a move asks: every scan waits for it."""
    with connection.cursor() as cursor:
        cursor.execute(_STEPS, [place.pk])
        return [Step(*row) for row in reversed(cursor.fetchall())]


def names(steps: Sequence[Place]) -> list[str]:
    """The names along a path, without what the place above says already: "rack G, bay 4" in rack G is "bay 4"."""
    above = [f"{step.name}, " for step in steps]
    return [step.name.removeprefix(start) for start, step in zip(["", *above], steps, strict=False)]


def _climb(place: Place, known: dict[int, Place]) -> list[Place]:
    steps = [place]
    while (parent := known.get(steps[0].parent_id or 0)) is not None and parent not in steps:
        steps.insert(0, parent)
    return steps
