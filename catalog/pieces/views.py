"""Pages about one piece: correct it, measure it, its pictures, parts, matches and values."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from catalog.access.permissions import Ability, can
from catalog.core import clock, house
from catalog.core.errors import Refused
from catalog.core.form_fields import length_unit, weight_unit
from catalog.pieces import actions
from catalog.pieces.calc.kinds import KINDS
from catalog.pieces.forms import MatchForm, MeasuresForm, PartForm, PictureForm, PieceForm, ValueForm
from catalog.pieces.models import PieceFile
from catalog.pieces.pages import back_to, done, form_page, signed_in, the_piece
from catalog.pieces.queries import picture_file_for, pictures_for

GET_POST = ["GET", "POST"]


@require_http_methods(GET_POST)
def edit(request: HttpRequest, number: str) -> HttpResponse:
    """Correct what is known of a piece."""
    user, piece = signed_in(request), the_piece(request, number)
    form = PieceForm(request.POST or None, piece=piece, unit=length_unit(user), weight=weight_unit(user))
    if request.method == "POST" and done(form, lambda: actions.edit_piece(by=user, piece=piece, **form.cleaned_data)):
        return back_to(request, piece, f"{piece.number} is corrected; what stood there before is in its history.")
    return form_page(
        request,
        piece,
        form,
        word="Correct",
        answer=f"Correct {piece.number}.",
        verb="Keep these facts",
        template="catalog/pieces/edit.html",
    )


@require_http_methods(GET_POST)
def measure(request: HttpRequest, number: str) -> HttpResponse:
    """Put and correct all measures of a piece at once."""
    user, piece = signed_in(request), the_piece(request, number)
    initial = {"taken_on": clock.today(), "taken_by": str(user)}
    form = MeasuresForm(request.POST or None, piece=piece, unit=length_unit(user), initial=initial)
    if request.method == "POST" and done(form, lambda: actions.set_measures(by=user, piece=piece, rows=form.changes())):
        return back_to(request, piece, f"The measures of {piece.number} are kept; older values are in its history.")
    return form_page(
        request,
        piece,
        form,
        word="Measure",
        answer=f"Measure {piece.number}.",
        verb="Keep these measures",
        template="catalog/pieces/measure.html",
        kind=KINDS[piece.kind],
        points=form.points,
    )


@require_http_methods(GET_POST)
def pictures(request: HttpRequest, number: str) -> HttpResponse:
    """All pictures of a piece, and one more."""
    user, piece = signed_in(request), the_piece(request, number)
    form = PictureForm(request.POST or None, request.FILES or None, initial={"seen_by": "everybody"})

    def add() -> None:
        facts = dict(form.cleaned_data)
        actions.add_picture(
            by=user, piece=piece, data=facts.pop("picture"), main=True if facts.pop("main") else None, **facts
        )

    if request.method == "POST" and done(form, add):
        messages.success(request, "The picture is added.")
        return redirect("pieces:pictures", number=piece.number)
    return form_page(
        request,
        piece,
        form,
        word="Pictures",
        answer=f"Pictures of {piece.number}.",
        verb="Add this picture",
        template="catalog/pieces/pictures.html",
        pictures=pictures_for(piece, user),
        views=PieceFile.View.choices,
    )


@require_POST
def change_picture(request: HttpRequest, number: str, picture_id: int) -> HttpResponse:
    """Make a picture the first one, or correct its view."""
    piece = the_piece(request, number)
    picture = get_object_or_404(PieceFile, pk=picture_id, piece=piece)
    try:
        actions.change_picture(
            by=signed_in(request),
            picture=picture,
            view=request.POST.get("view"),
            caption=request.POST.get("caption"),
            main="main" in request.POST,
        )
        messages.success(request, "The picture is corrected.")
    except Refused as refused:
        messages.error(request, refused.sentence)
    return redirect("pieces:pictures", number=piece.number)


@require_http_methods(GET_POST)
def parts(request: HttpRequest, number: str) -> HttpResponse:
    """The parts of a piece that can get lost alone, and one more."""
    user, piece = signed_in(request), the_piece(request, number)
    there = list(piece.parts.all())
    letter = next((sign for sign in "abcdefghijklmnopqrstuvwxyz" if sign not in {p.letter.lower() for p in there}), "")
    form = PartForm(request.POST or None, initial={"letter": letter})
    if request.method == "POST" and done(form, lambda: actions.add_part(by=user, piece=piece, **form.cleaned_data)):
        messages.success(request, f"Part {form.cleaned_data['letter']} is added.")
        return redirect("pieces:parts", number=piece.number)
    return form_page(
        request,
        piece,
        form,
        word="Parts",
        answer=f"Parts of {piece.number}.",
        verb="Add this part",
        template="catalog/pieces/parts.html",
        parts=there,
    )


@require_http_methods(GET_POST)
def matches(request: HttpRequest, number: str) -> HttpResponse:
    """What of a piece must agree with the rest of a set."""
    user, piece = signed_in(request), the_piece(request, number)
    usual = piece.slot.match_group if piece.slot else ""
    form = MatchForm(request.POST or None, initial={"group": usual})
    if request.method == "POST" and done(form, lambda: actions.set_match(by=user, piece=piece, **form.cleaned_data)):
        messages.success(request, "The match is kept.")
        return redirect("pieces:matches", number=piece.number)
    return form_page(
        request,
        piece,
        form,
        word="Matches",
        answer=f"What {piece.number} must match.",
        verb="Keep this match",
        template="catalog/pieces/matches.html",
        matches=piece.matches.all(),
    )


@require_http_methods(GET_POST)
def value(request: HttpRequest, number: str) -> HttpResponse:
    """The values of a piece; whoever records pieces may add one."""
    user, piece = signed_in(request), the_piece(request, number)
    may_add = can(user, Ability.RECORD)
    if request.method == "POST" and not may_add:
        raise PermissionDenied("To value pieces is for the archivist.")
    initial = {"currency": house.value("house.currency"), "valued_on": clock.today()}
    form = ValueForm(request.POST or None, initial=initial)
    if request.method == "POST" and done(form, lambda: actions.value_piece(by=user, piece=piece, **form.cleaned_data)):
        messages.success(request, "The value is added; older ones stay.")
        return redirect("pieces:value", number=piece.number)
    return form_page(
        request,
        piece,
        form,
        word="Value",
        answer=f"The value of {piece.number}.",
        verb="Add this value",
        template="catalog/pieces/value.html",
        values=piece.valuations.select_related("valued_by"),
        may_add=may_add,
    )


@require_GET
def picture(request: HttpRequest, file_id: int, size: str) -> HttpResponseBase:
    """A derivative of a picture for whoever may see it. The original has no address."""
    file = picture_file_for(request.user, file_id)
    if file is None or size not in {"small", "large"}:
        raise Http404("There is no such picture.")
    derivative = file.small if size == "small" else file.large
    response = FileResponse(derivative.open("rb"), content_type="image/jpeg")
    # The bytes of one address never change, but they are for this person's browser alone.
    response["Cache-Control"] = "private, max-age=86400"
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Disposition"] = "inline"
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return response
