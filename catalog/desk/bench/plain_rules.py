"""The plainest travel check there can be: each rule one bare Python predicate over a dictionary of values.

It tells which rules speak and nothing else: no reasons, no questions, no order. The baseline of `travel_check`.
"""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from catalog.care.calc.hazards import CLEARED, words_of
from catalog.shipping.calc.facts import Mode, Pack, PieceFacts, Trip, WildPart
from catalog.shipping.calc.rules import RuleBook
from catalog.shipping.calc.trigger import COMPARE, SEVERAL

Values = Mapping[str, Any]
Predicate = Callable[[Values], bool]
Asked = tuple[str, str | None, Predicate]


def predicates(book: RuleBook, mode: Mode) -> list[Asked]:
    """Code, what it asks one by one, and the predicate, of every rule about pieces for this way."""
    rules = [rule for rule in book.by_mode[mode] if not rule.of_journey]
    return [(rule.code, rule.asks_each, _mapping(rule.trigger)) for rule in rules]


def spoke(rules: Iterable[Asked], values: Values, parts: Mapping[str, list[Values]]) -> set[str]:
    """The codes of the rules that hold for these values; those about packs or wild parts for at least one of them."""
    found = set()
    for code, each, holds in rules:
        if holds(values) if each is None else any(holds({**values, **part}) for part in parts[each]):
            found.add(code)
    return found


def values_of(piece: PieceFacts, trip: Trip, book: RuleBook) -> tuple[dict[str, Any], dict[str, list[Values]]]:
    """What the predicates look up; unknown is None and makes each of them false."""
    states = piece.hazard_states()
    values: dict[str, Any] = {name: getattr(piece, name) for name in PieceFacts.__dataclass_fields__}
    values |= {f"hazard.{code}": state for code, state in states.items() if state != CLEARED}
    values |= {f"trip.{name}": getattr(trip, name) for name in Trip.__dataclass_fields__}
    values |= {f"value.{currency}": amount for currency, amount in piece.values}
    values["wear_decision"] = piece.wear_decision or "no decision"
    values["kind"] = piece.kind or None
    values["longest_mm"] = book.usual_longest(piece.kind) if piece.longest_mm is None else piece.longest_mm
    values["words"] = [words_of(material) for material in piece.materials]
    values["age_years"] = None if piece.made_year is None or trip.year is None else trip.year - piece.made_year
    several: dict[str, tuple[Pack | WildPart, ...]] = {"pack": piece.known_packs(), "wild": piece.wild}
    return values, {scope: [_facts(scope, part) for part in several[scope]] for scope in SEVERAL}


def _facts(scope: str, part: Pack | WildPart) -> Values:
    return {f"{scope}.{name}": part.fact(name) for name in type(part).__dataclass_fields__}


def _mapping(trigger: Mapping[str, Any]) -> Predicate:
    tests = [_part(key, value) for key, value in trigger.items()]
    return tests[0] if len(tests) == 1 else lambda values: all(test(values) for test in tests)


def _part(key: str, value: Any) -> Predicate:
    if key in {"all", "any"}:
        tests = [_mapping(one) for one in value]
        return (lambda v: all(t(v) for t in tests)) if key == "all" else (lambda v: any(t(v) for t in tests))
    if key == "material":
        phrases = [words_of(word) for word in (value if isinstance(value, list | tuple) else [value])]
        return lambda v: any(_within(words, phrase) for words in v["words"] for phrase in phrases)
    if isinstance(value, Mapping):
        bounds = [(COMPARE[name], bound) for name, bound in value.items()]
        return lambda v: (x := v.get(key)) is not None and all(compare(x, bound) for compare, bound in bounds)
    wanted = frozenset(value) if isinstance(value, list | tuple) else frozenset([value])
    if key in {"trip.leaves", "trip.enters", "trip.passes"}:
        return lambda v: bool((v.get(key) or frozenset()) & wanted)
    return lambda v: v.get(key) in wanted


def _within(words: tuple[str, ...], phrase: tuple[str, ...]) -> bool:
    return any(words[start : start + len(phrase)] == phrase for start in range(len(words) - len(phrase) + 1))
