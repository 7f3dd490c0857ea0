"""The page about a part of an animal or plant in a piece."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_http_methods

from catalog.care import actions
from catalog.care.wild_forms import WildPartForm
from catalog.pieces.pages import back_to, done, form_page, signed_in, the_piece


@require_http_methods(["GET", "POST"])
def wild_part(request: HttpRequest, number: str) -> HttpResponse:
    """A part of an animal or plant; ?part=ID is one that is noted already."""
    user, piece = signed_in(request), the_piece(request, number)
    chosen = request.GET.get("part", "")
    there = get_object_or_404(piece.wild_parts, pk=chosen) if chosen.isdigit() else None
    names = [name for name in WildPartForm.base_fields if name != "farmed"]
    initial = {name: getattr(there, name) for name in names} if there else {}
    if there and there.farmed is not None:
        initial["farmed"] = "yes" if there.farmed else "no"
    form = WildPartForm(request.POST or None, initial=initial)
    if request.method == "POST" and done(
        form, lambda: actions.record_wild_part(by=user, piece=piece, part=there, **form.cleaned_data)
    ):
        return back_to(request, piece, f"The part of an animal or plant in {piece.number} is noted.")
    return form_page(
        request,
        piece,
        form,
        word="Animal or plant",
        answer=f"Which animal or plant is in {piece.number}?",
        verb="Keep these facts",
        template="catalog/care/wild_part.html",
    )
