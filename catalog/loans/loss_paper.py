"""What was lost and what came home damaged, with the newest value of each piece. For those who may see values."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone
from reportlab.platypus import Flowable

from catalog.core.paper import parts
from catalog.loans.agreement import values_of
from catalog.loans.models import Loan, LoanLine, PartReturn
from catalog.loans.paper_frame import count_words, day_words, pieces_words
from catalog.loans.paper_queries import HARMED
from catalog.loans.report_queries import harm_of
from catalog.pieces.calc.values import money, money_words, sums
from catalog.pieces.models import Valuation

HEADER = (
    "number",
    "name",
    "what",
    "note",
    "parts missing",
    "new and worse marks",
    "counted on",
    "currency",
    "value",
    "basis",
    "valued on",
)
WHOLE = (
    "A value is that of the whole piece, whatever is wrong with it: what a repair or a part costs stands with the "
    "costs of the loan."
)


@dataclass(frozen=True, slots=True)
class Loss:
    """A piece that did not come back as it left."""

    line: LoanLine
    missing: tuple[str, ...]
    marks: tuple[str, ...]
    value: Valuation | None

    @property
    def lost(self) -> bool:
        """Whether the whole piece is gone."""
        return self.line.state == LoanLine.State.NOT_BACK

    @property
    def what(self) -> str:
        """ "did not come back", "incomplete" or "changed"."""
        return "did not come back" if self.lost else self.line.get_result_display()


def losses_of(loan: Loan) -> list[Loss]:
    """What did not come back as it left, the lost first, with the marks the loan brought; a fixed number of queries."""
    rows = loan.lines.filter(HARMED).select_related("piece__production").order_by("piece__number")
    lines = sorted(rows, key=lambda line: line.state != LoanLine.State.NOT_BACK)
    gone: dict[int, list[str]] = {}
    for part in PartReturn.objects.select_related("part").filter(line__in=[x.pk for x in lines], back=False):
        gone.setdefault(part.line_id, []).append(part.part.name)
    values = values_of(lines)
    marks: dict[str, list[str]] = {}
    for harm in harm_of(loan):
        cause = f" ({harm.mark.cause})" if harm.mark.cause else ""
        marks.setdefault(harm.number, []).append(f"{harm.mark.state}: {harm.mark.word}, {harm.mark.zone}{cause}")
    return [
        Loss(line, tuple(gone.get(line.pk, ())), tuple(marks.get(line.piece.number, ())), values.get(line.piece_id))
        for line in lines
    ]


def sums_of(rows: Sequence[Loss]) -> dict[str, Decimal]:
    """The values added up, currency by currency."""
    return sums((row.value.currency, row.value.amount) for row in rows if row.value)


def loss_parts(loan: Loan, rows: Sequence[Loss]) -> Iterator[Flowable]:
    """The list. It asks no query."""
    lost, harmed = [row for row in rows if row.lost], [row for row in rows if not row.lost]
    back = "came back damaged or incomplete"
    yield parts.answer(f"{loan}: {pieces_words(len(lost))} lost, {len(harmed)} {back}.")
    unknown = sum(row.value is None for row in rows)
    yield parts.facts(
        [
            ("Borrower", loan.to_whom),
            ("Out, due", f"{day_words(loan.out_on)}, {day_words(loan.due_on)}; taken by {loan.taken_by}"),
            ("Value of what is lost", money_words(sums_of(lost)) if lost else "nothing is lost"),
            (f"Value of what {back}", money_words(sums_of(harmed)) if harmed else "nothing did"),
            ("Not valued", f"{count_words(unknown, 'piece', 'pieces')}, in no sum" if unknown else "none of them"),
        ]
    )
    for word, some in (("Did not come back", lost), ("Came back otherwise than it left", harmed)):
        if some:
            yield parts.heading(word)
            head = ["Piece", "What", "Basis, day", parts.number_head("Value")]
            yield parts.table(head, map(_row, some), [50, 68, 32, 22])
    yield parts.small(WHOLE)
    yield parts.signatures(["For the archive", "For the borrower"])


def loss_rows(rows: Sequence[Loss]) -> Iterator[tuple[object, ...]]:
    """The same as a table."""
    for row in rows:
        line, value = row.line, row.value
        yield (
            line.piece.number,
            line.piece.name,
            row.what,
            line.result_note,
            ", ".join(row.missing),
            "; ".join(row.marks),
            timezone.localdate(line.back_at).isoformat() if line.back_at else "",
            *((value.currency, value.amount, value.basis, value.valued_on) if value else ("", "not valued", "", "")),
        )


def _row(row: Loss) -> list[parts.Cell]:
    piece, value = row.line.piece, row.value
    said = [parts.strong(row.what), parts.small(row.line.result_note or "no note")]
    if row.missing:
        said.append(parts.small(f"missing: {', '.join(row.missing)}"))
    said += [parts.small(mark) for mark in row.marks]
    return [
        [parts.strong(piece.number), parts.small(piece.name)],
        said,
        f"{value.get_basis_display()}, {day_words(value.valued_on)}" if value else "",
        parts.number(money(value.currency, value.amount) if value else "not valued"),
    ]
