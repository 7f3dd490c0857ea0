"""Lines of a loan turned into things to pack, the proposal for them, and the crates as they stand."""

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from catalog.care.calc.hazards import resolved_hazards
from catalog.care.queries import findings_of, materials_of
from catalog.core import house
from catalog.loans.models import Loan, LoanLine
from catalog.pieces.models import Piece
from catalog.pieces.queries import made_year
from catalog.shipping.calc.crate_lift import CrateLift, crate_lift
from catalog.shipping.calc.laying import Laid, Lying, lay
from catalog.shipping.calc.pack_bound import Bound, crates_needed
from catalog.shipping.calc.pack_check import crate_faults, faults
from catalog.shipping.calc.pack_facts import heat_harms, nothing_on_it, stands_alone
from catalog.shipping.calc.pack_problem import Left, Packing, PackRules, Problem, Spec, Thing, unknown_of
from catalog.shipping.calc.packing import pack
from catalog.shipping.calc.scale import weighed_against
from catalog.shipping.pack_models import CrateSpec, PackCrate, PackLine
from catalog.storage.calc.neighbours import APART, groups_of

_S = LoanLine.State
# What may be packed while the loan is pulled, and what is shown once it is away.
PACKABLE = (_S.TO_PULL, _S.PULLED)


def rules() -> PackRules:
    """How the house packs."""
    apart = frozenset((rule.one, rule.other) for rule in APART)
    return PackRules(fill_percent=int(house.value("pack.fill_percent")), apart=apart)


def spec_of(row: CrateSpec, two_person_g: int) -> Spec:
    """A kind of crate as the packer sees it; what is carried by hand weighs at most what two may lift."""
    limit = min(row.max_gross_g, two_person_g) if row.by_hand else row.max_gross_g
    return Spec(row.code, row.inner_mm, row.tare_g, max(limit, row.tare_g), row.how_many)


def things_of(lines: Iterable[LoanLine]) -> dict[str, Thing]:
    """What packing asks of each piece, by number; a fixed number of queries."""
    rows = list(lines)
    ids = [line.piece_id for line in rows]
    materials, findings = materials_of(ids), findings_of(ids)
    return {
        line.piece.number: _thing(line, materials.get(line.piece_id, []), findings.get(line.piece_id, []))
        for line in rows
    }


def _thing(line: LoanLine, materials: list[str], findings: list[tuple[str, str]]) -> Thing:
    piece = line.piece
    hazards = resolved_hazards(materials, findings, kind=piece.kind, made_year=made_year(piece))
    sides = (piece.packed_length_mm, piece.packed_width_mm, piece.packed_height_mm)
    return Thing(
        number=piece.number,
        weight_g=piece.weight_g,
        sides_mm=(sides[0], sides[1], sides[2]) if sides[0] and sides[1] and sides[2] else None,
        on_top=nothing_on_it(piece.kind, materials),
        heat=heat_harms(materials, hazards),
        groups=groups_of(materials),
        outfit=f"performer {line.wearer_id}" if line.wearer_id else f"set {piece.set_id}" if piece.set_id else "",
        alone=stands_alone(hazards),
    )


def lines_to_pack(loan: Loan) -> list[LoanLine]:
    """The lines that go: what stays behind is none of them."""
    rows = loan.lines.exclude(state=_S.LEFT_BEHIND).select_related("piece__production", "wearer")
    return list(rows.order_by("order", "piece__number"))


@dataclass(frozen=True, slots=True)
class Proposal:
    """What would be packed how, from which problem, beside how few crates are needed at least."""

    problem: Problem
    packing: Packing
    bound: Bound
    faults: tuple[str, ...]

    @property
    def mark(self) -> str:
        """A fingerprint: what is accepted is what was looked at."""
        told = [[crate.spec, *crate.numbers] for crate in self.packing.crates]
        return hashlib.sha256(json.dumps(told).encode()).hexdigest()[:16]


def propose(loan: Loan) -> Proposal:
    """A packing for everything of the loan that goes. Nothing is stored."""
    things = things_of(line for line in lines_to_pack(loan) if line.state in PACKABLE)
    two = int(house.value("lift.two_person_g"))
    specs = tuple(spec_of(row, two) for row in CrateSpec.objects.filter(active=True))
    problem = Problem(tuple(things.values()), specs, rules())
    found = pack(problem)
    return Proposal(problem, found, crates_needed(problem), tuple(faults(problem, found)))


@dataclass(slots=True)
class ItemRow:
    """One piece in a crate: where it lies, what to mind, whether it was scanned in."""

    piece: Piece
    thing: Thing
    laid: Laid
    packed: bool = False
    anyway: str = ""


