"""How far a loan has come, as its papers ask; which of them may be printed and by whom."""

from dataclasses import dataclass

from django.db.models import Count, Q

from catalog.access.models import User
from catalog.access.permissions import ADDRESSES, Ability, can
from catalog.core.errors import Refused
from catalog.loans.calc.papers import OF_ADDRESS, PAPERS, Paper, Stand
from catalog.loans.models import Loan, LoanLine, LoanReport

_S, _R = LoanLine.State, LoanLine.Result
HARMED = Q(state=_S.NOT_BACK) | Q(result__in=[_R.CHANGED, _R.INCOMPLETE])


@dataclass(frozen=True, slots=True)
class PaperRow:
    """A paper for one reader: why it may not be printed, if it may not."""

    paper: Paper
    why_not: str

    @property
    def links(self) -> list[tuple[str, str]]:
        """Word and address name of each form; nothing when it may not be printed."""
        return [] if self.why_not else [(self.paper.form, self.paper.address), *self.paper.also.items()]


def stand_of(loan: Loan) -> Stand:
    """How far the loan has come; four queries at most."""
    counted = loan.lines.aggregate(
        pieces=Count("pk", filter=~Q(state=_S.LEFT_BEHIND)),
        counted=Count("pk", filter=Q(back_at__isnull=False)),
        harmed=Count("pk", filter=HARMED),
        away=Count("pk", filter=Q(state__in=[_S.OUT, _S.ON_SET])),
    )
    begun = set(loan.reports.filter(lines__isnull=False).values_list("way", flat=True))
    return Stand(
        state=loan.state,
        pieces=counted["pieces"],
        has_hold=loan.hold_id is not None,
        has_left=loan.out_on is not None,
        counted=counted["counted"],
        lost_or_damaged=counted["harmed"],
        performers=loan.call.wearers.count() if loan.call else 0,
        away=counted["away"],
        reported_out=LoanReport.Way.OUT in begun,
        reported_in=LoanReport.Way.IN in begun,
    )


def papers_for(loan: Loan, user: User) -> list[PaperRow]:
    """Every paper of the loan, and for each why this person cannot print it now, if so."""
    stand = stand_of(loan)
    return [PaperRow(paper, _not_yours(paper, user) or paper.why_not(stand)) for paper in PAPERS]


def printable(loan: Loan, address: str) -> None:
    """Raises Refused with the reason when the paper may not be printed yet."""
    if why_not := OF_ADDRESS[address].why_not(stand_of(loan)):
        raise Refused(f"{OF_ADDRESS[address].title} of {loan}: {why_not}")


def _not_yours(paper: Paper, user: User) -> str:
    needed = ADDRESSES[paper.address]
    if not isinstance(needed, Ability) or can(user, needed):
        return ""
    return f"For the {' or the '.join(sorted(duty.value for duty in needed.duties))}."
