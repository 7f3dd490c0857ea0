"""What was seen against what is recorded: what is missing, extra or in the wrong place, and labels that say another.

A place is named by its id, whether shelf or container; a thing is `("piece", id)` or `("container", id)`.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

Thing = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Seen:
    """One sighting. Without a thing its label could not be read, or led to nothing that is recorded."""

    id: int
    at: datetime
    place: int
    thing: Thing | None = None
    is_container: bool = False
    inside: int | None = None
    labelled: bool = True


@dataclass(frozen=True, slots=True)
class Recorded:
    """Where the record has a thing: shelf or container, whether it is here at all, when it was put there."""

    place: int | None
    here: bool = True
    since: datetime | None = None


@dataclass(frozen=True, slots=True)
class Otherwise:
    """A container whose content is another's: so many of the other's list agree."""

    sighting: int
    match: int
    agree: tuple[Thing, ...]
    seen: int
    listed: int


@dataclass(slots=True)
class Difference:
    """What the count found. Sightings by id, things as named above."""

    missing: list[Thing] = field(default_factory=list)
    extra: list[int] = field(default_factory=list)
    wrong: list[int] = field(default_factory=list)
    unreadable: list[int] = field(default_factory=list)
    unlabelled: list[int] = field(default_factory=list)
    otherwise: list[Otherwise] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Count:
    """All that is compared.

    `listed`: what each container holds by the record. `area`: shelves and containers that belong to this count.
    `expected`: things recorded on shelves that were counted, each with when its shelf was done.
    """

    seen: tuple[Seen, ...]
    recorded: Mapping[Thing, Recorded]
    listed: Mapping[int, frozenset[Thing]]
    area: frozenset[int]
    expected: Mapping[Thing, datetime]


def differences(count: Count) -> Difference:
    """Compare. What was moved by the record after it was seen, or after its shelf was done, is left alone."""
    found = Difference()
    newest = _newest(count.seen)
    by_id = {one.id: one for one in count.seen}
    found.otherwise = sorted(_otherwise(count, newest), key=lambda one: one.sighting)
    really = {one.sighting: one.match for one in found.otherwise}
    explained = {thing for one in found.otherwise for thing in one.agree}
    explained |= {("container", match) for match in really.values()}
    for one in count.seen:
        if one.thing is None:
            if one.id not in really:
                (found.unreadable if one.labelled else found.unlabelled).append(one.id)
        elif newest[one.thing] is one and one.thing not in explained and one.id not in really:
            _judge(one, count, by_id, really, found)
    # A label that says another is no sighting of the thing it names.
    seen = {thing for thing, one in newest.items() if one.id not in really} | explained
    found.missing = _missing(count, seen)
    return found


def spot(one: Seen, by_id: Mapping[int, Seen], really: Mapping[int, int]) -> int:
    """The id of the container or shelf in which it was seen."""
    box = by_id.get(one.inside or 0)
    if box is None:
        return one.place
    if box.id in really:
        return really[box.id]
    return box.thing[1] if box.thing is not None else one.place


def best_match(
    contents: Iterable[Thing], listed: Mapping[int, frozenset[Thing]]
) -> tuple[int, frozenset[Thing]] | None:
    """The container whose list agrees with most of the content; of equals the one with the shorter list."""
    inside = frozenset(contents)
    agreeing = [(box, inside & things) for box, things in listed.items() if inside & things]
    return max(agreeing, key=lambda pair: (len(pair[1]), -len(listed[pair[0]]), -pair[0]), default=None)


def _newest(seen: Iterable[Seen]) -> dict[Thing, Seen]:
    newest: dict[Thing, Seen] = {}
    for one in sorted(seen, key=lambda one: (one.at, one.id)):
        if one.thing is not None:
            newest[one.thing] = one
    return newest


def _otherwise(count: Count, newest: Mapping[Thing, Seen]) -> Iterable[Otherwise]:
    """Containers in which at least half of what could be read is another container's, and more than their own."""
    inside: dict[int, set[Thing]] = defaultdict(set)
    for thing, one in newest.items():
        if one.inside is not None:
            inside[one.inside].add(thing)
    claims = []
    for box in count.seen:
        contents = inside.get(box.id)
        match = best_match(contents, count.listed) if box.is_container and contents else None
        if match is None or not contents or box.thing == ("container", match[0]):
            continue
        own = len(contents & count.listed.get(box.thing[1], frozenset())) if box.thing else 0
        if len(match[1]) > own and 2 * len(match[1]) >= len(contents):
            agree = tuple(sorted(match[1]))
            claims.append(Otherwise(box.id, match[0], agree, len(contents), len(count.listed[match[0]])))
    # Two trunks cannot both be the same one: the one that holds more of it is named.
    held = Counter({(one.match, one.sighting): len(one.agree) for one in claims})
    return [
        one for one in claims if held[one.match, one.sighting] == max(n for k, n in held.items() if k[0] == one.match)
    ]


def _judge(one: Seen, count: Count, by_id: Mapping[int, Seen], really: Mapping[int, int], found: Difference) -> None:
    if one.thing is None:
        return
    record = count.recorded.get(one.thing)
    if record is not None and record.since is not None and record.since > one.at:
        return
    here = spot(one, by_id, really)
    if record is not None and record.place == here:
        box = count.recorded.get(("container", here))
        # What lies in a lost container on whose list it is comes back with it, by the container's own line.
        if record.here or (box is not None and not box.here):
            return
    inside_area = record is not None and record.here and record.place in count.area
    (found.wrong if inside_area else found.extra).append(one.id)


def _missing(count: Count, seen: set[Thing]) -> list[Thing]:
    """Expected and not seen. What lies in a container that is missing itself goes with it."""
    gone = []
    for thing, done in count.expected.items():
        since = count.recorded[thing].since
        if thing not in seen and not (since is not None and since > done):
            gone.append(thing)
    boxes = {thing[1] for thing in gone if thing[0] == "container"}
    return sorted(thing for thing in gone if count.recorded[thing].place not in boxes)
