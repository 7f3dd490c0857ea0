"""The out-report and the in-report of a loan as plain values: for its page, for its paper, for what came home worse."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import OuterRef, Prefetch, QuerySet, Subquery
from django.utils import timezone

from catalog.care.calc.long_report import why_long
from catalog.care.models import ConditionMark, ConditionReport, WearDecision
from catalog.loans.loan_queries import lines_of
from catalog.loans.models import Loan, LoanLine, LoanReport, LoanReportLine
from catalog.pieces.models import Piece

OUT, IN = LoanReport.Way.OUT, LoanReport.Way.IN
_S = LoanLine.State
_ORIGIN = {True: "original to the film", False: "later damage", None: "not known"}
_NEVER_LEFT = (_S.TO_PULL, _S.PULLED, _S.LEFT_BEHIND)


@dataclass(frozen=True, slots=True)
class Signature:
    """Who signed, for whom, and on which day. `side`: "lender" or "borrower"."""

    side: str
    name: str
    signs_for: str
    signed_on: date


@dataclass(frozen=True, slots=True)
class MarkFacts:
    """One mark of a piece. `state`: noted, new, same, worse, gone. `n` is its pin; `picture_id` the stored file."""

    n: int
    word: str
    zone: str
    size_mm: int | None
    origin: str
    state: str
    cause: str
    happened_on: date | None
    happened_with: str
    note: str
    picture_id: int | None
    outline: str
    x_permille: int | None
    y_permille: int | None


@dataclass(frozen=True, slots=True)
class PieceReport:
    """What a report of a loan says of one piece."""

    number: str
    name: str
    grade: int
    grade_words: str
    stability: str
    completeness: str
    missing: str
    work: str
    look: str
    method: str
    note: str
    reported_on: date
    reported_by: str
    unchanged: bool
    marks: tuple[MarkFacts, ...]
    picture_ids: tuple[int, ...]

    @property
    def worse_or_new(self) -> tuple[MarkFacts, ...]:
        """The marks that the loan brought."""
        return tuple(mark for mark in self.marks if mark.state in {"worse", "new"})


@dataclass(frozen=True, slots=True)
class LoanReportFacts:
    """One report of a loan. `signatures` stays empty until both sides have signed; then nothing changes any more."""

    reference: str
    to_whom: str
    way: str
    pieces: tuple[PieceReport, ...]
    not_reported: tuple[str, ...]
    signatures: tuple[Signature, ...]


@dataclass(frozen=True, slots=True)
class Harm:
    """A mark that came home new or worse, as the loss and damage list tells it."""

    number: str
    name: str
    mark: MarkFacts


@dataclass(frozen=True, slots=True)
class ReportRow:
    """A line of the page of a report: what it starts from, what was said, and whether the quick path may do."""

    line: LoanLine
    last: ConditionReport | None
    condition: ConditionReport | None
    long: tuple[str, ...]
    quick_no: str


def out_report(loan: Loan) -> LoanReportFacts:
    """What was said of each piece before it left, and who signed; a fixed number of queries."""
    return _facts(loan, OUT)


def in_report(loan: Loan) -> LoanReportFacts:
    """What was said of each piece when it was back: old marks answered, new ones with their cause."""
    return _facts(loan, IN)


def harm_of(loan: Loan) -> list[Harm]:
    """Every mark that came home new or worse, in the order of the in-report."""
    return [Harm(piece.number, piece.name, mark) for piece in in_report(loan).pieces for mark in piece.worse_or_new]


def report_of(loan: Loan, way: str) -> LoanReport | None:
    """The loan's report of that way, if anybody has begun it."""
    return LoanReport.objects.select_related("lender").filter(loan=loan, way=way).first()


def lines_to_report(loan: Loan, way: str) -> list[LoanLine]:
    """Whose condition the report tells: what goes or went, or what is back; in walking order."""
    lines = lines_of(loan)
    if way == OUT:
        return [line for line in lines if line.state != _S.LEFT_BEHIND]
    return [line for line in lines if line.back_at is not None and line.state not in _NEVER_LEFT]


def report_rows(loan: Loan, way: str) -> list[ReportRow]:
    """The lines of the page; the number of queries does not grow with the loan."""
    lines = lines_to_report(loan, way)
    said = said_of(loan, way)
    started = starting_reports(loan, way, lines)
    families: dict[int, list[str]] = {}
    through = Piece.materials.through.objects.filter(piece__in=[line.piece_id for line in lines])
    for piece_id, family in through.values_list("piece_id", "material__family"):
        families.setdefault(piece_id, []).append(family)
    doubts = _doubts([line.piece_id for line in lines])
    return [
        ReportRow(
            line,
            last := started.get(line.pk),
            said.get(line.pk),
            why_long(line.piece.kind, line.piece.multiple, families.get(line.piece_id, ())),
            quick_no(line, way, last, doubts.get(line.piece_id)),
        )
        for line in lines
    ]


