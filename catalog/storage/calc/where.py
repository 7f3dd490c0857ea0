"""Where a lost thing may be: places ranked by the chance of finding it there, each with its reasons in words.

Each source of evidence spreads its own share over places; the shares are mixed by the weights of the one table below.
A source that has nothing to say leaves half its weight to the others. What no source can name stays "elsewhere".
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from catalog.storage.calc.clues import Clues, Hop, Sight
from catalog.storage.calc.nearness import near
from catalog.storage.calc.search import Thoroughness, after, finds

ELSEWHERE = 0
# The weights are set from judgement (common practice, no source) and hold for every archive; they are not fitted to
# anything. A thing is most often near where it was; what moved with it comes next; habits and misread codes after that.
WEIGHTS: Mapping[str, float] = {
    "last": 0.17,
    "near": 0.17,
    "together": 0.12,
    "same days": 0.11,
    "person": 0.09,
    "own way": 0.09,
    "alike": 0.07,
    "work place": 0.06,
    "jobs": 0.05,
    "kindred": 0.05,
    "from this room": 0.02,
}
# What a count saw of it since outweighs all of them together; as that is rare, its silence says nothing.
SEEN_SINCE = 2.0
SIGHT_WEIGHT = {"itself": 3.0, "content": 2.0, "label": 1.0}
ELSEWHERE_SHARE = 0.10
# Where the record itself has it carried away, its old place and those about it count less, places of work more.
LEFT: Mapping[str, float] = {"last": 0.17, "near": 0.17, "work place": 3.0}
# So much of the weight of a source that has nothing to say goes elsewhere: the less is known, the less sure the list.
SILENT = 0.5
# Whatever moved within these days of the loss may have gone the same way; under the same reason, within the longer.
SAME_DAYS = timedelta(days=3)
SAME_HOURS = timedelta(hours=12)
SAME_REASON_DAYS = timedelta(days=60)
WORK_WORDS = {"bench": "a bench", "quarantine": "a quarantine place", "freezer": "a freezer", "dock": "the dock floor"}
WORK_KINDS = frozenset(WORK_WORDS)
MOST_PLACES = 40

Spread = dict[int, float]
Words = Callable[[int], str]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a place is on the list: the source, its part of the place's chance before any search, and words."""

    source: str
    part: float
    words: str


@dataclass(frozen=True, slots=True)
class Ranked:
    """A place: the chance that it lies there, and the chance of finding it there in one proper look."""

    place: int
    chance: float
    found: float
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Ranking:
    """The places, the best next look first, and the chance that it is at none of them."""

    places: tuple[Ranked, ...]
    elsewhere: float

    @property
    def next(self) -> Ranked | None:
        """Where to look next."""
        return self.places[0] if self.places else None


@dataclass(frozen=True, slots=True)
class Vain:
    """One search that found nothing."""

    place: int
    thoroughness: Thoroughness


@dataclass(frozen=True, slots=True)
class _Told:
    """What one source says: where, and why there."""

    source: str
    spread: Spread
    words: Words


def rank(clues: Clues, vain: Iterable[Vain] = ()) -> Ranking:
    """The ranking of a lost thing after the searches that found nothing, in whatever order they were made."""
    told = [one for one in _sources(clues) if one.spread]
    weights, reasons = _mixed(told, clues.lost.left)
    box = clues.lost.container
    left = after(weights, ((place, d) for one in vain for place, d in reached(one, clues)))
    ranked = [
        Ranked(place, p, p * finds(clues.spots[place].kind, "looked through", container=box), tuple(reasons[place]))
        for place, p in left.items()
        if place != ELSEWHERE
    ]
    ranked.sort(key=lambda one: (-round(one.found, 9), clues.spots[one.place].code))
    return Ranking(tuple(ranked), left[ELSEWHERE])


def reached(search: Vain, clues: Clues) -> list[tuple[int, float]]:
    """The places that a search covers, each with its chance of finding: with a room its shelves, but boxes only when
    they were emptied too.
    """
    found = []
    for pk in clues.spots:
        way = _way(pk, clues)
        if search.place not in way:
            continue
        between = way[: way.index(search.place)]
        boxes = sum(clues.spots[step].container for step in between)
        if not boxes or search.thoroughness == "emptied":
            kind = clues.spots[search.place].kind
            found.append((pk, finds(kind, search.thoroughness, container=clues.lost.container)))
    return found


