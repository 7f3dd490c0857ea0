"""The insurer's file of a loan in one ZIP: losses, custody, condition, the list of pictures, out- and in-report.

It names values and who handled what: for those alone who may see both.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile

from django.utils import timezone
from reportlab.platypus import Flowable, PageBreak

from catalog.access.models import User
from catalog.care.models import ConditionReport
from catalog.core.paper import parts
from catalog.core.paper.page import Heading, paper_pdf
from catalog.core.tables import csv_lines
from catalog.desk.custody_paper import custody_parts
from catalog.desk.custody_queries import custodies_of
from catalog.loans import loss_paper
from catalog.loans.loss_paper import Loss, losses_of
from catalog.loans.models import Loan
from catalog.loans.report_paper import condition_parts
from catalog.pieces.models import Piece, PieceFile
from catalog.pieces.queries import may_see_file
from catalog.storage.models import Label
from catalog.storage.queries import where_are

PICTURES = ("number", "view", "caption", "added on", "width px", "height px", "sha-256 of the original")


def insurer_zip(loan: Loan, user: User, heading: Heading, size: str) -> bytes:
    """The file. A fixed number of queries, however many pieces were harmed; the person's pictures alone are listed."""
    losses = losses_of(loan)
    pieces = [row.line.piece for row in losses]
    stream = BytesIO()
    with ZipFile(stream, "w", ZIP_DEFLATED) as file:
        file.writestr("1-losses.pdf", paper_pdf(heading, list(loss_paper.loss_parts(loan, losses)), size))
        file.writestr("1-losses.csv", _table(loss_paper.HEADER, loss_paper.loss_rows(losses)))
        file.writestr("2-custody.pdf", paper_pdf(heading, list(_custody(pieces)), size))
        file.writestr("3-condition.pdf", paper_pdf(heading, list(_condition(losses)), size))
        file.writestr("4-pictures.csv", _table(PICTURES, _pictures(pieces, user)))
        for way in _begun(loan):
            made = list(condition_parts(loan, way, user))
            file.writestr(f"5-{way}-report.pdf", paper_pdf(heading, made, size))
    return stream.getvalue()


def _begun(loan: Loan) -> list[str]:
    """The reports of the loan that have a piece in them, the out-report first."""
    begun = set(loan.reports.filter(lines__isnull=False).values_list("way", flat=True))
    return [way for way in ("out", "in") if way in begun]


def _table(header: Sequence[str], rows: Iterator[tuple[object, ...]]) -> str:
    return "".join(csv_lines(header, rows))


def _custody(pieces: Sequence[Piece]) -> Iterator[Flowable]:
    """A statement a piece, each on a page of its own."""
    found, where = custodies_of(pieces), where_are(pieces)
    labels = Label.objects.filter(piece__in=pieces, retired_at__isnull=True).order_by("bound_at", "pk")
    codes = dict(labels.values_list("piece", "code"))
    for n, piece in enumerate(pieces):
        if n:
            yield PageBreak()
        yield from custody_parts(piece, found[piece.number], where[piece.pk].sentence, codes.get(piece.pk, ""))


def _condition(losses: Sequence[Loss]) -> Iterator[Flowable]:
    """What was reported of each piece, before it left and since; the oldest first."""
    ids = [row.line.piece_id for row in losses]
    by_piece: dict[int, list[ConditionReport]] = defaultdict(list)
    rows = ConditionReport.objects.filter(piece__in=ids).select_related("reported_by").prefetch_related("marks")
    for report in rows.order_by("reported_at", "pk"):
        by_piece[report.piece_id].append(report)
    yield parts.answer(f"Condition reports of {len(ids)} {'piece' if len(ids) == 1 else 'pieces'}, the oldest first.")
    for row in losses:
        piece = row.line.piece
        yield parts.heading(f"{piece.number}, {piece.name}: {row.what}")
        reports = by_piece[piece.pk]
        if not reports:
            yield parts.text("No condition report is recorded.")
            continue
        table = (
            [_day(one), one.get_grade_display(), _said(one), str(one.reported_by or "not known")] for one in reports
        )
        yield parts.table(["Day", "Grade", "What was seen", "By"], table, [24, 38, 82, 28])


def _day(report: ConditionReport) -> str:
    return f"{timezone.localtime(report.reported_at):%-d %b %Y}"


def _said(report: ConditionReport) -> str:
    marks = [f"{mark.word}, {mark.zone}" for mark in report.marks.all()]
    states = [report.get_stability_display(), report.get_completeness_display()]
    return "; ".join(word for word in (report.occasion, *states, report.note, *marks) if word)


def _pictures(pieces: Sequence[Piece], user: User) -> Iterator[tuple[object, ...]]:
    rows = PieceFile.objects.filter(piece__in=pieces).select_related("file", "piece")
    for row in rows.order_by("piece__number", "added_at", "pk"):
        if may_see_file(user, row.file.seen_by):
            size = (row.file.width_px, row.file.height_px)
            yield row.piece.number, row.view, row.caption, row.added_at.date(), *size, row.file.sha256
