"""The first page, and pages that need several rooms."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect

from catalog.access.duties import Duty, duties_of
from catalog.access.permissions import Ability, can
from catalog.core import clock
from catalog.core.http import render_page
from catalog.desk.piece_page import page_of
from catalog.desk.today import matters
from catalog.finding.queries import visible
from catalog.pieces.models import Production

# What the piece's page reads of the rows a piece points to.
PIECE_ROWS = ("production", "role", "slot", "set", "look", "reference_piece")


def today(request: HttpRequest) -> HttpResponse:
    """What needs attention, for this person's duties; a visitor gets the productions to look at."""
    now = clock.today()
    found = matters(request.user, now)
    context = {
        "today": now,
        "reasons": [{"mark": m.mark, "text": m.text, "url": m.url, "source": m.source} for m in found],
        "only_visitor": duties_of(request.user) <= {Duty.VISITOR},
        "productions": Production.objects.filter(closed=False),
        "may_record": can(request.user, Ability.RECORD),
        "may_call": can(request.user, Ability.CALL),
        "may_pull": can(request.user, Ability.PULL),
        "may_see_staff": can(request.user, Ability.SEE_STAFF),
        "may_see_values": can(request.user, Ability.SEE_VALUES),
    }
    return render_page(request, "catalog/desk/today.html", context)


def piece(request: HttpRequest, number: str) -> HttpResponse:
    """Everything known of a piece, as far as this person may see it."""
    found = visible(request.user).select_related(*PIECE_ROWS).filter(number__iexact=number).first()
    if found is None:
        raise Http404(f"There is no piece {number}.")
    if found.number != number:
        return redirect("desk:piece", found.number)
    return render_page(request, "catalog/desk/piece.html", page_of(found, request.user, clock.today()))
