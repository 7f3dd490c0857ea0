"""What came of a count: closing it, its lines and their answers, and how much of the store was seen of late."""

from collections import Counter
from collections.abc import Callable, Collection
from itertools import groupby
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from catalog.access.models import User
from catalog.access.permissions import Ability, can
from catalog.core import clock
from catalog.core.checks import blame
from catalog.core.errors import CatalogError
from catalog.core.history import lines_of
from catalog.core.history_words import rows
from catalog.core.http import render_page
from catalog.pieces.models import Piece
from catalog.storage import coverage_queries
from catalog.storage import stocktake_queries as queries
from catalog.storage import stocktake_resolving as settling
from catalog.storage.models import Stocktake, StocktakeLine
from catalog.storage.queries import label_of
from catalog.storage.stocktake_actions import close_stocktake
from catalog.storage.stocktake_forms import AsFoundForm, LabelForm, ReallyForm
from catalog.storage.stocktake_models import LineKind, SightingKind
from catalog.storage.stocktake_pages import steps_of, stocktake_or_404
from catalog.storage.views import user_of

PER_PAGE = 50
# What one button does, by its value.
_QUICK: dict[str, Callable[..., StocktakeLine]] = {
    "missing": settling.settle_missing,
    "seen": settling.settle_seen_after_all,
    "here": settling.settle_here,
    "back": settling.settle_back,
}


def close(request: HttpRequest, reference: str, on_jobs: Collection[int] = ()) -> HttpResponse:
    """A last look at what was not counted; then the count ends and what is expected is shown."""
    row = stocktake_or_404(reference)
    if not row.is_open:
        return redirect("stocktake:stocktake", row.reference)
    error = ""
    if request.method == "POST":
        try:
            close_stocktake(by=user_of(request), stocktake=row, on_jobs=on_jobs)
        except CatalogError as refused:
            error = refused.sentence
        else:
            return redirect("stocktake:stocktake", row.reference)
    context = {
        "stocktake": row,
        "left": queries.not_counted(row),
        "error": error,
        "has_errors": bool(error),
        "steps": steps_of(row, "Close"),
    }
    return render_page(request, "catalog/stocktake/close.html", context)


def result(request: HttpRequest, row: Stocktake) -> HttpResponse:
    """What is missing, extra, in the wrong place, unreadable, and which label says another; each with its answers."""
    lines = sorted(queries.lines_of(row), key=lambda line: (_ORDER.index(LineKind(line.kind)), line.pk))
    left = [line for line in lines if line.resolved_at is None]
    page = Paginator(lines, PER_PAGE).get_page(request.GET.get("page"))
    groups = [(kind, LineKind(kind).label, list(found)) for kind, found in groupby(page, key=lambda line: line.kind)]
    counts = Counter(line.kind for line in lines)
    context = {
        "stocktake": row,
        "page": page,
        "groups": groups,
        "counts": [{"number": counts[kind], "word": LineKind(kind).label} for kind in _ORDER],
        "left": len(left),
        "first": next(iter(left), None),
        "lines": len(lines),
        "bought": queries.what_it_bought(row),
        "high": row.drawn.filter(why="high value").count() if row.sample_size is not None else None,
        "not_counted": queries.not_counted(row),
        "may_take": can(user_of(request), Ability.TAKE_STOCK),
        "counters": queries.counters_of(row),
        "history": rows(lines_of(row.subject)[:20]),
        "steps": steps_of(row),
    }
    return render_page(request, "catalog/stocktake/result.html", context)


# The gravest first; what a label says wrongly explains other lines, so it is asked first of all.
_ORDER = (
    LineKind.OTHERWISE,
    LineKind.MISSING,
    LineKind.EXTRA,
    LineKind.WRONG,
    LineKind.UNREADABLE,
    LineKind.UNLABELLED,
)


def settle(request: HttpRequest, reference: str, number: int) -> HttpResponse:
    """One line and what can be done about it."""
    row = stocktake_or_404(reference)
    line = next((one for one in queries.lines_of(row) if one.pk == number), None)
    if line is None:
        raise Http404("There is no such line.")
    user = user_of(request)
    form = _form(line, user, request.POST if request.method == "POST" and "do" not in request.POST else None)
    error = ""
    if request.method == "POST":
        try:
            answer = _answer(request, user, line, form)
        except CatalogError as refused:
            error = refused.sentence
            if form is not None and form.is_bound:
                blame(form, refused)
                error = ""
        else:
            if answer is not None:
                return answer
    context = _line_context(line) | {"form": form, "error": error, "has_errors": bool(error)}
    context |= _as_found(line, user)
    context |= {"stocktake": row, "steps": steps_of(row, "Settle")}
    return render_page(request, "catalog/stocktake/settle.html", context)


def _form(line: StocktakeLine, user: User, data: Any) -> LabelForm | ReallyForm | None:
    if line.kind in settling.UNREAD:
        return LabelForm(data, by=user)
    if line.kind == LineKind.OTHERWISE and line.match is not None:
        return ReallyForm(data, by=user, code=line.match.code, seen=queries.contents_of(line)[0])
    return None


