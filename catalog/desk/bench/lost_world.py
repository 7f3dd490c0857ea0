"""Invented stores in which things get lost the way people lose them, for the measurement of the search.

This simulation knows nothing of the ranking: it makes people with habits, lets them work for some months, lets one of
their errors happen to one thing, and hands over only what a record would show. How often each error happens differs
from store to store by lot. The errors are plain ones of a store (common practice, no source); what comes of it says how
the search does where people err like that, not how it will do in any one archive.
"""

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np

from catalog.storage.calc.clues import Clues, Hop, Lost, Spot
from catalog.storage.calc.misread import likely_readings

START = datetime(2024, 1, 1, 9, tzinfo=UTC)
PEOPLE = ("A", "B", "C", "D")
JOURNEYS = 260
JOBS = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Loss:
    """What the record shows of one lost thing, and where it really is."""

    clues: Clues
    truth: int
    error: str


@dataclass(slots=True)
class Thing:
    """A piece: where its record has it, where it belongs."""

    code: str
    kind: int
    home: int
    at: int
    out: bool = False


@dataclass(slots=True)
class Store:
    """The places, the things, the moves as written, and each person's habits."""

    rng: np.random.Generator
    spots: dict[int, Spot] = field(default_factory=dict)
    things: list[Thing] = field(default_factory=list)
    hops: list[Hop] = field(default_factory=list)
    batches: list[list[int]] = field(default_factory=list)
    bench_of: dict[str, int] = field(default_factory=dict)

    def add(self, code: str, kind: str, parent: int | None, order: int = 0, *, container: bool = False) -> int:
        pk = len(self.spots) + 1
        self.spots[pk] = Spot(pk, code, kind, parent, order, container)
        return pk

    def any_of(self, some: list[int]) -> int:
        return int(some[int(self.rng.integers(len(some)))])

    def of_kind(self, *kinds: str) -> list[int]:
        return [pk for pk, spot in self.spots.items() if spot.kind in kinds]

    def beside(self, pk: int) -> list[int]:
        """The shelf above and below, and trunks on the same shelf."""
        spot = self.spots[pk]
        row = [one.pk for one in self.spots.values() if one.parent == spot.parent and one.container == spot.container]
        here = row.index(pk)
        return [row[i] for i in (here - 1, here + 1) if 0 <= i < len(row)] or row


def losses(number: int, seed: int) -> list[Loss]:
    """So many losses, each in a store of its own; the same for the same seed."""
    return [_loss(np.random.default_rng([seed, each])) for each in range(number)]


def _loss(rng: np.random.Generator) -> Loss:
    store = _built(rng)
    _worked(store)
    shares = rng.dirichlet(np.full(len(ERRORS), 1.2))
    while True:
        name = list(ERRORS)[int(rng.choice(len(ERRORS), p=shares))]
        thing = store.things[int(rng.integers(len(store.things)))]
        own = [hop for hop in store.hops if hop.thing == thing.code]
        truth = None if thing.out or not own else ERRORS[name](store, thing, own[-1])
        if truth is not None and not (truth == thing.at and rng.random() < 0.5):
            return Loss(_as_recorded(store, thing, own), truth, name)


def _built(rng: np.random.Generator) -> Store:
    store = Store(rng)
    site = store.add("S", "site", None)
    for room in range(int(rng.integers(3, 5))):
        hall = store.add(f"R{room}", "room", site, room)
        for rack in range(int(rng.integers(2, 4))):
            row = store.add(f"R{room}-{'GHJK'[rack]}", "rack", hall, rack)
            for bay in range(1, int(rng.integers(3, 5))):
                stand = store.add(f"R{room}-{'GHJK'[rack]}{bay}", "bay", row, bay)
                for level in range(1, 4):
                    shelf = store.add(f"R{room}-{'GHJK'[rack]}{bay}-{level}", "level", stand, level)
                    if rng.random() < 0.25:
                        store.add(f"T{len(store.spots):03d}", "trunk", shelf, container=True)
    dock = store.add("RX", "room", site, 9)
    benches = [store.add(f"RX-B{i}", "bench", dock, i) for i in (1, 2, 3)]
    store.add("RX-Q1", "quarantine", dock, 5)
    store.bench_of = {who: benches[int(rng.integers(3))] for who in PEOPLE}
    holders = store.of_kind("level", "trunk")
    kind_at = {pk: int(rng.integers(8)) for pk in holders}
    for number in range(240):
        home = store.any_of(holders)
        kind = kind_at[home] if rng.random() < 0.7 else int(rng.integers(8))
        store.things.append(Thing(f"X-{1000 + number}", kind, home, home))
    return store


