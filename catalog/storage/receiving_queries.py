"""Trunks that came in and are not listed yet; the number the next one gets; where it is put."""

import re
from dataclasses import dataclass

from django.db.models import Count, QuerySet

from catalog.core import house
from catalog.pieces.models import Piece
from catalog.storage import tree
from catalog.storage.calc.lifting import LiftMark, lift_mark
from catalog.storage.models import Place, PlaceKind
from catalog.storage.receiving_models import Receipt, ReceiptLine, WrapThing
from catalog.storage.standing import APART

MOST_SHOWN = 100


def open_receipts() -> QuerySet[Receipt]:
    """What is received and not listed, the oldest first, each with `done`: how many things are listed."""
    rows = Receipt.objects.filter(closed_on__isnull=True).annotate(done=Count("lines"))
    return rows.select_related("container__parent", "production").order_by("received_on", "id")


def open_receipt_of(container: Place) -> Receipt | None:
    """Its open receipt, if it is received and not listed."""
    return open_receipts().filter(container=container).first()


def waiting() -> tuple[int, Receipt | None]:
    """How many are received and not listed, and the oldest of them."""
    number = Receipt.objects.filter(closed_on__isnull=True).count()
    return number, open_receipts().first() if number else None


def progress_words(listed: int, said: int | None) -> str:
    """ "7 of 9 listed"; where nobody said a count it says so."""
    return f"{listed} listed, nobody said how many" if said is None else f"{listed} of {said} listed"


def next_trunk_code() -> str:
    """The next number for a container that comes in: the highest of the house's letters plus one, never a gap."""
    letters = str(house.value("receive.letters")).strip() or "T"
    pattern = re.compile(rf"^{re.escape(letters)}(\d{{1,9}})$", re.IGNORECASE)
    codes = Place.objects.filter(code__istartswith=letters).values_list("code", flat=True)
    numbers = [found[1] for code in codes if (found := pattern.match(code))]
    width = max((len(number) for number in numbers), default=2)
    return f"{letters}{max((int(number) for number in numbers), default=0) + 1:0{width}d}"


def arrival_place() -> Place | None:
    """Where the last one was put, else the first quarantine place, else the dock."""
    last = Receipt.objects.select_related("container__parent").order_by("-id").first()
    there = last.container.parent if last else None
    if there is not None and any(step.kind in APART for step in tree.path(there)):
        return there
    for kind in (PlaceKind.QUARANTINE, PlaceKind.DOCK):
        if found := Place.objects.filter(kind=kind).order_by("order", "code").first():
            return found
    return None


@dataclass(frozen=True, slots=True)
class Unpacking:
    """How far the unpacking of one trunk is."""

    receipt: Receipt
    listed: int
    lines: list[ReceiptLine]
    expected: list[Piece]
    not_kept: list[WrapThing]
    more_waiting: int

    @property
    def words(self) -> str:
        return progress_words(self.listed, self.receipt.said)

    @property
    def complete(self) -> bool:
        """Whether as many are listed as were said."""
        return self.receipt.said is not None and self.listed >= self.receipt.said > 0


def unpacking(receipt: Receipt) -> Unpacking:
    """The newest lines of a trunk, how many there are, what else is recorded in it and what its list sets apart.

    Five queries at most.
    """
    lines = receipt.lines.select_related("piece__standing__home", "found").order_by("-id")
    shown = list(lines[:MOST_SHOWN])
    listed = len(shown) if len(shown) < MOST_SHOWN else lines.count()
    not_kept = list(WrapThing.objects.filter(container_id=receipt.container_id)[:MOST_SHOWN])
    others = Receipt.objects.filter(closed_on__isnull=True).exclude(pk=receipt.pk).count()
    in_it = Piece.objects.filter(standing__place=receipt.container_id).exclude(receipt_lines__receipt=receipt)
    expected = list(in_it.order_by("number")[:MOST_SHOWN])
    return Unpacking(receipt, listed, shown, expected, not_kept, others)


def lift_as_received(receipt: Receipt, steps: list[Place]) -> LiftMark:
    """The lift mark of a trunk that nobody has opened: from its weight as it came in, else not known."""
    limit = int(house.value("lift.one_person_g"))
    above = any(step.needs_steps for step in steps)
    return lift_mark(receipt.gross_g or 0, 0 if receipt.gross_g else 1, limit, above_reach=above)


def not_kept() -> list[WrapThing]:
    """What wrap lists say is not kept, the newest lists first."""
    rows = WrapThing.objects.select_related("production", "container").order_by(
        "-listed_on", "production", "fate", "id"
    )
    return list(rows[:MOST_SHOWN])
