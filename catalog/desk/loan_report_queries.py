"""The whole of a loan read together for its report: asked, given, made, cost, damage, delays, what to change."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils import timezone

from catalog.desk.calc.loan_report import Delays, some
from catalog.fitting.models import Plan
from catalog.loans.agreement import values_of
from catalog.loans.cost_queries import Costs, costs_of
from catalog.loans.loan_queries import lines_of
from catalog.loans.loss_paper import Loss, losses_of
from catalog.loans.models import Loan, LoanLine
from catalog.pieces.calc.values import stale_from, sums
from catalog.pieces.models import Piece, Valuation
from catalog.pieces.value_queries import stale_years
from catalog.storage.models import Label, Standing

_S = LoanLine.State
STAYED = (_S.TO_PULL, _S.PULLED, _S.LEFT_BEHIND)


@dataclass(frozen=True, slots=True)
class LoanReport:
    """The facts of the report. Roles with how many; `changes` are sentences for the store, the weightiest first."""

    loan: Loan
    asked: tuple[tuple[str, int], ...]
    given: tuple[tuple[str, int], ...]
    pieces: int
    behind: int
    performers: int
    plan: Plan | None
    to_make: tuple[tuple[str, int], ...]
    replicas: int
    results: tuple[tuple[str, int], ...]
    losses: tuple[Loss, ...]
    costs: Costs
    worth: dict[str, Decimal]
    delays: Delays
    not_ours: int
    open_lines: int
    changes: tuple[str, ...]


def report_of(loan: Loan, today: date) -> LoanReport:
    """Everything the report tells; a fixed number of queries, whatever the size."""
    lines = lines_of(loan, "piece__role")
    went = [line for line in lines if line.state not in STAYED]
    behind = [line for line in lines if line.state in STAYED]
    values = values_of(went)
    plan = Plan.objects.filter(call=loan.call, current=True).first() if loan.call else None
    not_ours = loan.unlisted.filter(from_line=None).count()
    losses = tuple(losses_of(loan))
    return LoanReport(
        loan=loan,
        asked=tuple((need.role.name, need.count) for need in loan.call.needs.select_related("role"))
        if loan.call
        else (),
        given=_counted(line.piece.role.name if line.piece.role else "no role" for line in went),
        pieces=len(went),
        behind=len(behind),
        performers=len({line.wearer_id for line in went if line.wearer_id}),
        plan=plan,
        to_make=_to_make(plan),
        replicas=sum(line.piece.origin == Piece.Origin.REPLICA for line in went),
        results=_counted(line.get_result_display() for line in went if line.result),
        losses=losses,
        costs=costs_of(loan),
        worth=sums((row.currency, row.amount) for row in values.values()),
        delays=_delays(loan, went, today),
        not_ours=not_ours,
        open_lines=sum(line.state not in LoanLine.CLOSED for line in went),
        changes=tuple(_changes(loan, went, behind, values, losses, not_ours)),
    )


def _counted(words: Iterable[str]) -> tuple[tuple[str, int], ...]:
    return tuple(sorted(Counter(words).items()))


def _to_make(plan: Plan | None) -> tuple[tuple[str, int], ...]:
    if plan is None:
        return ()
    return _counted(plan.lines.filter(piece=None).values_list("slot__name", flat=True))


def _delays(loan: Loan, went: Sequence[LoanLine], today: date) -> Delays:
    back = [timezone.localdate(line.back_at) for line in went if line.back_at]
    return Delays(
        to_leave=loan.call.load_on if loan.call else None,
        left=loan.out_on,
        due=loan.due_on,
        last_back=max(back, default=None),
        late=sum(day > loan.due_on for day in back),
        still_out=sum(line.state in {_S.OUT, _S.ON_SET} for line in went),
        closed=loan.closed_on,
        today=today,
    )


def _changes(
    loan: Loan,
    went: Sequence[LoanLine],
    behind: Sequence[LoanLine],
    values: dict[int, Valuation],
    losses: Sequence[Loss],
    not_ours: int,
) -> Iterator[str]:
    """What the records of this loan say of the store: what held it up, and what nobody knew."""
    ids = [line.piece_id for line in went]
    if behind:
        reasons = list(dict.fromkeys(line.result_note for line in behind if line.result_note))
        why = f" ({'; '.join(reasons[:2])})" if reasons else ""
        yield f"Not sent although listed{why}: {_numbers(behind)}."
    if instead := [line for line in went if line.substitute_for_id]:
        yield f"Another piece went instead: {_numbers(instead)}. Look at where the right ones were."
    labels = Label.objects.filter(piece__in=ids, retired_at__isnull=True)
    labelled = set(labels.values_list("piece_id", flat=True))
    if bare := [line for line in went if line.piece_id not in labelled]:
        yield f"Went without a label: {_numbers(bare)}."
    homes = set(Standing.objects.filter(piece__in=ids, home__isnull=False).values_list("piece_id", flat=True))
    if homeless := [line for line in went if line.piece_id not in homes]:
        yield f"No home place is recorded: {_numbers(homeless)}."
    if unweighed := [line for line in went if line.piece.weight_g is None]:
        yield f"Never weighed: {_numbers(unweighed)}."
    if ungraded := [line for line in went if line.out_grade is None]:
        yield f"Left without a condition report: {_numbers(ungraded)}."
    if unvalued := [line for line in went if line.piece_id not in values]:
        yield f"Left without a value: {_numbers(unvalued)}."
    left, years = loan.out_on, stale_years()
    if left and (old := [x for x in went if x.piece_id in values and _stale(values[x.piece_id], years, left)]):
        yield f"Left with a stale value: {_numbers(old)}."
    if parts := [loss for loss in losses if loss.missing]:
        yield f"Parts that came off and stayed away: {_numbers([loss.line for loss in parts])}. Tie them on."
    if not_ours:
        yield f"Things came home that are not ours: {not_ours}. Tell them apart at the count on location."


def _stale(value: Valuation, years: int, day: date) -> bool:
    return stale_from(value.valued_on, years) <= day


def _numbers(lines: Sequence[LoanLine]) -> str:
    return some([line.piece.number for line in lines])
