"""The search for a lost thing: what is known of it, where to look next and why, what was searched already."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

from catalog.pieces.calc.values import money, money_words, sums
from catalog.pieces.models import Piece
from catalog.pieces.value_queries import newest_values
from catalog.storage import tree
from catalog.storage.calc.search import Thoroughness
from catalog.storage.calc.where import Ranked, Ranking, Vain, rank
from catalog.storage.clue_queries import Gathered, cause_of, gather
from catalog.storage.missing_models import SearchLine
from catalog.storage.models import MissingFile, Move, Place, Standing

__all__ = ["Look", "Search", "cause_of", "contents_with_value", "search_for"]

MOST_SHOWN = 12
MOST_REASONS = 3


@dataclass(frozen=True, slots=True)
class Look:
    """A place to look at: where it is, how likely, and why."""

    place: Place
    way: str
    ranked: Ranked
    searched: int
    counted: int = 0

    @property
    def percent(self) -> str:
        """The chance of finding it here in one proper look."""
        return percent(self.ranked.found)

    @property
    def why(self) -> list[str]:
        """The weightiest reasons."""
        return [reason.words for reason in self.ranked.reasons[:MOST_REASONS]]


@dataclass(frozen=True, slots=True)
class Search:
    """What is known of a lost thing, where to look, what was searched, labels it may have been misread as."""

    last: Move | None
    file: MissingFile | None
    looks: list[Look]
    lines: list[SearchLine]
    elsewhere: str
    read_as: list[str]
    alongside: bool

    @property
    def next(self) -> Look | None:
        """Where to look next."""
        return self.looks[0] if self.looks else None

    @property
    def rest(self) -> list[Look]:
        """The places after the next one."""
        return self.looks[1:]


def search_for(thing: Piece | Place, file: MissingFile | None) -> Search:
    """The search list of a lost thing. A fixed number of queries."""
    found = gather(thing, file)
    lines = list(file.searches.select_related("place")) if file is not None else []
    counts = [Vain(place, "looked through") for place in found.counted]
    ranking = rank(found.clues, [*vain_of(lines), *counts])
    looks = _looks(found, ranking, lines)
    return Search(
        last=found.last_move,
        file=file,
        looks=looks,
        lines=lines,
        elsewhere=percent(1 - sum(look.ranked.chance for look in looks)),
        read_as=found.read_as,
        alongside=any(r.source in {"same days", "together"} for one in ranking.places for r in one.reasons),
    )


def vain_of(lines: list[SearchLine]) -> list[Vain]:
    """The searches that found nothing, as the ranking reads them."""
    return [Vain(line.place_id, cast("Thoroughness", line.thoroughness)) for line in lines if not line.found]


def _looks(found: Gathered, ranking: Ranking, lines: list[SearchLine]) -> list[Look]:
    times: dict[int, int] = {}
    for line in lines:
        times[line.place_id] = times.get(line.place_id, 0) + 1
    return [
        Look(
            found.places[one.place],
            way_of(found.places[one.place], found.places),
            one,
            times.get(one.place, 0),
            found.counted.count(one.place),
        )
        for one in ranking.places[:MOST_SHOWN]
    ]


def way_of(place: Place, places: Mapping[int, Place]) -> str:
    """Where it stands, from the room inwards: "Main Hall, rack 2, level 1"."""
    steps = [place]
    while (parent := places.get(steps[0].parent_id or 0)) is not None and parent not in steps:
        steps.insert(0, parent)
    return ", ".join(tree.names(steps)[1 if len(steps) > 1 else 0 :])


def percent(chance: float) -> str:
    """A chance for people: "17 %", "below 1 %"."""
    return "below 1 %" if chance < 0.01 else f"{100 * chance:.0f} %"


def contents_with_value(standings: list[Standing]) -> dict[str, Any]:
    """What lies in it, each with its newest value in words, the sum, and how many are not valued. One query."""
    values = newest_values(Piece.objects.filter(pk__in=[one.piece_id for one in standings]))
    by_piece = {value.piece_id: value for value in values}
    words = {pk: money(value.currency, value.amount) for pk, value in by_piece.items()}
    return {
        "contents": [(one, words.get(one.piece_id, "")) for one in standings],
        "worth": money_words(sums((value.currency, value.amount) for value in by_piece.values())),
        "unvalued": len(standings) - len(by_piece),
    }
