"""What is known of a lost thing, as plain values: its own way, moves about it, what is near or reads alike."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal


@dataclass(frozen=True, slots=True)
class Spot:
    """A place where things lie, in the tree of places."""

    pk: int
    code: str
    kind: str
    parent: int | None = None
    order: int = 0
    container: bool = False


@dataclass(frozen=True, slots=True)
class Hop:
    """One recorded move of some thing; an end of None is a place that was not written, or a way out of the store."""

    thing: str
    start: int | None
    end: int | None
    when: datetime
    who: str = ""
    cause: str = ""


@dataclass(frozen=True, slots=True)
class Sight:
    """Something of it was seen at a place in a count since, and nobody has settled that yet.

    `what` is the thing itself, a container whose unknown label reads like it (`told`), or `number` pieces of its list.
    """

    place: int
    what: Literal["itself", "label", "content"]
    when: datetime
    told: str = ""
    number: int = 1


@dataclass(frozen=True, slots=True)
class Lost:
    """The lost thing. `went` is the moment after which nothing sure is known, `who` had it in hand then.

    `left` says that the record has it taken away from `last`, so that it is less likely to lie there.
    """

    code: str
    container: bool
    last: int | None
    home: int | None = None
    went: datetime | None = None
    who: str = ""
    cause: str = ""
    left: bool = False
    own: tuple[Hop, ...] = ()


@dataclass(frozen=True, slots=True)
class Clues:
    """Everything the ranking is made from. The numbers are counts of things, by place.

    `hops` are moves of other things about the moment; `together` is where things from its last place went since;
    `returned` where things of jobs came back that were out then; `kindred` where things of its kind lie; `bustle`
    where things from its room were ever taken; `alike` names things and places that read like it, with their place;
    `sights` is what counts saw of it since.
    """

    lost: Lost
    spots: Mapping[int, Spot]
    hops: tuple[Hop, ...] = ()
    together: Mapping[int, int] = field(default_factory=dict)
    returned: Mapping[int, int] = field(default_factory=dict)
    kindred: Mapping[int, int] = field(default_factory=dict)
    bustle: Mapping[int, int] = field(default_factory=dict)
    alike: tuple[tuple[str, int], ...] = ()
    sights: tuple[Sight, ...] = ()
