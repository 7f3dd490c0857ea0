"""What a page's queue sends (static/catalog/js/queue.js), and how it is answered: each act by itself, in its order."""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.http import HttpRequest, JsonResponse
from django.utils.dateparse import parse_datetime
from django.utils.timezone import is_naive

from catalog.core import clock
from catalog.core.throttle import too_often

AT_ONCE = 50
SENDS_A_MINUTE = 240
LONGEST = 200
# A phone's clock that is this far off is set right by how far it is off; less may be the way here.
CLOCK_SLACK = timedelta(seconds=30)


@dataclass(frozen=True, slots=True)
class Sent:
    """One act as a phone sent it. `happened` is its own moment when it waited for a signal, else None: now."""

    client_id: UUID
    facts: Mapping[str, str]
    happened: datetime | None = None
    waited: bool = False

    def fact(self, name: str) -> str:
        """The field without spaces around it, "" when it was not sent."""
        return self.facts.get(name, "").strip()[:LONGEST]


def answer_each(request: HttpRequest, answer: Callable[[Sent], Mapping[str, Any]]) -> JsonResponse:
    """Answer every act of the request by `answer`; one that is not whole is refused by itself."""
    if too_often("send", request.user.pk, SENDS_A_MINUTE):
        return JsonResponse({"problem": "Too many sends in one minute: they are sent again soon."}, status=429)
    try:
        sent = json.loads(request.body)
        acts = list(sent["acts"])
        off = _clock_error(sent.get("sent_at"))
    except (ValueError, TypeError, KeyError, UnicodeDecodeError):
        return JsonResponse({"problem": "What was sent could not be read."}, status=400)
    if len(acts) > AT_ONCE:
        return JsonResponse({"problem": f"At most {AT_ONCE} scans are sent at once."}, status=400)
    return JsonResponse({"answers": [_answer(act, off, answer) for act in acts]})


def _answer(raw: Any, off: timedelta, answer: Callable[[Sent], Mapping[str, Any]]) -> dict[str, Any]:
    facts = {key: value for key, value in raw.items() if isinstance(value, str)} if isinstance(raw, dict) else {}
    try:
        client_id = UUID(facts["client_id"])
        waited = raw.get("waited") is True
        happened = _moment(facts.get("at", ""), off) if waited else None
    except (KeyError, ValueError):
        return {"client_id": facts.get("client_id", ""), "result": "refused", "sentence": "This scan is not whole."}
    return {"client_id": facts["client_id"], **answer(Sent(client_id, facts, happened, waited))}


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
