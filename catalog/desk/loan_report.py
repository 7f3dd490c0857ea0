"""The report of a loan on exactly two pages: what was asked, given and made; then cost, damage, delays, lessons.

Each page is a box that shrinks what it holds until it fits, and no list in it is longer than a few rows: what is more
stands in the lists of the loan.
"""

from collections.abc import Iterable, Sequence

from reportlab.platypus import Flowable, KeepInFrame, PageBreak

from catalog.core.paper import parts
from catalog.desk.calc.loan_report import late_words, some
from catalog.desk.data_kept_queries import DataKept
from catalog.desk.loan_report_queries import LoanReport
from catalog.loans.loss_paper import Loss
from catalog.loans.models import Loan
from catalog.loans.paper_frame import count_words, day_words, pieces_words, span_words
from catalog.pieces.calc.values import money, money_words

ROWS = 9


def report_parts(found: LoanReport, kept: DataKept | None) -> list[Flowable]:
    """The two pages. It asks no query."""
    return [_page(_first(found, kept)), PageBreak(), _page(_second(found))]


def _page(content: Iterable[Flowable]) -> Flowable:
    return KeepInFrame(0, 0, list(content), mode="shrink")


def _first(found: LoanReport, kept: DataKept | None) -> list[Flowable]:
    loan, call = found.loan, found.loan.call
    draft = [] if loan.state == Loan.State.CLOSED else [parts.strong(_draft(found))]
    return [
        parts.answer(_answer(found)),
        *draft,
        parts.heading("Asked"),
        parts.facts(
            [
                ("By whom, for what", f"{loan.to_whom}{f': {call.title}' if call else ''}"),
                (
                    "Where, when",
                    f"{call.where}, {span_words(call.first_day, call.last_day)}" if call else "not recorded",
                ),
                ("How many", _roles(found.asked, "performer", "performers") or "no performers asked for"),
                ("Planned", _planned(found)),
            ]
        ),
        parts.heading("Given"),
        parts.facts(
            [
                ("Pieces", f"{pieces_words(found.pieces)} went{_behind(found)}"),
                ("By role", _roles(found.given, "piece", "pieces") or "none"),
                ("Performers", f"{count_words(found.performers, 'performer', 'performers')} had pieces by name"),
                ("Value that left", f"{money_words(found.worth)} by the newest values"),
                ("Taken by", f"{loan.taken_by or 'nobody yet'}, {day_words(loan.out_on, 'not left')}"),
            ]
        ),
        parts.heading("Made"),
        parts.facts(
            [
                ("To be made by the plan", _roles(found.to_make, "piece", "pieces") or "nothing"),
                ("Replicas that went", pieces_words(found.replicas) if found.replicas else "none"),
            ]
        ),
        parts.heading("Delays"),
        parts.facts(
            [
                ("Left", _left(found)),
                ("Back", _back(found)),
                ("Closed", day_words(loan.closed_on, "not closed yet")),
            ]
        ),
        *([parts.heading("Sizes and names"), parts.text(kept.sentence)] if kept else []),
    ]


def _second(found: LoanReport) -> list[Flowable]:
    return [
        *_costs(found),
        *_damage(found),
        parts.heading("What to change in the store"),
        *(
            parts.text(f"{n}. {sentence}")
            for n, sentence in enumerate(found.changes or ("Nothing by the records.",), 1)
        ),
        parts.text("By hand: " + "_" * 78),
        parts.text("_" * 87),
        parts.signatures(["For the archive", "For the borrower"]),
    ]


def _costs(found: LoanReport) -> list[Flowable]:
    costs = found.costs
    rows = [
        [row.what, row.get_paid_by_display(), parts.number(money(row.currency, row.amount))]
        for row in sorted(costs.standing, key=lambda row: -row.amount)
    ]
    some_rows, more = rows[:ROWS], len(rows) - ROWS
    told = [parts.heading("Cost"), parts.text(f"In all {costs.money}.")]
    if rows:
        said = "; ".join(f"{payer.words} pays {payer.money}" for payer in costs.payers)
        told.append(parts.text(f"{said[:1].upper()}{said[1:]}."))
        told.append(parts.table(["What", "Paid by", parts.number_head("Amount")], some_rows, [100, 36, 34]))
    return [*told, *([parts.small(f"And {count_words(more, 'entry', 'entries')} more.")] if more > 0 else [])]


def _damage(found: LoanReport) -> list[Flowable]:
    told: list[Flowable] = [parts.heading("Damage and loss")]
    results = "; ".join(f"{count} {word}" for word, count in found.results) or "nothing counted back yet"
    lost = [row for row in found.losses if row.lost]
    told.append(parts.text(f"Came back: {results}. Did not come back: {len(lost)}."))
    rows = [
        [parts.mono(row.line.piece.number), row.line.piece.name[:60], row.what, _cut(row)]
        for row in found.losses[:ROWS]
    ]
    if rows:
        told.append(parts.table(["Number", "Piece", "What", "Note"], rows, [30, 44, 30, 66]))
    if (more := len(found.losses) - ROWS) > 0:
        told.append(parts.small(f"And {pieces_words(more)} more, in the loss and damage list."))
    if found.not_ours:
        told.append(parts.small(f"{count_words(found.not_ours, 'thing', 'things')} that came with it are not ours."))
    return told


def _cut(row: Loss, most: int = 90) -> str:
    note = row.line.result_note
    return note if len(note) <= most else f"{note[: most - 1].rstrip()}…"


def _answer(found: LoanReport) -> str:
    lost = sum(row.lost for row in found.losses)
    harmed = len(found.losses) - lost
    return (
        f"{found.loan}: {pieces_words(found.pieces)} lent to {found.loan.to_whom}, {lost} lost, "
        f"{harmed} damaged or incomplete."
    )


def _draft(found: LoanReport) -> str:
    state = f"{pieces_words(found.open_lines)} not put away yet" if found.open_lines else "not closed yet"
    return f"Draft of {day_words(found.delays.today)}: {state}. Print it again when the loan is closed."


def _roles(rows: Sequence[tuple[str, int]], one: str, more: str) -> str:
    total = sum(count for _, count in rows)
    named = some([f"{count} {role}" for role, count in rows], 8)
    return f"{count_words(total, one, more)}: {named}" if rows else ""


def _planned(found: LoanReport) -> str:
    plan = found.plan
    if plan is None:
        return "no plan was kept"
    return f"{plan.dressed} of {plan.asked} dressed, {plan.whole_sets} in one whole original set"


def _behind(found: LoanReport) -> str:
    return f", {found.behind} of the list did not" if found.behind else ""


def _left(found: LoanReport) -> str:
    delays = found.delays
    if delays.left is None:
        return f"not yet; planned {day_words(delays.to_leave)}"
    return f"{day_words(delays.left)}; planned {day_words(delays.to_leave)}: {late_words(delays.leaving)}"


def _back(found: LoanReport) -> str:
    delays = found.delays
    said = [f"due {day_words(delays.due)}"]
    if delays.still_out:
        said.append(f"{pieces_words(delays.still_out)} still out")
        said += [late_words(delays.returning)] if delays.returning else []
    elif delays.last_back:
        said.append(f"the last piece {day_words(delays.last_back)}: {late_words(delays.returning)}")
    if delays.late:
        said.append(f"{pieces_words(delays.late)} after the day due")
    return "; ".join(said)
