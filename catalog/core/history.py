"""Writing and checking history lines: one append-only chain a subject.

A table says which of its fields may stand in a line (`FIELDS`); a body or a performer's name is in none of them.
"""

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser
from django.db import connection, models
from django.utils import timezone

from catalog.core import frozen, triggers
from catalog.core.models import HistoryLine

GENESIS = "0" * 64
# Which fields of each table may enter a line. Rooms add their tables here through `allow`.
FIELDS: dict[str, frozenset[str]] = {}


def allow(kind: str, fields: Iterable[str]) -> None:
    """Whitelist the fields of a subject kind; a room calls it once, beside its tables."""
    FIELDS[kind] = FIELDS.get(kind, frozenset()) | frozenset(fields)


@dataclass(frozen=True, slots=True)
class Subject:
    """What a line is about: a kind word and the public name of the thing (a piece number, a place code)."""

    kind: str
    id: str


def record(
    by: AbstractBaseUser | None,
    verb: str,
    subject: Subject,
    *,
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
    reason: str = "",
    happened: datetime | None = None,
    client_id: UUID | None = None,
    by_name: str = "",
) -> HistoryLine:
    """Append one line to the subject's chain, inside the caller's transaction.

    Raises ValueError when a field is not whitelisted for the subject's kind: that is a fault of the program.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("A history line is written in the same transaction as what it tells.")
    _only_allowed(subject.kind, before, after)
    _lock_chain(subject)
    chain = HistoryLine.objects.filter(subject_kind=subject.kind, subject_id=subject.id)
    seq, head = chain.order_by("-seq").values_list("seq", "hash").first() or (0, GENESIS)
    now = timezone.now()
    line = HistoryLine(
        subject_kind=subject.kind,
        subject_id=subject.id,
        seq=seq + 1,
        happened=happened or now,
        recorded=now,
        by=by,  # type: ignore[misc]  # core knows no user table, only that there is one
        by_name=by_name or (by.get_username() if by is not None else "the program"),
        verb=verb,
        before=_plain(before),
        after=_plain(after),
        reason=reason,
        client_id=client_id,
        previous_hash=head,
    )
    line.hash = line_hash(line)
    line.save(force_insert=True)
    return line


def line_hash(line: HistoryLine) -> str:
    """SHA-256 over the line's facts and the hash before it."""
    facts = [
        line.subject_kind,
        line.subject_id,
        line.seq,
        _moment(line.happened),
        _moment(line.recorded),
        line.by_id,
        line.by_name,
        line.verb,
        line.before,
        line.after,
        line.reason,
        str(line.client_id or ""),
        line.previous_hash,
    ]
    return hashlib.sha256(json.dumps(facts, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def head_hash(subject: Subject) -> str:
    """The hash of the newest line, or the genesis hash of an empty chain."""
    lines = HistoryLine.objects.filter(subject_kind=subject.kind, subject_id=subject.id)
    return lines.order_by("-seq").values_list("hash", flat=True).first() or GENESIS


def lines_of(subject: Subject) -> models.QuerySet[HistoryLine]:
    """A subject's lines, newest first."""
    return HistoryLine.objects.filter(subject_kind=subject.kind, subject_id=subject.id).order_by("-seq")


def faults() -> Iterator[str]:
    """A sentence for each chain that is broken (its first broken line) and for each missing trigger."""
    for name in triggers.missing(connection):
        yield f"The trigger {name} is missing: history lines could be changed."
    for name in frozen.missing(connection):
        yield f"The trigger {name} is missing: what was signed could be changed."
    chain: tuple[str, str] | None = None
    previous, expected, told = GENESIS, 1, False
    for line in HistoryLine.objects.order_by("subject_kind", "subject_id", "seq").iterator(chunk_size=2000):
        if (line.subject_kind, line.subject_id) != chain:
            chain, previous, expected, told = (line.subject_kind, line.subject_id), GENESIS, 1, False
        if not told and (line.seq != expected or line.previous_hash != previous or line.hash != line_hash(line)):
            yield f"{line.subject_kind} {line.subject_id}: line {line.seq} does not follow from the lines before it."
            told = True
        previous, expected = line.hash, line.seq + 1


def broken_line(lines: Iterable[HistoryLine]) -> int | None:
    """The number of the first line of one chain that does not follow from those before it; None: the chain is whole.

    `lines` are all of the subject's, the oldest first.
    """
    previous = GENESIS
    for expected, line in enumerate(lines, 1):
        if line.seq != expected or line.previous_hash != previous or line.hash != line_hash(line):
            return line.seq
        previous = line.hash
    return None


def changed(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """Only the fields that differ, as a before and an after."""
    keys = [key for key in after if before.get(key) != after[key]]
    return {key: before.get(key) for key in keys}, {key: after[key] for key in keys}


def _lock_chain(subject: Subject) -> None:
    """On PostgreSQL, one writer a chain at a time: a row lock on the last line would still show it as last."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", [f"{subject.kind} {subject.id}"])


def _only_allowed(kind: str, *sides: Mapping[str, Any] | None) -> None:
    allowed = FIELDS.get(kind)
    if allowed is None:
        raise ValueError(f"No fields are whitelisted for history lines of a {kind}.")
    for side in sides:
        for field in side or ():
            if field not in allowed:
                raise ValueError(f"The field {field} may not stand in a history line of a {kind}.")


def _plain(side: Mapping[str, Any] | None) -> dict[str, Any]:
    return {key: _value(item) for key, item in (side or {}).items()}


def _value(item: Any) -> Any:
    if isinstance(item, models.Model):
        return str(item)
    if isinstance(item, datetime):
        return _moment(item)
    if isinstance(item, date):
        return item.isoformat()
    if isinstance(item, Decimal):
        return str(item)
    if isinstance(item, (list, tuple, set, frozenset)):
        return [_value(one) for one in item]
    return item


def _moment(when: datetime) -> str:
    """UTC to the microsecond: both databases give the same text back."""
    return when.astimezone(UTC).isoformat()
