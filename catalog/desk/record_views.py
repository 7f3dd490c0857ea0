"""Record a piece on a phone: choose the kind, then one page, one post."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from catalog.core.checks import blame
from catalog.core.errors import Refused
from catalog.core.form_fields import length_unit, weight_unit
from catalog.desk.record_actions import record_whole
from catalog.desk.record_forms import RecordForm
from catalog.pieces.calc.kinds import KINDS, Kind
from catalog.pieces.kept_pictures import kept_picture, picture_bytes
from catalog.pieces.models import Material, OutfitSet, Piece, Production
from catalog.pieces.pages import signed_in

# What the next piece of the same trunk most likely shares with this one.
CARRIED = ("place", "slot", "outfit_set", "materials")


@require_http_methods(["GET", "POST"])
def record(request: HttpRequest) -> HttpResponse:
    """The kind first (so that the right measures show), then everything at once."""
    kind = KINDS.get(request.GET.get("kind", ""))
    production = Production.objects.filter(code__iexact=request.GET.get("production", "")).first()
    if kind is None or production is None:
        return _choose(request, kind, production)
    user = signed_in(request)
    form = RecordForm(
        request.POST or None,
        request.FILES or None,
        kind=kind,
        production=production,
        unit=length_unit(user),
        weight=weight_unit(user),
        initial={name: request.GET[name] for name in CARRIED if name in request.GET},
    )
    if request.method == "POST" and form.is_valid() and (piece := _keep(request, form)):
        return _go_on(request, form, piece)
    return _show(request, form)


def _keep(request: HttpRequest, form: RecordForm) -> Piece | None:
    user = signed_in(request)
    try:
        return record_whole(
            by=user,
            production=form.production,
            kind=form.kind.key,
            facts=form.cleaned_data,
            measures=form.measures(),
            picture=picture_bytes(form, user),
        )
    except Refused as refused:
        blame(form, refused)
        return None


def _go_on(request: HttpRequest, form: RecordForm, piece: Piece) -> HttpResponse:
    """To the new piece, or to the next one out of the same trunk."""
    messages.success(request, f"{piece.number}, {piece.name}, is recorded. Its tag goes {form.kind.tag_at}.")
    if "another" not in request.POST:
        return redirect("desk:piece", number=piece.number)
    query = QueryDict(mutable=True)
    query.update({"kind": form.kind.key, "production": form.production.code})
    query.update({name: request.POST[name] for name in CARRIED if request.POST.get(name)})
    return redirect(f"{reverse('desk:record')}?{query.urlencode()}")


def _show(request: HttpRequest, form: RecordForm) -> HttpResponse:
    kept = kept_picture(form, signed_in(request)) if form.is_bound else ""
    context = {
        "form": form,
        "kind": form.kind,
        "kept": kept,
        "production": form.production,
        "points": form.points,
        "materials": Material.objects.values_list("name", flat=True),
        "sets": OutfitSet.objects.filter(role__production=form.production).values_list("code", flat=True),
        "steps": [
            {"word": "Record a piece", "url": f"{reverse('desk:record')}?production={form.production.code}"},
            {"word": form.kind.word, "url": ""},
        ],
    }
    return render(request, "catalog/desk/record.html", context, status=422 if form.errors else 200)


def _choose(request: HttpRequest, kind: Kind | None, production: Production | None) -> HttpResponse:
    """Production and kind: one tap when the production stands."""
    newest = Piece.objects.select_related("production").order_by("-recorded_at", "-id").first()
    context = {
        "kinds": KINDS.values(),
        "kind": kind,
        "productions": Production.objects.all(),
        "chosen": production or (newest.production if newest else None),
        "carried": [(name, request.GET[name]) for name in CARRIED if name in request.GET],
    }
    return render(request, "catalog/desk/record_choose.html", context)
