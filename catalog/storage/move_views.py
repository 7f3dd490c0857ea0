"""Moving a piece or a container, saying that one is missing."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from catalog.access.permissions import Ability, can
from catalog.core.checks import blame
from catalog.core.errors import CatalogError
from catalog.core.http import render_page
from catalog.pieces.models import Piece
from catalog.storage import actions, place_queries, queries
from catalog.storage.forms import MissingForm, MoveForm
from catalog.storage.models import Place
from catalog.storage.readings import address_of
from catalog.storage.room_queries import handling_in, handling_of
from catalog.storage.views import place_or_404, steps_of, user_of

PER_PAGE = 50


def piece_or_404(request: HttpRequest, number: str) -> Piece:
    """The piece of this number, if this person may see it."""
    piece = Piece.objects.seen_by(request.user).filter(number__iexact=number).first()
    if piece is None:
        raise Http404(f"There is no piece {number}.")
    return piece


def container_or_404(code: str) -> Place:
    """The container of this code; a shelf does not move."""
    place = place_or_404(code)
    if not place.is_container:
        raise Http404(f"{place.code} is a {place.get_kind_display()}: it stays where it is.")
    return place


def move_piece(request: HttpRequest, number: str) -> HttpResponse:
    """Two taps: the piece, then the code of the place."""
    piece = piece_or_404(request, number)
    where = queries.where_is(piece)
    context = {"piece": piece, "where": where, "steps": piece_steps(piece, "Move")}
    context["handling"] = handling_of(piece) if can(user_of(request), Ability.SEE_STAFF) else []
    return _move(request, piece, where.home, context)


def move_container(request: HttpRequest, code: str) -> HttpResponse:
    """A trunk with everything in it."""
    place = container_or_404(code)
    held = place_queries.content(place, user_of(request))
    path = queries.path(place)
    context = {
        "place": place,
        "held": held,
        "lift": place_queries.lift_of(place, held, path),
        "here": path[:-1],
        "handling": handling_in(place, user_of(request)) if can(user_of(request), Ability.SEE_STAFF) else [],
        "steps": steps_of(path, "Move"),
    }
    return _move(request, place, place.home, context)


def _move(request: HttpRequest, thing: Piece | Place, home: Place | None, context: dict[str, Any]) -> HttpResponse:
    form = MoveForm(request.POST or None, by=user_of(request), initial={"to": request.GET.get("to", "")})
    if request.method == "POST" and form.is_valid():
        facts = dict(form.cleaned_data, by=user_of(request))
        try:
            if isinstance(thing, Piece):
                move = actions.move_piece(piece=thing, **facts)
            else:
                move = actions.move_container(container=thing, **facts)
        except CatalogError as error:
            blame(form, error)
        else:
            messages.success(request, f"{thing} is now at {move.to_place}.")
            return redirect(address_of(thing))
    return render_page(request, "catalog/storage/move.html", context | {"form": form, "thing": thing, "home": home})


def mark_piece_missing(request: HttpRequest, number: str) -> HttpResponse:
    """Open the missing file of a piece."""
    piece = piece_or_404(request, number)
    return _missing(request, {"piece": piece}, piece_steps(piece, "Not found"), 0)


def mark_container_missing(request: HttpRequest, code: str) -> HttpResponse:
    """Open the missing file of a container; what lies in it is not found either."""
    place = container_or_404(code)
    number = queries.pieces_under(place).count()
    return _missing(request, {"container": place}, steps_of(queries.path(place), "Not found"), number)


def _missing(request: HttpRequest, of: dict[str, Any], steps: list[dict[str, str]], content: int) -> HttpResponse:
    thing = next(iter(of.values()))
    form = MissingForm(request.POST or None, by=user_of(request))
    if request.method == "POST" and form.is_valid():
        try:
            file = actions.mark_missing(by=user_of(request), **of, **form.cleaned_data)
        except CatalogError as error:
            blame(form, error)
        else:
            messages.success(request, f"The missing file of {thing} is open.")
            return redirect("storage:missing_file", file.pk)
    context = {"form": form, "thing": thing, "steps": steps, "content": content}
    return render_page(request, "catalog/storage/mark_missing.html", context)


def missing(request: HttpRequest) -> HttpResponse:
    """What nobody can find, the longest unseen first."""
    context = place_queries.missing_list() | {"may_move": can(user_of(request), Ability.MOVE)}
    context["page"] = Paginator(context["pieces"], PER_PAGE).get_page(request.GET.get("page"))
    return render_page(request, "catalog/storage/missing.html", context)


def piece_steps(piece: Piece, word: str) -> list[dict[str, str]]:
    """The breadcrumbs of a page about one piece."""
    return [
        {"word": "Find", "url": reverse("finding:find")},
        {"word": piece.number, "url": address_of(piece)},
        {"word": word, "url": ""},
    ]
