"""The page of a look: which pieces are not in it, the days to bring them there, and the samples that were tried."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.care import actions
from catalog.care.look_forms import OrderForm, SampleDecisionForm, SampleForm
from catalog.care.look_queries import not_in_look, of_roles, samples_of
from catalog.care.models import LookSample
from catalog.core import clock
from catalog.core.errors import CatalogError, Refused
from catalog.core.http import render_page
from catalog.pieces.models import Look
from catalog.pieces.pages import done
from catalog.pieces.queries import productions_for, visible_to

GET_POST = ["GET", "POST"]


@require_GET
def look(request: HttpRequest, look_id: int) -> HttpResponse:
    """?role= (several) asks only those roles; ?by= counts back from that day, for a call's loading."""
    user, found = signed_in(request), _look(request, look_id)
    roles, by = request.GET.getlist("role"), _day(request.GET.get("by", ""))
    pieces = of_roles(visible_to(user), found, roles)
    samples = samples_of(found)
    context = {
        "look": found,
        "steps": _steps(found, f"Look {found.name}"),
        "rows": not_in_look(pieces, found, by),
        "asked": pieces.count(),
        "roles": roles,
        "all_roles": list(found.production.roles.order_by("code")),
        "by": by,
        "samples": samples,
        "approved": [one.result for one in samples if one.result != "waiting"][-1:] == ["approved"],
        "waits": bool(samples) and samples[-1].result == "waiting",
        "may_order": can(user, Ability.DECIDE_WEAR),
        "may_sample": can(user, Ability.ALTER),
    }
    return render_page(request, "catalog/care/look.html", context)


@require_http_methods(GET_POST)
def add_sample(request: HttpRequest, look_id: int) -> HttpResponse:
    """A new try."""
    user, found = signed_in(request), _look(request, look_id)
    form = SampleForm(request.POST or None, initial={"made_on": clock.today(), "made_by_name": str(user)})
    if request.method == "POST" and done(form, lambda: actions.add_sample(by=user, look=found, **form.cleaned_data)):
        messages.success(request, "The sample is noted. It waits for a decision.")
        return redirect("care:look", look_id=found.pk)
    return _form(request, form, found, f"A sample of the look {found.name}.", "Note this sample")


@require_http_methods(GET_POST)
def decide_sample(request: HttpRequest, look_id: int, number: int) -> HttpResponse:
    """Approve or refuse a try."""
    user, found = signed_in(request), _look(request, look_id)
    sample = get_object_or_404(LookSample, look=found, number=number)
    form = SampleDecisionForm(request.POST or None, initial={"decided_on": clock.today()})
    if request.method == "POST" and done(
        form, lambda: actions.decide_sample(by=user, sample=sample, **form.cleaned_data)
    ):
        messages.success(request, f"Sample {sample.number} is decided.")
        return redirect("care:look", look_id=found.pk)
    answer = f"Is sample {sample.number} of the look {found.name} right?"
    return _form(request, form, found, answer, "Keep this decision", notes=[f"Tried: {sample.what}"])


@require_POST
def order(request: HttpRequest, look_id: int) -> HttpResponse:
    """Note the breakdown of one piece to this look."""
    user, found = signed_in(request), _look(request, look_id)
    form = OrderForm(request.POST)
    try:
        if not form.is_valid():
            raise Refused("Say in whole working days, 1 to 60, how long the breakdown takes.")
        number, days = form.cleaned_data["number"], form.cleaned_data["days"]
        piece = of_roles(visible_to(user), found, ()).filter(number__iexact=number).first()
        if piece is None:
            raise Http404(f"There is no piece {number} of this production.")
        actions.need_treatment(by=user, piece=piece, what=f"break down to look {found.name}", days=days, to_look=found)
        messages.success(request, f"The breakdown of {piece.number} is noted: {days} working days.")
    except CatalogError as error:
        messages.error(request, error.sentence)
    answer = redirect("care:look", look_id=found.pk)
    if back := request.POST.get("query", ""):
        answer["Location"] += f"?{back[:300]}" if "\n" not in back and "\r" not in back else ""
    return answer


def _look(request: HttpRequest, look_id: int) -> Look:
    rows = Look.objects.filter(production__in=productions_for(request.user)).select_related("production")
    return get_object_or_404(rows, pk=look_id)


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _steps(found: Look, word: str) -> list[dict[str, str]]:
    production = found.production
    return [
        {"word": "Productions", "url": reverse("pieces:productions")},
        {"word": production.title, "url": reverse("pieces:production", args=[production.code])},
        {"word": word, "url": ""},
    ]


def _form(request: HttpRequest, form: Any, found: Look, answer: str, verb: str, **more: Any) -> HttpResponse:
    status = 422 if form.is_bound and form.errors else 200
    context = {"form": form, "steps": _steps(found, "Sample"), "answer": answer, "verb": verb, **more}
    return render_page(request, "catalog/pieces/form_page.html", context, status=status)