def _worked(store: Store) -> None:
    """Months of work: things are taken in batches to a bench, to another shelf, or out to a job, and back."""
    rng, when = store.rng, START
    for _ in range(JOURNEYS):
        when += timedelta(hours=float(rng.exponential(22)))
        who = PEOPLE[int(rng.choice(4, p=[0.4, 0.3, 0.2, 0.1]))]
        first = store.things[int(rng.integers(len(store.things)))]
        mates = [t for t in store.things if t.at == first.at and not t.out and t is not first]
        batch = [] if first.out else [first, *mates[: int(rng.integers(0, 4))]]
        away = rng.random() < 0.25
        bench = store.bench_of[who] if rng.random() < 0.7 else store.any_of(store.of_kind("bench", "quarantine"))
        for thing in batch:
            _written(store, thing, None if away else bench, when, who, "job" if away else "work")
        back = when + timedelta(days=float(rng.uniform(0.05, 12 if away else 4)))
        for thing in batch:
            if away:
                _written(store, thing, store.of_kind("quarantine")[0], back, who, "job")
            to = thing.home if rng.random() < 0.85 else store.any_of(store.beside(thing.home))
            later = back + timedelta(minutes=float(rng.uniform(5, 600)))
            _written(store, thing, to, later, who if rng.random() < 0.7 else PEOPLE[int(rng.integers(4))], "put away")
    store.hops.sort(key=lambda hop: hop.when)


def _written(store: Store, thing: Thing, to: int | None, when: datetime, who: str, cause: str) -> None:
    start = None if thing.out else thing.at
    store.hops.append(Hop(thing.code, start, to, when, who, cause))
    thing.out = to is None
    thing.at = to or thing.at


def _still_there(store: Store, thing: Thing, last: Hop) -> int | None:
    """It lies where the record has it and was overlooked."""
    return thing.at


def _one_off(store: Store, thing: Thing, last: Hop) -> int | None:
    """It was put one shelf, or one trunk, beside the right one."""
    return store.any_of(store.beside(thing.at))


def _into_the_box(store: Store, thing: Thing, last: Hop) -> int | None:
    """It slid into a trunk that stood on or near the shelf."""
    spot = store.spots[thing.at]
    near = [one.pk for one in store.spots.values() if one.container and one.pk != thing.at]
    same = [pk for pk in near if store.spots[pk].parent in {thing.at, spot.parent}]
    bay = [pk for pk in near if store.spots[store.spots[pk].parent or 0].parent == spot.parent]
    return store.any_of(same or bay) if same or bay else None


def _never_left(store: Store, thing: Thing, last: Hop) -> int | None:
    """The move was written and never made."""
    return last.start


def _with_the_rest(store: Store, thing: Thing, last: Hop) -> int | None:
    """It went where that person put the thing that was carried with it or just before."""
    near = [h for h in store.hops if h.who == last.who and h.thing != thing.code and h.end not in (None, thing.at)]
    near = [h for h in near if abs(h.when - last.when) < timedelta(hours=14)]
    return near[int(store.rng.integers(len(near)))].end if near else None


def _taken_unwritten(store: Store, thing: Thing, last: Hop) -> int | None:
    """Somebody took it along later with other things of the same place and wrote nothing down."""
    later = [h for h in store.hops if h.when > last.when and h.start == thing.at and h.end not in (None, thing.at)]
    return later[int(store.rng.integers(len(later)))].end if later else None


