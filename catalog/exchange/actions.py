"""Loading a table: read, understood, written through the rooms' actions in one transaction, or not at all."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.errors import BadTable, CatalogError
from catalog.exchange.calc.columns import KIND_WORDS, TABLES, TRAVEL_RULES
from catalog.exchange.calc.mapping import NO_MAPPING, MappingError, read_mapping
from catalog.exchange.calc.order import parents_first
from catalog.exchange.calc.rows import Parsed, Row, parse
from catalog.exchange.call_loaders import load_call, load_hold, load_need, load_performer
from catalog.exchange.heat_loaders import gather_dress, gather_hours, keep_dresses, keep_hours
from catalog.exchange.house_loaders import (
    load_band,
    load_container,
    load_exclusion_rule,
    load_lead_time,
    load_move,
    load_place,
    load_production,
    load_role,
    load_slot,
)
from catalog.exchange.loading import Loading
from catalog.exchange.piece_loaders import load_piece
from catalog.exchange.reading import PASTED, read_json, read_table
from catalog.exchange.wrap_loaders import load_wrap, numbered_first
from catalog.loans.models import Call
from catalog.shipping.calc.rules import RuleError, rule_book_from_json
from catalog.shipping.rule_actions import keep_questions, keep_rule

LOADERS: Mapping[str, Callable[[Loading, Row], None]] = {
    "productions": load_production,
    "roles": load_role,
    "slots": load_slot,
    "lead_times": load_lead_time,
    "places": load_place,
    "containers": load_container,
    "moves": load_move,
    "pieces": load_piece,
    "wrap": load_wrap,
    "bands": load_band,
    "exclusion_rules": load_exclusion_rule,
    "calls": load_call,
    "needs": load_need,
    "holds": load_hold,
    "roster": load_performer,
    "weather": gather_hours,
    "heat_dress": gather_dress,
}
# What is stored together once every row was understood.
FINISHERS: Mapping[str, Callable[[Loading], None]] = {"weather": keep_hours, "heat_dress": keep_dresses}
_ORDER: Mapping[str, Callable[[tuple[Row, ...]], Iterable[Row]]] = {"places": parents_first, "wrap": numbered_first}
# Rows shown before loading; more is for the spreadsheet itself.
SHOWN = 12
# Not shown in a terminal or preview: a roster's sizes and names stay with those who read size sheets.
_SHOWN_OF_ROSTER = ("number", "days", "taped_on", "card_date", "delete_on")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a load did or, as a dry run, would do: counts by word, notes, and the first rows as understood."""

    kind: str
    counts: Mapping[str, int]
    notes: tuple[str, ...]
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    total: int
    dry_run: bool

    @property
    def stored(self) -> tuple[str, ...]:
        """ "3 pieces", "7 measures": what was stored or would be, word by word."""
        return tuple(f"{number} {_plural(word, number)}" for word, number in self.counts.items())

    @property
    def sentence(self) -> str:
        """The answer in one line."""
        told = ", ".join(self.stored) or "Nothing"
        return f"{told} would be stored; nothing was." if self.dry_run else f"{told} stored."


def ability_for(kind: str) -> Ability:
    """Who may load this kind: rosters hold bodies, so they are the wardrobe lead's; who plans for heat, its tables."""
    return {"roster": Ability.FIT, "weather": Ability.PLAN_HEAT, "heat_dress": Ability.PLAN_HEAT}.get(
        kind, Ability.IMPORT
    )


