"""What a dry run may suppose, from real rows."""

from dataclasses import dataclass

from catalog.fitting.deadline_queries import clashing
from catalog.fitting.queries import DryRun
from catalog.storage.models import Place, State


@dataclass(frozen=True, slots=True)
class Supposition:
    """Something that is not so yet and might be: a container found, a hold released; `pieces` hang on it."""

    name: str
    value: str
    words: str
    pieces: int
    on: bool


def suppositions(run: DryRun) -> list[Supposition]:
    """Lost containers with pieces of the call's roles, and other people's firm holds on such pieces."""
    found = [
        Supposition(
            "found",
            place.code,
            f"As if {place.get_kind_display()} {place.code} were found",
            number,
            place.code.upper() in run.question.found,
        )
        for place, number in _lost_containers(run)
    ]
    for reference, spans in clashing([row.piece for row in run.stock], run.question).items():
        words = f"As if {reference} were released ({spans[0].for_whom}, to {spans[0].use_to:%-d %b %Y})"
        on = reference.upper() in run.question.released
        found.append(Supposition("released", reference, words, len(spans), on))
    return found


def _lost_containers(run: DryRun) -> list[tuple[Place, int]]:
    """Containers that are not found, each with how many pieces of the roles were last seen in it."""
    lost: dict[int, tuple[Place, int]] = {}
    for row in run.stock:
        standing = getattr(row.piece, "standing", None)
        place = standing.place if standing is not None else None
        if place is not None and place.is_container and place.state == State.NOT_FOUND:
            lost[place.pk] = (place, lost.get(place.pk, (place, 0))[1] + 1)
    return sorted(lost.values(), key=lambda pair: pair[0].code)
