"""What a loan costs, added up by who pays and by currency; currencies are never added together."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from catalog.loans.models import Loan, LoanCost
from catalog.pieces.calc.values import money_words, sums


@dataclass(frozen=True, slots=True)
class Payer:
    """What one side pays."""

    key: str
    words: str
    amounts: dict[str, Decimal]

    @property
    def money(self) -> str:
        """ "EUR 1,250 and USD 90"."""
        return money_words(self.amounts)


@dataclass(frozen=True, slots=True)
class Costs:
    """Every entry, the struck ones too; the sums are of those that stand."""

    entries: Sequence[LoanCost]
    payers: Sequence[Payer]
    total: dict[str, Decimal]

    @property
    def standing(self) -> list[LoanCost]:
        """The entries that count."""
        return [row for row in self.entries if row.struck_at is None]

    @property
    def money(self) -> str:
        """All of it."""
        return money_words(self.total) if self.total else "nothing yet"


def costs_of(loan: Loan) -> Costs:
    """The costs of the loan; one query."""
    entries = list(loan.costs.select_related("noted_by").order_by("pk"))
    standing = [row for row in entries if row.struck_at is None]
    payers = []
    for key, words in LoanCost.PaidBy.choices:
        amounts = sums((row.currency, row.amount) for row in standing if row.paid_by == key)
        if amounts:
            payers.append(Payer(key, words, amounts))
    return Costs(entries, payers, sums((row.currency, row.amount) for row in standing))


def cost_words(found: Costs) -> str:
    """ "the borrower EUR 1,250; the archive EUR 40", for a paper; empty when nothing is noted."""
    return "; ".join(f"{payer.words} {payer.money}" for payer in found.payers)
