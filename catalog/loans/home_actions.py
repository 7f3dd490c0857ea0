"""Coming home: counted back piece by piece and part by part, kept apart, put away, and only then closed."""

from collections.abc import Collection
from datetime import timedelta

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care import actions as care
from catalog.care.models import Alteration, Quarantine
from catalog.core import clock, house
from catalog.core.checks import keep
from catalog.core.errors import Refused, WrongState
from catalog.core.history import record
from catalog.core.locks import lock_rows
from catalog.loans import loan_queries
from catalog.loans.hold_actions import let_go
from catalog.loans.home_queries import closing_of
from catalog.loans.models import Loan, LoanLine, PartReturn
from catalog.loans.nameless import without_names
from catalog.loans.set_actions import end_sign_out
from catalog.pieces.models import Part, Piece
from catalog.storage import actions as storage
from catalog.storage.models import Place, Standing

_S = LoanLine.State
_R = LoanLine.Result


@transaction.atomic
def return_piece(
    *,
    by: User,
    loan: Loan,
    code_or_number: str,
    result: str,
    note: str = "",
    parts_back: Collection[str] | None = None,
    place: Place | None = None,
) -> LoanLine:
    """Count one piece back and put it into quarantine at `place` (None: the house's first quarantine place).

    `parts_back`: letters of the parts that came home. Raises Refused for a piece that is not on the list or never
    left, while parts are uncounted, and when a part is missing from a piece that is called complete. What came home
    changed or incomplete is not worn until somebody has looked and decided anew.
    """
    require(by, Ability.SIGN_OUT)
    piece = loan_queries.scanned_piece(code_or_number, stranger="Set it apart and ask whose it is.")
    line = _locked(loan_queries.line_to_return(loan, piece))
    if line.state not in loan_queries.MAY_RETURN:
        raise WrongState(f"{piece} is back already: {line.get_state_display()}.", field="code")
    _say_result(line, result, without_names(loan, note.strip())[:200])
    if result != _R.AS_SENT:
        said = f"came home {line.get_result_display()}"
        care.question_wear(by=by, piece=piece, what=said, why=line.result_note, on=clock.today())
    _count_parts(by, line, parts_back)
    apart = place or loan_queries.quarantine_place()
    if apart is None:
        raise Refused("There is no quarantine place: add one under Places first.", field="place")
    today, late = clock.today(), line.state == _S.NOT_BACK
    line.state, line.back_at = _S.QUARANTINED, clock.now()
    keep(line)
    end_sign_out(by=by, line=line, at=line.back_at)
    if late:
        storage.mark_found(by=by, piece=piece, at=apart, note=f"arrived late from {loan.to_whom}")
    else:
        storage.bring_back(by=by, piece=piece, to=apart, reason=f"back from {loan.to_whom}")
    if not Quarantine.objects.filter(piece=piece, released_on=None).exists():
        due = today + timedelta(days=int(house.value("hold.days_after")))
        care.open_quarantine(by=by, piece=piece, opened_on=today, due_on=due, reason=f"back from {loan.reference}")
    record(
        by,
        "came back",
        piece.subject,
        after={"loan": loan.reference, "loan_state": line.state, "part_return": line.result},
        reason=line.result_note,
    )
    _homeward(by, loan)
    return line


@transaction.atomic
def mark_not_back(*, by: User, line: LoanLine, note: str) -> LoanLine:
    """It did not come home. A missing file is opened; while the loan is open the piece may still arrive."""
    require(by, Ability.SIGN_OUT)
    line = _locked(line)
    if line.state not in {_S.OUT, _S.ON_SET}:
        raise WrongState(f"{line.piece} is {line.get_state_display()}.")
    note = without_names(line.loan, note.strip())[:200]
    if not note:
        raise Refused("Say what is known: who had it last, and when.", field="note")
    line.state, line.result_note = _S.NOT_BACK, note
    keep(line)
    storage.mark_missing(by=by, piece=line.piece, note=f"not back from {line.loan.reference}: {note}")
    record(
        by,
        "did not come back",
        line.piece.subject,
        after={"loan": line.loan.reference, "loan_state": line.state},
        reason=note,
    )
    _homeward(by, line.loan)
    return line


@transaction.atomic
def part_came_home(*, by: User, line: LoanLine, part: Part) -> PartReturn:
    """A part that was missing at the count has turned up."""
    require(by, Ability.SIGN_OUT)
    counted = PartReturn.objects.select_related("part", "line__loan").filter(line=line, part=part, back=False).first()
    if counted is None:
        raise WrongState(f"{part.name} of {line.piece} is not missing from this loan.")
    counted.back, counted.counted_at = True, clock.now()
    keep(counted)
    part.missing_since = None
    keep(part)
    record(by, "part came home", line.piece.subject, after={"part": part.name, "loan": line.loan.reference})
    return counted


@transaction.atomic
def release_line(*, by: User, line: LoanLine, findings: str = "") -> LoanLine:
    """End the quarantine of a returned piece. Before its day only with a word of what was looked at and found."""
    require(by, Ability.PUT_AWAY)
    line = _locked(line)
    apart = Quarantine.objects.filter(piece=line.piece, released_on=None).first()
    if line.state != _S.QUARANTINED or apart is None:
        raise WrongState(f"{line.piece} is not in quarantine.")
    today = clock.today()
    if apart.due_on > today and not findings.strip():
        raise Refused(
            f"{line.piece} is in quarantine until {apart.due_on:%-d %b %Y}: to release it earlier, "
            "write what was looked at and found.",
            field="findings",
        )
    care.release_quarantine(by=by, piece=line.piece, released_on=today, findings=findings.strip())
    return line


