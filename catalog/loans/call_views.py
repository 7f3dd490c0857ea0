"""Pages of calls: the list, taking one, changing it, how many are asked, who is on the list."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import Count, Q, Sum
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_POST

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core import clock
from catalog.core.http import render_page
from catalog.loans import actions, queries
from catalog.loans.call_actions import whole_days
from catalog.loans.forms import CallForm, NeedsForm, WearerForm
from catalog.loans.models import Call, CallNeed, Hold, Loan, Wearer
from catalog.loans.pages import call_or_404, call_steps, form_page, status_of
from catalog.pieces.pages import done

GET_POST = ["GET", "POST"]


def calls(request: HttpRequest) -> HttpResponse:
    """All calls, open ones first."""
    every = queries.calls().order_by("-state", "load_on", "reference")
    every = every.annotate(
        wearers_n=Count("wearers", distinct=True),
        firm_n=Count("holds", distinct=True, filter=Q(holds__state=Hold.State.ACTIVE, holds__strength="firm")),
        pencils_n=Count("holds", distinct=True, filter=queries.living_pencil("holds__", clock.today())),
        pulling_n=Count("loans", distinct=True, filter=Q(loans__state=Loan.State.PULLING)),
        out_n=Count("loans", distinct=True, filter=Q(loans__state__in=[Loan.State.OUT, Loan.State.HOME])),
    )
    page = Paginator(every, 30).get_page(request.GET.get("page"))
    needs_of = CallNeed.objects.filter(call__in=[call.pk for call in page])
    asked = dict(needs_of.order_by().values_list("call").annotate(total=Sum("count")))
    context = {
        "rows": [{"call": call, "asked": asked.get(call.pk, 0)} for call in page],
        "page": page,
        "open_n": Call.objects.filter(state=Call.State.OPEN).count(),
        "may_call": can(request.user, Ability.CALL),
    }
    return render_page(request, "catalog/loans/calls.html", context)


@require_http_methods(GET_POST)
def take_call(request: HttpRequest) -> HttpResponse:
    """A new call."""
    user = signed_in(request)
    form = CallForm(request.POST or None, initial={"received_on": clock.today()})
    if request.method == "POST" and done(form, lambda: actions.take_call(by=user, **form.cleaned_data)):
        messages.success(request, "The call is taken. Now say how many of whom; nothing is held yet.")
        return redirect("loans:needs", form.cleaned_data["reference"])
    return form_page(
        request,
        form,
        steps=call_steps(None, "Take a call"),
        answer="Take a call.",
        verb="Take this call",
        template="catalog/loans/call_form.html",
    )


@require_http_methods(GET_POST)
def edit_call(request: HttpRequest, reference: str) -> HttpResponse:
    """Change the facts of a call."""
    user, call = signed_in(request), call_or_404(reference)
    form = CallForm(request.POST or None, call=call)
    if request.method == "POST" and done(form, lambda: actions.edit_call(by=user, call=call, **form.cleaned_data)):
        messages.success(request, f"{call.reference} is changed; what stood there before is in its history.")
        return redirect("desk:call", call.reference)
    return form_page(
        request,
        form,
        steps=call_steps(call, "Change"),
        answer=f"Change {call.reference}.",
        verb="Keep these facts",
        template="catalog/loans/call_form.html",
        call=call,
    )


@require_http_methods(GET_POST)
def needs(request: HttpRequest, reference: str) -> HttpResponse:
    """How many performers in each role."""
    user, call = signed_in(request), call_or_404(reference)
    form = NeedsForm(request.POST or None, call=call)

    @transaction.atomic
    def keep_all() -> None:
        for role, count in form.counts():
            actions.set_need(by=user, call=call, role=role, count=count)

    if request.method == "POST" and done(form, keep_all):
        return redirect("desk:call", call.reference)
    return form_page(
        request,
        form,
        steps=call_steps(call, "How many"),
        answer=f"How many of whom for {call.reference}?",
        verb="Ask for these",
        template="catalog/loans/needs.html",
        call=call,
    )


@require_http_methods(GET_POST)
def wearers(request: HttpRequest, reference: str) -> HttpResponse:
    """Who is on the list: number, name and days; sizes stand elsewhere."""
    user, call = signed_in(request), call_or_404(reference)
    form = WearerForm(request.POST or None, days=whole_days(call))
    if request.method == "POST" and done(form, lambda: actions.add_wearer(by=user, call=call, **form.cleaned_data)):
        messages.success(request, f"Performer {form.cleaned_data['number']} is listed.")
        return redirect("loans:wearers", call.reference)
    context = {
        "form": form,
        "call": call,
        "steps": call_steps(call, "Performers"),
        "listed": queries.wearer_rows(call),
        "may_call": can(user, Ability.CALL) and call.state == Call.State.OPEN,
    }
    return render_page(request, "catalog/loans/wearers.html", context, status=status_of(form))


@require_http_methods(GET_POST)
def edit_wearer(request: HttpRequest, reference: str, number: str) -> HttpResponse:
    """Change one performer's name, days, or whether under 18."""
    user, wearer = signed_in(request), _wearer(call_or_404(reference), number)
    free = [one.day.isoformat() for one in wearer.free_days.all()]
    initial = {"number": wearer.number, "name": wearer.name, "minor": wearer.minor, "days": free}
    form = WearerForm(request.POST or None, days=whole_days(wearer.call), initial=initial)
    del form.fields["number"]
    if request.method == "POST" and done(
        form, lambda: actions.edit_wearer(by=user, wearer=wearer, **form.cleaned_data)
    ):
        return redirect("loans:wearers", wearer.call.reference)
    return form_page(
        request,
        form,
        steps=[*call_steps(wearer.call, f"Performer {wearer.number}")],
        answer=f"Change performer {wearer.number}.",
        verb="Keep these facts",
    )


@require_POST
def remove_wearer(request: HttpRequest, reference: str, number: str) -> HttpResponse:
    """Take one performer off the list."""
    wearer = _wearer(call_or_404(reference), number)
    actions.remove_wearer(by=signed_in(request), wearer=wearer)
    messages.success(request, f"Performer {number} is off the list.")
    return redirect("loans:wearers", reference)


@require_POST
def close_call(request: HttpRequest, reference: str) -> HttpResponse:
    """Close the call when its loans are closed."""
    call = call_or_404(reference)
    actions.close_call(by=signed_in(request), call=call)
    messages.success(request, f"{call.reference} is closed.")
    return redirect("desk:call", call.reference)


def _wearer(call: Call, number: str) -> Wearer:
    wearer = call.wearers.select_related("call").filter(number__iexact=number).first()
    if wearer is None:
        raise Http404(f"{call} has no performer {number[:20]}.")
    return wearer
