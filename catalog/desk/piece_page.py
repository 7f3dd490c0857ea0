"""The piece's page: each room offers its section as a query and a part; the desk orders them and says what is first."""

from datetime import date
from typing import Any, NamedTuple

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.urls import reverse

from catalog.access.permissions import Ability, can
from catalog.care.queries import care_facts
from catalog.desk.calc.piece_head import Act, Head, Known, head_of
from catalog.loans.queries import PieceDays, days_of
from catalog.pieces.models import Piece
from catalog.pieces.queries import piece_facts
from catalog.shipping.queries import travel_facts
from catalog.storage.queries import where_facts

Context = dict[str, Any]


def page_of(piece: Piece, user: AbstractBaseUser | AnonymousUser, today: date) -> Context:
    """All sections of a piece that this person may see. A visitor sees no history, holds, values or travel answer."""
    staff = can(user, Ability.SEE_STAFF)
    care = care_facts(piece)
    where = where_facts(piece)
    days = days_of(piece, today) if staff else None
    head = head_of(_known(piece, care, where, days))
    return {
        **where,
        "piece": piece,
        "today": today,
        "staff": staff,
        "sheet": piece_facts(piece, user),
        "care": care,
        "where": where["where"],
        "days": days,
        "travel": travel_facts(piece) if can(user, Ability.SEE_TRAVEL) else None,
        "head": head,
        "act": _link(head, piece, days, user),
        "may_record": can(user, Ability.RECORD),
        "may_decide": can(user, Ability.DECIDE_WEAR),
        "may_alter": can(user, Ability.ALTER),
        "may_move": can(user, Ability.MOVE),
        "may_value": can(user, Ability.SEE_VALUES),
        "may_see_staff": staff,
        "may_state_custody": can(user, Ability.CUSTODY),
    }


class _Way(NamedTuple):
    """Where an act is done, what its button says, who may."""

    address: str
    words: str
    ability: Ability


_WAYS = {
    Act.FOUND: _Way("storage:mark_piece_found", "It was found", Ability.MOVE),
    Act.WORK: _Way("care:treatment", "To its pest work", Ability.DECIDE_WEAR),
    Act.RELEASE: _Way("care:quarantine", "Release it from quarantine", Ability.PUT_AWAY),
    Act.PUT_AWAY: _Way("loans:put_away", "Check it and put it away", Ability.PUT_AWAY),
    Act.LOAN: _Way("loans:loan", "To its loan", Ability.SEE_CALLS),
    Act.PLACE: _Way("storage:move_piece", "Say where it is", Ability.MOVE),
    Act.MOVE: _Way("storage:move_piece", "Move it", Ability.MOVE),
}


def _link(head: Head, piece: Piece, days: PieceDays | None, user: AbstractBaseUser | AnonymousUser) -> Context | None:
    """The one filled act of the page, or None when it is not for this person."""
    way = _WAYS.get(head.act)
    if way is None or not can(user, way.ability):
        return None
    of_loan = head.act in {Act.LOAN, Act.PUT_AWAY}
    target = days.line.loan.reference if of_loan and days and days.line else piece.number
    return {"url": reverse(way.address, args=[target]), "words": way.words}


def _known(piece: Piece, care: Context, where: Context, days: PieceDays | None) -> Known:
    """What the head of the page is made from; whoever may not see loans gets none told."""
    stands, file, lost_with = where["where"], where["missing"], where["lost_with"]
    line = days.line if days else None
    since = file.opened_on if file else stands.since.date() if stands.since else None
    last = file.last_place if file else None
    return Known(
        name=piece.name,
        state="" if stands.state == "not recorded" else stands.state,
        wear=care["wear"].wear,
        kept=care["kept"],
        loan=line.loan.reference if line else "",
        loan_state=line.state if line else "",
        lost_with=f"{lost_with.name} ({lost_with.code})" if lost_with else "",
        missing_since=since,
        last_seen=(file.last_seen if file else None) or stands.last_seen,
        last_seen_by=stands.last_seen_by,
        last_place=f"{last.name} ({last.code})" if last else "",
    )
