"""The scan page in all its ways, deciding on kept scans, and the page behind the address printed on every label."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from catalog.access.permissions import Ability, can
from catalog.core import clock, house
from catalog.core.checks import blame
from catalog.core.errors import CatalogError
from catalog.core.http import render_page
from catalog.core.sent_models import SentAct
from catalog.desk.calc.scan_ways import EMERGENCY, OPEN, WAYS, Way, after, after_refusal, next_slot
from catalog.desk.kept_queries import kept_for
from catalog.desk.scan_forms import DecideForm
from catalog.desk.scan_page import address_of_way, as_seen, care_words, cut_of, page_context
from catalog.storage import scan_actions, scan_queries
from catalog.storage.readings import Reading, address_of, name_of, read, unfit_for
from catalog.storage.scan_actions import Outcome, Scan
from catalog.storage.scan_models import KeptScan
from catalog.storage.views import user_of

# How many of the last scans a session keeps; they are this browser's own and leave with it.
KEPT = 10
NO_REASON = "Say why first: one reason for the whole emergency."


def scan(request: HttpRequest) -> HttpResponse:
    """Open what was scanned or typed, or show another way of scanning as its address says."""
    if request.method != "POST":
        way = WAYS.get(request.GET.get("way", ""), OPEN)
        if way is OPEN or not can(request.user, Ability.MOVE):
            return _scan_page(request)
        return _way_page(request, way, _filled(way, request.GET), request.GET.get("reason", ""))
    reading = read(request.POST.get("code", ""), request.user)
    if reading.thing is not None:
        _remember(request, reading)
        return redirect(address_of(reading.thing))
    if reading.found is not None:
        return redirect("storage:found_thing", reading.found.number)
    if reading.blank is not None and can(request.user, Ability.RECORD):
        return redirect("storage:bind", reading.blank.code)
    return _scan_page(request, reading)


@require_POST
def put(request: HttpRequest) -> HttpResponse:
    """One step without a program in the page: fill the next slot, and put what is complete."""
    way = WAYS.get(request.POST.get("way", ""), OPEN)
    if way is OPEN:
        return scan(request)
    filled, reason = _filled(way, request.POST), request.POST.get("reason", "").strip()[:200]
    if way is EMERGENCY and not reason:
        return _way_page(request, way, filled, reason, problem=NO_REASON)
    slot = next_slot(way, filled)
    if slot is not None:
        reading = read(request.POST.get("code", ""), request.user)
        if said := unfit_for(reading, slot):
            return _way_page(request, way, filled, reason, problem=said, reading=reading)
        filled[slot] = reading.text if reading.thing is None else name_of(reading.thing)
    if next_slot(way, filled) is not None:
        return redirect(address_of_way(way, filled, reason))
    client_id = _uuid(request.POST.get("client_id", "")) or uuid4()
    scanned = Scan(client_id, filled["thing"], filled["to"], reason)
    outcome = scan_actions.put_scanned(by=user_of(request), scan=scanned)
    if outcome.result == "refused":
        left = after_refusal(way, filled, outcome.slot)
        return _way_page(request, way, left, reason, problem=outcome.sentence, reading=outcome.reading)
    _tell(request, outcome)
    if outcome.move is not None and (said := care_words(outcome.move.piece)):
        messages.warning(request, said)
    return redirect(address_of_way(way, after(way, filled), reason))


@require_POST
def undo(request: HttpRequest) -> HttpResponse:
    """Take one's last scan back: another move, another line."""
    way = WAYS.get(request.POST.get("way", ""), OPEN)
    undoes = _uuid(request.POST.get("undoes", ""))
    if undoes is None:
        messages.error(request, "There is nothing to take back.")
    else:
        client_id = _uuid(request.POST.get("client_id", "")) or uuid4()
        _tell(request, scan_actions.undo_scanned(by=user_of(request), undoes=undoes, client_id=client_id))
    return redirect(address_of_way(way, _filled(way, request.POST), request.POST.get("reason", "")[:200]))


def kept(request: HttpRequest) -> HttpResponse:
    """Scans that arrived late and were overtaken or refused: each waits here until somebody decides."""
    user = user_of(request)
    rows, acts = list(scan_queries.waiting(user)[:100]), list(kept_for(user)[:100])
    both: list[KeptScan | SentAct] = [*rows, *acts]
    first = min(both, key=lambda one: one.happened, default=None)
    context = {"rows": rows, "acts": acts, "number": len(both), "first": first}
    return render_page(request, "catalog/desk/scan_kept.html", context | {"first_is_act": first in acts})