def import_table(
    *,
    by: User,
    kind: str,
    data: bytes,
    file_name: str,
    mapping: Any = None,
    call: str = "",
    dry_run: bool = False,
    shift_days: int = 0,
    each: Callable[[Iterable[Row]], Iterable[Row]] = iter,
) -> Outcome:
    """Load a table of a kind. `mapping` is parsed JSON or None; `each` may wrap the rows (a progress bar).

    Raises BadTable with every row's sentence, and then nothing is stored; a dry run stores nothing either way.
    """
    if kind not in KIND_WORDS:
        raise BadTable(f"“{kind}” is no kind of table; there are {', '.join(KIND_WORDS)}.")
    require(by, ability_for(kind))
    if kind == TRAVEL_RULES:
        return _travel_rules(by, data, file_name, dry_run)
    table = TABLES[kind]
    for_call = _call_for(call) if table.needs_call else None
    try:
        rules = NO_MAPPING if mapping is None else read_mapping(mapping, table)
    except MappingError as wrong:
        raise BadTable(str(wrong)) from wrong
    parsed = parse(table, read_table(data, file_name), rules, shift_days=shift_days)
    if parsed.faults:
        raise BadTable(_refusal(file_name, parsed.faults), parsed.faults)
    to = Loading(by=by, source=f"from {file_name}", call=for_call)
    rows = _ORDER.get(kind, tuple)(parsed.rows)
    with transaction.atomic():
        for row in each(rows):
            with to.row(row):
                LOADERS[kind](to, row)
            if to.full:
                break
        if not to.faults and kind in FINISHERS:
            with to.table():
                FINISHERS[kind](to)
        if to.faults:
            raise BadTable(_refusal(file_name, to.faults), to.faults)
        if dry_run:
            transaction.set_rollback(True)
    return _outcome(kind, to, parsed, dry_run)


def _call_for(reference: str) -> Call:
    if not reference:
        raise BadTable("Say which call this table is for.")
    call = Call.objects.filter(reference__iexact=reference).first()
    if call is None:
        raise BadTable(f"There is no call “{reference}”.")
    return call


def _travel_rules(by: User, data: bytes, file_name: str, dry_run: bool) -> Outcome:
    """Rules come as JSON with questions beside them; the whole book must hold before one rule is kept."""
    values = read_json(data, file_name)
    if not isinstance(values, dict) or not isinstance(values.get("rules"), list):
        raise BadTable(f"{file_name} is no rule book: an object with rules, questions and usual_longest_mm.")
    try:
        book = rule_book_from_json(values)
    except (RuleError, KeyError, TypeError, AttributeError) as wrong:
        raise BadTable(f"{file_name}: {wrong}", [str(wrong)]) from wrong
    faults = []
    with transaction.atomic():
        for rule in book.rules:
            try:
                keep_rule(by=by, rule=rule)
            except CatalogError as wrong:
                faults.append(f"Rule {rule.code}: {wrong.sentence}")
        if faults:
            raise BadTable(_refusal(file_name, faults), faults)
        keep_questions(by=by, book=book)
        if dry_run:
            transaction.set_rollback(True)
    shown = tuple((rule.code, str(rule.verdict), rule.reason) for rule in book.rules[:SHOWN])
    return Outcome(
        TRAVEL_RULES,
        {"travel rule": len(book.rules)},
        (),
        ("code", "verdict", "reason"),
        shown,
        len(book.rules),
        dry_run,
    )


def _outcome(kind: str, to: Loading, parsed: Parsed, dry_run: bool) -> Outcome:
    filled = dict.fromkeys(name for row in parsed.rows for name in row.values)
    header = tuple(name for name in filled if kind != "roster" or name in _SHOWN_OF_ROSTER)
    shown = tuple(tuple(_shown(row.get(name)) for name in header) for row in parsed.rows[:SHOWN])
    return Outcome(kind, dict(to.counts), (*parsed.notes, *to.left_out), header, shown, len(parsed.rows), dry_run)


def _shown(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(str(one) for one in value) if isinstance(value, tuple) else str(value)


def _refusal(file_name: str, faults: Iterable[str]) -> str:
    count = len(list(faults))
    said = "The pasted rows were" if file_name == PASTED else f"{file_name} was"
    return f"{said} not loaded: {count} {_plural('fault', count)}. Nothing was stored."


def _plural(word: str, number: int) -> str:
    if number == 1:
        return word
    for first in ("piece ", "container ", "loan ", "thing "):
        if word.startswith(first):
            return f"{first.strip()}s {word.removeprefix(first)}"
    return {
        "match": "match values",
        "hour of weather": "hours of weather",
        "dress in the heat": "dresses in the heat",
    }.get(word, f"{word}s")
