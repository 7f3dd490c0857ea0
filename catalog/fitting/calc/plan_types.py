"""What the planner is asked and what it answers, on plain values."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from catalog.fitting.calc.fit import Fit, Reason


class PlanError(ValueError):
    """The question contradicts itself, or no plan could be found; the message says why."""


@dataclass(frozen=True, slots=True)
class Group:
    """Slots of one outfit whose pieces must share a value, because they are joined to each other."""

    name: str
    slots: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Role:
    """A role of the call: how many, and the slots that make somebody dressed. `close_up`: originals before remakes."""

    code: str
    need: int
    slots: tuple[str, ...]
    groups: tuple[Group, ...] = ()
    close_up: bool = False

    def groups_of(self, slot: str) -> tuple[Group, ...]:
        return tuple(group for group in self.groups if slot in group.slots)


@dataclass(frozen=True, slots=True)
class PlanPiece:
    """A piece that is present, free on the days and for wear. `values`: value per match group, absent if unknown.

    `original`: known to be the piece of the production itself, no later remake; unknown is False.
    """

    code: str
    role: str
    slot: str
    set_code: str | None = None
    values: Mapping[str, str] = field(default_factory=dict)
    original: bool = False

    def matchable(self, role: Role) -> bool:
        """Whether its value is known for every group it belongs to. An unknown value matches nothing."""
        return all(group.name in self.values for group in role.groups_of(self.slot))


@dataclass(frozen=True, slots=True)
class PlanWearer:
    """A performer. `roles` None: may play any."""

    code: str
    roles: frozenset[str] | None = None
    available: bool = True

    def may_play(self, role: Role) -> bool:
        return self.available and role.need > 0 and (self.roles is None or role.code in self.roles)


@dataclass(frozen=True, slots=True)
class Lock:
    """A decision already taken: this wearer wears this piece, or a made one (None), in this role and slot."""

    wearer: str
    role: str
    slot: str
    piece: str | None


@dataclass(frozen=True, slots=True)
class Assignment:
    """A piece for a wearer; `piece` None means one to be made."""

    wearer: str
    role: str
    slot: str
    piece: str | None


@dataclass(frozen=True, slots=True)
class NotAll:
    """Choices of which at least one may not be taken: pieces for wearers, and people dressed at all (wearer, role)."""

    choices: tuple[Assignment, ...] = ()
    people: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Problem:
    """All of a call. Only a pair whose fit says yes may be planned; an absent pair is a no."""

    roles: tuple[Role, ...]
    wearers: tuple[PlanWearer, ...]
    pieces: tuple[PlanPiece, ...]
    fits: Mapping[tuple[str, str], Fit]
    locks: tuple[Lock, ...] = ()
    with_making: bool = False
    makeable: frozenset[tuple[str, str, str]] = frozenset()
    names: Mapping[str, str] = field(default_factory=dict)
    not_all: tuple[NotAll, ...] = ()

    def word(self, code: str) -> str:
        """The words for a role, slot or group code in sentences."""
        return self.names.get(code, code.replace("_", " "))

    def may_make(self, wearer: str, role: str, slot: str) -> bool:
        return self.with_making and (wearer, role, slot) in self.makeable


@dataclass(frozen=True, slots=True)
class Make:
    role: str
    slot: str
    wearer: str


@dataclass(frozen=True, slots=True)
class Limit:
    """What keeps a role from more: a slot, a match group, or only the people. At most `count` can be dressed."""

    kind: str
    name: str
    count: int
    sentence: str


@dataclass(frozen=True, slots=True)
class SlotBlock:
    """One thing in the way of one wearer in one role. Granting every block of a role lets the wearer be dressed.

    What grants a block: a day freed (dates); a place, when others step down (not needed); for an exclusion or an
    unknown all that the sentence says of `piece`; else one more piece for the slot, of the size and match asked for.
    `passing`: it is only in the way because others are dressed; it lasts no longer than this plan.
    """

    slot: str | None
    reason: Reason
    sentence: str
    passing: bool = False
    piece: str | None = None


@dataclass(frozen=True, slots=True)
class RoleBlock:
    role: str
    blocks: tuple[SlotBlock, ...]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A wearer without an outfit: the reason of the role that came nearest, and every role's blocks."""

    wearer: str
    reason: Reason
    sentence: str
    roles: tuple[RoleBlock, ...] = ()


@dataclass(frozen=True, slots=True)
class AimResult:
    """One aim of the plan: what was reached, what cannot be bettered, and the gap between (0 = proven best)."""

    name: str
    value: int
    bound: int
    gap: float


@dataclass(frozen=True, slots=True)
class Progress:
    """How far an aim is: the best plan so far reaches `incumbent`, none can pass `bound`."""

    aim: str
    bound: int
    incumbent: int


@dataclass(frozen=True, slots=True)
class Remake:
    """A piece in a close-up role that is not known to be an original, and why no original is worn in its place."""

    assignment: Assignment
    sentence: str


@dataclass(frozen=True, slots=True)
class Plan:
    """The best plan. Codes are those of the problem; `gap` is the largest of the aims' gaps."""

    assignments: tuple[Assignment, ...]
    dressed: dict[str, int]
    whole_sets: dict[str, int]
    total: int
    left_out: tuple[LeftOut, ...]
    limits: dict[str, Limit]
    make: tuple[Make, ...]
    aims: tuple[AimResult, ...]
    gap: float
    remakes: tuple[Remake, ...] = ()
