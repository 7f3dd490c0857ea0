"""Reads about loans under way: the pull list as one walks, what a scan is, what is still open."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Count, Q, QuerySet

from catalog.care.apart_queries import kept_apart, pest_work_of
from catalog.care.calc.wear import Wear, WearState
from catalog.care.models import Alteration, Quarantine
from catalog.care.queries import wear_state
from catalog.core import house
from catalog.core.codes import CodeError, looks_like_code, read_code
from catalog.core.errors import Refused, WrongState
from catalog.loans import queries
from catalog.loans.models import Hold, HoldPiece, Loan, LoanLine, PartReturn
from catalog.pieces.models import Piece
from catalog.pieces.queries import piece_by_number
from catalog.storage import tree
from catalog.storage.calc.walking import Step, WalkingKey, natural_key, walking_key
from catalog.storage.models import Label, Place, PlaceKind, Standing, State
from catalog.storage.queries import label_target, place_by_code

_S = LoanLine.State
MAY_RETURN = (_S.OUT, _S.ON_SET, _S.NOT_BACK)
OPEN = (_S.TO_PULL, *queries.AWAY)


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """Where a piece is to be fetched: words for the page, and marks for the hands."""

    words: str
    state: str
    key: WalkingKey
    needs_steps: bool
    fixed: str = ""


@dataclass(slots=True)
class PullRow:
    """A line of the pull list with what one must know at the shelf.

    `kept`: why it may not be pulled. `travel`: that it stays by the travel rules, for whoever knows those to fill in.
    """

    line: LoanLine
    where: Whereabouts
    two_people: bool
    parts: list[str] = field(default_factory=list)
    wear_no: tuple[str, ...] = ()
    wear_conditions: tuple[str, ...] = ()
    kept: str = ""
    travel: str = ""


def whereabouts(piece_ids: Iterable[int]) -> dict[int, Whereabouts]:
    """Where each piece stands, for walking there; three queries for up to 500 places."""
    standings = list(Standing.objects.select_related("place").filter(piece_id__in=list(piece_ids)))
    paths = tree.paths(standing.place_id for standing in standings if standing.place_id)
    return {standing.piece_id: _whereabouts(standing, paths) for standing in standings}


def walking_steps(pieces: Sequence[Piece]) -> dict[int, int]:
    """Piece id to its number in walking order; what has no place comes last, by number."""
    where = whereabouts(piece.pk for piece in pieces)

    def key(piece: Piece) -> tuple[bool, WalkingKey, tuple[object, ...]]:
        spot = where.get(piece.pk)
        return (spot is None or not spot.key, spot.key if spot else (), natural_key(piece.number))

    return {piece.pk: n for n, piece in enumerate(sorted(pieces, key=key), 1)}


def scanned_piece(text: str, *, stranger: str = "") -> Piece:
    """The piece of a scanned label or a typed number. Raises Refused with a plain sentence when there is none."""
    text = text.strip()
    if not text:
        raise Refused("Scan a label or type a piece number.", field="code")
    piece = piece_by_number(text)
    if piece is not None:
        return piece
    last = text.rstrip("/").rsplit("/", 1)[-1]
    if looks_like_code(last):
        try:
            code = read_code(last)
        except CodeError as wrong:
            raise Refused(str(wrong), field="code") from wrong
        label = Label.objects.select_related("piece", "place").filter(code=code).first()
        if label is not None and label.piece is not None:
            return label.piece
        if label is not None and label.place is None:
            raise Refused(f"The label {code} is not bound to a piece yet. {stranger}".strip(), field="code")
    place = scanned_place(text)
    if place is not None:
        raise Refused(f"{what_it_is(place)}: scan the piece itself.", field="code")
    raise Refused(f"No piece of ours has the code “{last[:40]}”. {stranger}".strip(), field="code")


def scanned_place(text: str) -> Place | None:
    """The place or container of a scanned label or a typed code; None when it is something else."""
    last = text.strip().rstrip("/").rsplit("/", 1)[-1]
    if not last:
        return None
    found = place_by_code(text) or place_by_code(last)
    label = label_target(last) if found is None and looks_like_code(last) else None
    return found or (label.place if label is not None else None)


def what_it_is(place: Place) -> str:
    """ "TR-1 is a trunk, boot trunk": what the hand or the scanner met, without a full stop."""
    kind = place.get_kind_display()
    return f"{place.code} is {'an' if kind[0] in 'aeiou' else 'a'} {kind}, {place.name}"


def wanted_in(loan: Loan, place: Place) -> list[LoanLine]:
    """What the loan still asks for that lies in the place, at whatever depth, in walking order."""
    lines = loan.lines.select_related("piece").filter(state=_S.TO_PULL, piece__standing__state=State.IN_STORE)
    return list(lines.filter(piece__standing__place__in=tree.under(place)).order_by("order", "piece__number"))


def left_to_pull(hold: Hold) -> list[HoldPiece]:
    """The hold's pieces that are on no loan of it, or were left behind: what the next loan would take."""
    sent = LoanLine.objects.filter(loan__hold=hold).exclude(state=_S.LEFT_BEHIND)
    rows = hold.pieces.filter(released_on=None).exclude(piece_id__in=sent.values("piece_id"))
    return list(rows.select_related("piece"))


