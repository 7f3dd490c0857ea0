"""The loan agreement: the facts as recorded, the house's own terms, the pieces with their values, two signatures.

What a loan agreement must at least have follows the published loan conditions of three museums (core/house_texts.py).
"""

from collections.abc import Iterator

from reportlab.platypus import Flowable

from catalog.core import house
from catalog.core.paper import parts
from catalog.loans import loan_queries
from catalog.loans.cost_queries import cost_words, costs_of
from catalog.loans.holdable_queries import to_be_worn
from catalog.loans.models import Loan, LoanLine
from catalog.loans.paper_frame import day_words, pieces_words, span_words
from catalog.pieces.calc.values import money, money_words, sums
from catalog.pieces.models import Part, Piece, Valuation
from catalog.pieces.value_queries import newest_values

CHECKED = (
    "The terms are the house's own text, kept under House rules. They are no legal advice: have them checked by "
    "somebody who knows the law of the places named above before you rely on them."
)
Values = dict[int, Valuation]


def values_of(lines: list[LoanLine]) -> Values:
    """The newest value of each piece that has one; one query."""
    pieces = Piece.objects.filter(pk__in=[line.piece_id for line in lines])
    return {row.piece_id: row for row in newest_values(pieces)}


def agreement_parts(loan: Loan) -> Iterator[Flowable]:
    """The agreement. A fixed number of queries, however many pieces."""
    lines = [line for line in loan_queries.lines_of(loan) if line.state != LoanLine.State.LEFT_BEHIND]
    values = values_of(lines)
    yield parts.answer(
        f"{loan}: {pieces_words(len(lines))} lent to {loan.to_whom}, to be back on {day_words(loan.due_on)}."
    )
    yield parts.facts(_facts(loan, lines, values))
    yield parts.heading("Terms")
    for number, term in enumerate(terms_of(loan), 1):
        yield parts.text(f"{number}. {term}")
    yield parts.small(CHECKED)
    yield parts.text("The list of pieces below is part of this agreement.")
    yield parts.signatures(["For the lender", "For the borrower"])
    yield parts.heading("The pieces and their values")
    yield parts.table(
        ["Number", "Piece", "With it", "Basis, day", parts.number_head("Value")],
        _rows(lines, values),
        [30, 56, 34, 28, 22],
    )
    yield parts.text(f"In all: {money_words(sums((row.currency, row.amount) for row in values.values()))}.")


def terms_of(loan: Loan) -> list[str]:
    """The house's terms, and those for pieces that are worn where they are."""
    worn = to_be_worn(loan.hold.purpose if loan.hold else "", loan.call)
    texts = [house.value("loan.terms"), *([house.value("loan.terms_worn")] if worn else [])]
    return [line for text in texts for line in str(text).splitlines() if line.strip()]


def _facts(loan: Loan, lines: list[LoanLine], values: Values) -> list[tuple[str, parts.Cell]]:
    call, hold = loan.call, loan.hold
    purpose = (hold.get_purpose_display() if hold else "") or (call.get_purpose_display() if call else "not recorded")
    asked = f", asked for by {call.asked_by}" if call and call.asked_by and call.asked_by != loan.to_whom else ""
    return [
        ("Lender", str(house.value("house.name"))),
        ("Borrower", f"{loan.to_whom}{asked}"),
        ("Authorised by", hold.confirmed_by if hold and hold.confirmed_by else "not recorded"),
        ("Purpose", f"{purpose}{f': {call.title}' if call else ''}"),
        ("Places", call.where if call else "not recorded: write it here"),
        ("Leaves", day_words(loan.out_on or (call.load_on if call else None))),
        ("Used", _used(loan)),
        ("Back on", day_words(loan.due_on)),
        ("Cover", _cover(lines, values)),
        ("Costs", cost_words(costs_of(loan)) or "none recorded: write here what is paid, and by whom"),
    ]


def _used(loan: Loan) -> str:
    if loan.call is None:
        return span_words(loan.hold.use_from, loan.hold.use_to) if loan.hold else "not recorded"
    spare = f", weather cover {day_words(loan.call.cover_day)}" if loan.call.cover_day else ""
    return f"{span_words(loan.call.first_day, loan.call.last_day)}{spare}"


def _cover(lines: list[LoanLine], values: Values) -> str:
    total = money_words(sums((row.currency, row.amount) for row in values.values()))
    unknown = len(lines) - len(values)
    rest = f"; {pieces_words(unknown)} without a recorded value: agree on one first" if unknown else ""
    return f"by the borrower, nail to nail: {total}{rest}"


def _rows(lines: list[LoanLine], values: Values) -> Iterator[list[parts.Cell]]:
    with_it: dict[int, list[str]] = {}
    found = Part.objects.filter(piece__in=[line.piece_id for line in lines], missing_since=None).order_by("letter")
    for piece_id, name in found.values_list("piece", "name"):
        with_it.setdefault(piece_id, []).append(name)
    for line in lines:
        value = values.get(line.piece_id)
        yield [
            parts.mono(line.piece.number),
            line.piece.name,
            ", ".join(with_it.get(line.piece_id, [])) or "nothing apart",
            f"{value.get_basis_display()}, {day_words(value.valued_on)}" if value else "",
            parts.number(money(value.currency, value.amount) if value else "not valued"),
        ]
