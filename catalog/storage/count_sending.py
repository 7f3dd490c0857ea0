"""What was counted without signal: each scan with its own moment, place and container, counted once when it arrives."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any
from uuid import UUID

from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_POST

from catalog.access.models import User
from catalog.core.errors import Refused
from catalog.core.lanes import Lane, answer_once, named
from catalog.core.sending import Sent, answer_each
from catalog.storage import readings
from catalog.storage import stocktake_actions as actions
from catalog.storage import stocktake_queries as queries
from catalog.storage.models import Place, Sighting, Stocktake
from catalog.storage.queries import place_by_code
from catalog.storage.stocktake_actions import Spot
from catalog.storage.stocktake_pages import stocktake_or_404
from catalog.storage.views import user_of


@require_POST
def count_send(request: HttpRequest, reference: str) -> JsonResponse:
    """Scans of one stocktake in the order they were made; each is answered by itself, a repeated one the same."""
    user, row = user_of(request), stocktake_or_404(reference)
    return answer_each(request, lambda sent: _answer(user, row, sent))


def _answer(user: User, row: Stocktake, sent: Sent) -> Mapping[str, Any]:
    of_row = replace(sent, facts={**sent.facts, "stocktake": row.reference})
    answer = answer_once(by=user, lane=COUNT, sent=of_row).plain
    # What follows lies in a container that was just counted: the page is told which.
    box = Sighting.objects.filter(client_id=sent.client_id, kind=Sighting.Kind.CONTAINER).values_list("pk", flat=True)
    return answer | {"box": str(box[0]) if box else ""}


def _count(by: User, sent: Sent) -> str:
    """See what was scanned where it was scanned, or say that all of a place is counted."""
    row = queries.stocktake_of(sent.fact("stocktake"))
    if row is None:
        raise Refused(f"There is no stocktake {sent.fact('stocktake')}.")
    place = place_by_code(sent.fact("spot"))
    if place is None:
        raise Refused("The shelf it was seen at is not known: scan the shelf first.")
    if sent.fact("done"):
        actions.count_stop(by=by, stocktake=row, place=place, counted_at=sent.happened)
        return f"All of {place.code} is counted."
    at = Spot(place, _container(row, place, sent))
    facts = _what(by, sent)
    one = actions.see(by=by, stocktake=row, at=at, client_id=sent.client_id, seen_at=sent.happened, **facts)
    return f"{one.words} is seen {f'in {at.inside.words} ' if at.inside else ''}at {place.code}."


def _what(by: User, sent: Sent) -> dict[str, Any]:
    """The thing of the code. What leads nowhere cannot be asked about any more: it is counted as its label reads."""
    reading = readings.read(sent.fact("code"), by)
    if reading.place is not None and not reading.place.is_container:
        kind = reading.place.get_kind_display()
        raise Refused(f"{reading.place.code} is a {kind}: it is counted in, not counted.")
    if reading.thing is not None:
        return {"piece": reading.piece, "container": reading.place}
    if not sent.fact("code") or (sent.happened is None and not sent.fact("reads")):
        raise Refused(reading.problem or f"{reading.text} is on nothing yet.")
    return {"reads": reading.text[:120], "is_container": sent.fact("reads") == "container"}


def _container(row: Stocktake, place: Place, sent: Sent) -> Sighting | None:
    """The container that was open then, by its number or by the id of its own scan."""
    boxes = queries.sightings_of(row).filter(place=place, kind=Sighting.Kind.CONTAINER)
    if sent.fact("within"):
        try:
            found = boxes.filter(client_id=UUID(sent.fact("within"))).first()
        except ValueError:
            found = None
        if found is None:
            raise Refused("The container it was seen in was not counted: count that first.")
        return found
    number = sent.fact("box")
    return boxes.filter(pk=number).first() if number.isdecimal() else None


def _words(facts: Mapping[str, str]) -> str:
    what = (
        f"all of {facts['spot']} counted" if facts["done"] else f"{facts['code'] or 'nothing'} seen at {facts['spot']}"
    )
    return f"{what} for {facts['stocktake']}"


_FIELDS = ("stocktake", "spot", "box", "within", "code", "reads", "done")
COUNT = named(Lane("count", "stocktake:count_send", _FIELDS, _words, _count))
