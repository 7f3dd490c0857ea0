"""Pages of a loan on set: everybody at a glance, and one screen a performer."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods

from catalog.access.models import User
from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.care.calc.set_cautions import SET_RULES
from catalog.core.errors import Refused
from catalog.core.http import render_page
from catalog.loans import set_queries
from catalog.loans.forms import SignOutForm
from catalog.loans.models import DamageNote, Loan, LoanLine, Wearer
from catalog.loans.pages import Steps, loan_or_404, loan_steps, status_of
from catalog.loans.set_lane import SetAct, do, question
from catalog.pieces.pages import done

GET_POST = ["GET", "POST"]


@require_http_methods(GET_POST)
def on_set(request: HttpRequest, reference: str) -> HttpResponse:
    """Everybody at a glance. A scan signs a piece out to the chosen performer, or in."""
    user, found = signed_in(request), loan_or_404(reference)
    wearers = found.call.wearers.order_by("number") if found.call else Wearer.objects.none()
    start = {"wearer": request.GET.get("wearer")}
    by_name = can(user, Ability.SEE_OUTFITS)
    form = SignOutForm(request.POST or None, wearers=wearers, by_name=by_name, initial=start)
    if request.method == "POST":
        said: list[str] = []
        facts = {name: request.POST.get(name, "") for name in ("code", "wearer")}
        if asks := question(found, facts):
            return redirect(asks)
        if done(form, lambda: said.append(do(user, SetAct(found, facts)))):
            messages.success(request, said[0])
            return redirect(f"{request.path}?{urlencode({'wearer': facts['wearer']})}")
    rows = set_queries.performers(found)
    context = {
        "loan": found,
        "rows": rows,
        "on_set": sum(row.on_set for row in rows),
        "in_hand": sum(row.in_hand for row in rows),
        "missing": sum(row.missing for row in rows),
        "idle": [row for row in rows if not row.lines],
        "by_name": by_name,
        "form": form,
        "steps": loan_steps(found, "On set"),
        "has_wearers": wearers.exists(),
    }
    return render_page(request, "catalog/loans/on_set.html", context, status=status_of(form))


@require_http_methods(GET_POST)
def performer(request: HttpRequest, reference: str, number: str) -> HttpResponse:
    """One performer's screen: what is out, in and missing; each scan or tap signs one piece out or in."""
    user, found = signed_in(request), loan_or_404(reference)
    wearer = set_queries.wearer_or_404(found, number)
    refused = ""
    if request.method == "POST":
        facts = {name: str(value) for name, value in request.POST.items()} | {"wearer": wearer.number}
        if asks := question(found, facts):
            return redirect(asks)
        try:
            messages.success(request, do(user, SetAct(found, facts)))
            return redirect(request.path)
        except Refused as error:
            refused = error.sentence
    context = _screen(user, found, wearer) | {
        "refused": refused,
        "has_errors": bool(refused),
        "code": request.POST.get("code", "") if refused else "",
        "asked": _asked(found, request.GET.get("ask", "")),
    }
    return render_page(request, "catalog/loans/on_set_performer.html", context, status=422 if refused else 200)


def _screen(user: User, loan: Loan, wearer: Wearer) -> dict[str, Any]:
    return {
        "loan": loan,
        "one": set_queries.performer(loan, wearer),
        "by_name": can(user, Ability.SEE_OUTFITS),
        "set_rules": SET_RULES,
        "causes": DamageNote.Cause.choices,
        "steps": _steps(loan, f"Performer {wearer.number}"),
    }


def _steps(loan: Loan, word: str) -> Steps:
    return [
        *loan_steps(loan),
        {"word": "On set", "url": reverse("loans:on_set", args=[loan.reference])},
        {"word": word, "url": ""},
    ]


def _asked(loan: Loan, code: str) -> LoanLine | None:
    """The piece that a question is about."""
    try:
        line = set_queries.line_of_scan(loan, code) if code else None
    except Refused:
        return None
    return line if line is not None and line.wearer is not None and line.state == line.State.OUT else None
