"""What is due to be looked at, and what dies first: read from materials and the last finding."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import Max, Q, QuerySet
from django.utils import timezone

from catalog.care.calc.inspection import AGEING, WHY, Ageing, Due, Seen, ageing_of, due_of, is_gone, what_to_do
from catalog.care.models import BatteryPack, ConditionReport, Inspection
from catalog.core import house
from catalog.pieces.models import Material, Piece


@dataclass(frozen=True, slots=True)
class Finding:
    """The newest condition report of a piece, in short."""

    on: date
    grade: int
    stability: str
    note: str

    @property
    def words(self) -> str:
        """ "grade 3, watch: cuffs dry"."""
        head = f"grade {self.grade}, {self.stability}"
        return f"{head}: {self.note}" if self.note else head


@dataclass(frozen=True, slots=True)
class ToLookAt:
    """A piece that is due, why, and what was found last; `looked_on` is the later of report and a look at it."""

    piece: Piece
    due: Due
    looked_on: date | None
    finding: Finding | None


@dataclass(frozen=True, slots=True)
class Dying:
    """A piece of a material that breaks down by itself, its last finding, and what to do."""

    piece: Piece
    ageing: Ageing
    finding: Finding | None
    do: str

    @property
    def gone(self) -> bool:
        """Whether it is beyond use already."""
        return is_gone(self.finding.grade if self.finding else None)


def intervals() -> dict[str, int]:
    """The house's months between two looks, by reason; a query a reason."""
    return {key: int(house.value(f"inspect.{key}_months")) for key in WHY}


def newest_findings(piece_ids: Iterable[int]) -> Mapping[int, Finding]:
    """The newest report of each piece that has one; one query."""
    rows = ConditionReport.objects.filter(piece__in=list(piece_ids)).order_by("reported_at", "id")
    told = rows.values_list("piece_id", "reported_at", "grade", "stability", "note")
    return {pk: Finding(timezone.localdate(at), grade, stable, note) for pk, at, grade, stable, note in told}


def due_by(pieces: QuerySet[Piece], day: date) -> list[ToLookAt]:
    """Of these pieces what must be looked at by the day; a fixed number of queries."""
    rows = list(pieces.prefetch_related("materials"))
    ids = [piece.pk for piece in rows]
    found, months = newest_findings(ids), intervals()
    looked = Inspection.objects.filter(piece__in=ids).values("piece").order_by("piece").annotate(on=Max("looked_on"))
    seen = dict(looked.values_list("piece", "on"))
    packs = set(BatteryPack.objects.filter(piece__in=ids, removed_on=None).values_list("piece", flat=True))
    due = []
    for piece in rows:
        finding = found.get(piece.pk)
        last = max((one for one in (seen.get(piece.pk), finding.on if finding else None) if one), default=None)
        materials = tuple((row.name, row.family) for row in piece.materials.all())
        one = ToLookAt(piece, due_of(Seen(materials, piece.pk in packs, last), months), last, finding)
        if one.due.by(day):
            due.append(one)
    return due


def dying_first(pieces: QuerySet[Piece]) -> list[Dying]:
    """Pieces of materials that break down by themselves: what is gone last, the worst of the rest first."""
    made_of = Q()
    for ageing in AGEING:
        for word in ageing.names:
            made_of |= Q(name__icontains=word)
    holds = Piece.materials.through.objects.filter(material__in=Material.objects.filter(made_of)).values("piece")
    rows = list(pieces.filter(pk__in=holds).prefetch_related("materials").select_related("production"))
    found = newest_findings(piece.pk for piece in rows)
    dying = []
    for piece in rows:
        kind = ageing_of(row.name for row in piece.materials.all())
        if kind is not None:
            finding = found.get(piece.pk)
            do = what_to_do(kind, finding.grade if finding else None, finding.stability if finding else "")
            dying.append(Dying(piece, kind, finding, do))
    return sorted(dying, key=_pressing)


def by_material(dying: Iterable[Dying]) -> list[tuple[Ageing, int]]:
    """How many still live of each material, in the order in which they go."""
    living = Counter(one.ageing.key for one in dying if not one.gone)
    return [(one, living[one.key]) for one in AGEING if living[one.key]]


def _pressing(one: Dying) -> tuple[bool, bool, int, int, str]:
    grade = one.finding.grade if one.finding else 0
    active = one.finding is not None and one.finding.stability == "active"
    return (one.gone, not active, -grade if grade else -9, AGEING.index(one.ageing), one.piece.number)
