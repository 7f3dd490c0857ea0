"""Whoever waits behind a hold that goes is told: a line in its own history with its new place."""

from collections.abc import Collection
from datetime import date

from catalog.access.models import User
from catalog.core.history import record
from catalog.loans.calc.waiting import Waiting, rank
from catalog.loans.models import Hold
from catalog.loans.waiting_queries import as_waiting, pencils_near


def tell_who_waits(*, by: User | None, gone: Hold, piece_ids: Collection[int], why: str) -> list[Waiting]:
    """Write "moved up" for each pencil that stood behind these pieces of the hold; call it once they are free.

    `why`: "lapsed" or "was released". Behind a firm hold stands every pencil on its pieces and days, behind a pencil
    those that were made later. Gives who was told, in their order.
    """
    left = as_waiting(gone, piece_ids)
    near = pencils_near(piece_ids, gone.starts, gone.ends)
    firm = gone.strength == Hold.Strength.FIRM
    later = [one for one in near if one.meets(left) and (firm or (one.made, one.key) > (left.made, left.key))]
    told = sorted(later, key=lambda one: (one.made, one.key))
    holds = Hold.objects.in_bulk([one.key for one in told])
    # Their whole line decides the place, on other pieces too.
    everybody = pencils_near([piece for one in told for piece in one.pieces], *_around(told)) if told else []
    for one in told:
        after = {"rank": rank(one, everybody), "behind": gone.reference}
        record(by, "moved up", holds[one.key].subject, after=after, reason=f"{gone.reference} {why}")
    return told


def _around(line: Collection[Waiting]) -> tuple[date, date]:
    return min(one.first for one in line), max(one.last for one in line)
