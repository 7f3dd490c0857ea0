"""Returns counted back by several clients at once: none may be lost, none counted twice."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Mapping
from tempfile import TemporaryDirectory

from django.conf import settings

from catalog.desk.bench.measuring import BenchError, Measurement

RETURNS, CLIENTS = 200, 4


def returns_at_once() -> Measurement:
    """Returns kept of those scanned, every piece scanned by two of the clients; on SQLite in a folder of its own."""
    with TemporaryDirectory(prefix="wrapkeep-returns-") as folder:
        around = {key: value for key, value in os.environ.items() if key not in ("DATABASE_URL", "WRAPKEEP_HOSTS")}
        ran = subprocess.run(  # noqa: S603 - our own words
            [sys.executable, "-m", "catalog.desk.bench.return_run", str(RETURNS), str(CLIENTS)],
            cwd=settings.BASE_DIR,
            env={**around, "WRAPKEEP_DATA": folder},
            capture_output=True,
            text=True,
            check=False,
        )
    if ran.returncode:
        last = (ran.stderr.strip() or "it said nothing").splitlines()[-1]
        raise BenchError(f"The counting process failed: {last}")
    told = json.loads(ran.stdout.splitlines()[-1])
    one, many = told["one"], told["many"]
    if many["errors"] or told["faults"]:
        raise BenchError(f"{len(many['errors'])} returns failed and {told['faults']} history lines are broken.")
    kept = min(many["kept"], many["quarantined"], many["told"])
    whole = kept == max(many["kept"], many["quarantined"], many["told"]) == RETURNS
    said = (
        f"one client after another: {one['kept']} kept in {one['seconds']:.1f} s; {CLIENTS} at once "
        f"{many['seconds']:.1f} s, and {many['twice']} second scans told that it is back already"
    )
    ok = whole and many["twice"] == RETURNS
    return Measurement(
        "returns_at_once", kept, "returns", said, one["kept"], round(kept / RETURNS, 3), f"all {RETURNS}", ok
    )


RETURN_BENCHES: Mapping[str, Callable[[], Measurement]] = {"returns_at_once": returns_at_once}
