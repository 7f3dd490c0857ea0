"""Loading a wrap list: what is kept becomes pieces with an owner; what is not kept is only written down."""

from collections.abc import Iterable

from catalog.core.errors import Refused
from catalog.exchange.calc.rows import Row
from catalog.exchange.loading import Loading, only
from catalog.pieces import actions as pieces
from catalog.pieces.models import Production
from catalog.pieces.queries import next_number
from catalog.storage import actions as storage

# Fate in the table -> what is counted, and what the answer says of it.
_NOT_KEPT = {
    "return": ("thing to return", "To return"),
    "performer's own": ("thing of a performer", "A performer's own"),
    "dispose": ("thing to dispose of", "To dispose of"),
}


def load_wrap(to: Loading, row: Row) -> None:
    production = to.production(row)
    if row.get("fate") in _NOT_KEPT:
        _leave(to, row, production)
    else:
        _keep(to, row, production)


def numbered_first(rows: Iterable[Row]) -> list[Row]:
    """Rows with a number of their own first, so that no row without one is given theirs."""
    return sorted(rows, key=lambda row: "number" not in row.values)


def _keep(to: Loading, row: Row, production: Production) -> None:
    if "owner" not in row.values:
        raise Refused("what is kept needs an owner: write ours, hired in or performer's own.", field="owner")
    if row.get("owner") != "ours" and "owner_name" not in row.values:
        raise Refused("it is not ours: say who owns it.", field="owner_name")
    if "kind" not in row.values:
        raise Refused("what is kept needs a kind.", field="kind")
    container = to.place(row, "container")
    piece = pieces.record_piece(
        by=to.by,
        number=row.get("number") or next_number(production),
        production=production,
        source=to.source,
        **only(row.values, name="name", kind="kind", owner="owner", owner_name="owner_name", note="note"),
    )
    to.count("piece")
    to.keep(piece, piece.number)
    if container is not None:
        storage.expect_piece(by=to.by, piece=piece, container=container, source=to.source)


def _leave(to: Loading, row: Row, production: Production) -> None:
    fate = row.values["fate"]
    word, why = _NOT_KEPT[fate]
    thing = storage.note_not_kept(
        by=to.by,
        production=production,
        name=row.values["name"],
        fate=fate,
        kind=row.get("kind", ""),
        owner_name=row.get("owner_name", ""),
        container=to.place(row, "container"),
        source=to.source,
    )
    to.count(word)
    to.leave_out(why, f"{thing.name} ({thing.owner_name})" if thing.owner_name else thing.name)
