"""A small store for these tests: two rooms, shelves, a trunk with two pieces in it. Made by the actions themselves."""

from dataclasses import dataclass, field

from catalog.pieces.actions import add_production, record_piece
from catalog.pieces.models import Piece, Production
from catalog.storage.actions import add_place, receive_piece
from catalog.storage.models import Place
from tests.cast import Cast


@dataclass
class Store:
    """The cast is at hand so that a test reads as who did what."""

    cast: Cast
    production: Production
    places: dict[str, Place] = field(default_factory=dict)

    def __getitem__(self, code: str) -> Place:
        """The place as it is in the database now."""
        return Place.objects.get(pk=self.places[code].pk)

    def place(self, code: str, kind: str, parent: str | None = None, **facts: object) -> Place:
        """Add a place; its name is made from its kind and code."""
        made = add_place(
            by=self.cast.archivist,
            code=code,
            name=facts.pop("name", f"{kind} {code}"),  # type: ignore[arg-type]
            kind=kind,
            parent=self.places[parent] if parent else None,
            **facts,  # type: ignore[arg-type]
        )
        self.places[code] = made
        return made

    def piece(self, number: str, at: str | None = None, *, home: str | None = None, **facts: object) -> Piece:
        """Record a piece and, with `at`, receive it there."""
        words: dict[str, object] = {"name": f"coat {number}", "kind": "coat", "production": self.production}
        made = record_piece(by=self.cast.archivist, number=number, **(words | facts))  # type: ignore[arg-type]
        if at is not None:
            receive_piece(
                by=self.cast.archivist,
                piece=made,
                place=self.places[at],
                home=self.places[home] if home else self.places[at],
            )
        return made


def make_store(cast: Cast) -> Store:
    """Rooms MAIN and DOCKS; racks, a bench, a quarantine cage, an away place; trunk BOX1 holds two pieces."""
    production = add_production(by=cast.archivist, code="MOOR", title="The Moor")
    store = Store(cast, production)
    store.place("SITE", "site")
    store.place("MAIN", "room", "SITE", order=1, name="Main Hall", target_c_tenths=170, target_rh=50)
    store.place("DOCKS", "room", "SITE", order=2, name="Receiving")
    store.place("MAIN-2-1", "level", "MAIN", name="rack 2, level 1")
    store.place("MAIN-10-1", "level", "MAIN", name="rack 10, level 1", needs_steps=True)
    store.place("CAGE", "quarantine", "DOCKS", name="quarantine cage")
    store.place("BENCH", "bench", "DOCKS", name="bench")
    store.place("MUSEUM", "away", None, name="away: a museum")
    store.place("BOX1", "trunk", "MAIN-2-1", home=store.places["MAIN-2-1"], tare_g=8000, name="trunk 1")
    store.place("BOX2", "crate", "MAIN-2-1", home=store.places["MAIN-10-1"], tare_g=5000, name="crate 2")
    store.piece("M-0001", "BOX1", weight_g=9000)
    store.piece("M-0002", "BOX1", weight_g=4000)
    store.piece("M-0003", "MAIN-10-1", home="MAIN-2-1", weight_g=2500)
    return store
