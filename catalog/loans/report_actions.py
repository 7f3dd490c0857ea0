"""The out-report and the in-report of a loan: a line a piece, then both sides sign and nothing in it changes."""

from collections.abc import Callable, Iterable
from datetime import date
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care import actions as care
from catalog.care.models import ConditionMark, ConditionReport
from catalog.care.report_actions import LIVING, MarkSeen, PictureSeen
from catalog.core import clock, house
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import lock_rows
from catalog.loans.models import Loan, LoanLine, LoanReport, LoanReportLine
from catalog.loans.report_queries import (
    OUT,
    doubt_of,
    lines_to_report,
    quick_no,
    report_of,
    said_of,
    starting_reports,
)
from catalog.pieces.models import Piece

_OCCASIONS = {LoanReport.Way.OUT.value: "out with", LoanReport.Way.IN.value: "back from"}


@transaction.atomic
def report_line(*, by: User, line: LoanLine, way: str, **facts: Any) -> ConditionReport:
    """The long path: a condition report of the piece with `facts` as `care.report_condition` takes them, in the loan's
    report. A second one replaces the first there until both sides have signed.

    Raises Refused while a mark of the report it starts from is not answered, and for a new mark that came home without
    its cause.
    """
    marks: list[MarkSeen] = list(facts.pop("marks", ()))

    def write(occasion: str) -> ConditionReport:
        _must_answer(line, way, marks)
        given = facts | {"occasion": facts.get("occasion") or occasion}
        return care.report_condition(by=by, piece=line.piece, marks=marks, **given)

    return _put_in(by, line, way, write)


@transaction.atomic
def report_line_unchanged(
    *, by: User, line: LoanLine, way: str, pictures: Iterable[PictureSeen] = ()
) -> ConditionReport:
    """The quick path: nothing changed since the report it starts from. Raises Refused when that cannot be said."""
    require(by, Ability.DECIDE_WEAR)
    last = starting_reports(line.loan, way, [line]).get(line.pk)
    if no := quick_no(line, way, last, doubt_of(line.piece)):
        raise Refused(no)
    assert last is not None  # noqa: S101 - quick_no has refused that; said for the types

    def write(occasion: str) -> ConditionReport:
        return care.report_unchanged(by=by, last=last, occasion=occasion, pictures=pictures)

    return _put_in(by, line, way, write)


@transaction.atomic
def sign_report(
    *,
    by: User,
    loan: Loan,
    way: str,
    borrower_name: str,
    borrower_for: str,
    signed_on: date | None = None,
) -> LoanReport:
    """Both sides sign: who is signed in for the house, and a typed name for the borrower. From then on it is frozen.

    Raises Refused while a piece has no line, and for a performer's name; WrongState when it is signed already.
    """
    require(by, Ability.DECIDE_WEAR)
    refuse_unless_past(signed_on=signed_on)
    report = _open_report(loan, way)
    name, signs_for = " ".join(borrower_name.split()), " ".join(borrower_for.split())
    if not name or not signs_for:
        raise Refused("Write who signs for the borrower, and for whom.", field="borrower_name")
    if loan.call is not None and loan.call.wearers.filter(name__iexact=name).exists():
        raise Refused("A performer of the call does not sign: write who has custody.", field="borrower_name")
    lines = lines_to_report(loan, way)
    told = said_of(loan, way)
    _must_be_whole(loan, way, lines, told)
    report.lender, report.lender_name = by, by.get_full_name() or by.get_username()
    report.lender_for = str(house.value("house.name")) or "the archive"
    report.borrower_name, report.borrower_for = name, signs_for
    report.signed_on, report.signed_at = signed_on or clock.today(), clock.now()
    # What was left behind after it was reported is not part of what is signed.
    report.lines.exclude(line__in=[line.pk for line in lines]).delete()
    keep(report)
    said = {"signed_report": report.get_way_display(), "reported": len(lines)}
    record(by, "signed by both sides", loan.subject, after=said)
    return report


