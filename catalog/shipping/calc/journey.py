"""The journey itself: what its borders ask of the whole shipment, said once and not piece by piece."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from catalog.shipping.calc.facts import Mode, PieceFacts, Trip
from catalog.shipping.calc.rules import Question, RuleBook
from catalog.shipping.calc.travel import Assessment, Hearing, Known, assess

# The journey is judged like a piece of which nothing has to be known.
_NOTHING = PieceFacts(number="the journey", materials=frozenset({"none"}))


@dataclass(frozen=True, slots=True)
class JourneyAnswer:
    """What the rules say of the journey by each way, and whether anybody has described it."""

    by_mode: dict[Mode, Assessment]
    described: bool

    @property
    def alike(self) -> Assessment | None:
        """The assessment of any way, when the verdict and reasons are the same for all."""
        ways = list(self.by_mode.values())
        return ways[0] if len({(way.verdict, way.reasons) for way in ways}) == 1 else None

    @property
    def is_yes(self) -> bool:
        """Whether the shipment may leave by every one of these ways; an open question is no yes."""
        return all(found.verdict.is_yes for found in self.by_mode.values())

    def among(self, modes: Iterable[Mode]) -> "JourneyAnswer":
        """The same for these ways only."""
        return replace(self, by_mode={mode: self.by_mode[mode] for mode in modes})

    @property
    def questions(self) -> tuple[Question, ...]:
        """What must be asked, each once."""
        asked = [question for found in self.by_mode.values() for question in found.questions]
        return tuple({question.fact: question for question in asked}.values())


def judge_journey(trip: Trip, book: RuleBook) -> JourneyAnswer:
    """The rules that ask about the trip alone, by every way of travelling."""
    known = Known(_NOTHING, trip, book)
    by_mode = {}
    for mode in Mode:
        hearing = Hearing()
        for rule in book.by_mode[mode]:
            if rule.of_journey:
                hearing.take(rule, rule.node.evaluate(known, None))
        by_mode[mode] = assess(known, mode, hearing, book)
    return JourneyAnswer(by_mode, described=trip.crosses_border is not None)