def _answer(
    request: HttpRequest, user: User, line: StocktakeLine, form: LabelForm | ReallyForm | None
) -> HttpResponse | None:
    """Do what was asked and go on; None when the form has to be shown again."""
    do = request.POST.get("do", "")
    if do == "leave":
        settling.settle_otherwise(by=user, line=line, why=request.POST.get("why", ""))
    elif do in _QUICK:
        messages.success(request, f"{_QUICK[do](by=user, line=line).outcome.capitalize()}.")
    elif isinstance(form, LabelForm) and form.is_valid():
        return _give_label(request, user, line, form)
    elif isinstance(form, ReallyForm) and form.is_valid():
        return _is_really(request, user, line, form)
    else:
        return None
    return redirect("stocktake:stocktake", line.stocktake.reference)


def _as_found(line: StocktakeLine, user: User, data: Any = None) -> dict[str, Any]:
    """The way out for a thing that nobody knows."""
    seen = line.sighting
    if line.kind not in settling.UNREAD or seen is None or seen.kind == SightingKind.CONTAINER:
        return {}
    name = "" if seen.labelled else seen.text
    return {"as_found": AsFoundForm(data, by=user, auto_id="found_%s", initial={"name": name})}


@require_POST
def settle_as_found(request: HttpRequest, reference: str, number: int) -> HttpResponse:
    """Nobody knows what it is: a temporary number, and on to what is missing."""
    row, user = stocktake_or_404(reference), user_of(request)
    line = next((one for one in queries.lines_of(row) if one.pk == number), None)
    more = _as_found(line, user, request.POST) if line is not None else {}
    if line is None or not more:
        raise Http404("There is no such line.")
    form: AsFoundForm = more["as_found"]
    if form.is_valid():
        try:
            found = settling.settle_as_found(by=user, line=line, **form.cleaned_data)
        except CatalogError as refused:
            blame(form, refused)
        else:
            messages.success(request, f"Write {found.number} on a tag and tie it on.")
            return redirect("storage:found_thing", found.number)
    context = _line_context(line) | more | {"form": _form(line, user, None), "stocktake": row}
    context["steps"] = steps_of(row, "Settle")
    return render_page(request, "catalog/stocktake/settle.html", context)


def _give_label(request: HttpRequest, user: User, line: StocktakeLine, form: LabelForm) -> HttpResponse:
    thing = form.cleaned_data["thing"]
    of: dict[str, Any] = {"piece": thing} if isinstance(thing, Piece) else {"container": thing}
    label = settling.settle_label(by=user, line=line, blank=form.cleaned_data["blank"], **of)
    messages.success(request, f"It is {thing}. Its label is {label.code}.")
    return redirect(_back_or_print(line, "" if form.cleaned_data["blank"] else label.code))


def _is_really(request: HttpRequest, user: User, line: StocktakeLine, form: ReallyForm) -> HttpResponse:
    facts = form.cleaned_data
    if facts["is_it"] == "no":
        settling.settle_otherwise(by=user, line=line, why=f"it is not {line.match}")
        return redirect("stocktake:stocktake", line.stocktake.reference)
    new_label, counted = facts["new_label"] == "yes", list(facts["counted"])
    settling.settle_really(by=user, line=line, counted=counted, new_label=new_label)
    words = "1 piece is" if len(counted) == 1 else f"{len(counted)} pieces are"
    messages.success(request, f"It is {line.match}: {words} found in it.")
    label = label_of(place=line.match) if new_label and line.match is not None else None
    if label is not None:
        messages.info(request, "Stick the new label on three sides and take the old ones off.")
    return redirect(_back_or_print(line, label.code if label is not None else ""))


def _back_or_print(line: StocktakeLine, code: str) -> str:
    if code:
        return reverse("storage:labels", args=[code])
    return reverse("stocktake:stocktake", args=[line.stocktake.reference])


def _line_context(line: StocktakeLine) -> dict[str, Any]:
    context: dict[str, Any] = {"line": line, "belongs": settling.belongs(line)}
    if line.sighting is not None:
        context["seen_at"] = queries.spot_of(line.sighting, queries.proved(line.stocktake))
    if line.kind == LineKind.OTHERWISE:
        context["seen"], context["unseen"], context["rest"] = queries.contents_of(line)
    return context


def coverage(request: HttpRequest) -> HttpResponse:
    """What share of the store was seen within a year, two, five; by room, and by value for whoever may see values."""
    user = user_of(request)
    context = coverage_queries.coverage(user, clock.today(), with_values=can(user, Ability.SEE_VALUES))
    context |= {
        "may_take": can(user, Ability.TAKE_STOCK),
        "steps": steps_of(None, "Coverage"),
    }
    return render_page(request, "catalog/stocktake/coverage.html", context)
