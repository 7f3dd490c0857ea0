"""`python -m catalog.desk.bench.return_run RETURNS CLIENTS`: count a loan back at once in a scratch database.

It writes, so it runs in a process of its own whose WRAPKEEP_DATA is a folder that is thrown away afterwards.
"""

import json
import os
import sys
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from datetime import timedelta
from threading import Barrier
from time import perf_counter
from typing import TYPE_CHECKING

import django

if TYPE_CHECKING:
    from catalog.access.models import User
    from catalog.loans.models import Loan
    from catalog.pieces.models import Production


@dataclass(frozen=True, slots=True)
class Counted:
    """What the clients were told, and what stands in the end. `twice`: told that it is back already."""

    kept: int
    twice: int
    errors: tuple[str, ...]
    quarantined: int
    told: int
    seconds: float


def loan_out(production: "Production", count: int, reference: str = "CROWD-1", first: int = 1000) -> "Loan":
    """A loan of `count` pieces that is out, made of rows directly; every tenth piece has two halves."""
    from catalog.core import clock  # noqa: PLC0415 - Django must stand first, here and below
    from catalog.loans.models import Loan, LoanLine, PartReturn  # noqa: PLC0415
    from catalog.pieces.models import Part, Piece  # noqa: PLC0415
    from catalog.storage.models import Place, PlaceKind, Standing, State  # noqa: PLC0415

    home = Place.objects.get_or_create(code="CR-1", defaults={"name": "bay", "kind": PlaceKind.BAY})[0]
    Place.objects.get_or_create(code="CR-Q", defaults={"name": "cold room", "kind": PlaceKind.QUARANTINE})
    left = clock.today() - timedelta(days=5)
    loan = Loan.objects.create(
        reference=reference, to_whom="Second unit", state=Loan.State.OUT, out_on=left, due_on=left + timedelta(days=30)
    )
    numbers = [f"{production.code}-{n:04d}" for n in range(first, first + count)]
    pieces = [Piece(number=number, name="coat", kind="coat", production=production) for number in numbers]
    pieces = Piece.objects.bulk_create(pieces)
    Standing.objects.bulk_create(Standing(piece=piece, state=State.OUT, home=home) for piece in pieces)
    lines = LoanLine.objects.bulk_create(
        LoanLine(loan=loan, piece=piece, state=LoanLine.State.OUT, order=n) for n, piece in enumerate(pieces)
    )
    for line in lines[::10]:
        for letter in "LR":
            part = Part.objects.create(piece=line.piece, letter=letter, name=f"{letter} half")
            PartReturn.objects.create(line=line, part=part)
    return loan


def count_back(by: "User", loan: "Loan", clients: int) -> Counted:
    """All clients at once: each counts its share of the pieces, and then the next client's share once more."""
    from catalog.core.models import HistoryLine  # noqa: PLC0415
    from catalog.loans.models import LoanLine  # noqa: PLC0415

    lines = list(loan.lines.order_by("order").values_list("piece__number", "order"))
    start = Barrier(clients)
    began = perf_counter()
    with ThreadPoolExecutor(clients) as crowd:
        rounds = [[*lines[n::clients], *lines[(n + 1) % clients :: clients]] for n in range(clients)]
        told = list(crowd.map(lambda share: _client(by, loan.pk, share, start), rounds))
    seconds = perf_counter() - began
    return Counted(
        sum(kept for kept, _, _ in told),
        sum(twice for _, twice, _ in told),
        tuple(error for _, _, errors in told for error in errors),
        loan.lines.filter(state=LoanLine.State.QUARANTINED).count(),
        HistoryLine.objects.filter(verb="came back").count(),
        seconds,
    )


def _client(by: "User", loan_id: int, share: Sequence[tuple[str, int]], start: Barrier) -> tuple[int, int, list[str]]:
    from django.db import connections  # noqa: PLC0415

    from catalog.core.errors import WrongState  # noqa: PLC0415
    from catalog.loans.actions import return_piece  # noqa: PLC0415
    from catalog.loans.models import Loan  # noqa: PLC0415

    kept, twice, errors = 0, 0, []
    loan = Loan.objects.get(pk=loan_id)
    start.wait(timeout=60)
    try:
        for number, order in share:
            parts = "LR" if order % 10 == 0 else None
            try:
                return_piece(by=by, loan=loan, code_or_number=number, result="as sent", parts_back=parts)
                kept += 1
            except WrongState:
                twice += 1
            except Exception as error:  # noqa: BLE001 - any other error is counted and fails the measurement
                errors.append(f"{number}: {error!r}")
    finally:
        connections.close_all()
    return kept, twice, errors


def main(returns: int, clients: int) -> dict[str, object]:
    """A store of its own, the loan counted back by one client and then another by all; both answers."""
    from django.contrib.auth.models import Group  # noqa: PLC0415
    from django.core.management import call_command  # noqa: PLC0415

    from catalog.access.duties import Duty  # noqa: PLC0415
    from catalog.access.models import User  # noqa: PLC0415
    from catalog.core.history import faults  # noqa: PLC0415
    from catalog.core.models import HistoryLine  # noqa: PLC0415
    from catalog.pieces.actions import add_production  # noqa: PLC0415

    call_command("migrate", verbosity=0)
    by = User.objects.create_user("bench")
    by.groups.add(Group.objects.get(name=Duty.ARCHIVIST.value))
    production = add_production(by=by, code="BENCH", title="Bench")
    one = count_back(by, loan_out(production, returns, "ALONE", 1000), 1)
    before = HistoryLine.objects.filter(verb="came back").count()
    many = count_back(by, loan_out(production, returns, "CROWD", 5000), clients)
    told = many.told - before
    return {"one": asdict(one), "many": asdict(many) | {"told": told}, "faults": len(list(faults()))}


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "archive_site.settings")
    django.setup()
    print(json.dumps(main(int(sys.argv[1]), int(sys.argv[2]))))  # noqa: T201
