"""When does a rule speak? A small language of conditions, kept as data and answered true, false or unknown.

A condition is a mapping with one or more keys; several keys all have to hold.
  {"all": [...]}  {"any": [...]}            every one, at least one
  {"pack.state": "damaged"}                 is this value
  {"wear_decision": ["a", "b"]}             is one of these
  {"longest_mm": {"gt": 1400, "le": 2000}}  gt, ge, lt, le
Facts: material (a phrase in any of them), kind, made_year, wear_decision, longest_mm, weight_g, magnet_mg_at_2_1m,
magnet_mg_at_4_6m, pest_work_open, in_quarantine, not_found (each true or false),
held_elsewhere (true or false), age_years (from made_year and the trip's year), value.EUR (in that currency),
hazard.CODE (its state), pack.FIELD and wild.FIELD (all such conditions of a rule speak of one pack, or of one part of
an animal or plant), trip.FIELD (trip.leaves, trip.enters and trip.passes hold when one of the countries is among them).
There is no "not" and nothing fires on a cleared hazard: so a further hazard, or a further gap in what is known, can
only let more rules speak, never fewer.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields
from functools import reduce
from operator import ge, gt, le, lt
from typing import Protocol

from catalog.care.calc.hazards import CLEARED, STATES, words_of
from catalog.shipping.calc.facts import Pack, Trip, WildPart

PIECE_FACTS = (
    "kind", "made_year", "wear_decision", "longest_mm", "weight_g", "magnet_mg_at_2_1m", "magnet_mg_at_4_6m",
    "pest_work_open", "in_quarantine", "not_found", "held_elsewhere", "age_years",
)  # fmt: skip
NUMBERS = {
    "made_year", "longest_mm", "weight_g", "magnet_mg_at_2_1m", "magnet_mg_at_4_6m", "age_years", "trip.year",
    "pack.energy_wh", "pack.lithium_g", "pack.charge_pct", "wild.obtained_year", "wild.share_pct", "wild.wood_g",
}  # fmt: skip
# What a piece may have several of; each is judged by itself.
SEVERAL = ("pack", "wild")
_CURRENCY = re.compile(r"[A-Z]{3}")
OPEN_STATES = tuple(state for state in STATES if state != CLEARED)
COMPARE: dict[str, Callable[[float, float], bool]] = {"gt": gt, "ge": ge, "lt": lt, "le": le}

Ways = frozenset[frozenset[str]]
NO_SUBJECT: Ways = frozenset({frozenset()})


class TriggerError(ValueError):
    """A condition that cannot be read; the message says which part."""


class Known(Protocol):
    """What a condition may ask about. None means not known."""

    @property
    def materials(self) -> frozenset[str] | None: ...

    def fact(self, name: str) -> object: ...

    def hazard(self, code: str) -> str | None: ...

    def part_fact(self, scope: str, part: int, name: str) -> object: ...


@dataclass(frozen=True, slots=True)
class Outcome:
    """`missing`: the facts an unknown answer waits for. `ways`: the sets of hazards and packs that made it so."""

    truth: bool | None
    missing: frozenset[str] = frozenset()
    ways: Ways = NO_SUBJECT


FALSE = Outcome(False)


@dataclass(frozen=True, slots=True)
class Atom:
    """One fact against the values or bounds it may have."""

    fact: str
    values: frozenset[object] | None = None
    bounds: tuple[tuple[str, float], ...] = ()
    phrases: tuple[tuple[str, ...], ...] = ()

    def evaluate(self, known: Known, part: int | None) -> Outcome:
        """Unknown where the fact is not known, and where the materials that would tell are not."""
        if self.fact == "material":
            return self._among(known.materials)
        scope, _, name = self.fact.partition(".")
        if scope in SEVERAL:
            return self._about_one(known, part, scope, name)
        value = known.hazard(name) if scope == "hazard" else known.fact(self.fact)
        ways: Ways = frozenset({frozenset({self.fact})}) if scope == "hazard" else NO_SUBJECT
        if value is None:
            return Outcome(None, frozenset({"material" if scope == "hazard" else self.fact}), NO_SUBJECT)
        return Outcome(True, ways=ways) if self._holds(value) else FALSE

    def _about_one(self, known: Known, part: int | None, scope: str, name: str) -> Outcome:
        if part is None:  # none is known of; whether there is one depends on the materials being known
            return FALSE if known.materials is not None else Outcome(None, frozenset({"material"}))
        ways: Ways = frozenset({frozenset({subject_of(scope, part)})})
        value = known.part_fact(scope, part, name)
        if value is None:
            return Outcome(None, frozenset({self.fact}), ways)
        return Outcome(True, ways=ways) if self._holds(value) else FALSE

    def _among(self, materials: frozenset[str] | None) -> Outcome:
        if materials is None:
            return Outcome(None, frozenset({"material"}))
        return Outcome(any(_contains(words_of(material), p) for material in materials for p in self.phrases))

    def _holds(self, value: object) -> bool:
        if self.values is not None:
            return bool(value & self.values) if isinstance(value, frozenset) else value in self.values
        if not isinstance(value, int | float):
            raise TriggerError(f"{self.fact} is compared with a number but is '{value}'.")
        return all(COMPARE[name](value, bound) for name, bound in self.bounds)


@dataclass(frozen=True, slots=True)
class Every:
    """All of the conditions: false as soon as one is false, else unknown as soon as one is unknown."""

    parts: tuple["Node", ...]

    def evaluate(self, known: Known, part: int | None) -> Outcome:
        outcomes = []
        for each in self.parts:
            outcome = each.evaluate(known, part)
            if outcome.truth is False:
                return FALSE
            outcomes.append(outcome)
        missing = frozenset[str]().union(*(outcome.missing for outcome in outcomes))
        ways = reduce(_together, (outcome.ways for outcome in outcomes), NO_SUBJECT)
        return Outcome(None if any(outcome.truth is None for outcome in outcomes) else True, missing, ways)


@dataclass(frozen=True, slots=True)
class Some:
    """At least one of the conditions: true as soon as one is true, else unknown as soon as one is unknown."""

    parts: tuple["Node", ...]

    def evaluate(self, known: Known, part: int | None) -> Outcome:
        outcomes = [each.evaluate(known, part) for each in self.parts]
        for truth in (True, None):
            speaking = [outcome for outcome in outcomes if outcome.truth is truth]
            if speaking:
                missing = frozenset[str]() if truth else frozenset[str]().union(*(o.missing for o in speaking))
                return Outcome(truth, missing, frozenset[frozenset[str]]().union(*(o.ways for o in speaking)))
        return FALSE


Node = Atom | Every | Some


def parse(trigger: object) -> Node:
    """The condition ready to be asked. Raises TriggerError naming the part that cannot be read."""
    if not isinstance(trigger, Mapping) or not trigger:
        raise TriggerError(f"a condition is a mapping with at least one key, not {trigger!r}")
    parts = tuple(_part(str(key), value) for key, value in trigger.items())
    return parts[0] if len(parts) == 1 else Every(parts)


def facts_of(node: Node) -> frozenset[str]:
    """Every fact that the condition asks about."""
    if isinstance(node, Atom):
        return frozenset({node.fact})
    return frozenset[str]().union(*(facts_of(part) for part in node.parts))


def _part(key: str, value: object) -> Node:
    if key in {"all", "any"}:
        if not isinstance(value, list | tuple) or not value:
            raise TriggerError(f"'{key}' needs a list with at least one condition")
        parts = tuple(parse(item) for item in value)
        return Every(parts) if key == "all" else Some(parts)
    _check_fact(key)
    if key == "material":
        return Atom(key, phrases=tuple(words_of(str(word)) for word in _listed(value)))
    if isinstance(value, Mapping):
        return Atom(key, bounds=_bounds(key, value))
    if _is_number(key):
        raise TriggerError(f"'{key}' is a number and needs a bound such as {{'gt': 100}}")
    values = frozenset(_listed(value))
    if key.startswith("hazard.") and not values <= set(OPEN_STATES):
        raise TriggerError(f"'{key}' has the states {', '.join(OPEN_STATES)} only")
    return Atom(key, values=values)


def _check_fact(key: str) -> None:
    scope, _, name = key.partition(".")
    known = {
        "pack": {field.name for field in fields(Pack)},
        "wild": {field.name for field in fields(WildPart)},
        "trip": {field.name for field in fields(Trip)},
    }
    if key == "material" or key in PIECE_FACTS or (scope == "hazard" and name) or name in known.get(scope, set()):
        return
    if scope == "value" and _CURRENCY.fullmatch(name):
        return
    raise TriggerError(f"'{key}' is no fact that a rule can ask about")


def subject_of(scope: str, part: int) -> str:
    """How one pack or part is named among what must be answered for: "pack 1"."""
    return f"{scope} {part + 1}"


def _is_number(key: str) -> bool:
    return key in NUMBERS or key.startswith("value.")


def _bounds(key: str, value: Mapping[object, object]) -> tuple[tuple[str, float], ...]:
    if not _is_number(key):
        raise TriggerError(f"'{key}' is no number, so it has no bounds")
    if not value:
        raise TriggerError(f"'{key}' needs at least one bound")
    bounds = []
    for name, bound in value.items():
        if name not in COMPARE or isinstance(bound, bool) or not isinstance(bound, int | float):
            raise TriggerError(f"'{key}' has the bound {name}: {bound!r}; use gt, ge, lt or le and a number")
        bounds.append((str(name), float(bound)))
    return tuple(bounds)


def _listed(value: object) -> tuple[object, ...]:
    values = tuple(value) if isinstance(value, list | tuple) else (value,)
    if not values or not all(isinstance(item, str | bool) for item in values):
        raise TriggerError(f"{value!r} is no word, yes or no, nor a list of them")
    return values


def _contains(words: tuple[str, ...], phrase: tuple[str, ...]) -> bool:
    return any(words[start : start + len(phrase)] == phrase for start in range(len(words) - len(phrase) + 1))


def _together(left: Ways, right: Iterable[frozenset[str]]) -> Ways:
    return frozenset(a | b for a in left for b in right)
