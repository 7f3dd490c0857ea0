"""Pages for what came home and is on no list."""

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_GET, require_http_methods

from catalog.access.people import signed_in
from catalog.core import clock
from catalog.loans import actions
from catalog.loans.models import Unlisted
from catalog.loans.pages import form_page, loan_or_404, loan_steps
from catalog.loans.unlisted_forms import HandOverForm, NotOursForm
from catalog.pieces.pages import done
from catalog.pieces.queries import may_see_file


@require_http_methods(["GET", "POST"])
def not_ours(request: HttpRequest, reference: str) -> HttpResponse:
    """A thing that is not ours gets its own line."""
    user, found = signed_in(request), loan_or_404(reference)
    form = NotOursForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and done(form, lambda: actions.note_not_ours(by=user, loan=found, **form.cleaned_data)):
        messages.success(request, "It has its own line. The loan stays open until it is handed over.")
        return redirect("loans:return", found.reference)
    answer = f"What came with {found.reference} and is not ours?"
    return form_page(request, form, steps=loan_steps(found, "Not ours"), answer=answer, verb="Give it its own line")


@require_http_methods(["GET", "POST"])
def hand_over(request: HttpRequest, reference: str, thing_id: int) -> HttpResponse:
    """It goes back to whom it belongs to."""
    user, found = signed_in(request), loan_or_404(reference)
    thing = get_object_or_404(Unlisted, pk=thing_id, loan=found, from_line=None)
    start = {"handed_over_on": clock.today(), "handed_over_to": thing.goes_back_to or thing.owner_name}
    form = HandOverForm(request.POST or None, initial=start)
    if request.method == "POST" and done(form, lambda: actions.hand_over(by=user, thing=thing, **form.cleaned_data)):
        messages.success(request, f"“{thing.description}” is handed over.")
        return redirect("loans:return", found.reference)
    answer = f"“{thing.description}” goes back."
    return form_page(request, form, steps=loan_steps(found, "Hand over"), answer=answer, verb="It is handed over")


@require_GET
def unlisted_picture(request: HttpRequest, reference: str, thing_id: int) -> HttpResponseBase:
    """Its picture; the original has no address."""
    thing = get_object_or_404(Unlisted.objects.select_related("file"), pk=thing_id, loan=loan_or_404(reference))
    if thing.file is None or not may_see_file(signed_in(request), thing.file.seen_by):
        raise Http404("There is no such picture.")
    response = FileResponse(thing.file.large.open("rb"), content_type="image/jpeg")
    response["Cache-Control"] = "private, max-age=86400"
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return response
