"""`python -m catalog.desk.bench.hold_run race|clash NUMBER NUMBER`: holds raced for, or asked about.

It writes, so it runs in a process of its own whose WRAPKEEP_DATA or DATABASE_URL is thrown away afterwards.
"""

import json
import os
import sys
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from threading import Barrier, Thread
from time import perf_counter
from typing import TYPE_CHECKING

import django

if TYPE_CHECKING:
    from catalog.access.models import User
    from catalog.pieces.models import Piece

PIECES, DAYS, APART = 3, 3, 20
FIRST = date(2100, 1, 4)
# The plain way is beaten in nearly every round: so many show it, and its double bookings need no more disk.
NAIVE_SHARE = 10


@dataclass(frozen=True, slots=True)
class Raced:
    """Rounds of a race: how many had exactly one winner, how losers were told, what else went wrong.

    `whole`: rounds in which the winner's days, and no others, stand in the database afterwards.
    """

    rounds: int
    one_winner: int
    whole: int
    losers: int
    told: int
    most_winners: int
    errors: tuple[str, ...]
    seconds: float


# What a client met: its own reference when it won, the sentence it was told when it lost, or an error.
Answer = tuple[str, str]
Try = Callable[[int, int], Answer]


def first_day(turn: int) -> date:
    """Each round has days of its own, far enough apart that no buffer reaches the next."""
    return FIRST + timedelta(days=APART * turn)


def race(attempt: Try, clients: int, rounds: int) -> list[list[Answer]]:
    """All clients at the same moment, round after round, each on a connection of its own."""
    from django.db import connections  # noqa: PLC0415 - Django must stand first, here and below

    start = Barrier(clients)
    met: list[list[Answer]] = [[("", "")] * clients for _ in range(rounds)]

    def client(number: int) -> None:
        try:
            for turn in range(rounds):
                start.wait(timeout=600)
                try:
                    met[turn][number] = attempt(number, turn)
                except Exception as error:  # noqa: BLE001 - any other error is counted and fails the measurement
                    met[turn][number] = ("error", repr(error)[:200])
        finally:
            connections.close_all()

    threads = [Thread(target=client, args=(number,)) for number in range(clients)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return met


def judged(met: Sequence[Sequence[Answer]], whole: int, seconds: float) -> Raced:
    """Count the rounds: a loser is told when the sentence names the hold that won."""
    one, losers, told, most = 0, 0, 0, 0
    errors: list[str] = []
    for answers in met:
        kinds = Counter(kind for kind, _ in answers)
        winners = [word for kind, word in answers if kind == "won"]
        one += len(winners) == 1
        most = max(most, len(winners))
        losers += kinds["lost"]
        told += sum(
            kind == "lost" and any(f"by {name} for unit {name}" in word for name in winners) for kind, word in answers
        )
        errors += [word for kind, word in answers if kind not in ("won", "lost")]
    return Raced(len(met), one, whole, losers, told, most, tuple(errors[:5]), round(seconds, 1))


def hold_by_all(by: "User", pieces: "list[Piece]", clients: int, rounds: int) -> Raced:
    """The program's own hold: every second client names the pieces backwards, and the days are shifted."""
    from catalog.core.errors import AlreadyHeld  # noqa: PLC0415
    from catalog.loans.actions import hold  # noqa: PLC0415
    from catalog.loans.models import HoldDay  # noqa: PLC0415

    def attempt(number: int, turn: int) -> Answer:
        name = f"R{turn}-{number}"
        start = first_day(turn) + timedelta(days=number % 2)
        try:
            made = hold(
                by=by, reference=name, for_whom=f"unit {name}", pieces=pieces if number % 2 else pieces[::-1],
                use_from=start, use_to=start + timedelta(days=DAYS - 1), strength="firm", confirmed_by="bench",
                days_before=0, days_after=0,
            )  # fmt: skip
        except AlreadyHeld as held:
            return "lost", held.sentence
        return "won", made.reference

    began = perf_counter()
    met = race(attempt, clients, rounds)
    seconds = perf_counter() - began
    wanted = DAYS * len(pieces)
    whole = 0
    for turn, answers in enumerate(met):
        days = (first_day(turn), first_day(turn) + timedelta(days=APART - 1))
        stands = list(HoldDay.objects.filter(day__range=days).values_list("hold__reference", flat=True))
        whole += len(stands) == wanted and set(stands) == {word for kind, word in answers if kind == "won"}
    return judged(met, whole, seconds)


def naive_by_all(pieces: "list[Piece]", clients: int, rounds: int) -> Raced:
    """What anybody would write first: ask whether another firm hold has the pieces, and if not, store one."""
    from django.db import transaction  # noqa: PLC0415

    from catalog.loans.models import Hold, HoldPiece  # noqa: PLC0415

    def attempt(number: int, turn: int) -> Answer:
        name = f"N{turn}-{number}"
        start = first_day(turn) + timedelta(days=number % 2)
        end = start + timedelta(days=DAYS - 1)
        taken = HoldPiece.objects.filter(piece__in=pieces, hold__strength="firm", hold__reference__startswith="N")
        row = taken.filter(hold__starts__lte=end, hold__ends__gte=start).select_related("hold").first()
        if row is not None:
            return "lost", f"held by {row.hold} for {row.hold.for_whom}"
        with transaction.atomic():
            made = Hold.objects.create(
                reference=name, for_whom=f"unit {name}", strength="firm", confirmed_by="bench", use_from=start,
                use_to=end, starts=start, ends=end,
            )  # fmt: skip
            HoldPiece.objects.bulk_create(HoldPiece(hold=made, piece=piece) for piece in pieces)
        return "won", name

    began = perf_counter()
    met = race(attempt, clients, rounds)
    return judged(met, 0, perf_counter() - began)


def staff_and_pieces(count: int) -> "tuple[User, list[Piece]]":
    """A migrated store with one archivist and so many pieces."""
    from django.contrib.auth.models import Group  # noqa: PLC0415
    from django.core.management import call_command  # noqa: PLC0415

    from catalog.access.duties import Duty  # noqa: PLC0415
    from catalog.access.models import User  # noqa: PLC0415
    from catalog.pieces.actions import add_production  # noqa: PLC0415
    from catalog.pieces.models import Piece  # noqa: PLC0415

    call_command("migrate", verbosity=0)
    by = User.objects.create_user("bench")
    by.groups.add(Group.objects.get(name=Duty.ARCHIVIST.value))
    production = add_production(by=by, code="BENCH", title="Bench")
    numbers = [f"BENCH-{n:05d}" for n in range(1, count + 1)]
    made = [Piece(number=number, name="coat", kind="coat", production=production) for number in numbers]
    return by, Piece.objects.bulk_create(made, batch_size=500)


def run_race(clients: int, rounds: int) -> dict[str, object]:
    """Our hold and the plain check-then-insert, one after the other in one database."""
    by, pieces = staff_and_pieces(PIECES)
    ours = hold_by_all(by, pieces, clients, rounds)
    naive = naive_by_all(pieces, clients, max(1, rounds // NAIVE_SHARE))
    return {"ours": asdict(ours), "naive": asdict(naive)}


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "archive_site.settings")
    django.setup()
    from catalog.desk.bench.clash_run import run_clash

    runs = {"race": run_race, "clash": run_clash}
    print(json.dumps(runs[sys.argv[1]](int(sys.argv[2]), int(sys.argv[3]))))  # noqa: T201
