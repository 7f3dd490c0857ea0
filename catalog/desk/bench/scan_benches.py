"""How fast scans are kept: one writer against bare transactions, sixteen against Django's own settings. On SQLite."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Mapping
from statistics import median
from tempfile import TemporaryDirectory
from typing import Any

from django.conf import settings

from catalog.desk.bench.measuring import BenchError, Measurement

SCANS, ROUNDS = 400, 5
CROWD_S, CROWD_ROUNDS = 3.0, 3
WRITERS = 16
MOST_TIMES_BARE = 3.0
LEAST_TIMES_DEFAULT = 5.0


def scan_write() -> Measurement:
    """Scans a second by the real action, against the same statements with the same values in a bare loop."""
    told = _run("alone", SCANS, ROUNDS)
    ours, bare, cursor = (SCANS / median(told[word]) for word in ("ours", "bare", "cursor"))
    said = (
        f"bare sqlite3: the same {told['statements']} statements in one IMMEDIATE transaction, synchronous=FULL; "
        f"through Django's cursor {cursor:.0f} scans/s"
    )
    ratio = bare / ours
    return _rate("scan_write", ours, bare, said, ratio, f"at most {MOST_TIMES_BARE:g}", ratio <= MOST_TIMES_BARE)


def scan_write_16() -> Measurement:
    """Scans kept a second by sixteen writers at once. An error of ours is no measurement."""
    told = _run("crowd", round(10 * CROWD_S), CROWD_ROUNDS)
    failed = sum(errors for _, errors in told["ours"])
    if failed:
        raise BenchError(f"{failed} scans of {WRITERS} writers failed with our settings.")
    ours, plain = (median(kept for kept, _ in told[word]) / CROWD_S for word in ("ours", "plain"))
    errors = sum(errors for _, errors in told["plain"])
    said = (
        f"Django's settings for SQLite as they come (deferred, rollback journal), {WRITERS} writers: "
        f"{errors:,} times “database is locked”, ours never"
    )
    ratio = ours / max(plain, 1 / CROWD_S)
    goal = f"at least {LEAST_TIMES_DEFAULT:g}"
    return _rate("scan_write_16", ours, plain, said, ratio, goal, ratio >= LEAST_TIMES_DEFAULT)


def _rate(name: str, ours: float, baseline: float, said: str, ratio: float, goal: str, ok: bool) -> Measurement:
    return Measurement(name, round(ours, 1), "scans/s", said, round(baseline, 1), round(ratio, 2), goal, ok)


def _run(kind: str, number: int, rounds: int) -> dict[str, Any]:
    """In a process and a folder of its own: a bench must not write into anybody's archive."""
    with TemporaryDirectory(prefix="wrapkeep-scan-") as folder:
        around = {key: value for key, value in os.environ.items() if key not in ("DATABASE_URL", "WRAPKEEP_HOSTS")}
        words = [sys.executable, "-m", "catalog.desk.bench.scan_run", kind, str(number), str(rounds)]
        ran = subprocess.run(  # noqa: S603 - our own words
            words,
            cwd=settings.BASE_DIR,
            env={**around, "WRAPKEEP_DATA": folder},
            capture_output=True,
            text=True,
            check=False,
        )
    if ran.returncode:
        last = (ran.stderr.strip() or "it said nothing").splitlines()[-1]
        raise BenchError(f"The scanning process failed: {last}")
    told: dict[str, Any] = json.loads(ran.stdout.splitlines()[-1])
    if "differ" in told:
        raise BenchError(f"The two programs do not leave the same behind ({told['differ']}).")
    return told


SCAN_BENCHES: Mapping[str, Callable[[], Measurement]] = {"scan_write": scan_write, "scan_write_16": scan_write_16}