@transaction.atomic
def put_away(*, by: User, line: LoanLine, place: Place | None = None) -> LoanLine:
    """Back on the shelf at `place` (None: its home). Raises Refused in quarantine or with an alteration open."""
    require(by, Ability.PUT_AWAY)
    line = _locked(line)
    if line.state not in {_S.QUARANTINED, _S.BACK}:
        raise WrongState(f"{line.piece} is {line.get_state_display()}.")
    if line.piece.owner != Piece.Owner.OURS:
        raise Refused(f"{line.piece} is {line.piece.get_owner_display()}: it goes back to its owner.")
    apart = Quarantine.objects.filter(piece=line.piece, released_on=None).first()
    if apart is not None:
        raise Refused(f"{line.piece} is in quarantine until {apart.due_on:%-d %b %Y}: release it first.")
    altered = [row.what for row in Alteration.objects.filter(piece=line.piece, undone_on=None).order_by("id")]
    if altered:
        raise Refused(f"{line.piece} is still altered ({'; '.join(altered)}): undo it first.")
    standing = Standing.objects.select_related("home").filter(piece=line.piece).first()
    to = place or (standing.home if standing else None)
    if to is None:
        raise Refused(f"{line.piece} has no home place: choose where it goes.", field="place")
    storage.move_piece(by=by, piece=line.piece, to=to, reason=f"put away after {line.loan.reference}")
    line.state = _S.PUT_AWAY
    keep(line)
    record(
        by, "put away", line.piece.subject, after={"loan": line.loan.reference, "loan_state": line.state, "place": to}
    )
    return line


@transaction.atomic
def close_loan(*, by: User, loan: Loan) -> Loan:
    """Close a loan with nothing open, and let go what is left of its hold. Raises WrongState with what is open."""
    require(by, Ability.PUT_AWAY)
    now = Loan.objects.select_for_update(of=("self",)).get(pk=loan.pk)
    if now.state in {Loan.State.PULLING, Loan.State.CLOSED}:
        raise WrongState(f"{loan} is {now.get_state_display()}.")
    sentence = loan_queries.open_sentence(loan)
    if sentence:
        raise WrongState(f"{loan} cannot close: {sentence}.")
    loan.refresh_from_db()
    loan.state, loan.closed_on = Loan.State.CLOSED, clock.today()
    keep(loan)
    record(by, "closed", loan.subject, after={"state": loan.state, "closed_on": loan.closed_on})
    _let_hold_go(by, loan)
    return loan


def _let_hold_go(by: User, loan: Loan) -> None:
    """What was put away is free from today, not only after the last buffered day. What was left behind stays held."""
    if loan.hold is None:
        return
    held = list(closing_of(loan))
    if held and loan.hold.ends >= clock.today():
        let_go(by=by, hold=loan.hold, rows=held, reason=f"{loan.reference} closed", free_from=clock.today())


def _say_result(line: LoanLine, result: str, note: str) -> None:
    if result not in _R.values:
        raise Refused("Say whether it came back as sent, changed or incomplete.", field="result")
    if result != _R.AS_SENT and not note:
        raise Refused("Say what changed or what is missing.", field="note")
    line.result, line.result_note = result, note


def _count_parts(by: User, line: LoanLine, parts_back: Collection[str] | None) -> None:
    """Each half and detachable part is counted by itself; a missing one makes the piece incomplete."""
    rows = list(line.parts.select_related("part").order_by("part__letter"))
    back = {letter.strip().casefold() for letter in parts_back or ()}
    strange = back - {row.part.letter.casefold() for row in rows}
    if strange:
        raise Refused(f"{line.piece} did not leave with a part {', '.join(sorted(strange))}.", field="parts_back")
    if rows and parts_back is None:
        raise Refused(f"Count the parts of {line.piece}: {_names(rows)}.", field="parts_back")
    gone = [row for row in rows if row.part.letter.casefold() not in back]
    if gone and line.result != _R.INCOMPLETE:
        raise Refused(f"{line.piece} came without {_names(gone)}: it is incomplete.", field="result")
    for row in rows:
        row.back, row.counted_at = row not in gone, clock.now()
        keep(row)
        if (row in gone) != (row.part.missing_since is not None):
            row.part.missing_since = clock.today() if row in gone else None
            keep(row.part)
    if gone:
        record(by, "part missing", line.piece.subject, after={"part": _names(gone), "loan": line.loan.reference})


def _names(rows: Collection[PartReturn]) -> str:
    return ", ".join(f"{row.part.letter} ({row.part.name})" for row in rows)


def _homeward(by: User, loan: Loan) -> None:
    """The first thing that comes back turns the loan homeward."""
    turned = Loan.objects.filter(pk=loan.pk, state=Loan.State.OUT).update(state=Loan.State.HOME)
    if turned:
        record(by, "coming home", loan.subject, after={"state": Loan.State.HOME.value, "back_on": clock.today()})
    loan.refresh_from_db()


def _locked(line: LoanLine) -> LoanLine:
    """The line as it stands now; two scanners that meet the same piece come one after the other."""
    lock_rows(Piece.objects.filter(pk=line.piece_id))
    rows = LoanLine.objects.select_for_update(of=("self",)).select_related("loan", "piece", "wearer")
    return rows.get(pk=line.pk)
