"""Which pieces of a call travel: those held, else those of the kept plan, else those of the dry run; which may not."""

from collections.abc import Collection
from dataclasses import dataclass

from catalog.fitting.models import Plan
from catalog.fitting.queries import dry_run, needed_pieces
from catalog.loans.loan_queries import PullRow
from catalog.loans.models import Call, Hold, HoldPiece, Loan
from catalog.shipping.calc.facts import Mode, Trip
from catalog.shipping.calc.verdicts import Verdict
from catalog.shipping.queries import Answer, judge_pieces, pieces_to_judge, trip_of


@dataclass(frozen=True, slots=True)
class TravelList:
    """A call's pieces with their answers, and where the list comes from."""

    answers: list[Answer]
    source: str

    def count(self, word: str) -> int:
        """How many pieces have this summary."""
        return sum(answer.summary.value == word for answer in self.answers)


def travel_list(call: Call) -> TravelList:
    """Judge the call's pieces. Raises PlanError when neither hold nor plan stands and the planner cannot answer."""
    numbers, source = pieces_of_call(call)
    return TravelList(judge_pieces(pieces_to_judge(numbers), trip_of(call), call), source)


def pieces_of_call(call: Call) -> tuple[list[str], str]:
    """Numbers of the pieces held, else planned, else of the dry run, and in words which. Raises PlanError."""
    held = HoldPiece.objects.filter(hold__call=call, hold__state=Hold.State.ACTIVE, released_on=None)
    numbers = sorted(held.values_list("piece__number", flat=True))
    if numbers:
        return numbers, "the pieces held or pencilled for it"
    plan = Plan.objects.filter(call=call, current=True).first()
    if plan is not None:
        lines = plan.lines.filter(piece__isnull=False)
        return sorted(lines.values_list("piece__number", flat=True)), "the pieces of the kept plan"
    return needed_pieces(dry_run(call)), "the pieces of the dry run"


def name_what_stays(loan: Loan, rows: Collection[PullRow]) -> None:
    """Say at each row of a pull list that its piece stays by road, and why; every piece leaves by road first.

    A row that says already why its piece may not be pulled needs no second reason.
    """
    stays = words_of_what_stays(loan, [row.line.piece.number for row in rows])
    for row in rows:
        if not row.kept:
            row.travel = stays.get(row.line.piece_id, "")


def words_of_what_stays(loan: Loan, numbers: list[str]) -> dict[int, str]:
    """By id, of these pieces those that stay by road, with the reason."""
    trip = trip_of(loan.call) if loan.call else Trip()
    found = {one.piece.pk: one.by_mode[Mode.ROAD] for one in judge_pieces(pieces_to_judge(numbers), trip)}
    return {pk: f"{_STAYS[one.verdict]} {one.reasons[0].text}" for pk, one in found.items() if not one.verdict.is_yes}


_STAYS = {
    Verdict.STAYS: "It stays by the travel rules.",
    Verdict.UNKNOWN: "It stays by the travel rules until more is known.",
    Verdict.SPECIALIST: "It stays by the travel rules until a specialist has decided.",
}
