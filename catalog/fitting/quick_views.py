"""Quick fit: somebody is on the phone about one person. A post, so that no size stands in an address or a log."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core.http import render_page
from catalog.fitting.calc.body import POINT_WORDS, Layer, Measure, Person, Shape
from catalog.fitting.forms import QuickFitForm
from catalog.fitting.quick_queries import QuickFit, quick_fit
from catalog.fitting.set_queries import roles_for
from catalog.fitting.stock_queries import question_of_days

# The best outfits shown in full; the rest is in the table.
SHOWN = 8


@never_cache
@require_http_methods(["GET", "POST"])
def quick(request: HttpRequest) -> HttpResponse:
    """The form; with a post the free sets ranked below it. Nothing is stored."""
    user = signed_in(request)
    roles = roles_for(user, with_slots=True)
    form = QuickFitForm(request.POST or None, roles=roles, user=user, initial={"role": request.GET.get("role", "")})
    found: QuickFit | None = None
    role = None
    if form.is_bound and form.is_valid():
        facts = form.cleaned_data
        role = next(role for role in roles if role.code == facts["role"])
        found = quick_fit(role, question_of_days(facts["first"], facts["last"]), _person(form))
    context: dict[str, Any] = {
        "form": form,
        "roles": roles,
        "role": role,
        "found": found,
        "outfits": found.outfits[:SHOWN] if found else (),
        "more": max(0, len(found.outfits) - SHOWN) if found else 0,
        "expected": [(POINT_WORDS[e.point], e) for e in found.expected] if found else [],
        # Ranges are sizes of a body: for whoever reads size sheets.
        "sees_ranges": can(user, Ability.SEE_BODIES),
    }
    status = 422 if form.is_bound and form.errors else 200
    return render_page(request, "catalog/fitting/quick.html", context, status=status)


def _person(form: QuickFitForm) -> Person:
    """What was typed: height and weight as told, tapes as measured."""
    facts = form.cleaned_data
    told = {"height": facts["height"], "weight": facts["weight"]}
    measures = [Measure(point, value, Layer.CARD) for point, value in told.items() if value is not None]
    measures += [Measure(point, value, Layer.TAPED) for point, value in form.tapes().items()]
    return Person(tuple(measures), Shape(facts["shape"] or "either"), facts["age"], frozenset(facts["exclusions"]))
