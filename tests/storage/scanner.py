"""A scanner that is killed by its test: `python -m tests.storage.scanner` scans with four threads until then.

It prints the id of each scan after the action came back, which is when a device would show "done".
"""

import os
import threading
from uuid import uuid4

import django

THREADS = 4


def main() -> None:
    from catalog.access.models import User  # noqa: PLC0415
    from catalog.pieces.models import Piece  # noqa: PLC0415
    from catalog.storage.actions import move_piece  # noqa: PLC0415
    from catalog.storage.models import Place  # noqa: PLC0415

    by = User.objects.get(username="archivist")
    pieces = list(Piece.objects.order_by("number"))
    shelves = list(Place.objects.filter(kind="level").order_by("code"))
    print("ready", flush=True)  # noqa: T201

    def scan(which: int) -> None:
        turn = which
        while True:
            scan_id, turn = uuid4(), turn + 1
            move_piece(by=by, piece=pieces[turn % len(pieces)], to=shelves[turn % len(shelves)], client_id=scan_id)
            os.write(1, f"{scan_id}\n".encode())

    for which in range(THREADS):
        threading.Thread(target=scan, args=(which,)).start()


if __name__ == "__main__":
    django.setup()
    main()
