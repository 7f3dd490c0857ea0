"""Which pieces carry breakdown that was on screen, for a few pieces or as a list."""

from collections import defaultdict
from collections.abc import Iterable, Mapping

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from catalog.care.calc.evidence import Told
from catalog.care.models import ConditionMark, ConditionReport, OnScreenBreakdown
from catalog.pieces.models import Piece


def told_of(piece_ids: Iterable[int]) -> Mapping[int, Told]:
    """What is known of each piece's breakdown, by its pk; every asked piece has an answer. Two queries."""
    ids = list(piece_ids)
    marks: dict[int, list[str]] = defaultdict(list)
    for row in _kept_marks().filter(report__piece__in=ids).order_by("id"):
        marks[row.report.piece_id].append(f"{row.word} at {row.zone}")
    said = {row.piece_id: row for row in OnScreenBreakdown.objects.filter(piece__in=ids, current=True)}
    return {pk: _told(said.get(pk), marks.get(pk, ())) for pk in ids}


def told_of_one(piece: Piece) -> Told:
    """The same for one piece."""
    return told_of([piece.pk])[piece.pk]


def must_not_be_washed(pieces: QuerySet[Piece]) -> QuerySet[Piece]:
    """Those that carry on-screen breakdown: somebody said so, or a mark of the newest report does."""
    said = OnScreenBreakdown.objects.filter(piece=OuterRef("pk"), current=True, state=OnScreenBreakdown.State.KEEP)
    marked = _kept_marks().filter(report__piece=OuterRef("pk"))
    return pieces.filter(Q(Exists(said)) | Q(Exists(marked)))


def nobody_has_said(pieces: QuerySet[Piece]) -> QuerySet[Piece]:
    """Those of which nobody knows: they count as if they carried some until somebody looks."""
    said = OnScreenBreakdown.objects.filter(piece=OuterRef("pk"), current=True)
    marked = _kept_marks().filter(report__piece=OuterRef("pk"))
    return pieces.exclude(Exists(said)).exclude(Exists(marked))


def _kept_marks() -> QuerySet[ConditionMark]:
    """Marks of each piece's newest report that are part of the look, and not gone."""
    newest = ConditionReport.objects.filter(piece=OuterRef("report__piece")).order_by("-reported_at", "-id")
    rows = ConditionMark.objects.filter(on_screen=True, report=Subquery(newest.values("pk")[:1]))
    return rows.exclude(state=ConditionMark.State.GONE).select_related("report")


def _told(row: OnScreenBreakdown | None, marks: Iterable[str]) -> Told:
    if row is None:
        return Told(marks=tuple(marks))
    return Told(row.state, row.where, f"{row.said_by_name}, {row.said_on:%-d %b %Y}", tuple(marks))
