"""Answers kept before: judged once more from their own facts, by the rules of their day and by those of today."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Count

from catalog.loans.models import Call
from catalog.shipping.calc import verdicts
from catalog.shipping.calc.facts import Mode, PieceFacts, Trip
from catalog.shipping.calc.rules import RuleBook
from catalog.shipping.calc.travel import judge
from catalog.shipping.models import Verdict
from catalog.shipping.queries import rule_book


@dataclass(frozen=True, slots=True)
class Replayed:
    """One kept answer, and what the same facts give by the rules of that day and of today."""

    number: str
    name: str
    mode: Mode
    kept: verdicts.Verdict
    then: verdicts.Verdict | None
    now: verdicts.Verdict
    rules: tuple[str, ...]

    @property
    def holds(self) -> bool | None:
        """Whether the rules of that day give the kept answer again; None where its journey was not kept."""
        return None if self.then is None else self.then is self.kept

    @property
    def changed(self) -> bool:
        """Whether today's rules say something else of the same facts."""
        return self.now is not self.kept


def moments(call: Call) -> list[dict[str, Any]]:
    """When answers were kept for the call, the newest first: `made_at` and `n` answers."""
    rows = call.verdicts.order_by().values("made_at").annotate(n=Count("id"))
    return [{"made_at": row["made_at"], "n": row["n"]} for row in rows.order_by("-made_at")]


def replayed(call: Call, at: datetime) -> list[Replayed]:
    """The answers kept at that moment, judged again; four queries, however many."""
    rows = call.verdicts.filter(made_at=at).select_related("piece").order_by("piece__number", "id")
    return list(_again(rows, rule_book(at), rule_book()))


def _again(rows: Iterable[Verdict], then: RuleBook, now: RuleBook) -> Iterable[Replayed]:
    for row in rows:
        facts, mode = PieceFacts.from_json(row.facts), Mode(row.mode)
        trip = Trip.from_json(row.trip or {})
        usual = (row.trip or {}).get("usual_longest_mm")
        book = RuleBook(then.rules, then.questions, {} if usual is None else {facts.kind: usual})
        yield Replayed(
            row.piece.number,
            row.piece.name,
            mode,
            verdicts.Verdict(row.verdict),
            None if row.trip is None else judge(facts, mode, trip, book).verdict,
            judge(facts, mode, trip, now).verdict,
            tuple(row.rules),
        )