def refuse_when_signed(loan: Loan, way: str = OUT) -> None:
    """Raises WrongState once both sides have signed."""
    report = report_of(loan, way)
    if report is not None and report.signed_at is not None:
        raise WrongState(f"The {report.get_way_display()} of {loan} is signed by both sides: nothing in it changes.")


def _put_in(by: User, line: LoanLine, way: str, write: Callable[[str], ConditionReport]) -> ConditionReport:
    require(by, Ability.DECIDE_WEAR)
    report = _open_report(line.loan, way)
    lock_rows(Piece.objects.filter(pk=line.piece_id))
    if line.pk not in {one.pk for one in lines_to_report(line.loan, way)}:
        here = "goes out" if way == OUT else "is back"
        raise WrongState(f"{line.piece} is {line.get_state_display()}: only what {here} is reported.")
    condition = write(f"{_OCCASIONS[way]} {line.loan.reference}")
    row = LoanReportLine.objects.filter(report=report, line=line).first() or LoanReportLine(report=report, line=line)
    row.condition, row.name = condition, line.piece.name
    keep(row)
    return condition


def _must_answer(line: LoanLine, way: str, marks: list[MarkSeen]) -> None:
    """Every old mark is same, worse or gone; what is new at home says so, with its cause."""
    last = starting_reports(line.loan, way, [line]).get(line.pk)
    old = list(last.marks.filter(state__in=LIVING)) if last else []
    answered = [seen.answers.pk for seen in marks if seen.answers is not None]
    if open_ones := [f"{mark}" for mark in old if mark.pk not in answered]:
        raise Refused(f"Say of each old mark whether it is same, worse or gone: {'; '.join(open_ones[:5])}.")
    if len(answered) != len(set(answered)) or not set(answered) <= {mark.pk for mark in old}:
        raise Refused(f"An answer is not about a mark of the report {line.piece} starts from: look again.")
    if way != OUT and any(seen.state == ConditionMark.State.NOTED for seen in marks):
        raise Refused("Say of each new mark whether it is wear, handling or an accident.")


def _open_report(loan: Loan, way: str) -> LoanReport:
    """The loan's report of that way, begun when there is none; locked, and not signed."""
    if way not in LoanReport.Way.values:
        raise Refused("A report of a loan is the out-report or the in-report.")
    now = Loan.objects.select_for_update(of=("self",)).get(pk=loan.pk)
    begun = {Loan.State.PULLING, Loan.State.OUT, Loan.State.HOME} if way == OUT else {Loan.State.OUT, Loan.State.HOME}
    if now.state not in begun and not (way != OUT and now.state == Loan.State.CLOSED and now.out_on):
        raise WrongState(f"{loan} is {now.get_state_display()}.")
    refuse_when_signed(loan, way)
    return report_of(loan, way) or keep(LoanReport(loan=loan, way=way))


def _must_be_whole(loan: Loan, way: str, lines: list[LoanLine], told: dict[int, ConditionReport]) -> None:
    if not lines:
        raise Refused(f"Nothing of {loan} is there to sign for.")
    if waiting := [line.piece.number for line in lines if line.state == LoanLine.State.TO_PULL]:
        raise Refused(f"Not pulled yet: {_some(waiting)}. Pull them, or send the loan without them, then sign.")
    if untold := [line.piece.number for line in lines if line.pk not in told]:
        raise Refused(f"Without a report: {_some(untold)}. Report each piece, then sign.")
    away = LoanLine.State.OUT, LoanLine.State.ON_SET
    if way != OUT and (out := list(loan.lines.filter(state__in=away).values_list("piece__number", flat=True))):
        raise Refused(f"Still out: {_some(out)}. Count everything back, then sign.")


def _some(numbers: list[str]) -> str:
    more = f" and {len(numbers) - 5} more" if len(numbers) > 5 else ""
    return ", ".join(numbers[:5]) + more
