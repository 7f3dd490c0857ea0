"""One person on the phone: which sets would fit, how likely, and what decides. Nothing is stored."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from catalog.fitting.calc.body import POINT_WORDS, Body, Estimate, Person, UnderAgeError, body_of, predict
from catalog.fitting.calc.exclusions import ExclusionRule
from catalog.fitting.calc.fit import Fit, Reason, SetFit, Verdict, fit, fit_set
from catalog.fitting.calc.plan_types import Role as CalcRole
from catalog.fitting.problem_queries import Bands, calc_piece, calc_role, candidate, exclusion_rules
from catalog.fitting.queries import slots_of
from catalog.fitting.stock_queries import Question, StockPiece, stock_of
from catalog.pieces.models import Role, Slot

# The points whose expected ranges a page shows.
SHOWN_POINTS = (
    "chest", "waist_natural", "hip", "neck", "sleeve_cb", "inside_leg", "head", "head_over_hair", "hand_girth",
    "foot_length",
)  # fmt: skip
SPARES = 2
# Of an outfit that is a no, so many pieces are named.
MOST_TOLD = 3


@dataclass(frozen=True, slots=True)
class Choice:
    """A slot's piece in an outfit, its fit, and spares to hang ready (numbers, the best first)."""

    slot: Slot
    row: StockPiece | None
    fit: Fit | None
    spares: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Outfit:
    """A set, or the best mix from all: slot by slot, and the likelihood that all of it fits at once."""

    name: str
    whole: bool
    choices: tuple[Choice, ...]
    fit: SetFit | None

    @property
    def in_hundred(self) -> int | None:
        """The likelihood as so many in a hundred; None when it cannot be told."""
        return None if self.fit is None or self.fit.probability is None else round(100 * self.fit.probability)

    @property
    def missing(self) -> str:
        """The slots for which nothing is free, in words; nothing when every slot has a piece."""
        names = [choice.slot.name for choice in self.choices if choice.row is None]
        return f"no {' and no '.join(names)} is free" if names else ""

    @property
    def decides(self) -> str:
        """For the wardrobe: each piece that is a no and why; else the piece and the body point that decide."""
        if self.missing or self.fit is None:
            return self.missing
        no = [choice for choice in self.choices if choice.fit is not None and choice.fit.verdict is Verdict.NO]
        return "; ".join(self._said(choice, full=True) for choice in no[:MOST_TOLD]) or self._limit()

    @property
    def decides_in_public(self) -> str:
        """The same without a word of an exclusion."""
        if self.missing or self.fit is None:
            return self.missing
        no = [choice for choice in self.choices if choice.fit is not None and choice.fit.verdict is Verdict.NO]
        return "; ".join(self._said(choice, full=False) for choice in no[:MOST_TOLD]) or self._limit()

    def _said(self, choice: Choice, *, full: bool) -> str:
        number = choice.row.piece.number if choice.row is not None else ""
        named = f"{choice.slot.name} {number}"
        if choice.fit is None or (choice.fit.reason is Reason.EXCLUSION and not full):
            return named
        if choice.fit.reason is Reason.EXCLUSION:
            return f"{named}, excluded: {choice.fit.reasons[0]}"
        point = POINT_WORDS.get(choice.fit.limiting or "", "")
        return f"{named}, {point}" if point else named

    def _limit(self) -> str:
        """The piece and the body point that fewest possible bodies pass."""
        found = self.fit
        if found is None or found.limiting_piece is None:
            return ""
        slot = next(c.slot.name for c in self.choices if c.row and c.row.piece.number == found.limiting_piece)
        point = POINT_WORDS.get(found.limiting or "", "")
        return f"{slot} {found.limiting_piece}{f', {point}' if point else ''}"

    @property
    def mended(self) -> list[StockPiece]:
        """Its pieces that need work first."""
        return [choice.row for choice in self.choices if choice.row is not None and choice.row.work]


@dataclass(frozen=True, slots=True)
class QuickFit:
    """The answer: outfits ranked, expected sizes (empty for somebody under 18), warnings, slots without any piece."""

    outfits: tuple[Outfit, ...]
    expected: tuple[Estimate, ...]
    warnings: tuple[str, ...]


def quick_fit(roles: Sequence[Role], question: Question, person: Person) -> list[tuple[Role, QuickFit]]:
    """Judge every free set of each role, and its best mix, on one person; the role that suits best comes first.

    Somebody under 18 is judged on tapes alone. The number of queries does not grow with the roles.
    """
    slots = [slot for slot in slots_of(roles) if slot.required]
    bands, rules, body = Bands(slots), exclusion_rules(), body_of(person)
    rows = [row for row in stock_of(roles, question) if row.usable and row.piece.slot and row.piece.slot.required]
    expected, warnings = _expected(person)
    found = []
    for role in roles:
        own = [slot for slot in slots if slot.role_id == role.pk]
        outfits = _outfits(role, own, [row for row in rows if row.piece.role_id == role.pk], (body, bands, rules))
        found.append((role, QuickFit(tuple(outfits), expected, warnings)))
    found.sort(key=lambda pair: _rank(pair[1].outfits[0]) if pair[1].outfits else (9, 0.0, True))
    return found


