"""The custody statement of a piece as parts of a paper: its dated sightings and the proof that no line was changed."""

from collections.abc import Iterator

from django.utils import timezone
from reportlab.platypus import Flowable

from catalog.core.paper import parts
from catalog.core.qr import label_address
from catalog.desk.custody_queries import Custody, Sighting
from catalog.pieces.models import Piece


def custody_parts(piece: Piece, found: Custody, where: str, code: str) -> Iterator[Flowable]:
    """`where`: the sentence of where it is; `code`: of its label, empty when it has none. It asks no query."""
    yield parts.answer(_answer(piece, found.last_seen))
    owner = piece.get_owner_display() + (f": {piece.owner_name}" if piece.owner_name else "")
    yield parts.facts(
        [
            ("Piece", f"{piece.number}, {piece.name}"),
            ("Production", piece.production.title),
            ("Owner", owner),
            ("By the record of this day", where),
            *([("Its label", parts.qr(label_address(code), 24))] if code else []),
        ]
    )
    yield parts.heading("Sightings, the oldest first")
    if found.sightings:
        rows = ([_moment(one), _words(one), one.by, one.reason] for one in found.sightings)
        yield parts.table(["Day", "What happened", "By", "Why"], rows, [32, 70, 32, 40])
    else:
        yield parts.text("Nobody has recorded a sighting of this piece.")
    yield parts.heading("What this rests on")
    yield from _proof(found)


def _answer(piece: Piece, last: Sighting | None) -> str:
    if last is None:
        return f"{piece.number}: no sighting is recorded."
    return f"{piece.number} was last seen on {timezone.localtime(last.happened):%-d %b %Y} by {last.by}."


def _moment(one: Sighting) -> parts.Cell:
    day = f"{timezone.localtime(one.happened):%-d %b %Y, %H:%M}"
    return parts.stack(parts.small(day), parts.small(f"written {one.late}")) if one.late else day


def _words(one: Sighting) -> parts.Cell:
    return one.words if one.seen else parts.strong(f"{one.words} (no sighting)")


def _proof(found: Custody) -> Iterator[Flowable]:
    lines = f"{found.lines} {'line' if found.lines == 1 else 'lines'}"
    if found.broken is not None:
        yield parts.strong(f"The chain is broken at line {found.broken}: lines from there on may have been changed.")
    else:
        yield parts.text(
            f"The history of this piece has {lines}, of which {len(found.sightings)} stand above. Each line carries a "
            "SHA-256 hash over its facts and the hash of the line before it, so a line that was changed or taken out "
            "would show. The whole chain was worked out again for this paper, and holds. The hash of its last line:"
        )
    yield parts.mono(found.head)
    yield parts.small(
        "Days are as told by whoever recorded the line; if it was written on another day, that day stands beside it. "
        "A sighting says that somebody saw the piece or had it in hand, not in what state it was; a trunk moved or "
        "counted unopened is none of what lies in it."
    )
