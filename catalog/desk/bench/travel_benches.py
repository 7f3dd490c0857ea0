"""The travel check over a large store and three routes, beside the same rules as bare Python predicates."""

from collections import Counter
from collections.abc import Callable, Mapping

from catalog.desk.bench.measuring import BenchError, Measurement, interleaved, measured
from catalog.desk.bench.plain_rules import predicates, spoke, values_of
from catalog.desk.bench.travel_world import ROUTES, pieces
from catalog.shipping.calc.travel import Assessment, judge
from catalog.shipping.queries import rule_book

PIECES, SEED, ROUNDS = 10_000, 3, 3
GOAL = 20.0


def travel_check() -> Measurement:
    """Every piece by every route: verdict, reasons, questions; the baseline tells only which rules speak."""
    book = rule_book()
    if not book.rules:
        raise BenchError("No travel rule is kept here.")
    store = pieces(PIECES, SEED)

    def ours() -> Counter[str]:
        return Counter(
            code for mode, trip in ROUTES for piece in store for code in _spoken(judge(piece, mode, trip, book))
        )

    def plain() -> Counter[str]:
        heard: Counter[str] = Counter()
        for mode, trip in ROUTES:
            rules = predicates(book, mode)
            for piece in store:
                heard.update(spoke(rules, *values_of(piece, trip, book)))
        return heard

    timed = interleaved(ours, plain, rounds=ROUNDS)
    said = f"the same {len(book.rules)} rules as bare Python predicates, {PIECES:,} pieces by {len(ROUTES)} routes"
    return measured("travel_check", timed, baseline=said, goal=GOAL, sense="at most")


def _spoken(found: Assessment) -> set[str]:
    """The codes of the rules that spoke; those that only wait for a fact did not."""
    reasons = (reason for reason in found.reasons if not reason.waits)
    return {name.partition("@")[0] for reason in reasons for name in reason.rules}


TRAVEL_BENCHES: Mapping[str, Callable[[], Measurement]] = {"travel_check": travel_check}
