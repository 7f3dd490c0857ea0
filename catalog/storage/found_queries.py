"""Found things, and which missing piece each may be: ranked, with what agrees and what does not."""

from dataclasses import dataclass, replace
from typing import Any

from django.db.models import QuerySet

from catalog.access.models import User
from catalog.core.looks import differing, tells_something
from catalog.pieces.calc.kinds import KINDS, POINTS
from catalog.pieces.models import Part, Piece
from catalog.pieces.queries import may_see_file
from catalog.storage import tree
from catalog.storage.calc.likeness import Facts, Likeness, likeness
from catalog.storage.missing_models import FoundState, FoundThing
from catalog.storage.models import MissingFile, Place, PlaceKind, State

# So many missing pieces are compared, and so many candidates shown.
MOST_COMPARED, MOST_SHOWN = 3000, 8
_POINT_WORDS = {key: point.word for key, point in POINTS.items()}


@dataclass(frozen=True, slots=True)
class Candidate:
    """A missing piece that the found thing may be, or the piece of a missing half or part."""

    piece: Piece
    like: Likeness
    file: MissingFile | None
    picture: int | None
    part: Part | None = None


@dataclass(frozen=True, slots=True)
class Compared:
    """The candidates, the likeliest first; how many were compared, and how many agree too little to be shown."""

    candidates: list[Candidate]
    compared: int
    left_out: int


def found_things() -> QuerySet[FoundThing]:
    """All of them, those that are not known yet first."""
    rows = FoundThing.objects.select_related("place", "piece", "production")
    return rows.order_by("-state", "-happened", "-id")


def found_in(place: Place) -> QuerySet[FoundThing]:
    """Those that lie in the place, at any depth, and that nobody knows again yet."""
    return FoundThing.objects.filter(state=FoundState.OPEN, place__in=tree.under(place)).order_by("id")


def open_count() -> int:
    """How many found things nobody knows again yet."""
    return FoundThing.objects.filter(state=FoundState.OPEN).count()


def compared(found: FoundThing, by: User) -> Compared:
    """Beside everything that is missing, as far as this person may see it. Queries: a fixed number."""
    lost = Piece.objects.seen_by(by).filter(standing__state=State.NOT_FOUND).order_by("number")
    rows = list(
        lost.select_related("production", "standing").prefetch_related("materials", "measures", "pictures__file")[
            :MOST_COMPARED
        ]
    )
    files = {file.piece_id: file for file in MissingFile.objects.filter(closed_on__isnull=True, piece__in=rows)}
    last = {piece.pk: _last_place(piece, files.get(piece.pk)) for piece in rows}
    rooms = _rooms({pk for pk in [*last.values(), found.place_id] if pk is not None})
    mine = _facts_of_found(found, rooms)
    hashes = [p.file.dhash for p in found.pictures.all() if tells_something(p.file.dhash)]
    ranked = []
    for piece in rows:
        bits, picture = _nearest(hashes, piece, by)
        like = likeness(mine, _facts_of_piece(piece, rooms.get(last[piece.pk] or 0, "")), _POINT_WORDS, bits)
        ranked.append(Candidate(piece, like, files.get(piece.pk), picture))
    ranked += [_half(part, mine, by) for part in _missing_parts(found, by)]
    ranked.sort(key=lambda one: (-one.like.points, one.piece.number))
    shown = [one for one in ranked if one.like.points > 0][:MOST_SHOWN]
    return Compared(shown, len(ranked), len(ranked) - len(shown))


def _missing_parts(found: FoundThing, by: User) -> list[Part]:
    """Halves of pairs and other parts that are missing from pieces this person may see."""
    parts = Part.objects.filter(missing_since__isnull=False, piece__in=Piece.objects.seen_by(by))
    rows = parts.select_related("piece__production").order_by("piece__number", "letter")
    return list(rows.prefetch_related("piece__materials", "piece__measures", "piece__pictures__file")[:MOST_COMPARED])


def _half(part: Part, mine: Facts, by: User) -> Candidate:
    """A part is compared by its piece's facts; how heavy a part alone is, nobody knows."""
    bits, picture = _nearest([], part.piece, by)
    facts = replace(_facts_of_piece(part.piece, ""), weight_g=None)
    if not part.side:  # A badge is not of its cap's kind, size or cut.
        facts = replace(facts, kind="other", kind_word=part.name, size_mark="", measures={})
    return Candidate(part.piece, likeness(mine, facts, _POINT_WORDS, bits), None, picture, part)


def _last_place(piece: Piece, file: MissingFile | None) -> int | None:
    return (file.last_place_id if file else None) or piece.standing.place_id or piece.standing.home_id


def _rooms(place_ids: set[int]) -> dict[int, str]:
    """The room of each place, by name."""
    found: dict[int, str] = {}
    for pk, way in tree.paths(place_ids).items() if place_ids else ():
        room: Place | None = next((step for step in way if step.kind == PlaceKind.ROOM), None)
        found[pk] = room.name if room is not None else ""
    return found


def _facts_of_found(found: FoundThing, rooms: dict[int, str]) -> Facts:
    return Facts(
        kind=found.kind,
        kind_word=KINDS[found.kind].word,
        production=found.production.title if found.production else "",
        materials=frozenset(row.name for row in found.materials.all()),
        size_mark=found.size_mark,
        weight_g=found.weight_g,
        measures={row.point: row.value_mm for row in found.measures.all()},
        room=rooms.get(found.place_id, ""),
    )


def _facts_of_piece(piece: Piece, room: str) -> Facts:
    return Facts(
        kind=piece.kind,
        kind_word=KINDS[piece.kind].word,
        production=piece.production.title,
        materials=frozenset(row.name for row in piece.materials.all()),
        size_mark=piece.size_mark,
        weight_g=piece.weight_g,
        measures={row.point: row.value_mm for row in piece.measures.all() if row.value_mm is not None},
        room=room,
    )


def _nearest(hashes: list[int | None], piece: Piece, by: User) -> tuple[int | None, int | None]:
    """How far the nearest pair of pictures differs, and the piece's picture to show beside; only what `by` may see."""
    pictures = [one for one in piece.pictures.all() if may_see_file(by, one.file.seen_by)]
    shown = pictures[0].file_id if pictures else None
    theirs = [(one.file.dhash, one.file_id) for one in pictures if tells_something(one.file.dhash)]
    if not hashes or not theirs:
        return None, shown
    best: list[tuple[int, int]] = []
    for mine in hashes:
        bits = differing(int(mine or 0), [int(one or 0) for one, _ in theirs])
        best.append(min(zip(bits, (pk for _, pk in theirs), strict=True)))
    nearest = min(best)
    return nearest[0], nearest[1]


def facts_in_words(found: FoundThing) -> list[tuple[str, Any]]:
    """What is known of a found thing, for its page; unknown is None."""
    return [
        ("Kind", KINDS[found.kind].word),
        ("Production", found.production.title if found.production else None),
        ("Materials", ", ".join(row.name for row in found.materials.all()) or None),
        ("Size mark", found.size_mark or None),
    ]
