"""How it was worn: a frame noted on set, and the answer for a scene."""

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_http_methods

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core.http import render_page
from catalog.loans import actions, scene_queries
from catalog.loans.models import LoanLine, ScenePicture, Wearer
from catalog.loans.pages import form_page, loan_or_404, loan_steps
from catalog.loans.set_forms import HowWornForm, SceneForm
from catalog.pieces.models import Piece
from catalog.pieces.pages import done

_ON_SET = LoanLine.State.ON_SET


@require_http_methods(["GET", "POST"])
def note_scene(request: HttpRequest, reference: str) -> HttpResponse:
    """A frame of a scene: what the performer has on is ticked already."""
    user, found = signed_in(request), loan_or_404(reference)
    wearers = found.call.wearers.order_by("number") if found.call else Wearer.objects.none()
    number = request.GET.get("performer", "")
    pieces = Piece.objects.filter(loan_lines__loan=found)
    worn = pieces.filter(loan_lines__loan=found, loan_lines__state=_ON_SET, loan_lines__wearer__number__iexact=number)
    form = SceneForm(
        request.POST or None,
        request.FILES or None,
        wearers=wearers,
        seen=pieces,
        by_name=can(user, Ability.SEE_OUTFITS),
        initial={"wearer": number, "pieces": [piece.number for piece in worn]},
    )
    if request.method == "POST" and done(form, lambda: _note(request, form, reference)):
        scene = form.cleaned_data["scene"]
        messages.success(request, f"Scene {scene} is noted.")
        code = found.call.production.code if found.call else ""
        return redirect(f"{reverse('loans:how_worn')}?{urlencode({'production': code, 'scene': scene})}")
    on_set = {"word": "On set", "url": reverse("loans:on_set", args=[found.reference])}
    steps = [*loan_steps(found), on_set, {"word": "A scene", "url": ""}]
    return form_page(request, form, steps=steps, answer="How is it worn in this scene?", verb="Keep this picture")


def _note(request: HttpRequest, form: SceneForm, reference: str) -> None:
    data = form.cleaned_data
    actions.note_scene(
        by=signed_in(request),
        loan=loan_or_404(reference),
        scene=data["scene"],
        picture=data["picture"],
        pieces=list(data["pieces"]),
        wearer=data["wearer"],
        shows_performer=data["in_it"] == "performer",
        story_day=data["story_day"],
        fastened=data["fastened"],
    )


@require_GET
def how_worn(request: HttpRequest) -> HttpResponse:
    """How was it worn in a scene: frames, day of the story, how fastened, which pieces, and what differs now."""
    asked = "scene" in request.GET
    form = HowWornForm(request.GET if asked else None, initial={"production": request.GET.get("production", "")})
    good = form.is_bound and form.is_valid()
    production = form.cleaned_data["production"] if good else None
    rows = scene_queries.how_worn(production, form.cleaned_data["scene"]) if production else []
    context = {
        "form": form,
        "asked": good,
        "scene": form.cleaned_data["scene"] if good else "",
        "production": production,
        "rows": rows,
        "scenes": scene_queries.scenes_of(production) if production and not rows else [],
        "steps": [{"word": "Loans", "url": reverse("loans:loans")}, {"word": "How was it worn", "url": ""}],
    }
    status = 422 if form.is_bound and form.errors else 200
    return render_page(request, "catalog/loans/how_worn.html", context, status=status)


@require_GET
def scene_picture(request: HttpRequest, picture_id: int) -> HttpResponseBase:
    """A frame, for those who see who wears what; no phone keeps one with a performer in it."""
    row = get_object_or_404(ScenePicture.objects.select_related("file"), pk=picture_id)
    try:
        stored = row.file.large.open("rb")
    except FileNotFoundError as gone:
        raise Http404("There is no such picture.") from gone
    response = FileResponse(stored, content_type="image/jpeg")
    response["Cache-Control"] = "private, no-store" if row.shows_id else "private, max-age=86400"
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return response
