"""The costs of a loan."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_http_methods

from catalog.access.people import signed_in
from catalog.core import house
from catalog.core.http import render_page
from catalog.core.tables import csv_response
from catalog.loans import actions
from catalog.loans.cost_forms import CostForm, StrikeForm
from catalog.loans.cost_queries import costs_of
from catalog.loans.models import LoanCost
from catalog.loans.pages import form_page, loan_or_404, loan_steps, status_of
from catalog.pieces.calc.values import money
from catalog.pieces.pages import done

HEADER = ("what", "currency", "amount", "paid by", "noted on", "noted by", "struck out because")


@require_http_methods(["GET", "POST"])
def costs(request: HttpRequest, reference: str) -> HttpResponse:
    """What it costs and who pays; one more entry."""
    user, found = signed_in(request), loan_or_404(reference)
    form = CostForm(request.POST or None, initial={"currency": house.value("house.currency"), "paid_by": "borrower"})
    if request.method == "POST" and done(form, lambda: actions.note_cost(by=user, loan=found, **form.cleaned_data)):
        messages.success(request, f"“{form.cleaned_data['what']}” is noted.")
        return redirect("loans:costs", found.reference)
    context = {"loan": found, "form": form, "costs": costs_of(found), "steps": loan_steps(found, "Costs")}
    return render_page(request, "catalog/loans/costs.html", context, status=status_of(form))


@require_http_methods(["GET", "POST"])
def strike_cost(request: HttpRequest, reference: str, cost_id: int) -> HttpResponse:
    """An entry was wrong."""
    user, found = signed_in(request), loan_or_404(reference)
    cost = get_object_or_404(LoanCost, pk=cost_id, loan=found)
    form = StrikeForm(request.POST or None)
    if request.method == "POST" and done(form, lambda: actions.strike_cost(by=user, cost=cost, **form.cleaned_data)):
        messages.success(request, f"“{cost.what}” is struck out; it stays in the list and counts no more.")
        return redirect("loans:costs", found.reference)
    answer = f"Strike out “{cost.what}”, {money(cost.currency, cost.amount)}?"
    return form_page(request, form, steps=loan_steps(found, "Costs"), answer=answer, verb="Strike this entry out")


def costs_csv(request: HttpRequest, reference: str) -> HttpResponseBase:
    """The same as a table."""
    found = loan_or_404(reference)
    rows = (
        (
            row.what,
            row.currency,
            row.amount,
            row.get_paid_by_display(),
            row.noted_at.date(),
            row.noted_by or "",
            row.struck_reason,
        )
        for row in costs_of(found).entries
    )
    return csv_response(f"costs-{found.reference}.csv", HEADER, rows)
