"""Size sheets: reading, adding, correcting and forgetting them. Reading is told to the history, never what was read."""

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core import clock
from catalog.core.http import render_page
from catalog.fitting import actions
from catalog.fitting.body_queries import values_of
from catalog.fitting.forms import SheetForm
from catalog.fitting.models import SizeSheet
from catalog.fitting.sheet_queries import body_rows, kept_sheets
from catalog.fitting.tape_queries import next_tape, rail_of
from catalog.loans.models import Call, Wearer
from catalog.loans.pages import call_or_404, call_steps
from catalog.loans.scene_queries import performers_pictures
from catalog.pieces.pages import done


@never_cache
@require_GET
def sheets(request: HttpRequest, reference: str) -> HttpResponse:
    """Everybody's sizes, card and tape side by side."""
    user, call = signed_in(request), call_or_404(reference)
    rows = body_rows(call)
    kept = sum(len(row.sheets) for row in rows)
    if kept:
        actions.note_reading(by=user, call=call, number=kept)
    context = {
        "call": call,
        "rows": rows,
        "taped": sum(row.taped for row in rows),
        "carded": sum(bool(row.sheets) and not row.taped for row in rows),
        "wrong": [row for row in rows if row.jumps],
        "may_fit": can(user, Ability.FIT),
        "steps": call_steps(call, "Sizes"),
    }
    return render_page(request, "catalog/fitting/sheets.html", context)


@never_cache
@require_http_methods(["GET", "POST"])
def sheet_edit(request: HttpRequest, reference: str, number: str) -> HttpResponse:
    """One performer's sizes of one layer; a sheet of the layer that is there already is corrected."""
    user, call = signed_in(request), call_or_404(reference)
    wearer = call.wearers.select_related("call").filter(number__iexact=number).first()
    if wearer is None:
        raise Http404(f"There is no performer {number[:20]} in {call.reference}.")
    layer = request.POST.get("layer") or request.GET.get("layer") or SizeSheet.Layer.MEASURED
    sheet = wearer.sheets.filter(layer=layer).prefetch_related("values").first()
    form = SheetForm(request.POST or None, user=user, initial=_initial(call, wearer, layer, sheet))
    if request.method == "POST" and done(form, lambda: _keep(user, wearer, form)):
        messages.success(request, f"The sizes of performer {wearer.number} are kept until {_day(form)}.")
        return redirect("fitting:sheets", call.reference)
    if request.method == "GET" and sheet is not None:
        actions.note_reading(by=user, call=call, number=1)
    context = {"call": call, "wearer": wearer, "form": form, "sheet": sheet, "steps": _steps(call, wearer)}
    if request.method == "GET" and layer != SizeSheet.Layer.CARD and not wearer.minor:
        context |= {"asks": True, "advice": next_tape(wearer, rail_of(call))}
    return render_page(request, "catalog/fitting/sheet_edit.html", context, status=422 if form.errors else 200)


def _initial(call: Call, wearer: Wearer, layer: str, sheet: SizeSheet | None) -> dict[str, Any]:
    facts: dict[str, Any] = {"layer": layer, "reference_shape": "either", "delete_on": actions.day_to_forget(call)}
    facts["exclusions"] = [exclusion.rule.code for exclusion in wearer.exclusions.select_related("rule")]
    if sheet is None:
        return facts | {"taken_on": clock.today()}
    names = ("reference_shape", "taken_on", "taken_by_name", "consent", "guardian_consent", "delete_on")
    facts |= {name: getattr(sheet, name) for name in names}
    values = values_of(sheet)
    facts |= {"height": values.pop("height", None), "weight": values.pop("weight", None)}
    return facts | {f"tape_{point}": value for point, value in values.items()}


@transaction.atomic
def _keep(user: Any, wearer: Wearer, form: SheetForm) -> None:
    data = form.cleaned_data
    names = ("layer", "taken_on", "taken_by_name", "reference_shape", "consent", "delete_on", "guardian_consent")
    actions.add_sheet(
        by=user,
        wearer=wearer,
        height_mm=data["height"],
        weight_g=data["weight"],
        values=form.tapes(),
        **{name: data[name] for name in names},
    )
    actions.set_exclusions(by=user, wearer=wearer, codes=data["exclusions"])


def _day(form: SheetForm) -> str:
    return f"{form.cleaned_data['delete_on']:%-d %b %Y}"


def _steps(call: Call, wearer: Wearer) -> list[dict[str, str]]:
    steps = call_steps(call)
    steps.append({"word": "Sizes", "url": reverse("fitting:sheets", args=[call.reference])})
    return [*steps, {"word": f"Performer {wearer.number}", "url": ""}]


@never_cache
@require_GET
def sheets_kept(request: HttpRequest) -> HttpResponse:
    """Whose data do we hold, and until when."""
    today = clock.today()
    rows = kept_sheets(today)
    context = {
        "rows": rows,
        "sheets": sum(row.sheets for row in rows),
        "people": sum(row.people for row in rows),
        "overdue": sum(row.overdue for row in rows),
        "pictures": performers_pictures(),
        "until": max((row.last for row in rows), default=None),
        "may_fit": can(request.user, Ability.FIT),
        "today": today,
    }
    return render_page(request, "catalog/fitting/sheets_kept.html", context)


@require_POST
def forget(request: HttpRequest) -> HttpResponse:
    """Forget the sizes of one call now, or of every call whose day has come."""
    user, reference = signed_in(request), request.POST.get("call", "")
    call = call_or_404(reference) if reference else None
    deleted = actions.forget_sizes(today=clock.today(), by=user, call=call)
    number = sum(deleted.values())
    words = f"{number} size {'sheet is' if number == 1 else 'sheets are'} deleted, with names and exclusions."
    messages.success(request, words if number else "Nothing was due; nothing was deleted.")
    return redirect("fitting:sheets_kept")
