"""Pages for what is done to a piece: treatment and quarantine."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django import forms
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_http_methods

from catalog.access.permissions import Ability, can
from catalog.care import actions
from catalog.care.forms import CallOffForm, QuarantineForm, ReleaseForm, TreatmentForm
from catalog.care.models import Treatment
from catalog.care.queries import care_facts
from catalog.core import clock, house
from catalog.pieces.pages import back_to, done, form_page, signed_in, the_piece

GET_POST = ["GET", "POST"]


@require_http_methods(GET_POST)
def treatment(request: HttpRequest, number: str) -> HttpResponse:
    """Work the piece needs, and what is under way."""
    user, piece = signed_in(request), the_piece(request, number)
    form = TreatmentForm(request.POST or None)
    if request.method == "POST" and done(
        form, lambda: actions.need_treatment(by=user, piece=piece, **form.cleaned_data)
    ):
        return back_to(request, piece, f"The work on {piece.number} is noted.")
    return form_page(
        request,
        piece,
        form,
        word="Treatment",
        answer=f"What must be done to {piece.number}?",
        verb="Note this work",
        template="catalog/care/treatment.html",
        care=care_facts(piece),
        treatments=piece.treatments.all(),
    )


@require_http_methods(GET_POST)
def call_off_treatment(request: HttpRequest, number: str, treatment_id: int) -> HttpResponse:
    """Work that is not done after all, with a reason."""
    user, piece = signed_in(request), the_piece(request, number)
    treatment = get_object_or_404(Treatment, pk=treatment_id, piece=piece)
    form = CallOffForm(request.POST or None)
    if request.method == "POST" and done(
        form, lambda: actions.call_off_treatment(by=user, treatment=treatment, **form.cleaned_data)
    ):
        return back_to(request, piece, f"“{treatment.what}” is called off.")
    return form_page(
        request, piece, form, word="Call off", answer=f"Call off “{treatment.what}”?", verb="Call this work off"
    )


@require_http_methods(GET_POST)
def quarantine(request: HttpRequest, number: str) -> HttpResponse:
    """Keep the piece apart, or let it out again."""
    user, piece, today = signed_in(request), the_piece(request, number), clock.today()
    care = care_facts(piece)
    is_open, may_release = care["quarantine"] is not None, can(user, Ability.PUT_AWAY)
    form: forms.Form
    act: Callable[..., Any]
    if is_open:
        form = ReleaseForm(request.POST or None, initial={"released_on": today})
        answer, verb, act = f"{piece.number} is in quarantine.", "Release it", actions.release_quarantine
        if request.method == "POST" and not may_release:
            raise PermissionDenied("To release pieces from quarantine is for the archivist.")
    else:
        due = today + timedelta(days=int(house.value("hold.days_after")))
        form = QuarantineForm(request.POST or None, initial={"opened_on": today, "due_on": due})
        answer, verb, act = f"Keep {piece.number} apart.", "Keep it apart", actions.open_quarantine
    if request.method == "POST" and done(form, lambda: act(by=user, piece=piece, **form.cleaned_data)):
        sentence = f"{piece.number} is released." if is_open else f"{piece.number} is in quarantine."
        return back_to(request, piece, sentence)
    return form_page(
        request,
        piece,
        form,
        word="Quarantine",
        answer=answer,
        verb=verb,
        template="catalog/care/quarantine.html",
        care=care,
        may_post=may_release or not is_open,
        may_decide=can(user, Ability.DECIDE_WEAR),
    )
