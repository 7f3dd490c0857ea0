"""Rows of the travel rules: data that somebody can read, date and dispute, and how they are taken in."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from catalog.care.calc.hazards import words_of
from catalog.shipping.calc.facts import Mode
from catalog.shipping.calc.trigger import SEVERAL, Node, TriggerError, facts_of, parse
from catalog.shipping.calc.verdicts import Verdict

# How well a row is founded. A row from memory may worsen a verdict and never improves one.
CONFIDENCE = {
    "F": "read in the issuing body's own text",
    "F2": "read in a secondary text only",
    "C": "computed here and cross-checked",
    "H": "the house's own decision; no outside text stands behind it",
    "M": "from memory; the source has not been seen",
}
FROM_MEMORY = "M"


class RuleError(ValueError):
    """A row that cannot be used; the message names the row and the field."""


@dataclass(frozen=True)
class Rule:
    """One row: when `trigger` holds for a piece going by one of `modes`, the verdict is at least `verdict`.

    `asks_each`: "pack" or "wild", when it is asked once for each of them. `of_journey`: it asks about the trip alone,
    so it speaks once of the journey and not of every piece.
    """

    code: str
    version: int
    trigger: Mapping[str, Any]
    modes: tuple[Mode, ...]
    verdict: Verdict
    reason: str
    condition: str
    papers: tuple[str, ...]
    source: str
    edition: str
    jurisdiction: str
    confidence: str
    checked_on: date | None
    node: Node = field(init=False, repr=False, compare=False)
    asks_each: str | None = field(init=False, repr=False, compare=False)
    of_journey: bool = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        try:
            node = parse(self.trigger)
        except TriggerError as problem:
            raise RuleError(f"Rule {self.code}, trigger: {problem}.") from problem
        object.__setattr__(self, "node", node)
        scopes = {fact.partition(".")[0] for fact in facts_of(node)}
        several = [scope for scope in SEVERAL if scope in scopes]
        if len(several) > 1:
            raise RuleError(f"Rule {self.code}, trigger: it asks about {' and '.join(several)}; ask about one of them.")
        object.__setattr__(self, "asks_each", several[0] if several else None)
        object.__setattr__(self, "of_journey", scopes == {"trip"})

    @property
    def name(self) -> str:
        """Code and version, the way a verdict keeps it."""
        return f"{self.code}@{self.version}"

    @property
    def from_memory(self) -> bool:
        """True where nobody has seen the source; such a row never answers for a hazard, it only adds doubt."""
        return self.confidence == FROM_MEMORY

    @property
    def citation(self) -> str:
        """Source, edition, jurisdiction, how sure, and when somebody last looked."""
        checked = (
            f"checked {self.checked_on.isoformat()}" if self.checked_on else "not checked against the source since"
        )
        where = ", ".join(part for part in (self.source, self.edition) if part)
        return f"{where} ({self.jurisdiction}; {CONFIDENCE[self.confidence]}; {checked})"


@dataclass(frozen=True, slots=True)
class Question:
    """A fact that somebody has to find out, and who can."""

    fact: str
    text: str
    who: str


@dataclass(frozen=True)
class RuleBook:
    """All rows in force, the questions for missing facts, and the usual longest side (mm) of kinds that pack small.

    Raises RuleError when two rows have the same code.
    """

    rules: tuple[Rule, ...]
    questions: Mapping[str, Question] = field(default_factory=dict)
    usual_longest_mm: Mapping[str, int] = field(default_factory=dict)
    by_mode: Mapping[Mode, tuple[Rule, ...]] = field(init=False, repr=False, compare=False)
    asked_by_mode: Mapping[Mode, frozenset[str]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        codes = [rule.code for rule in self.rules]
        twice = sorted({code for code in codes if codes.count(code) > 1})
        if twice:
            raise RuleError(f"Rule {twice[0]}, code: it is used by two rows in force.")
        by_mode = {mode: tuple(rule for rule in self.rules if mode in rule.modes) for mode in Mode}
        object.__setattr__(self, "by_mode", by_mode)
        asked = {mode: frozenset[str]().union(*(facts_of(r.node) for r in rules)) for mode, rules in by_mode.items()}
        object.__setattr__(self, "asked_by_mode", asked)

    def question(self, fact: str) -> Question:
        """The question to ask for a missing fact; a plain one where the house has not worded it."""
        plain = Question(fact, f"What is known about {fact.replace('.', ' ').replace('_', ' ')}?", "The archivist")
        return self.questions.get(fact, plain)

    def usual_longest(self, kind: str) -> int | None:
        """Millimetres for a kind that packs small, by the whole kind or its last word; None for any other."""
        words = words_of(kind)
        if not words:
            return None
        return self.usual_longest_mm.get(" ".join(words), self.usual_longest_mm.get(words[-1]))


_WORDS = ("code", "reason", "condition", "source", "edition", "jurisdiction", "confidence", "verdict")
_FIELDS = frozenset({*_WORDS, "version", "trigger", "modes", "papers", "checked_on"})


def rule_from_json(row: Mapping[str, Any]) -> Rule:
    """A rule from plain values. Raises RuleError with a sentence that names the row and the field."""
    code = str(row.get("code") or "without a code")
    _check_fields(code, row)
    return Rule(
        code=code,
        version=row["version"],
        trigger=row["trigger"],
        modes=tuple(Mode(_in(code, "modes", mode, list(Mode))) for mode in row["modes"]),
        verdict=Verdict(_in(code, "verdict", row["verdict"], list(Verdict))),
        reason=row["reason"],
        condition=row["condition"],
        papers=tuple(row["papers"]),
        source=row["source"],
        edition=row["edition"],
        jurisdiction=row["jurisdiction"],
        confidence=_in(code, "confidence", row["confidence"], list(CONFIDENCE)),
        checked_on=_day(code, row["checked_on"]),
    )


def rule_to_json(rule: Rule) -> dict[str, Any]:
    """The plain values that `rule_from_json` reads."""
    return {
        "code": rule.code,
        "version": rule.version,
        "trigger": dict(rule.trigger),
        "modes": [str(mode) for mode in rule.modes],
        "verdict": str(rule.verdict),
        "reason": rule.reason,
        "condition": rule.condition,
        "papers": list(rule.papers),
        "source": rule.source,
        "edition": rule.edition,
        "jurisdiction": rule.jurisdiction,
        "confidence": rule.confidence,
        "checked_on": rule.checked_on.isoformat() if rule.checked_on else None,
    }


def rule_book_from_json(values: Mapping[str, Any]) -> RuleBook:
    """The book from its parsed file: rules, questions by fact, usual_longest_mm by kind. Raises RuleError."""
    return RuleBook(
        rules=tuple(rule_from_json(row) for row in values["rules"]),
        questions={fact: Question(fact, q["text"], q["who"]) for fact, q in values.get("questions", {}).items()},
        usual_longest_mm={" ".join(words_of(kind)): mm for kind, mm in values.get("usual_longest_mm", {}).items()},
    )


def _check_fields(code: str, row: Mapping[str, Any]) -> None:
    wrong = sorted(_FIELDS ^ set(row))
    if wrong:
        raise RuleError(f"Rule {code}, {wrong[0]}: {'is missing' if wrong[0] in _FIELDS else 'is no field of a rule'}.")
    for name in _WORDS:
        if not isinstance(row[name], str):
            raise RuleError(f"Rule {code}, {name}: has to be text.")
    for name in ("code", "reason", "source", "jurisdiction"):
        if not row[name].strip():
            raise RuleError(f"Rule {code}, {name}: is empty.")
    if not isinstance(row["version"], int) or isinstance(row["version"], bool) or row["version"] < 1:
        raise RuleError(f"Rule {code}, version: has to be a whole number from 1 up.")
    for name in ("modes", "papers"):
        if not isinstance(row[name], Sequence) or isinstance(row[name], str):
            raise RuleError(f"Rule {code}, {name}: has to be a list.")
    if not row["modes"]:
        raise RuleError(f"Rule {code}, modes: at least one way of travelling is needed.")
    if row["verdict"] in {Verdict.CONDITIONS, Verdict.SPECIALIST} and not row["condition"].strip():
        raise RuleError(f"Rule {code}, condition: the verdict is '{row['verdict']}', so it has to say what to do.")


def _in(code: str, name: str, value: object, allowed: Sequence[str]) -> str:
    if not isinstance(value, str) or value not in allowed:
        raise RuleError(f"Rule {code}, {name}: '{value}' is none of {', '.join(allowed)}.")
    return value


def _day(code: str, value: object) -> date | None:
    if value is None or isinstance(value, date):
        return value
    try:
        return date.fromisoformat(str(value))
    except ValueError as problem:
        raise RuleError(f"Rule {code}, checked_on: '{value}' is no date like 2026-07-27.") from problem
