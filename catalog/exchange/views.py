"""Pages that load a table: look at it first, then load it. The columns of each kind, and an empty table to fill in."""

from collections.abc import Sequence
from typing import Any, cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from catalog.access.models import User
from catalog.access.permissions import Ability, can
from catalog.core.errors import BadTable, CatalogError
from catalog.core.http import render_page
from catalog.core.tables import csv_response
from catalog.exchange.actions import Outcome, import_table
from catalog.exchange.calc.columns import KIND_WORDS, TABLES, Table
from catalog.exchange.forms import TableForm, seal, unseal
from catalog.exchange.reading import PASTED
from catalog.loans.queries import call_by_reference

_PAGE, _LOOK = "catalog/exchange/import.html", "catalog/exchange/look.html"


def load_table(request: HttpRequest) -> HttpResponse:
    """Any kind but a roster."""
    return _steps(request, kind="", call="")


def load_roster(request: HttpRequest, reference: str) -> HttpResponse:
    """The performers of a call with their sizes; only for who may read sizes."""
    call = call_by_reference(reference)
    if call is None:
        raise Http404(f"There is no call {reference}.")
    return _steps(request, kind="roster", call=call.reference)


def load_weather(request: HttpRequest, reference: str) -> HttpResponse:
    """The weather by the hour at the place of a call, as a file or pasted."""
    call = call_by_reference(reference)
    if call is None:
        raise Http404(f"There is no call {reference}.")
    return _steps(request, kind="weather", call=call.reference)


def show_columns(request: HttpRequest, kind: str) -> HttpResponse:
    """The columns of one kind of table."""
    table = _table(kind)
    rows = [{"column": column, "reads": _reads(column.type.sort, column.type.unit)} for column in table.columns]
    may_load = can(request.user, Ability.IMPORT)
    steps = [{"word": "Load a table", "url": reverse("exchange:import") if may_load else ""}, {"word": table.words}]
    context = {"table": table, "rows": rows, "kinds": list(TABLES.values()), "steps": steps}
    return render_page(request, "catalog/exchange/columns.html", context)


def empty_table(request: HttpRequest, kind: str) -> StreamingHttpResponse:
    """A CSV with the header only, to be filled in."""
    table = _table(kind)
    return csv_response(f"{kind}.csv", [column.name for column in table.columns], [])


def _steps(request: HttpRequest, *, kind: str, call: str) -> HttpResponse:
    """The form, the look at the table, and the load, one after the other at the same address."""
    if request.method == "POST" and "sealed" in request.POST:
        return _load(request, kind=kind, call=call)
    form = TableForm(request.POST or None, request.FILES or None, kind=kind)
    faults: tuple[str, ...] = ()
    if request.method == "POST" and form.is_valid():
        found = form.cleaned_data
        table = {"kind": kind or found["kind"], "call": call, "data": found["data"], "file_name": found["file_name"]}
        by = cast("User", request.user)
        try:
            outcome = import_table(by=by, mapping=found["rules"], dry_run=True, **table)
        except BadTable as wrong:
            form.add_error(None, wrong.sentence)
            faults = wrong.faults
        except CatalogError as wrong:
            form.add_error(None, wrong.sentence)
        else:
            sealed = seal(by=by, rules=found["rules"], **table)
            return render_page(request, _LOOK, _shown(outcome, sealed, found["file_name"], call))
    return render_page(request, _PAGE, _page(form, kind, call, faults), status=422 if form.errors else 200)


def _load(request: HttpRequest, *, kind: str, call: str) -> HttpResponse:
    by, name = cast("User", request.user), ""
    try:
        table = unseal(request.POST["sealed"], by=by)
        if (kind and table["kind"] != kind) or table["call"] != call:
            raise BadTable("This table was looked at for another page. Choose the file or paste the rows again.")
        name = table["file_name"]
        outcome = import_table(by=by, mapping=table.pop("rules"), **table)
    except CatalogError as wrong:
        faults = wrong.faults if isinstance(wrong, BadTable) else ()
        context = _page(TableForm(kind=kind), kind, call, faults) | {"errors": [{"text": wrong.sentence}]}
        context["pasted"] = name == PASTED
        return render_page(request, _PAGE, context, status=409)
    messages.success(request, outcome.sentence)
    if kind == "weather":
        return redirect("desk:call_heat", call)
    return redirect("desk:call", call) if call else redirect("exchange:import")


def _page(form: TableForm, kind: str, call: str, faults: Sequence[str]) -> dict[str, Any]:
    word = "Weather" if kind == "weather" else "Performers"
    steps = [{"word": call, "url": reverse("desk:call", args=[call])}, {"word": word}] if call else []
    words = "weather by the hour" if kind == "weather" else "performers"
    return {
        "what": words,
        "form": form, "kind": kind, "call": call, "faults": faults, "steps": steps, "kinds": list(TABLES.values()),
    }  # fmt: skip


def _shown(outcome: Outcome, sealed: str, file_name: str, call: str) -> dict[str, Any]:
    return {
        "outcome": outcome,
        "sealed": sealed,
        "file_name": file_name,
        "words": KIND_WORDS[outcome.kind],
        "call": call,
        "more": max(0, outcome.total - len(outcome.rows)),
    }


def _table(kind: str) -> Table:
    try:
        return TABLES[kind]
    except KeyError as unknown:
        raise Http404(f"“{kind}” is no kind of table.") from unknown


_SORTS = {
    "text": "words",
    "word": "one word of the list",
    "whole": "a whole number",
    "number": "a number",
    "yes_no": "yes or no",
    "date": "a date, as 2026-09-08",
    "list": "words parted by |",
    "days": "days",
    "hour": "a whole hour, as 06:00",
    "temperature": "a temperature; a bare number is in °C",
}


def _reads(sort: str, unit: str) -> str:
    if sort == "length":
        return "EU shoe size" if unit == "eu" else f"a length; a bare number is in {unit}"
    if sort in {"weight", "ease"}:
        return f"a {'weight' if sort == 'weight' else 'difference of lengths'}; a bare number is in {unit}"
    return _SORTS[sort]