def decide(request: HttpRequest, pk: int) -> HttpResponse:
    """One kept scan: put it there now, note it in the past, or drop it."""
    user = user_of(request)
    one = get_object_or_404(scan_queries.waiting(user), pk=pk)
    thing = one.piece or one.container
    first = {"thing": name_of(thing) if thing else one.thing_text, "to": one.to_place or one.to_text}
    form = DecideForm(request.POST or None, by=user, initial=first)
    if request.method == "POST" and form.is_valid():
        facts = form.cleaned_data
        try:
            if facts["decision"] == "put":
                scan_actions.carry_out(by=user, kept=one, thing=facts["thing"], to=facts["to"], why=facts["why"])
            elif facts["decision"] == "past":
                scan_actions.note_scan(by=user, kept=one, why=facts["why"])
            else:
                scan_actions.drop_scan(by=user, kept=one, why=facts["why"])
        except CatalogError as error:
            blame(form, error)
        else:
            messages.success(request, f"{one}: decided.")
            return redirect("desk:scan_kept")
    now = as_seen(thing, user) if thing else None
    return render_page(request, "catalog/desk/scan_decide.html", {"form": form, "one": one, "now": now})


@never_cache
def label_target(request: HttpRequest, code: str) -> HttpResponse:
    """The address on a label. A stranger is told whose it is and whom to call, the same for every code."""
    if not request.user.is_authenticated:
        return _found_property(request)
    reading = read(code, request.user)
    if reading.thing is not None:
        return redirect(address_of(reading.thing))
    if reading.found is not None:
        return redirect("storage:found_thing", reading.found.number)
    if reading.blank is not None and can(request.user, Ability.RECORD):
        return redirect("storage:bind", reading.blank.code)
    return _scan_page(request, reading, status=404)


def _found_property(request: HttpRequest) -> HttpResponse:
    """No look into the store: bound, unbound and unknown codes must not be told apart, not even by time."""
    context = {"owner": house.value("house.name"), "phone": house.value("house.found_phone"), "next": request.path}
    return render(request, "catalog/desk/label_target.html", context)


def _scan_page(request: HttpRequest, reading: Reading | None = None, status: int = 200) -> HttpResponse:
    problem = "" if reading is None else reading.problem
    if reading is not None and reading.blank is not None:
        problem = f"{reading.text} is a blank that is on nothing yet: the archivist binds it."
    context = page_context(user_of(request), OPEN, {}, "") | _trouble(problem, reading)
    context["last"] = request.session.get("scans", [])
    return render_page(request, "catalog/desk/scan.html", context, status=status)


def _way_page(
    request: HttpRequest, way: Way, filled: dict[str, str], reason: str, problem: str = "", reading: Any = None
) -> HttpResponse:
    context = page_context(user_of(request), way, filled, reason) | _trouble(problem, reading)
    return render_page(request, "catalog/desk/scan.html", context)


def _trouble(problem: str, reading: Reading | None) -> dict[str, Any]:
    field = "#id_reason" if problem == NO_REASON else "#id_code"
    return {
        "problem": problem,
        "has_errors": bool(problem),
        "errors": [{"url": field, "text": problem}] if problem else [],
        "typed": "" if reading is None else reading.text,
        "near": [] if reading is None else [as_seen(thing) for thing in reading.suggestions],
    }


def _tell(request: HttpRequest, outcome: Outcome) -> None:
    level = {"done": messages.SUCCESS, "kept": messages.WARNING, "refused": messages.ERROR}[outcome.result]
    messages.add_message(request, level, outcome.sentence)


def _filled(way: Way, sent: Any) -> dict[str, str]:
    values = {slot: str(sent.get(slot, "")).strip()[:120] for slot in way.slots}
    return {slot: text for slot, text in values.items() if text}


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


def _remember(request: HttpRequest, reading: Reading) -> None:
    thing = reading.thing
    if thing is None:
        return
    now = clock.now().isoformat()
    one = {"number": name_of(thing), "name": thing.name, "cut": cut_of(thing), "url": address_of(thing), "at": now}
    before = [scan for scan in request.session.get("scans", []) if scan["url"] != one["url"]]
    request.session["scans"] = [one, *before][:KEPT]