def _left_on_a_bench(store: Store, thing: Thing, last: Hop) -> int | None:
    """Put down for a minute."""
    return store.bench_of[last.who] if store.rng.random() < 0.6 else store.any_of(store.of_kind("bench", "quarantine"))


def _misread(store: Store, thing: Thing, last: Hop) -> int | None:
    """The code of the shelf was misread, or the thing was taken for one whose number reads alike."""
    codes = {spot.code: spot.pk for spot in store.spots.values() if spot.kind in {"level", "trunk"}}
    shelves = [codes[text] for text in likely_readings(store.spots[thing.at].code) if text in codes]
    twins = [t.home for t in store.things if t.code in likely_readings(thing.code) and t.home != thing.at]
    some = shelves + twins
    return store.any_of(some) if some else None


def _with_its_like(store: Store, thing: Thing, last: Hop) -> int | None:
    """It hangs among others of its kind."""
    some = [t.at for t in store.things if t.kind == thing.kind and t is not thing and not t.out and t.at != thing.at]
    return store.any_of(some) if some else None


def _anywhere(store: Store, thing: Thing, last: Hop) -> int | None:
    """Nobody will ever know why."""
    return store.any_of(store.of_kind("level", "trunk", "bench"))


ERRORS: dict[str, Callable[[Store, Thing, Hop], int | None]] = {
    "still there": _still_there,
    "one off": _one_off,
    "into the box": _into_the_box,
    "never left": _never_left,
    "with the rest": _with_the_rest,
    "taken unwritten": _taken_unwritten,
    "left on a bench": _left_on_a_bench,
    "misread": _misread,
    "with its like": _with_its_like,
    "anywhere": _anywhere,
}


def _as_recorded(store: Store, thing: Thing, own: list[Hop]) -> Clues:
    """The same clues that the rows of a real archive would give."""
    last = own[-1]
    lost = Lost(thing.code, False, thing.at, thing.home, last.when, last.who, last.cause, own=tuple(reversed(own)))
    others = [hop for hop in store.hops if hop.thing != thing.code]
    written = [hop for hop in others if hop.end is not None]
    alike = [(t.code, t.at) for t in store.things if t.code in likely_readings(thing.code) and not t.out]
    shelves = {store.spots[pk].code for pk in (last.end, last.start) if pk is not None}
    near = {text for code in shelves for text in likely_readings(code)}
    alike += [(spot.code, spot.pk) for spot in store.spots.values() if spot.code in near]
    room = _room_of(thing.at, store)
    inside = {pk for pk in store.spots if _room_of(pk, store) == room}
    went_out = {hop.thing for hop in others if hop.end is None and _within(hop, last, 14)}
    return Clues(
        lost=lost,
        spots=store.spots,
        hops=tuple(hop for hop in written if _about(hop, last)),
        together=_ends(h for h in written if h.start == thing.at != h.end and h.when >= last.when - timedelta(days=3)),
        returned=_ends(h for h in written if h.start is None and h.thing in went_out and h.when > last.when - JOBS),
        kindred=Counter(t.at for t in store.things if t.kind == thing.kind and t is not thing and not t.out),
        bustle=_ends(h for h in written if h.start in inside and h.end not in inside),
        alike=tuple(alike),
    )


def _about(hop: Hop, last: Hop) -> bool:
    if _within(hop, last, 3) or (hop.who == last.who and _within(hop, last, 14)):
        return True
    return bool(last.cause) and last.cause in hop.cause and _within(hop, last, 60)


def _within(hop: Hop, last: Hop, days: int) -> bool:
    return abs(hop.when - last.when) <= timedelta(days=days)


def _ends(hops: Iterable[Hop]) -> dict[int, int]:
    return dict(Counter(hop.end for hop in hops if hop.end is not None))


def _room_of(pk: int, store: Store) -> int:
    while (parent := store.spots[pk].parent) is not None and store.spots[pk].kind != "room":
        pk = parent
    return pk
