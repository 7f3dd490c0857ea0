"""How it was worn in a scene, and what has changed of those pieces since."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time

from django.db.models import QuerySet
from django.utils import timezone

from catalog.care.models import Alteration, ConditionReport, Treatment
from catalog.loans.models import DamageNote, Loan, LoanLine, SceneNote, ScenePicture, Wearer
from catalog.pieces.models import Part, Piece, Production

_NOTHING = "nothing recorded since then"


@dataclass(frozen=True, slots=True)
class Differs:
    """A piece of the scene, and in words what is recorded of it since."""

    piece: Piece
    since: tuple[str, ...]

    @property
    def words(self) -> str:
        """What differs now, in one line."""
        return "; ".join(self.since) or _NOTHING


@dataclass(frozen=True, slots=True)
class Worn:
    """One note of a scene with its pictures and pieces."""

    note: SceneNote
    pictures: tuple[ScenePicture, ...]
    pieces: tuple[Differs, ...]


def how_worn(production: Production, scene: str) -> list[Worn]:
    """Every note of the scene, the oldest first, each piece with what differs now. A fixed number of queries."""
    rows = SceneNote.objects.filter(production=production, scene__iexact=" ".join(scene.split()))
    return _worn(rows)


def worn_of(loan: Loan, wearer: Wearer | None = None) -> list[Worn]:
    """What was noted with this loan, of one performer if asked."""
    rows = SceneNote.objects.filter(loan=loan)
    return _worn(rows if wearer is None else rows.filter(wearer=wearer))


def scenes_of(production: Production) -> list[str]:
    """The scenes that something was noted of."""
    return list(
        SceneNote.objects.filter(production=production).order_by("scene").values_list("scene", flat=True).distinct()
    )


def performers_pictures() -> int:
    """How many pictures with a performer in them are held."""
    return ScenePicture.objects.filter(shows__isnull=False).count()


def _worn(rows: "QuerySet[SceneNote]") -> list[Worn]:
    notes = list(
        rows.select_related("wearer", "loan", "taken_by", "production")
        .prefetch_related("pieces", "pictures__file", "pictures__shows")
        .order_by("taken_at", "id")
    )
    events = _events({piece.pk for note in notes for piece in note.pieces.all()})
    return [
        Worn(
            note,
            tuple(note.pictures.all()),
            tuple(
                Differs(piece, tuple(words for at, words in events.get(piece.pk, ()) if at > note.taken_at))
                for piece in sorted(note.pieces.all(), key=lambda piece: piece.number)
            ),
        )
        for note in notes
    ]


def _events(ids: Iterable[int]) -> dict[int, list[tuple[datetime, str]]]:
    """What happened to the looks of each piece, with its moment: altered, reported, treated, damaged, a part lost."""
    wanted = list(ids)
    found: dict[int, list[tuple[datetime, str]]] = {}

    def add(piece_id: int, at: datetime, words: str) -> None:
        found.setdefault(piece_id, []).append((at, words))

    for alteration in Alteration.objects.filter(piece__in=wanted):
        add(alteration.piece_id, _evening(alteration.done_on), f"altered: {alteration.what}")
        if alteration.undone_on is not None:
            add(alteration.piece_id, _evening(alteration.undone_on), f"undone: {alteration.what}")
    for work in Treatment.objects.filter(piece__in=wanted, done_on__isnull=False):
        add(work.piece_id, _evening(work.done_on), f"done: {work.what}")
    for report in ConditionReport.objects.filter(piece__in=wanted):
        words = f"grade {report.grade} on {timezone.localtime(report.reported_at):%-d %b %Y}, {report.completeness}"
        add(report.piece_id, report.reported_at, words)
    for piece_id, at, what in DamageNote.objects.filter(line__piece__in=wanted).values_list(
        "line__piece_id", "seen_at", "what"
    ):
        add(piece_id, at, f"damaged: {what}")
    changed = LoanLine.objects.filter(piece__in=wanted, result__in=["changed", "incomplete"], back_at__isnull=False)
    for line in changed:
        if line.back_at is not None:
            add(line.piece_id, line.back_at, f"came home {line.get_result_display()}: {line.result_note}")
    for part in Part.objects.filter(piece__in=wanted, missing_since__isnull=False):
        add(part.piece_id, _evening(part.missing_since), f"{part.name} is missing")
    return {piece_id: sorted(rows) for piece_id, rows in found.items()}


def _evening(day: date | None) -> datetime:
    """A day counts to its evening: what was done on the day of the scene may have come after it, so it is told."""
    return timezone.make_aware(datetime.combine(day or date.min, time.max))
