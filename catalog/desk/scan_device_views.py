"""What the scan page's own program asks for: what a code is, sending scans, the page without signal and its worker."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from catalog.access.models import User
from catalog.access.permissions import Ability, can
from catalog.core import no_signal
from catalog.core.no_signal import SilentPage, shell_context
from catalog.core.sending import Sent, answer_each
from catalog.core.throttle import too_often
from catalog.desk.calc.scan_ways import PUT
from catalog.desk.kept_queries import how_many_kept
from catalog.desk.scan_page import as_seen, care_words, left_words, page_context, pulled_words
from catalog.storage import scan_actions
from catalog.storage.readings import read, unfit_for
from catalog.storage.scan_actions import Outcome, Scan
from catalog.storage.views import user_of

LOOKS_A_MINUTE = 400
SCAN_PAGE = SilentPage(
    name="scan",
    pages="^/scan/$",
    opens="desk:scan_shell",
    files=(
        *(f"catalog/css/{name}.css" for name in ("storage", "scan")),
        *(f"catalog/js/{name}.js" for name in ("scan-page", "scan-say", "scan-camera")),
    ),
    templates=tuple(
        f"catalog/desk/{name}.html" for name in ("scan_shell", "_scan_put", "_scan_ways", "_camera", "_emergency")
    ),
)


@never_cache
@require_GET
def ready(request: HttpRequest) -> JsonResponse:
    """Whether there is a signal, who is signed in, and what a send needs."""
    user = user_of(request)
    kept = how_many_kept(user) if can(user, Ability.MOVE) else 0
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
    user = user_of(request)
    return answer_each(request, lambda sent: _answer(user, sent))


def _answer(user: User, sent: Sent) -> dict[str, Any]:
    if "undoes" in sent.facts:
        try:
            undoes = UUID(sent.fact("undoes"))
        except ValueError:
            return {"result": "refused", "sentence": "This scan is not whole."}
        outcome = scan_actions.undo_scanned(by=user, undoes=undoes, client_id=sent.client_id, happened=sent.happened)
    else:
        thing, to, reason = (sent.fact(name) for name in ("thing", "to", "reason"))
        scan = Scan(sent.client_id, thing, to, reason, sent.happened, sent.waited)
        outcome = scan_actions.put_scanned(by=user, scan=scan, claimed=pulled_words)
    return _as_answer(outcome) | _left(user, sent.fact("from"))


def _as_answer(outcome: Outcome) -> dict[str, Any]:
    near = outcome.reading.suggestions if outcome.reading else ()
    return {
        "result": outcome.result,
        "sentence": outcome.sentence,
        "lift": care_words(outcome.move.piece) if outcome.move is not None else "",
        "slot": outcome.slot,
        "near": [as_seen(thing) for thing in near if not _unfit(thing, outcome.slot)],
    }


def _left(user: User, code: str) -> dict[str, str]:
    place = read(code, user).place if code else None
    return {} if place is None else {"left": left_words(place, user)}


def _unfit(thing: Any, slot: str) -> bool:
    """A suggestion that the slot would refuse helps nobody."""
    place = getattr(thing, "is_container", None)
    return place is None if slot in ("to", "from") else place is False


@never_cache
@require_GET
def shell(request: HttpRequest) -> HttpResponse:
    """The scan page as it opens without signal: nobody's name, nothing of the store, no token."""
    return render(request, "catalog/desk/scan_shell.html", page_context(None, PUT, {}, "") | shell_context())


@never_cache
@require_GET
def worker(request: HttpRequest) -> HttpResponse:
    """The program that answers for the scan page without signal."""
    return no_signal.worker(SCAN_PAGE)
