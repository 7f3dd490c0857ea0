"""Sheets for the set, to fill in by pencil: what each performer gets and gives back, and what is in at night.

No size stands on any of them. Which piece somebody wears is for wardrobe and archive alone; production's copy has name,
role, days and whether somebody is dressed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reportlab.platypus import Flowable

from catalog.care.models import WearDecision
from catalog.core.paper import parts
from catalog.loans.loan_queries import lines_of
from catalog.loans.models import Loan, LoanLine, PartReturn, Wearer
from catalog.loans.paper_frame import count_words, pieces_words

_S = LoanLine.State
GOES = (_S.TO_PULL, _S.PULLED, _S.OUT, _S.ON_SET)
HERE = (_S.OUT, _S.ON_SET)
HEADER = ("performer", "number", "piece", "with it", "recorded as")
MEDIC = (
    "Minutes are the most at a time. The set's medic and local rules decide; whoever feels unwell is undressed at once."
)


@dataclass(frozen=True, slots=True)
class Dressed:
    """A performer and the pieces meant for them; None: what is meant for nobody in particular."""

    wearer: Wearer | None
    lines: list[LoanLine]
    days: str = ""

    @property
    def roles(self) -> str:
        """In which roles, by their pieces."""
        return ", ".join(dict.fromkeys(line.piece.role.name for line in self.lines if line.piece.role))


def by_performer(loan: Loan, states: Sequence[str]) -> list[Dressed]:
    """The loan's lines in these states, performer by performer in the order of the call; five queries."""
    lines = [line for line in lines_of(loan, "piece__role") if line.state in states]
    wearers = list(loan.call.wearers.prefetch_related("free_days").order_by("number")) if loan.call else []
    mine: dict[int | None, list[LoanLine]] = {}
    for line in lines:
        mine.setdefault(line.wearer_id, []).append(line)
    rows = [Dressed(one, mine.get(one.pk, []), _days(one)) for one in wearers]
    return [*rows, *([Dressed(None, mine[None])] if None in mine else [])]


def sign_out_parts(loan: Loan) -> Iterator[Flowable]:
    """Wardrobe's copy: every piece by performer, with room for the hours and a signature."""
    rows = [row for row in by_performer(loan, GOES) if row.lines]
    ids = [line.piece_id for row in rows for line in row.lines]
    limits = _limits(ids)
    with_it = _parts_of(loan)
    people = sum(row.wearer is not None for row in rows)
    yield parts.answer(
        f"{pieces_words(len(ids))} to sign out to {count_words(people, 'performer', 'performers')}. Day: ____________"
    )
    yield parts.small(f"Each piece by name: nobody takes what is written for somebody else. {MEDIC}")
    for row in rows:
        yield parts.heading(_who(row))
        table = ([_named(line, with_it), _minutes(limits.get(line.piece_id)), "", "", "", ""] for line in row.lines)
        head = ["Piece", "At most", "Out at", "In at", "In again", "Signed"]
        yield parts.table(head, table, [76, 18, 20, 20, 20, 20], to_fill_in=True)
    yield parts.signatures(["Signed out by", "All in, checked by"])


def production_parts(loan: Loan) -> Iterator[Flowable]:
    """Production's copy: name, role, days, dressed or not. No piece, no size."""
    rows = [row for row in by_performer(loan, GOES) if row.wearer]
    dressed = sum(bool(row.lines) for row in rows)
    yield parts.answer(f"{dressed} of {count_words(len(rows), 'performer', 'performers')} dressed. Day: ____________")
    table = (
        [
            row.wearer.number if row.wearer else "",
            (row.wearer.name if row.wearer else "") or "name deleted",
            row.roles or "no role yet",
            row.days or "no day given",
            "yes" if row.lines else parts.strong("no"),
            parts.TickBox(),
            parts.TickBox(),
        ]
        for row in rows
    )
    head = ["No.", "Name", "Role", "Free on", "Dressed", "Ready", "Released"]
    yield parts.table(head, table, [14, 44, 36, 34, 16, 14, 16])
    yield parts.small("Nobody is released before wardrobe has everything back. Sizes stay with the wardrobe lead.")


def count_back_parts(loan: Loan) -> Iterator[Flowable]:
    """The night's count: what should be here, piece by piece, to tick; what the record has still on somebody."""
    rows = [row for row in by_performer(loan, HERE) if row.lines]
    lines = [line for row in rows for line in row.lines]
    on = sum(line.state == _S.ON_SET for line in lines)
    with_it = _parts_of(loan)
    yield parts.answer(f"{pieces_words(len(lines))} to count back, {on} still on somebody. Night of: ____________")
    yield parts.small("Nobody is released until the line is empty: what is missed the same night is found.")
    for row in rows:
        yield parts.heading(_who(row))
        table = (
            [
                parts.TickBox(),
                _named(line, with_it),
                parts.strong("still on") if line.state == _S.ON_SET else "in",
                parts.TickBox(),
                "",
            ]
            for line in row.lines
        )
        head = ["In", "Piece", "By the record", "Damaged", "What"]
        yield parts.table(head, table, [10, 74, 28, 18, 44], to_fill_in=True)
    yield parts.signatures(["Counted by", "Trunks closed by"])


def count_back_rows(loan: Loan) -> Iterator[tuple[object, ...]]:
    """The same as a table."""
    with_it = _parts_of(loan)
    for row in by_performer(loan, HERE):
        for line in row.lines:
            who = row.wearer.number if row.wearer else ""
            halves = ", ".join(with_it.get(line.piece_id, []))
            yield who, line.piece.number, line.piece.name, halves, line.get_state_display()


def _who(row: Dressed) -> str:
    if row.wearer is None:
        return "For nobody in particular"
    return f"{row.wearer.number}  {row.wearer.name or 'name deleted'}"


def _named(line: LoanLine, with_it: dict[int, list[str]]) -> list[Flowable]:
    words = ", ".join([line.piece.name, *with_it.get(line.piece_id, [])])
    return [parts.strong(line.piece.number), parts.small(words)]


def _minutes(limit: int | None) -> parts.Cell:
    return parts.strong(f"{limit} min") if limit else ""


def _limits(piece_ids: Sequence[int]) -> dict[int, int | None]:
    decided = WearDecision.objects.filter(piece__in=piece_ids, current=True)
    return dict(decided.values_list("piece", "minutes_limit"))


def _parts_of(loan: Loan) -> dict[int, list[str]]:
    """The halves and detachable parts that left with each piece, or would leave."""
    found: dict[int, list[str]] = {}
    rows = PartReturn.objects.filter(line__loan=loan).order_by("part__letter")
    for piece_id, name in rows.values_list("line__piece", "part__name"):
        found.setdefault(piece_id, []).append(name)
    return found


def _days(wearer: Wearer) -> str:
    return ", ".join(f"{row.day:%-d %b}" for row in sorted(wearer.free_days.all(), key=lambda row: row.day))
