"""What is done on set with a scan or a tap: the same acts by a plain form and by the page's queue, in one order.

One lane for all of them: a phone sends what waited in the order it was done, so a stop never overtakes its start.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.http import HttpRequest, JsonResponse
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from catalog.access.models import User
from catalog.access.people import signed_in
from catalog.core.errors import Refused
from catalog.core.lanes import Lane, answer_once, named
from catalog.core.sending import Sent, answer_each
from catalog.loans import actions, set_queries
from catalog.loans.clock_queries import at_time, clocks
from catalog.loans.models import Loan
from catalog.loans.nameless import without_names
from catalog.loans.pages import loan_or_404


@dataclass(frozen=True, slots=True)
class SetAct:
    """One act at the set. `happened`: its own moment, when it is told late. `decided`: somebody has looked at it."""

    loan: Loan
    facts: Mapping[str, str]
    happened: datetime | None = None
    decided: bool = False

    def fact(self, name: str) -> str:
        """The field without spaces around it, "" when it was not given."""
        return self.facts.get(name, "").strip()


def do(by: User, act: SetAct) -> str:
    """Do it and say what was done. Raises Refused with why not."""
    one = _ACTS.get(which(act.facts))
    if one is None:
        raise Refused("That is nothing that is done on set.")
    return one(by, act)


def which(facts: Mapping[str, str]) -> str:
    """Which act: as named, else out to the performer who is named, else in."""
    return facts.get("act") or ("out" if facts.get("wearer") else "in")


def _out(by: User, act: SetAct) -> str:
    line = set_queries.line_of_scan(act.loan, act.fact("code"))
    wearer = set_queries.wearer_of(act.loan, act.fact("wearer"))
    anyway = act.decided or act.fact("anyway") == "yes"
    actions.sign_out_piece(by=by, line=line, wearer=wearer, happened=act.happened, anyway=anyway)
    return f"{line.piece.number} is out with performer {wearer.number}."


def _in(by: User, act: SetAct) -> str:
    line = set_queries.line_of_scan(act.loan, act.fact("code"))
    actions.sign_in_piece(by=by, line=line, happened=act.happened)
    held, said = line.wearer, act.fact("wearer")
    if held is None or not said or held.number.casefold() == said.casefold():
        return f"{line.piece.number} is in."
    return f"{line.piece.number} is in. It was performer {held.number}'s, not {said}'s: look whose hands it came from."


def _start(by: User, act: SetAct) -> str:
    line = set_queries.line_of_scan(act.loan, act.fact("code"))
    actions.start_clock(by=by, line=line, happened=act.happened, again_by=act.fact("again_by"))
    told = clocks([line])[line.piece_id]
    off = f" It comes off at {at_time(told.stop_at)}." if told.stop_at else ""
    return f"The clock of {line.piece.number} runs.{off}"


def _stop(by: User, act: SetAct) -> str:
    line = set_queries.line_of_scan(act.loan, act.fact("code"))
    actions.stop_clock(by=by, line=line, happened=act.happened)
    told = clocks([line])[line.piece_id]
    rest = f" It is next worn after {at_time(told.next_after)}." if told.next_after else ""
    return f"{line.piece.number} was worn {told.stretch.total_seconds() // 60:.0f} minutes.{rest}"


def _damage(by: User, act: SetAct) -> str:
    line = set_queries.line_of_scan(act.loan, act.fact("code"))
    note = actions.note_damage(by=by, line=line, what=act.fact("what"), cause=act.fact("cause"), happened=act.happened)
    return f"{line.piece.number}: “{note.what}” is noted and shown when it comes home."


_ACTS: dict[str, Callable[[User, SetAct], str]] = {
    "out": _out,
    "in": _in,
    "start": _start,
    "stop": _stop,
    "damage": _damage,
}
_WORDS = {
    "out": "out to {wearer}",
    "in": "in",
    "start": "put on, its clock started",
    "stop": "off, its clock stopped",
    "damage": "damaged: {what}",
}


@require_POST
def set_send(request: HttpRequest, reference: str) -> JsonResponse:
    """What an on-set page's queue sends, in its order; each act is answered by itself, a repeated one the same."""
    user, loan = signed_in(request), loan_or_404(reference)
    return answer_each(request, lambda sent: _answer(user, loan, sent))


def _answer(user: User, loan: Loan, sent: Sent) -> Mapping[str, Any]:
    # What is kept of an act may stand for ever: numbers, no names.
    words = {name: without_names(loan, sent.fact(name)) for name in ("what", "again_by") if sent.fact(name)}
    of_loan = replace(sent, facts={**sent.facts, **words, "loan": loan.reference})
    answer = answer_once(by=user, lane=ON_SET, sent=of_loan)
    if answer.result != "refused":
        return answer.plain
    asks = question(loan, sent.facts)
    return answer.plain | {"look": asks} if asks else answer.plain


def question(loan: Loan, facts: Mapping[str, str]) -> str:
    """The page that asks whether a piece of another performer changes hands; empty when that is not the question."""
    if which(facts) != "out" or facts.get("anyway") == "yes":
        return ""
    try:
        line = set_queries.line_of_scan(loan, facts.get("code", ""))
        wearer = set_queries.wearer_of(loan, facts.get("wearer", ""))
    except Refused:
        return ""
    if line.state != line.State.OUT or line.wearer_id in {None, wearer.pk}:
        return ""
    page = reverse("loans:on_set_performer", args=[loan.reference, wearer.number])
    return f"{page}?{urlencode({'ask': line.piece.number})}"


def _carry_out(by: User, sent: Sent) -> str:
    loan = Loan.objects.select_related("call").filter(reference=sent.fact("loan")).first()
    if loan is None:
        raise Refused(f"There is no loan {sent.fact('loan')}.")
    # Decided later, an act has its own moment and waits no more.
    decided = sent.happened is not None and not sent.waited
    return do(by, SetAct(loan, sent.facts, sent.happened, decided))


def _words(facts: Mapping[str, str]) -> str:
    what = _WORDS.get(which(facts), facts["act"]).format(
        wearer=f"performer {facts['wearer'] or 'nobody'}", what=facts["what"]
    )
    return f"{facts['code'] or 'nothing'} {what} for {facts['loan']}"


FIELDS = ("loan", "act", "code", "wearer", "anyway", "again_by", "what", "cause")
ON_SET = named(Lane("on set", "loans:set_send", FIELDS, _words, _carry_out))
