"""Quick fit: somebody is on the phone about one person. A post, so that no size stands in an address or a log."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core.http import render_page
from catalog.fitting.calc.body import POINT_WORDS
from catalog.fitting.forms import ANY_ROLE, QuickFitForm
from catalog.fitting.quick_queries import QuickFit, quick_fit
from catalog.fitting.set_queries import roles_for
from catalog.fitting.stock_queries import question_of_days
from catalog.pieces.models import Role

# The best outfits shown in full; the rest is in the table.
SHOWN = 8


@never_cache
@require_http_methods(["GET", "POST"])
def quick(request: HttpRequest) -> HttpResponse:
    """The form; with a post the free sets ranked below it. Nothing is stored."""
    user = signed_in(request)
    roles = roles_for(user, with_slots=True)
    form = QuickFitForm(request.POST or None, roles=roles, user=user, initial={"role": request.GET.get("role", "")})
    ranked: list[tuple[Role, QuickFit]] = []
    if form.is_bound and form.is_valid():
        facts = form.cleaned_data
        asked = roles if facts["role"] == ANY_ROLE else [role for role in roles if role.code == facts["role"]]
        ranked = quick_fit(asked, question_of_days(facts["first"], facts["last"]), form.person())
    role, found = ranked[0] if ranked else (None, None)
    outfits = found.outfits if found else ()
    # Ranges are sizes of a body, and an exclusion is the person's own: for whoever reads size sheets.
    sees_bodies = can(user, Ability.SEE_BODIES)
    context: dict[str, Any] = {
        "form": form,
        "roles": roles,
        "role": role,
        "found": found,
        "ranked": [(one, best.outfits[0]) for one, best in ranked if best.outfits] if len(ranked) > 1 else [],
        "outfits": outfits[:SHOWN],
        "more": max(0, len(outfits) - SHOWN),
        "decides": (outfits[0].decides if sees_bodies else outfits[0].decides_in_public) if outfits else "",
        "expected": [(POINT_WORDS[e.point], e) for e in found.expected] if found else [],
        "sees_bodies": sees_bodies,
    }
    status = 422 if form.is_bound and form.errors else 200
    return render_page(request, "catalog/fitting/quick.html", context, status=status)
