"""Found things: the list, one more, and the page where one is compared with what is missing."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from catalog.access.models import User
from catalog.access.permissions import Ability, can
from catalog.core.checks import blame
from catalog.core.errors import CatalogError
from catalog.core.form_fields import length_unit
from catalog.core.history import lines_of
from catalog.core.history_words import Say, rows
from catalog.core.http import render_page
from catalog.core.units import LengthUnit, show_weight
from catalog.pieces.calc.kinds import POINTS, bare_word
from catalog.pieces.measure_fields import show_measure
from catalog.pieces.models import Part, Piece
from catalog.pieces.pages import done
from catalog.pieces.queries import may_see_file
from catalog.storage import actions, found_queries
from catalog.storage.forms import MoveFoundForm
from catalog.storage.found_forms import FoundMeasuresForm, FoundPictureForm, FoundThingForm, KnownForm
from catalog.storage.missing_models import FoundPicture, FoundState, FoundThing
from catalog.storage.views import user_of

PAGE = 50


def found_list(request: HttpRequest) -> HttpResponse:
    """What was found without a label, the unknown first."""
    context = {
        "page": Paginator(found_queries.found_things(), PAGE).get_page(request.GET.get("page")),
        "open": found_queries.open_count(),
        "may_move": can(user_of(request), Ability.MOVE),
    }
    return render_page(request, "catalog/storage/found.html", context)


def add_found(request: HttpRequest) -> HttpResponse:
    """A thing without a label gets its temporary number."""
    user = user_of(request)
    start = {"place": request.GET.get("place", ""), "name": request.GET.get("name", "")[:160]}
    form = FoundThingForm(request.POST or None, request.FILES or None, by=user, initial=start)
    if request.method == "POST" and form.is_valid():
        try:
            found = actions.take_in_found(by=user, **form.cleaned_data)
        except CatalogError as error:
            blame(form, error)
        else:
            messages.success(request, f"Write {found.number} on a tag and tie it on.")
            return redirect("storage:found_thing", found.number)
    return render_page(request, "catalog/storage/found_add.html", {"form": form})


def found_thing(request: HttpRequest, number: str) -> HttpResponse:
    """One found thing beside what is missing."""
    found = _found_or_404(number)
    return render_page(request, "catalog/storage/found_thing.html", _context(user_of(request), found))


@require_POST
def measure_found(request: HttpRequest, number: str) -> HttpResponse:
    """Its measures."""
    user, found = user_of(request), _found_or_404(number)
    form = FoundMeasuresForm(request.POST, found=found, by=user)
    if done(form, lambda: actions.measure_found(by=user, found=found, values_mm=form.values_mm())):
        messages.success(request, "The measures are kept and compared.")
        return redirect("storage:found_thing", found.number)
    context = _context(user, found) | {"measures_form": form, "form": form}
    return render_page(request, "catalog/storage/found_thing.html", context)


@require_POST
def picture_found(request: HttpRequest, number: str) -> HttpResponse:
    """One more picture of it."""
    user, found = user_of(request), _found_or_404(number)
    form = FoundPictureForm(request.POST, request.FILES)
    if done(form, lambda: actions.add_found_picture(by=user, found=found, data=form.cleaned_data["picture"])):
        messages.success(request, "The picture is kept and compared.")
        return redirect("storage:found_thing", found.number)
    context = _context(user, found) | {"picture_form": form, "form": form}
    return render_page(request, "catalog/storage/found_thing.html", context)


@require_POST
def know_again(request: HttpRequest, number: str) -> HttpResponse:
    """The yes."""
    user, found = user_of(request), _found_or_404(number)
    form = KnownForm(request.POST, by=user)
    if form.is_valid():
        try:
            piece = actions.know_again(by=user, found=found, piece=form.cleaned_data["piece"])
        except CatalogError as error:
            blame(form, error)
        else:
            messages.success(
                request, f"{found.number} is {piece.number}. Sew its own number on; the old tag leads to it."
            )
            return redirect("desk:piece", piece.number)
    context = _context(user, found) | {"known_form": form, "form": form}
    return render_page(request, "catalog/storage/found_thing.html", context)


@require_POST
def know_part_again(request: HttpRequest, number: str, part_id: int) -> HttpResponse:
    """The yes to a missing half."""
    user, found = user_of(request), _found_or_404(number)
    part = get_object_or_404(Part.objects.filter(piece__in=Piece.objects.seen_by(user)), pk=part_id)
    try:
        piece = actions.know_part_again(by=user, found=found, part=part)
    except CatalogError as error:
        messages.error(request, error.sentence)
        return redirect("storage:found_thing", found.number)
    said = f"{found.number} is the {part.name} of {piece.number}, which was missing: put them together again."
    messages.success(request, said)
    return redirect("desk:piece", piece.number)


@require_POST
def move_found(request: HttpRequest, number: str) -> HttpResponse:
    """It lies elsewhere now."""
    user, found = user_of(request), _found_or_404(number)
    form = MoveFoundForm(request.POST, by=user)
    if done(form, lambda: actions.move_found(by=user, found=found, to=form.cleaned_data["to"])):
        messages.success(request, f"{found.number} is now at {form.cleaned_data['to']}.")
        return redirect("storage:found_thing", found.number)
    context = _context(user, found) | {"move_form": form, "form": form}
    return render_page(request, "catalog/storage/found_thing.html", context)


@require_GET
def found_picture(request: HttpRequest, number: str, picture_id: int) -> HttpResponseBase:
    """A picture of a found thing; the original has no address."""
    picture = get_object_or_404(FoundPicture.objects.select_related("file"), pk=picture_id, found__number=number)
    if not picture.file.large or not may_see_file(request.user, picture.file.seen_by):
        raise Http404("There is no such picture.")
    response = FileResponse(picture.file.large.open("rb"), content_type="image/jpeg")
    response["Cache-Control"] = "private, max-age=86400"
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return response


def _context(user: User, found: FoundThing) -> dict[str, Any]:
    unit, is_open = length_unit(user), found.state == FoundState.OPEN
    measures = [(POINTS[m.point].word, show_measure(POINTS[m.point], m.value_mm, unit)) for m in found.measures.all()]
    return {
        "found": found,
        "facts": found_queries.facts_in_words(found),
        "measures": measures,
        "compared": found_queries.compared(found, user) if is_open else None,
        "measures_form": FoundMeasuresForm(found=found, by=user) if is_open else None,
        "picture_form": FoundPictureForm() if is_open else None,
        "known_form": KnownForm(by=user) if is_open else None,
        "move_form": MoveFoundForm(by=user) if is_open else None,
        "may_move": is_open and can(user, Ability.MOVE),
        "may_say": is_open and can(user, Ability.RECORD),
        "lines": rows(lines_of(found.subject)[:20], _say(unit)),
        "steps": [
            {"word": "Places", "url": reverse("storage:places")},
            {"word": "Found", "url": reverse("storage:found")},
            {"word": found.number, "url": ""},
        ],
    }


def _say(unit: LengthUnit) -> Say:
    """How a found thing's facts are said in its history."""

    def measures(values: dict[str, int]) -> str:
        shown = ((POINTS[key], value) for key, value in values.items() if key in POINTS)
        return ", ".join(f"{bare_word(point)} {show_measure(point, value, unit)}" for point, value in shown)

    return {"weight_g": show_weight, "measure": measures, "picture": lambda _: "one more"}


def _found_or_404(number: str) -> FoundThing:
    rows = FoundThing.objects.select_related("place", "production", "piece")
    return get_object_or_404(rows.prefetch_related("materials", "measures", "pictures__file"), number__iexact=number)
