"""The travel check: one piece, one way of travelling, every rule that speaks, the worst of them.

Worst wins: stays, unknown, specialist, conditions, may. Every pack and every hazard that is not cleared has to be
answered by a rule whose source somebody has seen; where none answers, the verdict is unknown. So nothing is let through
for want of a rule.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from catalog.care.calc.hazards import CLEARED
from catalog.shipping.calc.facts import NO_DECISION, Mode, PieceFacts, Trip
from catalog.shipping.calc.rules import Question, Rule, RuleBook
from catalog.shipping.calc.trigger import SEVERAL, Outcome, subject_of
from catalog.shipping.calc.verdicts import Summary, Verdict, worst

CAUTION = (
    "This helps to ask the right questions. It does not replace the rules of the place, the carrier's word, or the "
    "people trained and licensed to ship dangerous goods, to test old materials and to handle weapons; they decide."
)


@dataclass(frozen=True, slots=True)
class Reason:
    """Why, in a sentence; what to do; by which rules and sources. `rules` are code@version.

    `waits`: the rules did not speak, they wait for a fact.
    """

    verdict: Verdict
    text: str
    condition: str = ""
    papers: tuple[str, ...] = ()
    rules: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    from_memory: bool = False
    waits: bool = False


@dataclass(frozen=True, slots=True)
class Assessment:
    """The answer for one piece and one mode; the worst reason stands first."""

    piece: str
    mode: Mode
    verdict: Verdict
    reasons: tuple[Reason, ...]
    questions: tuple[Question, ...]

    @property
    def conditions(self) -> tuple[str, ...]:
        """What to do, each once, the gravest first."""
        return _once(reason.condition for reason in self.reasons if reason.condition)

    @property
    def papers(self) -> tuple[str, ...]:
        """The papers and marks to have, each once."""
        return _once(paper for reason in self.reasons for paper in reason.papers)

    @property
    def rules(self) -> tuple[str, ...]:
        """Every rule that spoke, as code@version."""
        return _once(rule for reason in self.reasons for rule in reason.rules)

    @property
    def sources(self) -> tuple[str, ...]:
        """Every source that stands behind the answer."""
        return _once(source for reason in self.reasons for source in reason.sources)

    def as_json(self) -> dict[str, Any]:
        """Plain values; the keys are documented with the travel command."""
        return {
            "piece": self.piece,
            "mode": str(self.mode),
            "verdict": str(self.verdict),
            "reasons": [reason.text for reason in self.reasons],
            "conditions": list(self.conditions),
            "papers": list(self.papers),
            "questions": [{"fact": q.fact, "text": q.text, "who": q.who} for q in self.questions],
            "rules": list(self.rules),
            "sources": list(self.sources),
        }


class Known:
    """The facts of one piece and trip in the form in which a rule asks for them."""

    def __init__(self, piece: PieceFacts, trip: Trip, book: RuleBook) -> None:
        self.piece, self.trip = piece, trip
        self.materials = piece.materials or None
        self.states = piece.hazard_states()
        self.packs = piece.known_packs()
        self.assumed_mm = book.usual_longest(piece.kind) if piece.longest_mm is None else None
        self.longest_mm = piece.longest_mm if piece.longest_mm is not None else self.assumed_mm

    def fact(self, name: str) -> object:
        scope, _, rest = name.partition(".")
        if scope == "trip":
            return getattr(self.trip, rest)
        if scope == "value":
            return dict(self.piece.values).get(rest)
        if name == "age_years":
            made, year = self.piece.made_year, self.trip.year
            return None if made is None or year is None else year - made
        if name == "longest_mm":
            return self.longest_mm
        if name == "wear_decision":
            return self.piece.wear_decision or NO_DECISION
        return getattr(self.piece, name) or None if name == "kind" else getattr(self.piece, name)

    def hazard(self, code: str) -> str | None:
        """Its state; "absent" where nothing speaks for it; None where unknown materials might."""
        return self.states.get(code, "absent" if self.materials is not None else None)

    def several(self, scope: str) -> int:
        """How many packs or parts of this kind are known of."""
        return len(self.packs if scope == "pack" else self.piece.wild)

    def part_fact(self, scope: str, part: int, name: str) -> object:
        return self.packs[part].fact(name) if scope == "pack" else self.piece.wild[part].fact(name)

    def open_subjects(self) -> list[str]:
        """Everything that some rule has to answer for."""
        hazards = [f"hazard.{code}" for code, state in sorted(self.states.items()) if state != CLEARED]
        return hazards + [subject_of(scope, part) for scope in SEVERAL for part in range(self.several(scope))]


@dataclass(slots=True)
class Hearing:
    """What the rules said, while they are being heard. Subjects are hazards ("hazard.CODE") and packs ("pack 1")."""

    fired: dict[str, Rule] = field(default_factory=dict)
    waiting: dict[frozenset[str], dict[str, Rule]] = field(default_factory=dict)
    settled: set[str] = field(default_factory=set)
    remembered: set[str] = field(default_factory=set)
    awaited: set[str] = field(default_factory=set)
    asked: set[str] = field(default_factory=set)

    def take(self, rule: Rule, outcome: Outcome) -> None:
        """Note one answer of one rule; a false one says nothing."""
        if outcome.truth is None:
            self.waiting.setdefault(outcome.missing, {})[rule.code] = rule
            self.awaited.update(*outcome.ways)
        elif outcome.truth:
            self.fired[rule.code] = rule
            # A rule that needs two hazards together answers for neither, or a further hazard could better a verdict.
            alone = {subject for way in outcome.ways if len(way) == 1 for subject in way}
            (self.remembered if rule.from_memory else self.settled).update(alone)
            if rule.verdict is Verdict.UNKNOWN:
                self.asked.update(subject for subject in alone if subject.startswith("hazard."))


def judge(piece: PieceFacts, mode: Mode, trip: Trip, book: RuleBook) -> Assessment:
    """May this piece go this way on this trip? Every rule is heard, the worst answer stands, gaps become questions."""
    known = Known(piece, trip, book)
    hearing = Hearing()
    for rule in book.by_mode[mode]:
        if rule.of_journey:
            continue  # it is said once, of the journey: see journey.py
        parts = range(known.several(rule.asks_each)) if rule.asks_each else ()
        for part in parts or (None,):
            hearing.take(rule, rule.node.evaluate(known, part))
    return assess(known, mode, hearing, book)


def assess(known: Known, mode: Mode, hearing: Hearing, book: RuleBook) -> Assessment:
    """The answer from what was heard: worst first, a question for every gap."""
    asked = set(hearing.asked)
    reasons = [_spoken(rule) for rule in hearing.fired.values()]
    for missing, rules in hearing.waiting.items():
        asked |= missing
        reasons.append(_waiting(tuple(rules.values()), [book.question(fact) for fact in sorted(missing)]))
    for subject in known.open_subjects():
        if subject not in hearing.settled | hearing.awaited:
            asked.add(subject)
            reasons.append(_unanswered(subject, book.question(subject), subject in hearing.remembered))
    if known.materials is None and "material" not in asked:
        asked.add("material")
        reasons.append(_waiting((), [book.question("material")]))
    if known.assumed_mm is not None and "longest_mm" in book.asked_by_mode[mode]:
        reasons.append(_assumed(known))
    reasons.sort(key=lambda reason: -reason.verdict.rank)
    verdict = worst(*(reason.verdict for reason in reasons))
    questions = tuple(book.question(fact) for fact in sorted(asked))
    return Assessment(known.piece.number, mode, verdict, tuple(reasons), questions)


def judge_all(piece: PieceFacts, trip: Trip, book: RuleBook) -> dict[Mode, Assessment]:
    """The answer for every way of travelling."""
    return {mode: judge(piece, mode, trip, book) for mode in Mode}


def summary(by_mode: Mapping[Mode, Assessment]) -> Summary:
    """One line from the verdicts by mode. Only may and conditions are a yes; a specialist still has to give one.

    May fly: yes by road, which every piece needs to reach an aircraft, and yes as freight on either kind of aircraft.
    Road only: yes by road. Else it stays. Raises KeyError when one of the three modes was not judged.
    """
    road, passenger, cargo = (by_mode[m].verdict for m in (Mode.ROAD, Mode.PASSENGER_AIR, Mode.CARGO_AIR))
    if not road.is_yes:
        return Summary.STAYS
    return Summary.MAY_FLY if passenger.is_yes or cargo.is_yes else Summary.ROAD_ONLY


def _spoken(rule: Rule) -> Reason:
    doubt = " (This rule is from memory; check it before relying on it.)" if rule.from_memory else ""
    return Reason(
        rule.verdict,
        rule.reason + doubt,
        rule.condition,
        rule.papers,
        (rule.name,),
        (rule.citation,),
        rule.from_memory,
    )


def _waiting(rules: tuple[Rule, ...], questions: list[Question]) -> Reason:
    return Reason(
        Verdict.UNKNOWN,
        "Not known: " + " ".join(f"{question.text} {question.who} can say." for question in questions),
        rules=tuple(rule.name for rule in rules),
        sources=_once(rule.citation for rule in rules),
        from_memory=bool(rules) and all(rule.from_memory for rule in rules),
        waits=True,
    )


def _unanswered(subject: str, question: Question, only_memory: bool) -> Reason:
    what = subject.removeprefix("hazard.").replace("_", " ")
    why = "only a rule from memory speaks" if only_memory else "no rule speaks"
    return Reason(
        Verdict.UNKNOWN, f"For '{what}' {why} about this way of travelling. {question.text} {question.who} can say."
    )


def _assumed(known: Known) -> Reason:
    text = f"Its packed length was not measured; for '{known.piece.kind}' the house reckons with {known.assumed_mm} mm."
    return Reason(Verdict.MAY, text)


def _once(values: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(values))
