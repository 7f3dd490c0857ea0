"""The insured value of what leaves the door as a paper: in all, by basis, and which values will not last the loan."""

from collections.abc import Iterator
from datetime import date

from reportlab.platypus import Flowable

from catalog.core.paper import parts
from catalog.desk.call_values import Group, LeavingWorth
from catalog.loans.paper_frame import count_words, day_words, pieces_words
from catalog.pieces.calc.values import money

WARNING = "Confidential: it names values."
WHOSE = (
    "Whoever borrows insures it, in writing, before it leaves. Customs may ask for another value than the insurer: "
    "these are the house's own, each with its basis and day."
)


def value_parts(worth: LeavingWorth, leaves: date, back: date, years: int) -> Iterator[Flowable]:
    """The paper. It asks no query."""
    yield parts.answer(_answer(worth))
    yield parts.facts(
        [
            ("Leaves, is back", f"{day_words(leaves)}, {day_words(back)}"),
            ("Which pieces", worth.source),
            *((f"By {one.words}", f"{one.money} in {pieces_words(one.pieces)}") for one in worth.bases),
            *((_upper(one.words), _group(one)) for one in worth.groups),
            ("Not valued", _not_valued(worth)),
        ],
        62,
        108,
    )
    yield parts.small(f"A value is stale from {count_words(years, 'year', 'years')} after its day. {WHOSE}")
    for group in worth.groups:
        if group.rows:
            yield parts.heading(_upper(group.words))
            head = ["Number", "Piece", "Basis", "Valued on", "Stale from", parts.number_head("Value")]
            yield parts.table(head, _rows(group), [32, 48, 28, 20, 20, 22])


def _answer(worth: LeavingWorth) -> str:
    if len(worth.not_valued) == worth.count:
        return f"{_upper(pieces_words(worth.count))} to leave, and none of them is valued."
    short = ", as far as they are valued" if worth.not_valued else ""
    return f"{worth.money} leaves the door in {pieces_words(worth.count)}{short}."


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]


def _group(group: Group) -> str:
    return f"{pieces_words(len(group.rows))}, {group.money}" if group.rows else "none"


def _not_valued(worth: LeavingWorth) -> str:
    numbers = ", ".join(piece.number for piece in worth.not_valued)
    return f"{numbers}: in no sum and perhaps in no cover" if numbers else "none"


def _rows(group: Group) -> Iterator[list[parts.Cell]]:
    for row in group.rows:
        value = row.value
        yield [
            parts.mono(value.piece.number),
            value.piece.name,
            value.get_basis_display(),
            day_words(value.valued_on),
            day_words(row.stale_from),
            parts.number(money(value.currency, value.amount)),
        ]
