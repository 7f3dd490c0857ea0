"""The page of what is in the wrong place, with one tap for each way to put it right."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core.errors import CatalogError
from catalog.core.http import render_page
from catalog.core.tables import csv_response
from catalog.desk.wrong_place import strays
from catalog.pieces.models import Piece
from catalog.storage import actions
from catalog.storage.models import Place
from catalog.storage.queries import place_by_code

PER_PAGE = 50
HEADER = ("number", "name", "kind", "stands at", "the way to it", "belongs at", "last seen")


def wrong_place(request: HttpRequest) -> HttpResponse:
    """The list in walking order, fifty a page."""
    user = signed_in(request)
    found = strays(user)
    context = {
        "page": Paginator(found, PER_PAGE).get_page(request.GET.get("page")),
        "pieces": sum(not stray.is_container for stray in found),
        "boxes": sum(stray.is_container for stray in found),
        "may_move": can(user, Ability.MOVE),
        "may_arrange": can(user, Ability.ARRANGE_STORE),
        "may_export": can(user, Ability.EXPORT),
    }
    return render_page(request, "catalog/desk/wrong_place.html", context)


def wrong_place_csv(request: HttpRequest) -> HttpResponseBase:
    """The same list, all of it."""
    rows = (
        (
            stray.number,
            stray.name,
            "container" if stray.is_container else "piece",
            stray.at.code,
            stray.words,
            stray.home.code,
            stray.last_seen.isoformat() if stray.last_seen else "never",
        )
        for stray in strays(signed_in(request))
    )
    return csv_response("wrong-place.csv", HEADER, rows)


@require_POST
def put_right(request: HttpRequest) -> HttpResponse:
    """One tap: `do=back` says that it was put back home, `do=stays` that it lives where it stands from now on.

    The page says where it thought the thing was: if somebody else moved it meanwhile, nothing is changed.
    """
    thing = _thing(request)
    try:
        at, home = _places_of(thing)
        if at is None or home is None or at.code != request.POST.get("at") or home.code != request.POST.get("home"):
            messages.error(request, f"{thing} was moved meanwhile: nothing was changed. Look again.")
        elif request.POST.get("do") == "stays":
            _live_here(request, thing, at)
            messages.success(request, f"{thing} lives at {at.code} from now on.")
        else:
            _put_back(request, thing, home)
            messages.success(request, f"{thing} is back at {home.code}.")
    except CatalogError as error:
        messages.error(request, error.sentence)
    return redirect("desk:wrong_place")


def _thing(request: HttpRequest) -> Piece | Place:
    """The piece or container that was named in the form."""
    name = request.POST.get("thing", "")
    piece = Piece.objects.seen_by(request.user).select_related("standing__place", "standing__home").filter(number=name)
    thing = place_by_code(name) if request.POST.get("kind") == "container" else piece.first()
    if thing is None or (isinstance(thing, Place) and not thing.is_container):
        raise Http404(f"There is no {name[:30]}.")
    return thing


def _places_of(thing: Piece | Place) -> tuple[Place | None, Place | None]:
    if isinstance(thing, Place):
        return thing.parent, thing.home
    standing = getattr(thing, "standing", None)
    return (None, None) if standing is None else (standing.place, standing.home)


def _put_back(request: HttpRequest, thing: Piece | Place, home: Place) -> None:
    if isinstance(thing, Place):
        actions.move_container(by=signed_in(request), container=thing, to=home, reason="put back home")
    else:
        actions.move_piece(by=signed_in(request), piece=thing, to=home, reason="put back home")


def _live_here(request: HttpRequest, thing: Piece | Place, at: Place) -> None:
    if isinstance(thing, Place):
        actions.edit_place(by=signed_in(request), place=thing, home=at)
    else:
        actions.set_home(by=signed_in(request), piece=thing, home=at, reason="it lives here now")
