"""Labels: one to print, a new one, blanks by the sheet, and binding a blank."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from catalog.core.checks import blame
from catalog.core.errors import CatalogError, Refused
from catalog.core.http import render_page
from catalog.pieces.models import Piece
from catalog.storage import actions, queries
from catalog.storage.forms import BindForm, BlanksForm
from catalog.storage.labels import SHEETS, SIZES, on_sheets, print_of, usual_size
from catalog.storage.models import Label, Place
from catalog.storage.readings import address_of
from catalog.storage.views import user_of


def label_or_404(request: HttpRequest, code: str) -> Label:
    """The label of this code, unless it is on a piece that this person may not see."""
    label = queries.label_target(code)
    hidden = (
        label is not None
        and label.piece_id is not None
        and (not Piece.objects.seen_by(request.user).filter(pk=label.piece_id).exists())
    )
    if label is None or hidden:
        raise Http404(f"There is no label {code}.")
    return label


def labels(request: HttpRequest, code: str) -> HttpResponse:
    """One label to print, in the size that is asked for or that the thing usually has."""
    label = label_or_404(request, code)
    thing = label.piece or label.place
    size = request.GET.get("size", "")
    context = {
        "label": label,
        "thing": thing,
        "back": address_of(thing) if thing else "",
        "one": print_of(label),
        "size": size if size in SIZES else usual_size(thing),
        "sizes": SIZES,
        "papers": {key: one.words for key, one in SHEETS.items()},
    }
    return render_page(request, "catalog/storage/label.html", context)


@require_POST
def issue_label(request: HttpRequest) -> HttpResponse:
    """The thing's label, made if it has none; then its print page."""
    piece, place = _posted_thing(request)
    label = actions.issue_label(by=user_of(request), piece=piece, place=place)
    return redirect("storage:labels", label.code)


@require_POST
def replace_label(request: HttpRequest) -> HttpResponse:
    """A new label for a worn or lost one; then its print page."""
    piece, place = _posted_thing(request)
    label = actions.replace_label(by=user_of(request), piece=piece, place=place)
    messages.success(request, f"Stick {label.code} on it. The old label still leads to it.")
    return redirect("storage:labels", label.code)


def _posted_thing(request: HttpRequest) -> tuple[Piece | None, Place | None]:
    number, code = request.POST.get("piece", ""), request.POST.get("place", "")
    piece = Piece.objects.filter(number__iexact=number).first() if number else None
    place = queries.place_by_code(code) if code and not number else None
    if piece is None and place is None:
        raise Refused("Nothing was named to label: open the piece or the place and try again.")
    return piece, place


def blanks(request: HttpRequest) -> HttpResponse:
    """Make blanks, or show a sheet of blanks made before (?first=…&count=…)."""
    user = user_of(request)
    form = BlanksForm(request.POST or None, by=user)
    if request.method == "POST" and form.is_valid():
        facts = form.cleaned_data
        try:
            made = actions.make_blanks(by=user, count=facts["count"])
        except CatalogError as error:
            blame(form, error)
        else:
            query = f"first={made[0].serial}&count={len(made)}&sheet={facts['sheet']}&start={facts['start']}"
            return redirect(f"{reverse('storage:blanks')}?{query}")
    context = {"form": form, "unbound": Label.objects.filter(letter="B", piece=None, place=None).count()}
    return render_page(request, "catalog/storage/blanks.html", context | _sheets(request))


def _sheets(request: HttpRequest) -> dict[str, object]:
    """The sheets that the address asks for; numbers that make no sense show nothing."""
    key = request.GET.get("sheet", "a4-21")
    try:
        first, count, start = (int(request.GET.get(name, "1")) for name in ("first", "count", "start"))
    except ValueError:
        return {}
    sheet = SHEETS.get(key)
    if sheet is None or "first" not in request.GET or not (1 <= start <= sheet.on_one and 1 <= count <= 500):
        return {}
    made = list(Label.objects.filter(letter="B", serial__gte=first, serial__lt=first + count).order_by("serial"))
    query = urlencode([("first", first), ("count", count), ("paper", key), ("start", start)])
    sheets = on_sheets(made, sheet, start)
    return {"sheets": sheets, "sheet_key": key, "sheet": sheet, "made": len(made), "pdf_query": query}


def bind(request: HttpRequest, code: str) -> HttpResponse:
    """Tie a blank to the thing it was stuck on."""
    label = label_or_404(request, code)
    thing = label.piece or label.place
    if thing is not None:
        messages.info(request, f"{label.code} is on {thing} already.")
        return redirect(address_of(thing))
    form = BindForm(request.POST or None, by=user_of(request))
    if request.method == "POST" and form.is_valid():
        thing = form.cleaned_data["thing"]
        which = {"place" if isinstance(thing, Place) else "piece": thing}
        try:
            actions.bind_label(by=user_of(request), code=label.code, **which)
        except CatalogError as error:
            blame(form, error)
        else:
            messages.success(request, f"{label.code} is on {thing} now.")
            return redirect(address_of(thing))
    return render_page(request, "catalog/storage/bind.html", {"form": form, "label": label})
