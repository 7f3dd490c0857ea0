"""Keeping verdicts: what was answered, from which facts and which rules, so that it can be looked at again."""

from collections.abc import Collection

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import clock
from catalog.core.checks import keep
from catalog.core.history import record
from catalog.loans.models import Call
from catalog.shipping.models import Verdict
from catalog.shipping.queries import Answer, facts_of, rule_book, trip_of


@transaction.atomic
def keep_verdicts(*, by: User, call: Call, answers: Collection[Answer]) -> int:
    """Store every verdict with its facts, its journey and rule versions, all at one moment; how many."""
    require(by, Ability.SEE_TRAVEL)
    facts = {fact.number: fact.as_json() for fact in facts_of([answer.piece for answer in answers], call)}
    trip, book = trip_of(call).as_json(), rule_book()
    made_at = clock.now()
    number = 0
    for answer in answers:
        kind = facts[answer.piece.number]["kind"]
        for mode, found in answer.by_mode.items():
            keep(
                Verdict(
                    call=call,
                    piece=answer.piece,
                    mode=mode.value,
                    verdict=found.verdict.value,
                    facts=facts[answer.piece.number],
                    trip={**trip, "usual_longest_mm": book.usual_longest(kind)},
                    rules=list(found.rules),
                    made_at=made_at,
                )
            )
            number += 1
    record(by, "travel answers kept", call.subject, after={"pieces": len(answers)})
    return number