def _way(pk: int, clues: Clues) -> list[int]:
    way = [pk]
    while (parent := clues.spots[way[-1]].parent) is not None and parent in clues.spots and parent not in way:
        way.append(parent)
    return way


def _mixed(told: Sequence[_Told], left: bool) -> tuple[dict[int, float], dict[int, list[Reason]]]:
    """The mixture, and for each place its reasons, the heaviest first; beyond the most places all is elsewhere."""
    weight = {**WEIGHTS, "seen since": SEEN_SINCE}
    scale = {one.source: weight[one.source] * (LEFT.get(one.source, 1.0) if left else 1.0) for one in told}
    total = sum(scale.values())
    silent = sum(WEIGHTS.values()) - sum(WEIGHTS.get(one.source, 0.0) for one in told)
    if "seen since" in scale:
        silent = 0.0
    named = 1 - ELSEWHERE_SHARE - (1 - ELSEWHERE_SHARE) * SILENT * silent
    parts: dict[int, list[Reason]] = defaultdict(list)
    for one in told:
        whole = sum(one.spread.values())
        for place, amount in one.spread.items():
            part = named * scale[one.source] / total * amount / whole
            parts[place].append(Reason(one.source, part, one.words(place)))
    sums = {place: sum(one.part for one in reasons) for place, reasons in parts.items()}
    kept = sorted(sums, key=lambda place: -sums[place])[:MOST_PLACES]
    weights = {place: sums[place] for place in kept}
    weights[ELSEWHERE] = 1 - sum(weights.values()) if told else 1.0
    return weights, {place: sorted(parts[place], key=lambda one: -one.part) for place in kept}


def _sources(clues: Clues) -> Iterable[_Told]:
    lost, spots = clues.lost, clues.spots
    yield _seen_since(clues)
    if lost.last is not None and lost.last in spots:
        words = "the record has it taken from there; it may be back" if lost.left else "it was last known there"
        yield _Told("last", {lost.last: 1.0}, lambda _: f"{words}, and can have been overlooked")
        near_it = f"it stands near {spots[lost.last].code}, where it was last known"
        yield _Told("near", _about(lost.last, clues), lambda _: near_it)
    yield _counted("together", clues.together, clues, "{} from the same place went there since")
    yield _same_days(clues)
    yield _by_person(clues)
    yield _own_way(clues)
    yield _alike(clues)
    yield _work_places(clues)
    yield _counted("jobs", clues.returned, clues, "{} of jobs that were out at that time came back to it")
    yield _counted("kindred", clues.kindred, clues, "{} of its kind and production there")
    yield _counted("from this room", clues.bustle, clues, "taken there from its room over the years: {}")


def _seen_since(clues: Clues) -> _Told:
    spread: Spread = defaultdict(float)
    said: dict[int, list[str]] = defaultdict(list)
    for sight in clues.sights:
        if sight.place in clues.spots:
            spread[sight.place] += SIGHT_WEIGHT[sight.what]
            said[sight.place].append(_sight_words(sight))
    return _Told("seen since", dict(spread), lambda place: "; ".join(said[place]))


def _sight_words(sight: Sight) -> str:
    day = f"{sight.when:%-d %b %Y}"
    if sight.what == "itself":
        return f"a count saw it there on {day}, and nobody has settled that yet"
    if sight.what == "label":
        return f"a count saw a container there on {day} whose label reads {sight.told}, which leads nowhere"
    things = "1 piece" if sight.number == 1 else f"{sight.number} pieces"
    return f"a count saw {things} of its list there on {day}"


def _about(last: int, clues: Clues) -> Spread:
    """What stands near, squared: the many places a little way off must not outweigh the few that touch it."""
    around = near(last, clues.spots).items()
    # A trunk does not slide into another one.
    return {pk: amount**2 for pk, amount in around if not (clues.lost.container and clues.spots[pk].container)}


def _counted(source: str, counts: Mapping[int, int], clues: Clues, words: str) -> _Told:
    spread = {place: float(number) for place, number in counts.items() if place in clues.spots}

    def said(place: int) -> str:
        number = counts[place]
        things = "1 thing" if number == 1 else f"{number} things"
        return words.format(things)

    return _Told(source, spread, said)


def _same_days(clues: Clues) -> _Told:
    """Where other things went about that day, or a little later for the same reason; the nearer in time the more."""
    lost = clues.lost
    went: dict[int, list[Hop]] = defaultdict(list)
    spread: Spread = defaultdict(float)
    for hop in clues.hops:
        weight = _alongside(hop, clues)
        if weight and hop.end is not None:
            spread[hop.end] += weight
            went[hop.end].append(hop)
    return _Told("same days", dict(spread), lambda place: went_there(went[place], lost.cause))


