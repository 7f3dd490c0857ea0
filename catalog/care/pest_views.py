"""The page that holds a piece against pests: each way with its days, and what speaks against it."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods

from catalog.care import actions
from catalog.care.calc.pest_hold import METHODS, against, until
from catalog.care.forms import PestHoldForm
from catalog.care.pest_actions import house_days, stuff_of
from catalog.care.queries import care_facts
from catalog.core import clock
from catalog.pieces.pages import back_to, done, form_page, signed_in, the_piece


@require_http_methods(["GET", "POST"])
def pest_hold(request: HttpRequest, number: str) -> HttpResponse:
    """Choose a way that the materials bear."""
    user, piece, today = signed_in(request), the_piece(request, number), clock.today()
    form = PestHoldForm(request.POST or None, initial={"started_on": today})
    if request.method == "POST" and done(
        form, lambda: actions.hold_against_pests(by=user, piece=piece, **form.cleaned_data)
    ):
        return back_to(request, piece, f"{piece.number} is held against pests and is not free before it is released.")
    stuff, days = stuff_of(piece), house_days()
    ways = [
        {"method": one, "against": against(one, stuff), "until": until(one, stuff, days, today)}
        for one in METHODS.values()
    ]
    return form_page(
        request,
        piece,
        form,
        word="Pest hold",
        answer=f"How is {piece.number} held against pests?",
        verb="Begin this hold",
        template="catalog/care/pest_hold.html",
        care=care_facts(piece),
        ways=ways,
        stuff=stuff,
    )
