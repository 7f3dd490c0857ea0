"""Where things are: places by code, paths, walking order, what a place holds, where a piece stands, labels.

Reads only. `tree` walks the places; everything about many pieces is asked in a fixed number of queries.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import QuerySet

from catalog.care.models import Quarantine
from catalog.core.codes import CodeError, plain, read_code
from catalog.core.fields import plain_of
from catalog.pieces.models import Piece
from catalog.storage import tree
from catalog.storage.calc.walking import Step, WalkingKey, walking_key
from catalog.storage.models import Label, MissingFile, Move, Place, PlaceKind, Standing, State
from catalog.storage.place_queries import content, missing_now, not_at_home
from catalog.storage.standing import APART
from catalog.storage.tree import ids_under, path, paths, under

__all__ = [
    "Where",
    "content",
    "ids_under",
    "label_of",
    "label_target",
    "missing_ids",
    "missing_now",
    "not_at_home",
    "path",
    "paths",
    "pieces_under",
    "place_by_code",
    "standings_under",
    "under",
    "walking_keys",
    "where_are",
    "where_facts",
    "where_is",
]


def place_by_code(code: str) -> Place | None:
    """The place of this code in any case, or the only one called so but for dashes and spaces; else None."""
    exact = Place.objects.filter(code__iexact=code.strip()).first()
    if exact is not None or not plain(code):
        return exact
    alike = list(Place.objects.annotate(plain=plain_of("code")).filter(plain=plain(code))[:2])
    return alike[0] if len(alike) == 1 else None


def pieces_under(place: Place) -> QuerySet[Piece]:
    """The pieces in a place with everything under it."""
    return Piece.objects.filter(standing__place__in=tree.under(place))


def standings_under(place: Place) -> QuerySet[Standing]:
    """Where each piece in a place with everything under it stands."""
    return Standing.objects.filter(place__in=tree.under(place)).select_related("piece")


def walking_keys(place_ids: Iterable[int]) -> dict[int, WalkingKey]:
    """For each place the key that sorts it in walking order: site, room, rack, bay, level, container."""
    steps = paths(place_ids)
    return {pk: walking_key(Step(step.order, step.code) for step in found) for pk, found in steps.items()}


@dataclass(frozen=True, slots=True)
class Where:
    """Where a piece is, for a page: `sure` is False when it is only recorded, never seen there."""

    piece: Piece
    state: str
    tone: str
    sentence: str
    steps: tuple[Place, ...] = ()
    home: Place | None = None
    home_steps: tuple[Place, ...] = ()
    at_home: bool | None = None
    since: datetime | None = None
    last_seen: date | None = None
    last_seen_by: str = ""
    walking: WalkingKey = ()

    @property
    def place(self) -> Place | None:
        """The innermost place, often a container."""
        return self.steps[-1] if self.steps else None

    @property
    def walk(self) -> list[tuple[Place, str]]:
        """Each place on the way in, with the name that it needs there."""
        return list(zip(self.steps, tree.names(self.steps), strict=True))

    @property
    def sure(self) -> bool:
        """Whether anybody ever saw it since it was put there; else it is only recorded."""
        return self.last_seen is not None and self.since is not None and self.last_seen >= self.since.date()


_TONES = {State.IN_STORE: "good", State.OUT: "care", State.TREATMENT: "care", State.NOT_FOUND: "bad"}


def where_are(pieces: Iterable[Piece]) -> dict[int, Where]:
    """Where each of these pieces is, by piece id; four queries however many there are."""
    by_id = {piece.pk: piece for piece in pieces}
    standings = {s.piece_id: s for s in Standing.objects.filter(piece__in=by_id).select_related("home", "place")}
    wanted = {pk for s in standings.values() for pk in (s.place_id, s.home_id) if pk}
    steps = paths(wanted) if wanted else {}
    return {pk: _where(piece, standings.get(pk), steps) for pk, piece in by_id.items()}


def where_is(piece: Piece) -> Where:
    """Where this piece is."""
    return where_are([piece])[piece.pk]


def _where(piece: Piece, standing: Standing | None, steps: dict[int, list[Place]]) -> Where:
    if standing is None:
        return Where(piece, "not recorded", "unknown", "Where it is has not been recorded.")
    here = tuple(steps.get(standing.place_id or 0, ()))
    # In its trunk it is at home, wherever the trunk is; what nobody can find, or what is out, is nowhere at home.
    in_reach = standing.state in {State.IN_STORE, State.TREATMENT}
    at_home = None if standing.home_id is None else in_reach and standing.place_id == standing.home_id
    return Where(
        piece=piece,
        state=standing.get_state_display(),
        tone=_TONES[State(standing.state)],
        sentence=_sentence(standing, here),
        steps=here,
        home=standing.home,
        home_steps=tuple(steps.get(standing.home_id or 0, ())),
        at_home=at_home,
        since=standing.since,
        last_seen=standing.last_seen,
        last_seen_by=standing.last_seen_by,
        walking=walking_key(Step(step.order, step.code) for step in here),
    )


def _sentence(standing: Standing, steps: tuple[Place, ...]) -> str:
    """One sentence, from the room to the trunk: "In store: Trunk Bay, rack 2, in trunk 12"."""
    state = standing.get_state_display().capitalize()
    if not steps:
        return f"{state}." if standing.state != State.OUT else "Out, the place away is not written."
    # A room's name says more than its code; below it the code is what stands on the shelf.
    if standing.state == State.NOT_FOUND:
        return f"{state}, last known {f'in {steps[-1].code}' if steps[-1].is_container else steps[-1].name}."
    words = [
        f"in {step.code}" if step.is_container else name for step, name in zip(steps, tree.names(steps), strict=True)
    ]
    return f"{state}: {', '.join(words)}."


def where_facts(piece: Piece) -> dict[str, Any]:
    """Everything the piece page's section `catalog/storage/_where.html` shows."""
    where = where_is(piece)
    quarantined = Quarantine.objects.filter(piece=piece, released_on__isnull=True).first()
    apart = any(step.kind in APART for step in where.steps)
    lost_with = next((step for step in reversed(where.steps) if step.state == State.NOT_FOUND), None)
    open_files = MissingFile.objects.filter(closed_on__isnull=True)
    return {
        "piece": piece,
        "where": where,
        "moves": Move.objects.filter(piece=piece).select_related("from_place", "to_place")[:5],
        "missing": open_files.filter(piece=piece).select_related("last_place").first(),
        "lost_with": lost_with,
        "lost_file": open_files.filter(container=lost_with).first() if lost_with else None,
        "quarantine": quarantined,
        "must_leave_store": quarantined is not None and bool(where.steps) and not apart and where.state == "in store",
        "label": label_of(piece=piece),
    }