def _alongside(hop: Hop, clues: Clues) -> float:
    """How much another thing's move says of this loss: 0 when it was at another time and for another reason."""
    lost = clues.lost
    if lost.went is None or hop.end not in clues.spots or hop.end == lost.last:
        return 0.0
    off = abs(hop.when - lost.went)
    caused = bool(lost.cause) and lost.cause.casefold() in hop.cause.casefold()
    if off > (SAME_REASON_DAYS if caused else SAME_DAYS):
        return 0.0
    weight = (1.0 if off <= SAME_HOURS else 0.5) * (2.0 if caused else 1.0)
    return weight if hop.start == lost.last else 0.6 * weight


def went_there(same: Sequence[Hop], cause: str) -> str:
    """ "3 things went there on 6 Mar 2031 (roof leak)"."""
    things = "1 thing" if len(same) == 1 else f"{len(same)} things"
    days = {f"{hop.when:%-d %b %Y}" for hop in same}
    when = days.pop() if len(days) == 1 else f"{min(hop.when for hop in same):%-d %b %Y} and later"
    caused = bool(cause) and any(cause.casefold() in hop.cause.casefold() for hop in same)
    return f"{things} went there on {when}{f' ({cause})' if caused else ''}"


def _by_person(clues: Clues) -> _Told:
    """Where the person who had it last put other things about then."""
    who = clues.lost.who
    put = Counter(hop.end for hop in clues.hops if who and hop.who == who and hop.end in clues.spots)
    spread = {place: float(number) for place, number in put.items() if place is not None and place != clues.lost.last}

    def said(place: int) -> str:
        number = put[place]
        things = "1 other thing" if number == 1 else f"{number} other things"
        return f"{who}, who had it last, put {things} there about then"

    return _Told("person", spread, said)


def _own_way(clues: Clues) -> _Told:
    """Where it was before, the newest most, and its home: a move is sometimes made on paper only."""
    spread: Spread = {}
    words: dict[int, str] = {}
    weight = 1.0
    for hop in sorted(clues.lost.own, key=lambda one: one.when, reverse=True):
        for place, said in ((hop.end, "it stood there from"), (hop.start, "it stood there until")):
            if place in clues.spots and place != clues.lost.last and place not in spread and place is not None:
                spread[place], words[place] = weight, f"{said} {hop.when:%-d %b %Y}"
                weight *= 0.6
    home = clues.lost.home
    if home in clues.spots and home is not None and home != clues.lost.last:
        spread[home] = spread.get(home, 0) + 1.0
        words[home] = "it belongs there"
    return _Told("own way", spread, words.__getitem__)


def _alike(clues: Clues) -> _Told:
    names: dict[int, list[str]] = defaultdict(list)
    for name, place in clues.alike:
        if place in clues.spots:
            names[place].append(name)
    lost = clues.lost

    def said(place: int) -> str:
        spot = clues.spots[place]
        if spot.code in names[place] and spot.container and lost.container:
            return f"its code reads like {lost.code}: open it and compare"
        if spot.code in names[place]:
            return "its code reads like the place where it should lie"
        return f"{', '.join(sorted(names[place])[:3])} lies there, whose number reads like {lost.code}"

    return _Told("alike", {place: float(len(same)) for place, same in names.items()}, said)


def _work_places(clues: Clues) -> _Told:
    """Benches, dock, quarantine, freezer: where things are put for a minute."""
    lost = clues.lost
    found: Spread = {}
    for pk, spot in clues.spots.items():
        if spot.kind in WORK_KINDS and pk != lost.last:
            found[pk] = (2.0 if spot.kind == "bench" else 1.0) * (1 + clues.bustle.get(pk, 0)) ** 0.5

    def said(place: int) -> str:
        return f"{WORK_WORDS[clues.spots[place].kind]}: things are put down there for a minute"

    return _Told("work place", found, said)


def plain_order(clues: Clues) -> list[int]:
    """The plain rule beside which ours is measured: the last place, then its neighbours, the nearest first."""
    last = clues.lost.last
    if last not in clues.spots or last is None:
        return []
    around = near(last, clues.spots)
    return [last, *sorted(around, key=lambda pk: (-around[pk], clues.spots[pk].code))]