def _outfits(
    role: Role, slots: Sequence[Slot], rows: Sequence[StockPiece], judge: tuple[Body, Bands, list[ExclusionRule]]
) -> list[Outfit]:
    """Every free set of a role and its best mix, ranked."""
    body, bands, rules = judge
    calc = calc_role(role, slots, 1)
    candidates = {row.piece.number: candidate(row.piece, bands) for row in rows}
    fits = {number: fit(body, piece, rules) for number, piece in candidates.items()}
    outfits = []
    for name, whole, chosen in (*_sets(slots, calc, rows, fits), ("mixed", False, _mixed(slots, calc, rows, fits))):
        worn = [row for row in chosen.values() if row is not None]
        complete = len(worn) == len(slots) and bool(slots)
        choices = tuple(_choice(slot, chosen.get(slot.code), rows, fits) for slot in slots)
        joint = fit_set(body, [candidates[row.piece.number] for row in worn], rules) if complete else None
        outfits.append(Outfit(name, whole, choices, joint))
    return sorted(outfits, key=_rank)


def _rank(outfit: Outfit) -> tuple[int, float, bool]:
    """Sure before likely before untold before a plain no before what is not complete; of equal ones a whole set first.

    An untold one comes before a no: while one may fit, nobody may read that none does.
    """
    found = outfit.fit
    if found is None:
        return 4, 0.0, not outfit.whole
    if found.verdict is Verdict.NO:
        return 3, 0.0, not outfit.whole
    if found.probability is None:
        return 2, 0.0, not outfit.whole
    return 0 if found.verdict is Verdict.YES else 1, -found.probability, not outfit.whole


_Chosen = dict[str, StockPiece | None]


def _sets(
    slots: Sequence[Slot], role: CalcRole, rows: Sequence[StockPiece], fits: Mapping[str, Fit]
) -> list[tuple[str, bool, _Chosen]]:
    """Sets that are whole and free, with the best piece of each slot."""
    by_set: dict[str, list[StockPiece]] = defaultdict(list)
    for row in rows:
        if row.piece.set is not None and calc_piece(row.piece).set_code is not None:
            by_set[row.piece.set.code].append(row)
    found = []
    for code, own in sorted(by_set.items()):
        chosen = _mixed(slots, role, own, fits)
        if all(chosen.get(slot.code) is not None for slot in slots):
            found.append((code, True, chosen))
    return found


def _mixed(slots: Sequence[Slot], role: CalcRole, rows: Sequence[StockPiece], fits: Mapping[str, Fit]) -> _Chosen:
    """The best piece of each slot; slots of a match group take the shared value under which they do best together."""
    pieces = {row.piece.number: calc_piece(row.piece) for row in rows}
    values = [
        sorted({p.values[group.name] for p in pieces.values() if p.slot in group.slots and group.name in p.values})
        or [""]
        for group in role.groups
    ]
    names = [group.name for group in role.groups]
    best: tuple[tuple[float, ...], _Chosen] | None = None
    for combination in product(*values):
        wanted = dict(zip(names, combination, strict=True))
        chosen: _Chosen = {}
        for slot in slots:
            able = [
                row
                for row in rows
                if pieces[row.piece.number].slot == slot.code
                and all(
                    pieces[row.piece.number].values.get(g.name) == wanted[g.name] for g in role.groups_of(slot.code)
                )
            ]
            chosen[slot.code] = max(able, key=lambda row: _worth(fits[row.piece.number]), default=None)
        worths = [_worth(fits[row.piece.number])[0] if row else -2.0 for row in chosen.values()]
        rank = (min(worths, default=0.0), sum(worths))
        if best is None or rank > best[0]:
            best = rank, chosen
    return best[1] if best else {}


def _worth(found: Fit) -> tuple[float, int, int]:
    """The more likely first; an untold likelihood after any told one but a plain no."""
    probability = found.probability if found.probability is not None else 0.0
    return probability, found.score, -found.miss


def _choice(slot: Slot, row: StockPiece | None, rows: Sequence[StockPiece], fits: Mapping[str, Fit]) -> Choice:
    if row is None:
        return Choice(slot, None, None)
    others = [
        other
        for other in rows
        if other.piece.slot_id == slot.pk and other is not row and _worth(fits[other.piece.number])[0] > 0
    ]
    others.sort(key=lambda other: _worth(fits[other.piece.number]), reverse=True)
    spares = tuple(other.piece.number for other in others[:SPARES])
    return Choice(slot, row, fits[row.piece.number], spares)


def _expected(person: Person) -> tuple[tuple[Estimate, ...], tuple[str, ...]]:
    try:
        prediction = predict(person)
    except UnderAgeError:
        return (), ("Nobody under 18 is predicted: what is not taped counts as not known.",)
    shown = tuple(prediction.estimates[point] for point in SHOWN_POINTS if point in prediction.estimates)
    return shown, prediction.warnings
