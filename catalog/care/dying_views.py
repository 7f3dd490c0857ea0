"""Which pieces die first, and what to do: the page and the table."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.views.decorators.http import require_GET

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.care.inspection_queries import by_material, dying_first
from catalog.core.http import render_page
from catalog.core.tables import csv_response
from catalog.pieces.queries import visible_to

PER_PAGE = 50
HEADER = ("number", "name", "material", "what it does", "last finding", "found on", "what to do")


@require_GET
def dies_first(request: HttpRequest) -> HttpResponse:
    """By material and last finding, the most pressing first."""
    user = signed_in(request)
    found = dying_first(visible_to(user))
    gone = sum(one.gone for one in found)
    context = {
        "page": Paginator(found, PER_PAGE).get_page(request.GET.get("page")),
        "living": len(found) - gone,
        "gone": gone,
        "kinds": by_material(found),
        "may_decide": can(user, Ability.DECIDE_WEAR),
        "may_export": can(user, Ability.EXPORT),
    }
    return render_page(request, "catalog/care/dies_first.html", context)


@require_GET
def dies_first_csv(request: HttpRequest) -> HttpResponseBase:
    """The same list, all of it."""
    rows = (
        (
            one.piece.number,
            one.piece.name,
            one.ageing.word,
            one.ageing.does,
            one.finding.words if one.finding else "nobody has reported on it",
            one.finding.on.isoformat() if one.finding else "",
            one.do,
        )
        for one in dying_first(visible_to(signed_in(request)))
    )
    return csv_response("dies-first.csv", HEADER, rows)
