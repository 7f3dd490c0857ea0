"""How quickly a clash is told over many held days: the page's own question against its bare SQL; run by `hold_run`."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from catalog.desk.bench.measuring import interleaved

PIECES, PIECES_A_HOLD, DAYS_A_HOLD = 500, 20, 10
FIRST = date(2100, 1, 4)
# How many pieces a question names, and over how many days it asks: one coat for a day up to half the store for a month.
ASKED = ((1, 1), (1, 30), (6, 3), (20, 10), (60, 20), (250, 30))
PLACES = 12

# The same question as `queries.firm_clashes` asks, as one would type it.
BARE = """
SELECT d.piece_id, p.number, h.reference, h.for_whom, MIN(d.day), MAX(d.day), COUNT(d.id)
FROM catalog_holdday d
JOIN catalog_piece p ON p.id = d.piece_id
JOIN catalog_hold h ON h.id = d.hold_id
WHERE d.piece_id IN ({marks}) AND d.day BETWEEN %s AND %s
GROUP BY d.piece_id, p.number, h.reference, h.for_whom
ORDER BY p.number, MIN(d.day)
"""


@dataclass(frozen=True, slots=True)
class Question:
    """Who has any of these pieces on any of these days?"""

    pieces: tuple[int, ...]
    first: date
    last: date


def hold_days(by: Any, pieces: Sequence[Any], wanted: int) -> int:
    """Fill the calendar with firm holds, rows made directly; gives how many held days stand then."""
    from catalog.loans.models import Hold, HoldDay  # noqa: PLC0415 - Django must stand first, here and below

    made, turn = 0, 0
    rows: list[HoldDay] = []
    groups = [pieces[n : n + PIECES_A_HOLD] for n in range(0, len(pieces), PIECES_A_HOLD)]
    while made < wanted:
        group = groups[turn % len(groups)]
        # Neighbours on the same pieces stand three days apart; groups are shifted against each other.
        start = FIRST + timedelta(days=(turn // len(groups)) * (DAYS_A_HOLD + 3) + turn % len(groups) % 7)
        end = start + timedelta(days=DAYS_A_HOLD - 1)
        one = Hold.objects.create(
            reference=f"B{turn}", for_whom=f"unit {turn}", strength="firm", confirmed_by="bench", use_from=start,
            use_to=end, starts=start, ends=end, made_by=by,
        )  # fmt: skip
        days = [start + timedelta(days=n) for n in range(DAYS_A_HOLD)]
        new = [HoldDay(hold=one, piece=piece, day=day) for piece in group for day in days][: wanted - made]
        rows += new
        made, turn = made + len(new), turn + 1
    HoldDay.objects.bulk_create(rows, batch_size=5000)
    return made


def questions(pieces: Sequence[Any], last: date) -> list[Question]:
    """The same questions in every run, spread over the pieces and over the calendar."""
    span = (last - FIRST).days
    found = []
    for size, days in ASKED:
        for place in range(PLACES):
            start = FIRST + timedelta(days=span * place // PLACES)
            begin = (place * 37) % len(pieces)
            ids = tuple(pieces[(begin + n) % len(pieces)].pk for n in range(size))
            found.append(Question(ids, start, start + timedelta(days=days - 1)))
    return found


def as_date(value: Any) -> date:
    """SQLite gives a day of a bare query as text."""
    return value if isinstance(value, date) else date.fromisoformat(value)


def ask_bare(asked: Question) -> list[tuple[Any, ...]]:
    """The bare SQL through the database's cursor, its days read as days."""
    from django.db import connection  # noqa: PLC0415

    bare = BARE.format(marks=", ".join(["%s"] * len(asked.pieces)))
    with connection.cursor() as cursor:
        cursor.execute(bare, [*asked.pieces, asked.first, asked.last])
        return [(*row[:4], as_date(row[4]), as_date(row[5]), row[6]) for row in cursor.fetchall()]


def ask_ours(asked: Question) -> list[tuple[Any, ...]]:
    """What refuses a firm hold and stands on its page."""
    from catalog.loans.queries import firm_clashes  # noqa: PLC0415

    return [
        (one.piece_id, one.number, one.hold, one.for_whom, one.first, one.last, one.days)
        for one in firm_clashes(asked.pieces, asked.first, asked.last)
    ]


def run_clash(wanted: int, rounds: int) -> dict[str, object]:
    """Fill the calendar, ask all questions both ways, and compare the times; unequal answers are no measurement."""
    from django.db import connection  # noqa: PLC0415

    from catalog.desk.bench.hold_run import staff_and_pieces  # noqa: PLC0415
    from catalog.loans.models import HoldDay  # noqa: PLC0415

    by, pieces = staff_and_pieces(PIECES)
    made = hold_days(by, pieces, wanted)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    last = HoldDay.objects.order_by("-day").values_list("day", flat=True)[0]
    all_asked = questions(pieces, last)
    timed = interleaved(
        lambda: [ask_ours(one) for one in all_asked], lambda: [ask_bare(one) for one in all_asked], rounds=rounds
    )
    return {
        "days": made,
        "questions": len(all_asked),
        "clashes": sum(len(answer) for answer in timed.answer),
        "ours_ms": 1000 * timed.ours_s / len(all_asked),
        "bare_ms": 1000 * timed.baseline_s / len(all_asked),
    }