def early_words(loan: Loan, day: date) -> str:
    """ "2 days before JOB-1 begins", for a loan that leaves on `day`; empty when its hold has begun."""
    early = (loan.hold.starts - day).days if loan.hold is not None else 0
    return f"{early} {'day' if early == 1 else 'days'} before {loan.hold} begins" if early > 0 else ""


def wrong_piece_sentence(loan: Loan, piece: Piece) -> str:
    """What the piece in hand is, and which ones the list asks for instead, with where they lie."""
    wanted = loan.lines.filter(state=_S.TO_PULL).select_related("piece").order_by("order")
    like = list(wanted.filter(piece__role=piece.role_id, piece__slot=piece.slot_id)[:3]) if piece.slot_id else []
    like = like or list(wanted.filter(piece__kind=piece.kind)[:3])
    if not like:
        return (
            f"This is {piece.number}, {piece.name}. It is not on the list, and no {piece.get_kind_display()} is open."
        )
    where = whereabouts(line.piece_id for line in like)
    asked = [
        f"{line.piece.number}, {where[line.piece_id].words}" if line.piece_id in where else line.piece.number
        for line in like
    ]
    return f"This is {piece.number}, {piece.name}. The list asks for {' or '.join(asked)}."


def not_on_list_sentence(loan: Loan, piece: Piece) -> str:
    """What to do with a thing that came home with a loan it did not leave with."""
    other = LoanLine.objects.select_related("loan").filter(piece=piece, state__in=queries.AWAY).first()
    if other is not None:
        return (
            f"This is {piece.number}, {piece.name}. It is not on {loan}; it is out on {other.loan} "
            f"to {other.loan.to_whom}: return it there."
        )
    return (
        f"This is {piece.number}, {piece.name}. It is not on {loan} and no loan has it; by its record it never left: "
        f"{_should_be(piece)}. Move it there, or look at its history."
    )


def _should_be(piece: Piece) -> str:
    where = whereabouts([piece.pk]).get(piece.pk)
    return f"it should be at {where.words}" if where is not None and where.key else "it has no place recorded"


def line_to_return(loan: Loan, piece: Piece) -> LoanLine:
    """The line of a piece that may be counted back now. Raises Refused or WrongState with why not."""
    line = loan.lines.select_related("loan", "piece", "wearer").filter(piece=piece).first()
    if line is None:
        raise Refused(not_on_list_sentence(loan, piece), field="code")
    if line.loan.state == Loan.State.CLOSED:
        raise WrongState(f"{loan} is closed. Report {piece} as found, and move it to its place.", field="code")
    if line.state in {_S.TO_PULL, _S.PULLED, _S.LEFT_BEHIND}:
        raise WrongState(f"{piece} never left with {loan}: it is {line.get_state_display()}.", field="code")
    if line.state not in MAY_RETURN:
        raise WrongState(f"{piece} is back already: {line.get_state_display()}.", field="code")
    return line


def missing_parts(loan: Loan) -> list[PartReturn]:
    """The halves and detachable parts that did not come home with their piece."""
    rows = PartReturn.objects.select_related("part", "line__piece").filter(line__loan=loan, back=False)
    return list(rows.order_by("line__piece__number", "part__letter"))


def quarantine_place() -> Place | None:
    """The house's first quarantine place."""
    return Place.objects.filter(kind=PlaceKind.QUARANTINE).order_by("order", "code").first()


def open_sentence(loan: Loan) -> str:
    """What keeps the loan from closing, in one sentence without a full stop; empty when nothing does."""
    rows = loan.lines.filter(state__in=OPEN).values_list("piece__number", "state").order_by("order")
    by_state: dict[str, list[str]] = {}
    for number, state in rows:
        by_state.setdefault(state, []).append(number)
    said = [f"{_some(numbers)} {_is(numbers)} {_S(state).label}" for state, numbers in by_state.items()]
    not_ours = list(loan.unlisted.filter(from_line=None, handed_over_on=None).values_list("description", flat=True))
    if not_ours:
        said.append(f"{_some(not_ours)} {_is(not_ours)} not ours and not handed over")
    return "; ".join(said)


def loans() -> "QuerySet[Loan]":
    """All loans, newest first, with how many lines each has, are out, are home."""
    home = (_S.QUARANTINED, _S.BACK, _S.PUT_AWAY, _S.WENT_BACK)
    counted = Loan.objects.select_related("call", "hold").annotate(
        lines_n=Count("lines", filter=~Q(lines__state=_S.LEFT_BEHIND)),
        open_n=Count("lines", filter=Q(lines__state__in=OPEN)),
        pulled_n=Count("lines", filter=Q(lines__state=_S.PULLED)),
        away_n=Count("lines", filter=Q(lines__state__in=(_S.OUT, _S.ON_SET))),
        home_n=Count("lines", filter=Q(lines__state__in=home)),
    )
    return counted.order_by("-made_at", "-pk")


