"""The hold note: what is reserved for whom, from when to when, who said so, and until when it stands."""

from collections.abc import Iterator
from datetime import date

from reportlab.platypus import Flowable

from catalog.core.errors import Refused
from catalog.core.paper import parts
from catalog.loans.hold_queries import pieces_in
from catalog.loans.models import Hold
from catalog.loans.paper_frame import day_words, pieces_words, span_words
from catalog.loans.queries import is_living


def refuse_dead(hold: Hold, today: date) -> None:
    """Raises Refused when the hold holds nothing any more."""
    if not is_living(hold, today):
        raise Refused(f"{hold} holds nothing any more: there is no note to print.")


def note_parts(hold: Hold) -> Iterator[Flowable]:
    """The note. Three queries, however many pieces."""
    rows = pieces_in(hold)
    kept = [row for row in rows if row.released_on is None]
    gone = [row for row in rows if row.released_on is not None]
    verb = "holds" if hold.strength == Hold.Strength.FIRM else "pencils"
    yield parts.answer(f"{hold} {verb} {pieces_words(len(kept))} for {hold.for_whom}.")
    yield parts.facts(_facts(hold))
    yield parts.heading("Pieces")
    table = ([parts.mono(row.piece.number), row.piece.name, row.piece.get_kind_display()] for row in kept)
    yield parts.table(["Number", "Piece", "Kind"], table, [34, 96, 40])
    if gone:
        yield parts.heading("Released since")
        released = ([parts.mono(row.piece.number), row.piece.name, day_words(row.released_on)] for row in gone)
        yield parts.table(["Number", "Piece", "On"], released, [34, 96, 40])
    yield parts.signatures(["For the archive", "For whoever asks"])


def _facts(hold: Hold) -> list[tuple[str, parts.Cell]]:
    call, asks = hold.call, "not recorded: write it here"
    purpose = hold.get_purpose_display() or (call.get_purpose_display() if call else "not recorded")
    return [
        ("Strength", _strength(hold)),
        ("Stands until", _until(hold)),
        ("Purpose", f"{purpose}{f': {call.title}' if call else ''}"),
        ("Place", call.where if call else asks),
        ("Used", span_words(hold.use_from, hold.use_to)),
        ("Held", f"{span_words(hold.starts, hold.ends)}, with the days before for prep and after for quarantine"),
        ("Authorised by", hold.confirmed_by or "nobody yet: a firm hold needs a name"),
        ("Notice for an early release", f"{hold.notice_days} days" if hold.notice_days is not None else "none agreed"),
        ("Who pays", asks),
        ("Note", hold.note or "none"),
    ]


def _strength(hold: Hold) -> str:
    if hold.strength == Hold.Strength.FIRM:
        return "Firm: nobody else can have the pieces on these days."
    return "Pencil: a wish in writing. A firm hold of somebody else goes before it."


def _until(hold: Hold) -> str:
    if hold.strength == Hold.Strength.FIRM:
        return f"{day_words(hold.ends)}, or an earlier release"
    return f"{day_words(hold.lapses_on, 'no day set')}: it lapses by itself unless it is made firm"
