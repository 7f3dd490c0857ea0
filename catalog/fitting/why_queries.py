"""Why not this piece on this performer: everything that is in the way, for the wardrobe lead alone."""

from collections.abc import Sequence
from dataclasses import dataclass

from catalog.core.units import LengthUnit, WeightUnit, show_length, show_weight
from catalog.fitting.body_queries import free_on_all
from catalog.fitting.calc.body import POINT_WORDS
from catalog.fitting.calc.fit import Verdict
from catalog.fitting.calc.why_not import Kind, Obstacle, obstacles
from catalog.fitting.models import PlanLine
from catalog.fitting.problem_queries import calc_piece, candidate
from catalog.fitting.queries import Ground
from catalog.fitting.stock_queries import StockPiece
from catalog.loans.models import Call, Wearer
from catalog.pieces.calc.kinds import POINTS as GARMENT_POINTS


@dataclass(frozen=True, slots=True)
class Pair:
    """A performer and a piece: the obstacles of body and piece; `away` and `unmatched` are facts of the call.

    `worn_by` is whoever wears it in the kept plan: that lasts no longer than the plan.
    """

    wearer: Wearer
    row: StockPiece
    obstacles: tuple[Obstacle, ...]
    away: tuple[str, ...] = ()
    unmatched: tuple[str, ...] = ()
    worn_by: Wearer | None = None

    @property
    def facts(self) -> tuple[str, ...]:
        """What of the call stands in the way: days, the state of the piece, a match that nobody recorded."""
        return (*self.away, *self.row.why, *self.unmatched)

    @property
    def verdict(self) -> Verdict:
        if self.facts or any(one.is_no for one in self.obstacles):
            return Verdict.NO
        return Verdict.UNKNOWN if self.obstacles else Verdict.YES

    @property
    def word(self) -> str:
        """The pair in a few words of a list."""
        kinds = {one.kind for one in self.obstacles}
        words = [word for word, wanted in (("excluded", {Kind.EXCLUSION}), ("size", {Kind.SIZE})) if kinds & wanted]
        if not words and kinds:
            words.append("not known")
        if self.row.why:
            words.append(self.row.cell.value)
        if self.away:
            words.append("dates")
        if self.unmatched:
            words.append("match not recorded")
        return " and ".join(words) or ("fits, in the plan on another" if self.worn_by else "fits")


def pair_of(ground: Ground, wearer: Wearer, row: StockPiece, worn: dict[str, Wearer]) -> Pair:
    """Everything that stands between the performer and the piece for this call."""
    found = obstacles(ground.bodies[wearer.number], candidate(row.piece, ground.bands), ground.rules)
    wears = worn.get(row.piece.number)
    other = wears if wears is not None and wears.pk != wearer.pk else None
    return Pair(wearer, row, found, _dates(ground.call, wearer), _match(ground, row), other)


def _dates(call: Call, wearer: Wearer) -> tuple[str, ...]:
    if free_on_all(wearer, call.days()):
        return ()
    free = {one.day for one in wearer.free_days.all()}
    away = [f"{day:%-d %b %Y}" for day in call.days() if day not in free]
    return (f"{wearer.number} is not free on {' and '.join(away)}.",)


def _match(ground: Ground, row: StockPiece) -> tuple[str, ...]:
    """A piece whose match value nobody recorded matches nothing."""
    piece = calc_piece(row.piece)
    role = next((role for role in ground.calc_roles if role.code == piece.role), None)
    if role is None or piece.matchable(role):
        return ()
    names = [group.name for group in role.groups_of(piece.slot) if group.name not in piece.values]
    return (f"Its {' and '.join(names)} is not recorded, so nothing is known to match it.",)


def worn_in_plan(call: Call) -> dict[str, Wearer]:
    """Who wears each piece in the kept plan."""
    lines = PlanLine.objects.filter(plan__call=call, plan__current=True, piece__isnull=False)
    return {x.piece.number: x.wearer for x in lines.select_related("piece", "wearer") if x.piece is not None}


def sentences(pair: Pair, length: LengthUnit, weight: WeightUnit) -> list[dict[str, str]]:
    """Every reason as a page shows it: mark, text, source."""
    rows = [_sentence(one, length, weight) for one in pair.obstacles]
    rows += [{"mark": "no", "text": fact, "source": ""} for fact in pair.facts]
    if pair.worn_by is not None:
        said = f"{pair.worn_by.number} {pair.worn_by.name}".strip()
        rows.append({"mark": "conditions", "text": f"{said} wears it in the kept plan.", "source": "until replanned"})
    return rows


def _sentence(one: Obstacle, length: LengthUnit, weight: WeightUnit) -> dict[str, str]:
    if one.kind is Kind.EXCLUSION:
        return {"mark": "no", "text": f"Excluded: {one.said}.", "source": ""}
    if one.kind is Kind.UNCLEAR:
        return {"mark": "unknown", "text": f"Not clear: {one.said.rstrip('.')}.", "source": ""}
    if one.kind is Kind.NO_RULE:
        return {"mark": "unknown", "text": "The house has no rule for when this slot fits.", "source": ""}
    if one.kind is Kind.NOT_MEASURED:
        point = GARMENT_POINTS.get(one.code)
        word = point.word if point is not None else one.code.replace("_", " ")
        return {"mark": "unknown", "text": f"The piece: {word} is not measured.", "source": ""}
    return _size(one, length, weight)


def _size(one: Obstacle, length: LengthUnit, weight: WeightUnit) -> dict[str, str]:
    def show(value: int) -> str:
        return show_weight(value, weight) if one.point == "weight" else show_length(value, length)

    span = one.span
    low, high = (span.low, span.high) if span is not None else (None, None)
    takes = f"at least {show(low)}" if low is not None else f"at most {show(high)}" if high is not None else "any"
    if low is not None and high is not None:
        takes = f"{show(low)} to {show(high)}" if low <= high else "nobody"
    word = POINT_WORDS.get(one.point, one.point).capitalize()
    if one.kind is Kind.SIZE and one.taped is not None:
        small = high is not None and one.taped > high
        by = show(one.taped - high if small and high is not None else (low or 0) - one.taped)
        text = f"{word}: the piece is too {'small' if small else 'big'} by {by}."
        return {"mark": "no", "text": text, "source": f"It takes {takes}; taped {show(one.taped)}, sure."}
    if one.kind is Kind.NOT_KNOWN or one.expected is None:
        return {"mark": "unknown", "text": f"{word}: no size is known.", "source": f"It takes {takes}."}
    guess = one.expected
    source = (
        f"It takes {takes}; expected {show(guess.middle)}, for four in five {show(guess.low)} to {show(guess.high)}."
    )
    text = f"{word} is not taped: about {round(100 * guess.inside)} in 100 that it fits."
    return {"mark": "unknown", "text": text, "source": source}


def pairs_of_wearer(
    ground: Ground, wearer: Wearer, stock: Sequence[StockPiece], worn: dict[str, Wearer]
) -> list[tuple[str, int, list[Pair]]]:
    """Every piece of the call's roles for one performer: slot, how many fit and are free, the pairs."""
    found = []
    for (role, _), slot in ground.slots.items():
        pairs = [pair_of(ground, wearer, row, worn) for row in stock if row.piece.slot_id == slot.pk]
        fitting = sum(pair.verdict is Verdict.YES for pair in pairs)
        found.append((f"{ground.roles[role].name}, {slot.name}", fitting, pairs))
    return found
