"""The pull list with what the travel rules say, before anything leaves its shelf; its scans come by the queue."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from catalog.access.models import User
from catalog.access.people import signed_in
from catalog.core.errors import Refused
from catalog.core.lanes import Lane, answer_once, named
from catalog.core.sending import Sent, answer_each
from catalog.desk.travel import name_what_stays, words_of_what_stays
from catalog.loans import actions, loan_queries, loan_views
from catalog.loans.models import Loan
from catalog.loans.pages import loan_or_404


def pull(request: HttpRequest, reference: str) -> HttpResponse:
    """The pull list of the loans room; each piece that stays by the travel rules says so at its row and when scanned.

    Naming it refuses nothing: what the house itself forbids (pest work, quarantine) the pull refuses.
    """
    return loan_views.pull(request, reference, warn=name_what_stays)


@require_POST
def pull_send(request: HttpRequest, reference: str) -> JsonResponse:
    """What the pull page's queue sends: pieces taken from their shelf, each answered by itself."""
    user, loan = signed_in(request), loan_or_404(reference)
    return answer_each(request, lambda sent: _answer(user, loan, sent))


def _answer(user: User, loan: Loan, sent: Sent) -> Mapping[str, Any]:
    of_loan = replace(sent, facts={**sent.facts, "loan": loan.reference})
    answer = answer_once(by=user, lane=PULL, sent=of_loan)
    place = loan_queries.scanned_place(sent.fact("code"))
    if answer.result == "refused" and place is not None:
        return answer.plain | {"look": f"{reverse('loans:pull', args=[loan.reference])}?place={place.code}"}
    if answer.result != "done" or place is not None:
        return answer.plain
    piece = loan_queries.scanned_piece(sent.fact("code"))
    return answer.plain | {"lift": words_of_what_stays(loan, [piece.number]).get(piece.pk, "")}


def _take(by: User, sent: Sent) -> str:
    loan = Loan.objects.filter(reference=sent.fact("loan")).first()
    if loan is None:
        raise Refused(f"There is no loan {sent.fact('loan')}.")
    place = loan_queries.scanned_place(sent.fact("code"))
    if place is not None:
        raise Refused(f"{loan_queries.what_it_is(place)}. Scan the piece itself.")
    line = actions.pull_piece(by=by, loan=loan, code_or_number=sent.fact("code"), happened=sent.happened)
    return f"{line.piece.number} {line.piece.name}: taken."


def _words(facts: Mapping[str, str]) -> str:
    return f"{facts['code'] or 'nothing'} pulled for {facts['loan']}"


PULL = named(Lane("pull", "desk:pull_send", ("loan", "code"), _words, _take))
