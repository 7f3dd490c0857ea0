"""How many of a role can be dressed by count, with nobody measured; and each set of it, slot by slot."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from catalog.access.permissions import Ability, can
from catalog.fitting.calc.counts import SetCounts, set_counts
from catalog.fitting.calc.plan_types import Limit
from catalog.fitting.calc.plan_types import Role as CalcRole
from catalog.fitting.problem_queries import calc_piece, calc_role
from catalog.fitting.queries import slots_of
from catalog.fitting.stock_queries import Cell, Question, StockPiece, stock_of
from catalog.pieces.models import Role, Slot
from catalog.pieces.queries import AnyUser, productions_for

# From the best to the worst: of several pieces of one slot in one set, the best one speaks.
ORDER = (Cell.PRESENT, Cell.MEND, Cell.HELD, Cell.AWAY, Cell.MISSING, Cell.UNFIT)


@dataclass(frozen=True, slots=True)
class RoleSets:
    """One role's three counts, with what they rest on. `mended` of its whole sets need work first."""

    role: Role
    slots: tuple[Slot, ...]
    stock: tuple[StockPiece, ...]
    calc: CalcRole
    counts: SetCounts
    wanted: int
    mended: int

    @property
    def limit(self) -> str:
        """What keeps the role from more, in a few words."""
        return limit_words(self.counts.limit, self.slots)

    @property
    def limiting_slots(self) -> frozenset[str]:
        """Codes of the slots that decide the count."""
        limit = self.counts.limit
        if limit.kind == "slot":
            return frozenset({limit.name})
        groups = [group for group in self.calc.groups if group.name in limit.name]
        return frozenset(slot for group in groups for slot in group.slots)


@dataclass(frozen=True, slots=True)
class SheetCell:
    """A slot of a set: its pieces as the question finds them, the best one first. No piece: none is in this set."""

    slot: Slot
    rows: tuple[StockPiece, ...] = ()

    @property
    def cell(self) -> Cell | None:
        """How the slot stands."""
        return self.rows[0].cell if self.rows else None

    @property
    def filled(self) -> bool:
        """Whether a usable piece is here."""
        return bool(self.rows) and self.rows[0].usable


@dataclass(frozen=True, slots=True)
class SetColumn:
    """One set, slot by slot: whether it is whole, and what is in the way."""

    code: str
    whole: bool
    cells: tuple[SheetCell, ...]
    in_the_way: tuple[str, ...] = field(default_factory=tuple)

    @property
    def to_mend(self) -> list[SheetCell]:
        """Slots that need work first."""
        return [cell for cell in self.cells if cell.cell is Cell.MEND and cell.filled]


def roles_for(user: AnyUser, *, with_slots: bool = False) -> list[Role]:
    """The roles this person may see, in the order of the productions; `with_slots`: only those that can be dressed."""
    found = Role.objects.filter(production__in=productions_for(user))
    if with_slots:
        found = found.filter(pk__in=Slot.objects.filter(required=True).values("role"))
    return list(found.select_related("production").order_by("production__code", "code"))


def sees_reasons(user: AnyUser) -> bool:
    """Whether the person reads why a piece is not here: who holds it is no visitor's affair."""
    return can(user, Ability.SEE_STAFF)


def sets_of(roles: Sequence[Role], question: Question) -> list[RoleSets]:
    """The counts of every role, in a fixed number of queries. A role without slots is left out."""
    slots: dict[int, list[Slot]] = defaultdict(list)
    for slot in slots_of(roles):
        slots[slot.role_id].append(slot)
    stock: dict[int, list[StockPiece]] = defaultdict(list)
    for row in stock_of(roles, question):
        if row.piece.role_id is not None:
            stock[row.piece.role_id].append(row)
    return [_counted(role, slots[role.pk], stock[role.pk]) for role in roles if slots[role.pk]]


def _counted(role: Role, slots: Sequence[Slot], stock: Sequence[StockPiece]) -> RoleSets:
    sets = {row.piece.set_id for row in stock if row.piece.set_id}
    wanted = role.sets_made or len(sets) or 1
    calc = calc_role(role, slots, wanted)
    counts = set_counts(calc, [calc_piece(row.piece) for row in stock if row.usable])
    mended = {
        row.piece.set.code
        for row in stock
        if row.cell is Cell.MEND
        and row.piece.set is not None
        and row.piece.slot is not None
        and row.piece.slot.required
    }
    return RoleSets(role, tuple(slots), tuple(stock), calc, counts, wanted, len(mended & set(counts.whole_sets)))


def limit_words(limit: Limit, slots: Iterable[Slot]) -> str:
    """ "gauntlets", "the ring match" or "the number of performers"."""
    if limit.kind == "slot":
        name = next((slot.name for slot in slots if slot.code == limit.name), limit.name)
        return name or "its slots, which nobody has named yet"
    return f"the {limit.name} match" if limit.kind == "group" else "the number of performers"


def columns_of(found: RoleSets) -> list[SetColumn]:
    """The role's sets, each slot by slot."""
    by_set: dict[str, dict[int, list[StockPiece]]] = defaultdict(lambda: defaultdict(list))
    for row in found.stock:
        if row.piece.set is not None and row.piece.slot_id is not None:
            by_set[row.piece.set.code][row.piece.slot_id].append(row)
    return [_column(code, rows, found) for code, rows in sorted(by_set.items())]


def _column(code: str, rows: dict[int, list[StockPiece]], found: RoleSets) -> SetColumn:
    cells = tuple(
        SheetCell(slot, tuple(sorted(rows.get(slot.pk, ()), key=lambda row: ORDER.index(row.cell))))
        for slot in found.slots
    )
    whole = code in found.counts.whole_sets
    blocks = [
        f"{cell.slot.name} {'not in this set' if cell.cell is None else cell.cell.value}"
        for cell in cells
        if cell.slot.required and not cell.filled
    ]
    if not whole and not blocks:
        groups = " and ".join(group.name for group in found.calc.groups)
        blocks = [f"its pieces do not share one {groups}"]
    return SetColumn(code, whole, cells, tuple(blocks))


def loose_pieces(found: RoleSets) -> list[StockPiece]:
    """Pieces of the role that belong to no set: they serve mixed outfits."""
    return [row for row in found.stock if row.piece.set is None]