@dataclass(slots=True)
class CrateRow:
    """One crate as the page, the paper and the table show it."""

    number: int
    spec: CrateSpec
    items: list[ItemRow]
    lift: CrateLift
    lying: Lying
    kept: PackCrate | None = None
    unknown: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    scale: str = ""
    scale_matters: bool = False

    @property
    def gross_g(self) -> int:
        """Computed: crate and everything meant for it."""
        return self.lying.centre.gross_g

    @property
    def hot(self) -> int:
        """How many things in it suffer from heat."""
        return sum(item.thing.heat for item in self.items)

    @property
    def waiting(self) -> int:
        """How many were not scanned in yet."""
        return sum(not item.packed for item in self.items)


def proposed_rows(loan: Loan, proposal: Proposal) -> list[CrateRow]:
    """The proposal's crates, numbered; what heat harms comes first, so that it is opened first."""
    lines = {line.piece.number: line for line in lines_to_pack(loan)}
    things = {thing.number: thing for thing in proposal.problem.things}
    specs = {row.code: row for row in CrateSpec.objects.filter(active=True)}
    limits = _limits()
    ordered = sorted(proposal.packing.crates, key=lambda crate: not any(things[n].heat for n in crate.numbers))
    return [
        _row(number, specs[crate.spec], [(lines[n], things[n], None) for n in crate.numbers], limits)
        for number, crate in enumerate(ordered, start=1)
    ]


def kept_rows(loan: Loan) -> tuple[list[CrateRow], list[Left]]:
    """The crates that were taken over, and the numbers of the loan that lie in none."""
    crates = list(PackCrate.objects.filter(loan=loan).select_related("spec", "place", "loan"))
    lines = lines_to_pack(loan)
    things = things_of(lines)
    at = {row.line_id: row for row in PackLine.objects.filter(crate__loan=loan)}
    inside: dict[int, list[tuple[LoanLine, Thing, PackLine | None]]] = defaultdict(list)
    loose = []
    for line in lines:
        kept, thing = at.get(line.pk), things[line.piece.number]
        if kept is not None:
            inside[kept.crate_id].append((line, thing, kept))
        elif line.state in PACKABLE:
            loose.append(Left(line.piece.number, unknown_of(thing)))
    limits = _limits()
    rows = [_row(crate.number, crate.spec, inside[crate.pk], limits, crate) for crate in crates]
    for row in rows:
        _weigh(row, rows)
    return rows, loose


def crate_problems(crate: PackCrate, lines: Sequence[LoanLine]) -> list[str]:
    """What is wrong with these lines in this crate, by the checker's words."""
    spec = spec_of(crate.spec, int(house.value("lift.two_person_g")))
    return crate_faults(list(things_of(lines).values()), spec, rules())


def _limits() -> tuple[int, int, PackRules]:
    return int(house.value("lift.one_person_g")), int(house.value("lift.two_person_g")), rules()


def _row(
    number: int,
    spec: CrateSpec,
    inside: Sequence[tuple[LoanLine, Thing, PackLine | None]],
    limits: tuple[int, int, PackRules],
    kept: PackCrate | None = None,
) -> CrateRow:
    one, two, how = limits
    told = spec_of(spec, two)
    things = [thing for _, thing, _ in inside]
    lying = lay(things, told, how)
    by_number = {line.piece.number: (line, thing, row) for line, thing, row in inside}
    items = [_item(laid, *by_number[laid.number]) for laid in lying.laid]
    lift = crate_lift(lying.centre.gross_g, one, two)
    row = CrateRow(number, spec, items, lift, lying, kept)
    row.unknown = [thing.number for thing in things if unknown_of(thing)]
    row.wrong = crate_faults(things, told, how) if things else []
    return row


def _item(laid: Laid, line: LoanLine, thing: Thing, row: PackLine | None) -> ItemRow:
    return ItemRow(line.piece, thing, laid, bool(row and row.packed_at), row.packed_anyway if row else "")


def _weigh(row: CrateRow, rows: Sequence[CrateRow]) -> None:
    """What the scale said against what was computed, with the piece that would explain it."""
    if row.kept is None or row.kept.weighed_g is None:
        return
    inside = [(item.piece.number, item.thing.weight_g or 0) for item in row.items]
    others = [(i.piece.number, i.thing.weight_g or 0) for other in rows if other is not row for i in other.items]
    found = weighed_against(row.kept.weighed_g, row.gross_g, inside, others)
    row.scale, row.scale_matters = found.sentence(f"Crate {row.number}"), found.matters
