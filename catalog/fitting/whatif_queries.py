"""What is supposed, in words; and the call under each supposition, side by side."""

from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import urlencode

from catalog.core.errors import Refused
from catalog.fitting.queries import DryRun, dry_run, ground_of, with_making_too
from catalog.fitting.scenario_queries import suppositions
from catalog.loans.models import Call, Hold
from catalog.pieces.models import Piece
from catalog.storage.models import Place, State

Query = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Supposed:
    """One thing that is supposed; `drop` is the query that remains without it."""

    name: str
    value: str
    words: str
    drop: str
    without_effect: bool = False


@dataclass(frozen=True, slots=True)
class Scenario:
    """The call under some suppositions: with what is there, and with what is short made."""

    words: str
    query: str
    run: DryRun
    made: DryRun

    @property
    def making_query(self) -> str:
        return f"{self.query}&making=yes" if self.query else "making=yes"

    @property
    def by_role(self) -> list[tuple[str, int, int]]:
        """Name, dressed and asked for of each role."""
        found = self.run
        return [(found.roles[code].name, found.plan.dressed.get(code, 0), asked) for code, asked in found.asked.items()]

    @property
    def whole(self) -> int:
        return sum(self.run.plan.whole_sets.values())

    @property
    def missing(self) -> int:
        return self.run.asked_total - self.run.plan.total

    @property
    def gap(self) -> float:
        return max(self.run.plan.gap, self.made.plan.gap)


def refuse_unknown(*, found: Iterable[str], released: Iterable[str]) -> None:
    """Raise Refused, naming it, for a place or a hold that does not exist: nothing is supposed silently."""
    for code in found:
        if not Place.objects.filter(code__iexact=code).exists():
            raise Refused(f"It cannot be supposed: there is no place or trunk {code[:40]}.", field="found")
    for reference in released:
        if not Hold.objects.filter(reference__iexact=reference).exists():
            raise Refused(f"It cannot be supposed: there is no hold {reference[:40]}.", field="released")


def supposed(run: DryRun, *, cards: bool = False) -> list[Supposed]:
    """Everything the run supposes, in the order of the sentence."""
    useful = {(item.name, item.value.upper()): item.value for item in suppositions(run)}
    lost = {_lost_from(row.piece) for row in run.stock}
    on: list[tuple[str, str, str, bool]] = []
    for name, codes, verb in (
        ("found", run.question.found, "is found"),
        ("released", run.question.released, "is released"),
    ):
        for code in sorted(codes):
            word = useful.get((name, code), code)
            known = (name, code) in useful or (name == "found" and code in lost)
            on.append((name, word, f"{word} {verb}", not known))
    if run.problem.with_making:
        on.append(("making", "yes", "what is short is made", False))
    if cards:
        on.append(("sizes", "card", "only the cards count", False))
    pairs = [(name, value) for name, value, _, _ in on]
    return [
        Supposed(name, value, words, urlencode([pair for pair in pairs if pair != (name, value)]), idle)
        for name, value, words, idle in on
    ]


def _lost_from(piece: Piece) -> str:
    """The place a missing piece was last seen in, else nothing."""
    standing = getattr(piece, "standing", None)
    lost = standing is not None and standing.place is not None and standing.state == State.NOT_FOUND
    return standing.place.code.upper() if standing is not None and lost else ""


def if_words(items: Iterable[Supposed]) -> str:
    """What is supposed as one clause, each thing with its own verb; nothing when nothing is."""
    words = [item.words for item in items]
    if not words:
        return ""
    return "If " + (f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else words[0])


def scenarios(call: Call) -> list[Scenario]:
    """As recorded; with everything lost found; with everything others hold released; with both.

    Each is planned twice, with and without making. What nothing could change is left out.
    """
    ground = ground_of(call)
    recorded = dry_run(call, ground=ground)
    items = suppositions(recorded)
    found: Query = tuple((item.name, item.value) for item in items if item.name == "found")
    released: Query = tuple((item.name, item.value) for item in items if item.name == "released")
    wanted: list[tuple[str, Query]] = [("As recorded", ())]
    if found:
        wanted.append((f"{_listed(found)} found", found))
    if released:
        wanted.append((f"{_listed(released)} released", released))
    if found and released:
        wanted.append((f"{_listed(found)} found and {_listed(released)} released", found + released))
    rows = []
    for words, query in wanted:
        places, holds = ([value for own, value in query if own == name] for name in ("found", "released"))
        run = dry_run(call, ground=ground, found=places, released=holds) if query else recorded
        rows.append(Scenario(words, urlencode(query), run, with_making_too(run, ground)))
    return rows


def _listed(query: Query) -> str:
    values = [value for _, value in query]
    return values[0] if len(values) == 1 else f"{', '.join(values[:-1])} and {values[-1]}"