def lines_of(loan: Loan, *more: str) -> list[LoanLine]:
    """The loan's lines in walking order, with `more` of what they name read along."""
    rows = loan.lines.select_related("piece__production", "wearer", "substitute_for", *more)
    return list(rows.order_by("order", "piece__number"))


def pull_list(loan: Loan) -> list[PullRow]:
    """The lines to pull and pulled, as one walks. The number of queries does not grow with the list."""
    lines = [line for line in lines_of(loan) if line.state in {_S.TO_PULL, _S.PULLED}]
    where = whereabouts(line.piece_id for line in lines)
    limit = int(house.value("lift.one_person_g"))
    parts: dict[int, list[str]] = {}
    from_lines = Piece.objects.filter(pk__in=[line.piece_id for line in lines], parts__missing_since=None)
    for piece_id, letter, name in from_lines.values_list("pk", "parts__letter", "parts__name"):
        if letter:
            parts.setdefault(piece_id, []).append(f"{letter} {name}")
    nowhere = Whereabouts("no place recorded", "not received", (), False)
    # Whoever dresses somebody must know at the shelf; for an exhibition it says nothing.
    wear = wear_state([line.piece for line in lines]) if loan.call and loan.call.needs.exists() else {}
    unasked = WearState(Wear.YES, None)
    kept = kept_apart(line.piece_id for line in lines)
    return [
        PullRow(
            line,
            where.get(line.piece_id, nowhere),
            (line.piece.weight_g or 0) > limit,
            sorted(parts.get(line.piece_id, [])),
            wear.get(line.piece_id, unasked).why,
            wear.get(line.piece_id, unasked).conditions,
            kept[line.piece_id].refusal(line.piece.number, "pulled" if line.state == _S.TO_PULL else "sent out"),
        )
        for line in lines
    ]


@dataclass(frozen=True, slots=True)
class HomeRow:
    """A line that is back, and what stands between it and its shelf."""

    line: LoanLine
    due_on: date | None
    in_quarantine: bool
    altered: str
    home: Place | None
    missing_parts: list[PartReturn]
    pest: str = ""

    @property
    def not_ours(self) -> bool:
        """Whether it goes back to its owner instead of onto a shelf."""
        return self.line.piece.owner != Piece.Owner.OURS

    def ready(self, today: date) -> bool:
        """Whether its quarantine may end today."""
        return (
            not self.not_ours
            and not self.altered
            and not self.pest
            and (not self.in_quarantine or self.due_on is None or self.due_on <= today)
        )


def coming_home(loan: Loan) -> list[HomeRow]:
    """What is back and not put away yet; a fixed number of queries."""
    lines = [line for line in lines_of(loan) if line.state in {_S.QUARANTINED, _S.BACK}]
    ids = [line.piece_id for line in lines]
    apart = dict(Quarantine.objects.filter(piece_id__in=ids, released_on=None).values_list("piece_id", "due_on"))
    pest = pest_work_of(ids)
    altered: dict[int, str] = {}
    for piece_id, what in Alteration.objects.filter(piece_id__in=ids, undone_on=None).values_list("piece_id", "what"):
        altered[piece_id] = f"{altered[piece_id]}; {what}" if piece_id in altered else what
    homes = {row.piece_id: row.home for row in Standing.objects.select_related("home").filter(piece_id__in=ids)}
    missing: dict[int, list[PartReturn]] = {}
    for row in PartReturn.objects.select_related("part").filter(line__in=[line.pk for line in lines], back=False):
        missing.setdefault(row.line_id, []).append(row)
    return [
        HomeRow(
            line,
            apart.get(line.piece_id),
            line.piece_id in apart,
            altered.get(line.piece_id, ""),
            homes.get(line.piece_id),
            missing.get(line.pk, []),
            " and ".join(work.words for work in pest.get(line.piece_id, ())),
        )
        for line in lines
    ]


def _whereabouts(standing: Standing, paths: dict[int, list[Place]]) -> Whereabouts:
    path = paths.get(standing.place_id or 0, [])
    if not path:
        return Whereabouts("place not known", standing.state, (), False)
    fixed = [place for place in path if not place.is_container]
    boxes = [place for place in path if place.is_container]
    words = ", ".join([*(f"in {box.code}" for box in reversed(boxes)), *(f"at {place.code}" for place in fixed[-1:])])
    if standing.state != State.IN_STORE:
        words = f"{standing.state}, last {words}"
    return Whereabouts(
        words,
        standing.state,
        walking_key(Step(place.order, place.code) for place in path),
        any(place.needs_steps for place in path),
        fixed[-1].code if fixed else "",
    )


def _some(numbers: Sequence[str]) -> str:
    more = f" and {len(numbers) - 3} more" if len(numbers) > 3 else ""
    return ", ".join(numbers[:3]) + more


def _is(numbers: Sequence[str]) -> str:
    return "is" if len(numbers) == 1 else "are"
