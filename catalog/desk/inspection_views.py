"""The walking list of what must be looked at; "seen, no change" is one tap and waits in the queue without signal."""

from collections.abc import Mapping

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from catalog.access.models import User
from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.care import actions
from catalog.care.calc.inspection import month_end
from catalog.core import clock
from catalog.core.errors import CatalogError, Refused
from catalog.core.http import render_page
from catalog.core.lanes import Lane, answer_once, named
from catalog.core.sending import Sent, answer_each
from catalog.core.tables import csv_response
from catalog.desk.inspection_list import Walk, by_room, walk_of
from catalog.pieces.models import Piece
from catalog.pieces.queries import visible_to

PER_PAGE = 60
HEADER = ("room", "place", "number", "name", "due", "due because", "last looked at", "last finding")


@require_GET
def due(request: HttpRequest) -> HttpResponse:
    """What is due by the end of this month, room by room."""
    user = signed_in(request)
    walk = _walk(user)
    page = Paginator(walk.stops, PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "walk": walk,
        "page": page,
        "rooms": by_room(page.object_list),
        "until": month_end(clock.today()),
        "today": clock.today(),
        "may_look": can(user, Ability.DECIDE_WEAR),
        "may_export": can(user, Ability.EXPORT),
    }
    return render_page(request, "catalog/desk/due.html", context)


@require_GET
def due_csv(request: HttpRequest) -> HttpResponseBase:
    """The same list, all of it; what is not in the store comes last."""
    walk = _walk(signed_in(request))
    where = [(stop.room, stop.words, stop.due) for stop in walk.stops]
    where += [("not in the store", state, one) for one, state in walk.elsewhere]
    rows = (
        (
            room,
            place,
            one.piece.number,
            one.piece.name,
            one.due.on.isoformat() if one.due.on else "now",
            one.due.why,
            one.looked_on.isoformat() if one.looked_on else "never",
            one.finding.words if one.finding else "nobody has reported on it",
        )
        for room, place, one in where
    )
    return csv_response("due-inspections.csv", HEADER, rows)


@require_POST
def looked(request: HttpRequest) -> HttpResponse:
    """One tap as a plain form: seen, no change."""
    number = request.POST.get("number", "")
    piece = visible_to(request.user).filter(number__iexact=number).first()
    if piece is None:
        raise Http404(f"There is no piece {number[:30]}.")
    try:
        actions.seen_no_change(by=signed_in(request), piece=piece, looked_on=clock.today())
        messages.success(request, f"{piece.number}: seen, no change.")
    except CatalogError as error:
        messages.error(request, error.sentence)
    page = request.POST.get("page", "")
    answer = redirect("desk:due")
    if page.isdigit():
        answer["Location"] += f"?page={page}"
    return answer


@require_POST
def looked_send(request: HttpRequest) -> JsonResponse:
    """What the page's queue sends: each tap answered by itself."""
    user = signed_in(request)
    return answer_each(request, lambda sent: answer_once(by=user, lane=LOOKED, sent=sent).plain)


def _look(by: User, sent: Sent) -> str:
    piece = Piece.objects.seen_by(by).filter(number__iexact=sent.fact("number")).first()
    if piece is None:
        raise Refused(f"There is no piece {sent.fact('number')[:30]}.")
    day = timezone.localdate(sent.happened) if sent.happened else clock.today()
    actions.seen_no_change(by=by, piece=piece, looked_on=day)
    return f"{piece.number}: seen, no change."


def _words(facts: Mapping[str, str]) -> str:
    return f"{facts['number'] or 'nothing'} seen, no change"


def _walk(user: User) -> Walk:
    return walk_of(visible_to(user), month_end(clock.today()))


LOOKED = named(Lane("looked", "desk:looked_send", ("number",), _words, _look))
