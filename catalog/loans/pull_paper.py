"""The pull list on paper: in walking order, where to stand on steps, what two people lift, a square to tick."""

from collections.abc import Iterator, Sequence

from reportlab.platypus import Flowable

from catalog.core.paper import parts
from catalog.core.units import show_weight
from catalog.loans.loan_queries import PullRow
from catalog.loans.models import Loan, LoanLine
from catalog.loans.paper_frame import count_words, pieces_words

HEADER = (
    "step", "number", "name", "instead of", "state", "where", "steps needed", "people to lift", "weight kg", "parts",
    "take care",
)  # fmt: skip
CAUTION = (
    "Two people lift what is heavier than the house's mark, and what nobody has weighed is tried with two first; "
    "local rules decide. Scan what you take, not what you meant to take."
)


def pull_parts(loan: Loan, rows: Sequence[PullRow]) -> Iterator[Flowable]:
    """The list as one walks. It asks no query."""
    left = sum(row.line.state == LoanLine.State.TO_PULL for row in rows)
    yield parts.answer(f"{left} of {pieces_words(len(rows))} left to pull for {loan.to_whom}.")
    steps = sum(row.where.needs_steps for row in rows)
    heavy = sum(row.two_people for row in rows)
    unknown = sum(row.line.piece.weight_g is None for row in rows)
    yield parts.text(
        f"In walking order. Steps for {pieces_words(steps)}; two people for {pieces_words(heavy)}; "
        f"{count_words(unknown, 'piece is', 'pieces are')} not weighed."
    )
    head = ["", "", "Piece", "Where", "Lift", "Take care"]
    yield parts.table(head, (_row(n, row) for n, row in enumerate(rows, 1)), [8, 8, 52, 38, 26, 42])
    yield parts.small(CAUTION)
    yield parts.signatures(["Pulled by", "Checked by"])


def pull_rows(rows: Sequence[PullRow]) -> Iterator[tuple[object, ...]]:
    """The same as a table."""
    for n, row in enumerate(rows, 1):
        piece, other = row.line.piece, row.line.substitute_for
        yield (
            n,
            piece.number,
            piece.name,
            other.number if other else "",
            row.line.get_state_display(),
            row.where.words,
            "yes" if row.where.needs_steps else "no",
            "2" if row.two_people else ("not weighed" if piece.weight_g is None else "1"),
            "" if piece.weight_g is None else f"{piece.weight_g / 1000:.3f}",
            ", ".join(row.parts),
            " ".join(_care(row)),
        )


def _row(n: int, row: PullRow) -> list[parts.Cell]:
    piece, other = row.line.piece, row.line.substitute_for
    done = row.line.state != LoanLine.State.TO_PULL
    named = [parts.strong(piece.number), parts.small(", ".join([piece.name, *row.parts]))]
    if other:
        named.append(parts.small(f"instead of {other.number}: {row.line.substitute_reason}"))
    where = [parts.small(row.where.words), *([parts.strong("steps needed")] if row.where.needs_steps else [])]
    weight = "not weighed" if piece.weight_g is None else show_weight(piece.weight_g)
    lift = [parts.small(weight), *([parts.strong("two people")] if row.two_people else [])]
    return [
        str(n),
        parts.small("pulled") if done else parts.TickBox(),
        named,
        where,
        lift,
        [parts.small(sentence) for sentence in _care(row)] or "",
    ]


def _care(row: PullRow) -> list[str]:
    """What the shelf must know, the hardest no first."""
    said = [row.kept, row.travel, *(f"Not for wear: {why}" for why in row.wear_no), *row.wear_conditions]
    return [sentence for sentence in said if sentence]
