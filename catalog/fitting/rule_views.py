"""The house's own rules of fitting: ease bands, and what each exclusion rules out."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import NoReverseMatch, reverse
from django.views.decorators.http import require_http_methods, require_POST

from catalog.access.people import signed_in
from catalog.core.http import render_page
from catalog.fitting import actions
from catalog.fitting.calc.body import POINT_WORDS
from catalog.fitting.forms import RANGE, BandForm, ExclusionRuleForm
from catalog.fitting.models import EaseBand, ExclusionRule
from catalog.pieces.calc.kinds import KINDS, POINTS
from catalog.pieces.pages import done


@require_http_methods(["GET", "POST"])
def bands(request: HttpRequest) -> HttpResponse:
    """Every ease band; the form sets one, and one with the same points is replaced."""
    user = signed_in(request)
    form = BandForm(request.POST or None, initial=_band_initial(request.GET.get("band", "")))
    if request.method == "POST" and done(form, lambda: actions.add_band(by=user, **form.facts())):
        messages.success(request, "The band is set; plans are worked out with it from now on.")
        return redirect("fitting:bands")
    rows = EaseBand.objects.select_related("slot", "slot__role").order_by(
        "slot__role__code", "slot__order", "kind", "id"
    )
    context = {"form": form, "rows": [_band_row(band) for band in rows], "steps": _steps("Ease bands")}
    return render_page(request, "catalog/fitting/bands.html", context, status=422 if form.errors else 200)


def _steps(word: str) -> list[dict[str, str]]:
    """The path: the house's rules stand together on a page of a room further up, where there is one."""
    try:
        above = reverse("desk:house_rules")
    except NoReverseMatch:
        above = ""
    return [{"word": "House rules", "url": above}, {"word": word, "url": ""}]


def _band_row(band: EaseBand) -> dict[str, Any]:
    shoes = band.scale == EaseBand.Scale.EU_SHOE
    return {
        "band": band,
        "where": f"{band.slot.role.name}: {band.slot.name}" if band.slot else f"any {KINDS[band.kind].word}",
        "body": POINT_WORDS.get(band.body_point, band.body_point),
        "garment": POINTS[band.garment_point].word if band.garment_point in POINTS else band.garment_point,
        "shoes": shoes,
    }


def _band_initial(asked: str) -> dict[str, Any]:
    band = EaseBand.objects.filter(pk=int(asked)).first() if asked.isdecimal() and len(asked) < 10 else None
    if band is None:
        return {}
    per = 1 if band.scale == EaseBand.Scale.EU_SHOE else 10
    names = ("slot", "kind", "body_point", "garment_point", "scale", "uses_let_out", "source")
    ends = {name: getattr(band, column) for name, column in RANGE.items()}
    return {name: getattr(band, name) for name in names} | {
        name: None if value is None else value / per for name, value in ends.items()
    }


@require_POST
def remove_band(request: HttpRequest, band: int) -> HttpResponse:
    """Take a band off. Without any band a piece's fit is not known."""
    row = EaseBand.objects.filter(pk=band).first()
    if row is None:
        raise Http404("There is no such band.")
    actions.remove_band(by=signed_in(request), band=row)
    messages.success(request, "The band is taken off. Where no band is left, a fit counts as not known.")
    return redirect("fitting:bands")


@require_http_methods(["GET", "POST"])
def exclusion_rules(request: HttpRequest) -> HttpResponse:
    """What each exclusion rules out; the form sets one, and one of the same code is replaced."""
    user = signed_in(request)
    chosen = ExclusionRule.objects.filter(code=request.GET.get("rule", "")).first()
    names = ("code", "words", "materials", "hazards", "kinds", "spared_kinds")
    initial = {name: getattr(chosen, name) for name in names} if chosen else {}
    form = ExclusionRuleForm(request.POST or None, initial=initial)
    if request.method == "POST" and done(form, lambda: actions.add_exclusion_rule(by=user, **form.cleaned_data)):
        messages.success(request, "The exclusion is set; plans are worked out with it from now on.")
        return redirect("fitting:exclusion_rules")
    rows = [
        {
            "rule": rule,
            "kinds": ", ".join(KINDS[kind].word if kind in KINDS else kind for kind in rule.kinds),
            "spared": ", ".join(KINDS[kind].word if kind in KINDS else kind for kind in rule.spared_kinds),
            "made_of": ", ".join([*rule.materials, *(hazard.replace("_", " ") for hazard in rule.hazards)]),
        }
        for rule in ExclusionRule.objects.all()
    ]
    context = {"form": form, "rows": rows, "steps": _steps("Exclusions")}
    return render_page(request, "catalog/fitting/exclusion_rules.html", context, status=422 if form.errors else 200)
