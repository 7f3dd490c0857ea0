"""What the scan page's own program asks for: what a code is, sending scans, the page without signal and its worker."""

import hashlib
import json
from datetime import datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any
from uuid import UUID

from django.contrib.auth.models import AnonymousUser
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.template import Engine
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils.dateparse import parse_datetime
from django.utils.timezone import is_naive
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from catalog.access.permissions import Ability, can
from catalog.core import clock
from catalog.core.throttle import too_often
from catalog.desk.calc.scan_ways import PUT
from catalog.desk.scan_page import as_seen, left_words, page_context, pulled_words
from catalog.storage import scan_actions, scan_queries
from catalog.storage.readings import read, unfit_for
from catalog.storage.scan_actions import Outcome, Scan
from catalog.storage.views import user_of

AT_ONCE = 50
SENDS_A_MINUTE, LOOKS_A_MINUTE = 240, 400
# A phone's clock that is this far off is set right by how far it is off; less may be the way here.
CLOCK_SLACK = timedelta(seconds=30)
SHELL_FILES = (
    "django_htmx/htmx-2.min.js",
    "catalog/img/tag.svg",
    *(f"catalog/css/{name}.css" for name in ("tokens", "base", "frame", "parts", "forms", "figures", "print")),
    *(f"catalog/css/{name}.css" for name in ("storage", "scan")),
    *(f"catalog/js/{name}.js" for name in ("errors", "scan", "scan-page", "scan-queue", "scan-say", "scan-camera")),
)
SHELL_TEMPLATES = (
    "base.html",
    *(f"catalog/desk/{name}" for name in ("scan_shell.html", "scan_worker.js", "_scan_put.html", "_scan_ways.html")),
    "catalog/desk/_camera.html",
)


@never_cache
@require_GET
def ready(request: HttpRequest) -> JsonResponse:
    """Whether there is a signal, who is signed in, and what a send needs."""
    user = user_of(request)
    kept = scan_queries.waiting(user).count() if can(user, Ability.MOVE) else 0
    return JsonResponse({"user": user.get_username(), "token": get_token(request), "kept": kept})


@require_POST
def look(request: HttpRequest) -> JsonResponse:
    """What a code is, for the slot it was scanned into; or a sentence and what it may have been."""
    user, slot = user_of(request), request.POST.get("slot", "thing")
    if too_often("look", user.pk, LOOKS_A_MINUTE):
        return JsonResponse({"problem": "Too many scans in one minute: wait a little."}, status=429)
    reading = read(request.POST.get("code", ""), user)
    problem = unfit_for(reading, slot)
    if problem or reading.thing is None:
        near = [as_seen(thing) for thing in reading.suggestions if not _unfit(thing, slot)]
        return JsonResponse({"problem": problem, "near": near})
    seen: dict[str, Any] = as_seen(reading.thing, user)
    if slot == "from" and reading.place is not None:
        seen["left"] = left_words(reading.place, user)
    return JsonResponse(seen)


@require_POST
def send(request: HttpRequest) -> JsonResponse:
    """Scans in the order they were made. Each has its own answer; a scan sent again is answered the same."""
    if too_often("send", request.user.pk, SENDS_A_MINUTE):
        return JsonResponse({"problem": "Too many sends in one minute: they are sent again soon."}, status=429)
    try:
        sent = json.loads(request.body)
        scans = list(sent["scans"])
        off = _clock_error(sent.get("sent_at"))
    except (ValueError, TypeError, KeyError, UnicodeDecodeError):
        return JsonResponse({"problem": "What was sent could not be read."}, status=400)
    if len(scans) > AT_ONCE:
        return JsonResponse({"problem": f"At most {AT_ONCE} scans are sent at once."}, status=400)
    return JsonResponse({"answers": [_answer(request, scan, off) for scan in scans]})


def _answer(request: HttpRequest, sent: Any, off: timedelta) -> dict[str, Any]:
    user = user_of(request)
    facts = {key: value for key, value in sent.items() if isinstance(value, str)} if isinstance(sent, dict) else {}
    try:
        client_id = UUID(facts["client_id"])
        waited = sent.get("waited") is True
        happened = _moment(facts.get("at", ""), off) if waited else None
        undoes = UUID(facts["undoes"]) if "undoes" in facts else None
    except (KeyError, ValueError):
        return {"client_id": facts.get("client_id", ""), "result": "refused", "sentence": "This scan is not whole."}
    if undoes is not None:
        outcome = scan_actions.undo_scanned(by=user, undoes=undoes, client_id=client_id, happened=happened)
    else:
        reason = facts.get("reason", "").strip()[:200]
        scan = Scan(client_id, facts.get("thing", ""), facts.get("to", ""), reason, happened, waited)
        outcome = scan_actions.put_scanned(by=user, scan=scan, claimed=pulled_words)
    return {"client_id": facts["client_id"], **_as_answer(outcome)} | _left(request, facts.get("from", ""))


def _as_answer(outcome: Outcome) -> dict[str, Any]:
    near = outcome.reading.suggestions if outcome.reading else ()
    return {
        "result": outcome.result,
        "sentence": outcome.sentence,
        "lift": pulled_words(outcome.move.piece) if outcome.move is not None else "",
        "slot": outcome.slot,
        "near": [as_seen(thing) for thing in near if not _unfit(thing, outcome.slot)],
    }


def _left(request: HttpRequest, code: str) -> dict[str, str]:
    place = read(code, request.user).place if code else None
    return {} if place is None else {"left": left_words(place, user_of(request))}


def _unfit(thing: Any, slot: str) -> bool:
    """A suggestion that the slot would refuse helps nobody."""
    place = getattr(thing, "is_container", None)
    return place is None if slot in ("to", "from") else place is False


def _moment(text: str, off: timedelta) -> datetime:
    when = parse_datetime(text)
    if when is None or is_naive(when):
        raise ValueError(text)
    return min(when + off, clock.now())


def _clock_error(sent_at: Any) -> timedelta:
    """How far the phone's clock is behind ours."""
    when = parse_datetime(sent_at) if isinstance(sent_at, str) else None
    if when is None or is_naive(when):
        return timedelta(0)
    off = clock.now() - when
    return off if abs(off) > CLOCK_SLACK else timedelta(0)


@never_cache
@require_GET
def shell(request: HttpRequest) -> HttpResponse:
    """The scan page as it opens without signal: nobody's name, nothing of the store, no token."""
    context = page_context(None, PUT, {}, "") | {"shell": True, "nav": [], "user": AnonymousUser(), "csrf_token": ""}
    return render(request, "catalog/desk/scan_shell.html", context)


@never_cache
@require_GET
def worker(request: HttpRequest) -> HttpResponse:
    """The program that answers for the scan page without signal; a new version replaces the old and its files."""
    context = {
        "version": version(),
        "page": reverse("desk:scan"),
        "shell": reverse("desk:scan_shell"),
        "files": json.dumps([static(name) for name in SHELL_FILES]),
    }
    text = render_to_string("catalog/desk/scan_worker.js", context)
    return HttpResponse(text, content_type="text/javascript; charset=utf-8")


@lru_cache(maxsize=1)
def version() -> str:
    """A short name of what the files hold now: other files, other version."""
    held = hashlib.sha256()
    for name in SHELL_FILES:
        found = finders.find(name)
        held.update(static(name).encode())
        held.update(Path(str(found)).read_bytes() if found else b"")
    for template in SHELL_TEMPLATES:
        held.update(Engine.get_default().get_template(template).source.encode())
    return held.hexdigest()[:12]
