"""Pages about the care of one piece, and the two lists of what is open."""

from typing import Any

from django.contrib import messages
from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from catalog.access.permissions import Ability, can
from catalog.care import actions
from catalog.care.calc.cautions import DAMAGED_PACK, LOCAL_RULES
from catalog.care.forms import HazardForm, PackForm, WearForm
from catalog.care.models import Alteration, Quarantine, Treatment
from catalog.care.queries import care_facts, untested_pieces
from catalog.core import clock
from catalog.pieces.models import Piece
from catalog.pieces.pages import back_to, done, form_page, signed_in, the_piece
from catalog.pieces.queries import visible_to

GET_POST = ["GET", "POST"]


@require_http_methods(GET_POST)
def decide(request: HttpRequest, number: str) -> HttpResponse:
    """Whether the piece may be worn."""
    user, piece = signed_in(request), the_piece(request, number)
    form = WearForm(request.POST or None, initial={"decided_on": clock.today(), "decided_by_name": str(user)})
    if request.method == "POST" and done(form, lambda: actions.decide_wear(by=user, piece=piece, **form.cleaned_data)):
        return back_to(request, piece, f"The decision about {piece.number} is kept.")
    return _page(
        request,
        piece,
        form,
        word="Wear",
        answer=f"May {piece.number} be worn?",
        verb="Keep this decision",
        template="catalog/care/decide.html",
    )


@require_http_methods(GET_POST)
def hazard(request: HttpRequest, number: str) -> HttpResponse:
    """What was found about a hazard."""
    user, piece = signed_in(request), the_piece(request, number)
    initial = {"found_on": clock.today(), "found_by_name": str(user), "hazard": request.GET.get("hazard", "")}
    form = HazardForm(request.POST or None, initial=initial)
    if request.method == "POST" and done(form, lambda: actions.find_hazard(by=user, piece=piece, **form.cleaned_data)):
        return back_to(request, piece, f"The finding about {piece.number} is kept.")
    return _page(
        request,
        piece,
        form,
        word="Hazard",
        answer=f"What is dangerous in {piece.number}?",
        verb="Keep this finding",
        template="catalog/care/hazard.html",
    )


@require_http_methods(GET_POST)
def pack(request: HttpRequest, number: str) -> HttpResponse:
    """A power pack in or with the piece; ?pack=ID is one that is there already."""
    user, piece = signed_in(request), the_piece(request, number)
    chosen = request.GET.get("pack", "")
    there = get_object_or_404(piece.packs, pk=chosen) if chosen.isdigit() else None
    names = ("chemistry", "energy_wh", "state", "placed", "lithium_g", "charge_percent")
    initial: dict[str, Any] = {name: getattr(there, name) for name in names} if there else {"state": "unknown"}
    form = PackForm(request.POST or None, initial={**initial, "seen_on": clock.today()})
    if request.method == "POST" and done(
        form, lambda: actions.record_pack(by=user, piece=piece, pack=there, **form.cleaned_data)
    ):
        if form.cleaned_data["state"] == "damaged":
            messages.warning(request, f"{DAMAGED_PACK} {LOCAL_RULES}")
        return back_to(request, piece, f"The pack of {piece.number} is noted.")
    return _page(
        request,
        piece,
        form,
        word="Power pack",
        answer=f"The power pack of {piece.number}.",
        verb="Keep these facts",
        template="catalog/care/pack.html",
        there=there,
        damaged_pack=DAMAGED_PACK,
    )


@require_GET
def treatments(request: HttpRequest) -> HttpResponse:
    """Work that is open: treatments, alterations to undo, quarantines, the most pressing first."""
    pieces = visible_to(request.user)
    context = {
        "treatments": Treatment.objects.filter(state__in=Treatment.OPEN, piece__in=pieces).select_related("piece"),
        "alterations": Alteration.objects.filter(undone_on=None, piece__in=pieces)
        .select_related("piece")
        .order_by(F("undo_by").asc(nulls_last=True), "id"),
        "quarantines": Quarantine.objects.filter(released_on=None, piece__in=pieces)
        .select_related("piece")
        .order_by("due_on", "id"),
        "today": clock.today(),
        "may_decide": can(request.user, Ability.DECIDE_WEAR),
        "may_alter": can(request.user, Ability.ALTER),
        "may_release": can(request.user, Ability.PUT_AWAY),
    }
    return render(request, "catalog/care/treatments.html", context)


@require_GET
def untested(request: HttpRequest) -> HttpResponse:
    """Pieces that wait for a test of poison, mercury, radium, asbestos or species."""
    waiting = untested_pieces(visible_to(request.user))
    context = {"waiting": waiting, "may_decide": can(request.user, Ability.DECIDE_WEAR), "local_rules": LOCAL_RULES}
    return render(request, "catalog/care/untested.html", context)


@require_POST
def move_treatment(request: HttpRequest, number: str, treatment_id: int) -> HttpResponse:
    """Start a treatment, or finish one that was started."""
    user, piece = signed_in(request), the_piece(request, number)
    treatment = get_object_or_404(Treatment, pk=treatment_id, piece=piece)
    if treatment.state == Treatment.State.NEEDED:
        actions.start_treatment(by=user, treatment=treatment, started_on=clock.today())
        messages.success(request, f"“{treatment.what}” is started.")
    else:
        actions.finish_treatment(by=user, treatment=treatment, done_on=clock.today())
        messages.success(request, f"“{treatment.what}” is done. Decide anew whether the piece may be worn.")
    return redirect("care:treatment", number=piece.number)


@require_POST
def undo_alteration(request: HttpRequest, number: str, alteration_id: int) -> HttpResponse:
    """An alteration was undone today."""
    user, piece = signed_in(request), the_piece(request, number)
    alteration = get_object_or_404(Alteration, pk=alteration_id, piece=piece)
    actions.undo_alteration(by=user, alteration=alteration, undone_on=clock.today())
    messages.success(request, f"“{alteration.what}” is undone. Measure the piece again.")
    return redirect("care:alteration", number=piece.number)


def _page(request: HttpRequest, piece: Piece, form: Any, **more: Any) -> HttpResponse:
    """A form page that knows the piece's care, so that cautions stand where the hand is."""
    return form_page(request, piece, form, care=care_facts(piece), **more)
