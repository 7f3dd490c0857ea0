"""The one field where a code opens the thing, and the page behind the address that is printed on every label."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache

from catalog.access.permissions import Ability, can
from catalog.core import clock, house
from catalog.core.http import render_page
from catalog.storage.readings import Reading, address_of, name_of, read

# How many of the last scans a session keeps; they are this browser's own and leave with it.
KEPT = 10


def scan(request: HttpRequest) -> HttpResponse:
    """Open what was scanned or typed; say why not, and what it may have been."""
    if request.method != "POST":
        return _scan_page(request)
    reading = read(request.POST.get("code", ""), request.user)
    if reading.thing is not None:
        _remember(request, reading)
        return redirect(address_of(reading.thing))
    if reading.blank is not None and can(request.user, Ability.RECORD):
        return redirect("storage:bind", reading.blank.code)
    return _scan_page(request, reading)


@never_cache
def label_target(request: HttpRequest, code: str) -> HttpResponse:
    """The address on a label. A stranger is told whose it is and whom to call, the same for every code."""
    if not request.user.is_authenticated:
        return _found_property(request)
    reading = read(code, request.user)
    if reading.thing is not None:
        return redirect(address_of(reading.thing))
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
    near = [] if reading is None else [(thing, name_of(thing), address_of(thing)) for thing in reading.suggestions]
    context = {
        "problem": problem,
        "has_errors": bool(problem),
        "errors": [{"url": "#id_code", "text": problem}] if problem else [],
        "typed": "" if reading is None else reading.text,
        "near": [{"cut": _cut(thing), "number": number, "name": thing.name, "url": url} for thing, number, url in near],
        "last": request.session.get("scans", []),
    }
    return render_page(request, "catalog/desk/scan.html", context, status=status)


def _remember(request: HttpRequest, reading: Reading) -> None:
    thing = reading.thing
    if thing is None:
        return
    now = clock.now().isoformat()
    one = {"number": name_of(thing), "name": thing.name, "cut": _cut(thing), "url": address_of(thing), "at": now}
    before = [scan for scan in request.session.get("scans", []) if scan["url"] != one["url"]]
    request.session["scans"] = [one, *before][:KEPT]


def _cut(thing: object) -> str:
    """The cut of the thing's tag: piece, trunk, place."""
    container = getattr(thing, "is_container", None)
    return "piece" if container is None else "trunk" if container else "place"
