"""What stands elsewhere than at home though no job explains it: not out, not pulled, in no treatment or quarantine."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from catalog.access.models import User
from catalog.care.models import Quarantine, Treatment
from catalog.loans.models import LoanLine
from catalog.loans.queries import AWAY
from catalog.storage import tree
from catalog.storage.models import Place, Standing
from catalog.storage.place_queries import containers_not_at_home, not_at_home
from catalog.storage.queries import walking_keys


@dataclass(frozen=True, slots=True)
class Stray:
    """A piece or a trunk with where it stands and where it belongs; `here` is the path, outermost first."""

    number: str
    name: str
    is_container: bool
    here: list[Place]
    home: Place
    last_seen: date | None

    @property
    def at(self) -> Place:
        """The place it stands in."""
        return self.here[-1]

    @property
    def words(self) -> str:
        """The way to it: "Long Hall, rail A, tier 2"."""
        return ", ".join(tree.names(self.here))


def strays(by: User) -> list[Stray]:
    """All of them in walking order, trunks before what lies in the same place. A fixed number of queries."""
    pieces = list(stray_pieces(by))
    boxes = [box for box in containers_not_at_home() if box.parent_id]
    at = {row.place_id for row in pieces if row.place_id} | {box.parent_id for box in boxes if box.parent_id}
    paths, keys = tree.paths(at), walking_keys(at)
    found = [*_boxes(boxes, paths), *_pieces(pieces, paths)]
    return sorted(found, key=lambda stray: (keys[stray.at.pk], not stray.is_container, stray.number))


def stray_pieces(by: User | None = None) -> QuerySet[Standing]:
    """Standings of pieces that no open job explains."""
    pulled = LoanLine.objects.filter(state__in=AWAY).values("piece")
    treated = Treatment.objects.filter(state__in=Treatment.OPEN).values("piece")
    apart = Quarantine.objects.filter(released_on__isnull=True).values("piece")
    rows = not_at_home(by=by)
    return rows.exclude(piece__in=pulled).exclude(piece__in=treated).exclude(piece__in=apart)


def how_many() -> int:
    """How many pieces and trunks, of all; two queries."""
    return stray_pieces().count() + containers_not_at_home().filter(parent__isnull=False).count()


def _boxes(boxes: Iterable[Place], paths: dict[int, list[Place]]) -> Iterator[Stray]:
    for box in boxes:
        if box.home is not None:
            yield Stray(box.code, box.name, True, paths[box.parent_id or 0], box.home, box.last_seen)


def _pieces(rows: Iterable[Standing], paths: dict[int, list[Place]]) -> Iterator[Stray]:
    for row in rows:
        if row.home is not None:
            piece = row.piece
            yield Stray(piece.number, piece.name, False, paths[row.place_id or 0], row.home, row.last_seen)