def missing_ids(piece_ids: Iterable[int]) -> set[int]:
    """Those of the pieces that are not found. One query."""
    lost = Standing.objects.filter(piece__in=list(piece_ids), state=State.NOT_FOUND)
    return set(lost.values_list("piece_id", flat=True))


def label_target(code: str) -> Label | None:
    """The label of a scanned or typed code, with its thing; None if there is no such label or it is misread."""
    try:
        wanted = read_code(code)
    except CodeError:
        return None
    return Label.objects.select_related("piece", "place").filter(code=wanted).first()


def label_of(*, piece: Piece | None = None, place: Place | None = None) -> Label | None:
    """The label that is on the thing now: the newest that was not replaced."""
    labels = Label.objects.filter(piece=piece, place=place, retired_at__isnull=True)
    return labels.order_by("-bound_at", "-id").first()


def label_codes(pieces: Iterable[Piece]) -> list[tuple[str, int]]:
    """Every label code that leads to one of these pieces, with the piece. One query."""
    labels = Label.objects.filter(piece__in=[piece.pk for piece in pieces]).values_list("code", "piece")
    return [(code, pk) for code, pk in labels if pk is not None]


def away_places() -> QuerySet[Place]:
    """Places that are away from the store."""
    return Place.objects.filter(kind=PlaceKind.AWAY)