def said_of(loan: Loan, way: str) -> dict[int, ConditionReport]:
    """Line id to the condition report that stands for it."""
    rows = LoanReportLine.objects.filter(report__loan=loan, report__way=way).select_related("condition__reported_by")
    marks = Prefetch("condition__marks", ConditionMark.objects.order_by("id"))
    return {row.line_id: row.condition for row in rows.prefetch_related(marks)}


def starting_reports(loan: Loan, way: str, lines: Iterable[LoanLine]) -> dict[int, ConditionReport]:
    """Line id to the report each starts from: going out the newest, coming in what was said as it left."""
    rows = list(lines)
    found = said_of(loan, OUT) if way == IN else {}
    rest = [line for line in rows if line.pk not in found]
    before = loan.out_on if way == IN else None
    newest = _newest([line.piece_id for line in rest], before)
    return found | {line.pk: newest[line.piece_id] for line in rest if line.piece_id in newest}


def quick_no(line: LoanLine, way: str, last: ConditionReport | None, doubt: date | None = None) -> str:
    """Why "no change" cannot be said of this piece; empty when it can."""
    if last is None:
        return f"{line.piece} has no report yet: write the long one."
    if way == IN and line.result in {LoanLine.Result.CHANGED, LoanLine.Result.INCOMPLETE}:
        return f"{line.piece} came home {line.get_result_display()}: write the long one."
    if way == OUT and doubt is not None and timezone.localdate(last.reported_at) < doubt:
        return f"{line.piece} has not been reported on since {doubt:%-d %b %Y}, when something happened to it: " + (
            "write the long one."
        )
    return ""


def doubt_of(piece: Piece) -> date | None:
    """Since when the piece's wear decision is in question."""
    return _doubts([piece.pk]).get(piece.pk)


def _doubts(piece_ids: list[int]) -> dict[int, date]:
    rows = WearDecision.objects.filter(piece__in=piece_ids, current=True, questioned_on__isnull=False)
    return {piece: day for piece, day in rows.values_list("piece_id", "questioned_on") if day}


def _newest(piece_ids: list[int], before: date | None) -> dict[int, ConditionReport]:
    own = ConditionReport.objects.filter(piece=OuterRef("pk")).order_by("-reported_at", "-id")
    own = own.filter(reported_at__date__lte=before) if before else own
    ids = Piece.objects.filter(pk__in=piece_ids).values_list(Subquery(own.values("pk")[:1]), flat=True)
    rows: QuerySet[ConditionReport] = ConditionReport.objects.filter(pk__in=[pk for pk in ids if pk])
    return {row.piece_id: row for row in rows.select_related("piece", "reported_by").prefetch_related("marks")}


def _facts(loan: Loan, way: str) -> LoanReportFacts:
    report = report_of(loan, way)
    marks = Prefetch("condition__marks", ConditionMark.objects.order_by("id"))
    rows: Iterable[LoanReportLine] = ()
    if report is not None:
        found = report.lines.select_related("line__piece", "condition__reported_by", "condition__look")
        rows = found.prefetch_related(marks, "condition__pictures").order_by("line__order", "line__piece__number")
    pieces = tuple(_piece(row) for row in rows)
    told = {piece.number for piece in pieces}
    open_lines = [] if report is not None and report.signed_at else lines_to_report(loan, way)
    missing = tuple(line.piece.number for line in open_lines if line.piece.number not in told)
    return LoanReportFacts(loan.reference, loan.to_whom, str(way), pieces, missing, signatures_of(report))


def signatures_of(report: LoanReport | None) -> tuple[Signature, ...]:
    """Both signatures, or none."""
    if report is None or report.signed_on is None:
        return ()
    return (
        Signature("lender", report.lender_name, report.lender_for, report.signed_on),
        Signature("borrower", report.borrower_name, report.borrower_for, report.signed_on),
    )


def _piece(row: LoanReportLine) -> PieceReport:
    said = row.condition
    return PieceReport(
        number=row.line.piece.number,
        name=row.name,
        grade=said.grade,
        grade_words=said.get_grade_display(),
        stability=said.get_stability_display(),
        completeness=said.get_completeness_display(),
        missing=said.missing,
        work=said.work,
        look=str(said.look) if said.look else "",
        method=said.method,
        note=said.note,
        reported_on=timezone.localdate(said.reported_at),
        reported_by=str(said.reported_by or ""),
        unchanged=said.unchanged,
        marks=tuple(_mark(n, mark) for n, mark in enumerate(said.marks.all(), 1)),
        picture_ids=tuple(picture.file_id for picture in said.pictures.all()),
    )


def _mark(n: int, mark: ConditionMark) -> MarkFacts:
    plain: dict[str, Any] = {
        name: getattr(mark, name)
        for name in ("word", "zone", "size_mm", "state", "cause", "happened_on", "note", "outline")
    }
    return MarkFacts(
        n=n,
        origin=_ORIGIN[mark.on_screen],
        happened_with=mark.get_happened_with_display() if mark.happened_with else "",
        picture_id=mark.file_id,
        x_permille=mark.x_permille,
        y_permille=mark.y_permille,
        **plain,
    )
