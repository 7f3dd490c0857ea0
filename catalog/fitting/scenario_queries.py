"""What a dry run may suppose, from real rows, and the last safe day for each decision."""

from dataclasses import dataclass
from datetime import date

from catalog.core.days import Kind, last_safe_start
from catalog.fitting.queries import DryRun
from catalog.fitting.stock_queries import StockPiece
from catalog.loans.models import Hold
from catalog.loans.queries import HeldSpan, holds_of
from catalog.storage.models import Place, State


@dataclass(frozen=True, slots=True)
class Supposition:
    """Something that is not so yet and might be: a container found, a hold released; `pieces` hang on it."""

    name: str
    value: str
    words: str
    pieces: int
    on: bool


@dataclass(frozen=True, slots=True)
class Deadline:
    """The last safe day of a decision; `late` when it has passed."""

    day: date | None
    words: str
    note: str
    late: bool


def suppositions(run: DryRun) -> list[Supposition]:
    """Lost containers with pieces of the call's roles, and other people's firm holds on such pieces."""
    found = [
        Supposition(
            "found",
            place.code,
            f"As if {place.get_kind_display()} {place.code} were found",
            number,
            place.code.upper() in run.question.found,
        )
        for place, number in _lost_containers(run)
    ]
    for reference, spans in _clashing(run).items():
        words = f"As if {reference} were released ({spans[0].for_whom}, to {spans[0].use_to:%-d %b %Y})"
        on = reference.upper() in run.question.released
        found.append(Supposition("released", reference, words, len(spans), on))
    return found


def _lost_containers(run: DryRun) -> list[tuple[Place, int]]:
    """Containers that are not found, each with how many pieces of the roles were last seen in it."""
    lost: dict[int, tuple[Place, int]] = {}
    for row in run.stock:
        standing = getattr(row.piece, "standing", None)
        place = standing.place if standing is not None else None
        if place is not None and place.is_container and place.state == State.NOT_FOUND:
            lost[place.pk] = (place, lost.get(place.pk, (place, 0))[1] + 1)
    return sorted(lost.values(), key=lambda pair: pair[0].code)


def _clashing(run: DryRun) -> dict[str, list[HeldSpan]]:
    """Firm holds of others on the call's days, by reference."""
    spans: dict[str, list[HeldSpan]] = {}
    question = run.question
    pieces = [row.piece for row in run.stock]
    for span in holds_of(pieces, question.first, question.last, ignoring=run.call):
        if span.strength == Hold.Strength.FIRM:
            spans.setdefault(span.hold, []).append(span)
    return spans


def deadlines(run: DryRun) -> list[Deadline]:
    """Mending, what is to be made, notices to holders: the last safe day of each, the earliest first."""
    found = [*_mending(run), *_making(run), *_notices(run)]
    return sorted(found, key=lambda line: (line.day is not None, line.day or date.max, line.words))


def _mending(run: DryRun) -> list[Deadline]:
    lines = []
    for row in run.work:
        words = f"Start work on {row.piece.number}: {row.work}"
        takes = f"{row.work_days} {row.work_day_kind.value} days" if row.work_days is not None else ""
        note = "; ".join(part for part in (takes, _if_wanted_at_fitting(run, row)) if part)
        lines.append(Deadline(row.start_by, words, note, _late(run, row.start_by)))
    return lines


def _if_wanted_at_fitting(run: DryRun, row: StockPiece) -> str:
    """An earlier day when the piece is to be at the fittings already."""
    fittings, ready = run.call.fittings_from, run.question.ready_by
    if fittings is None or ready is None or row.start_by is None or fittings >= ready:
        return ""
    if row.work_days is None:
        return ""
    day = last_safe_start(fittings, row.work_days, row.work_day_kind, run.question.closed)
    return f"by {day:%-d %b %Y} if it is wanted at the fittings"


def _making(run: DryRun) -> list[Deadline]:
    """One line a slot: order and measure by that day. Nobody said how long: that is the first thing to ask."""
    lines = []
    counted: dict[tuple[str, str], int] = {}
    for make in run.plan.make:
        counted[make.role, make.slot] = counted.get((make.role, make.slot), 0) + 1
    for (role, code), number in counted.items():
        slot = run.slots[role, code]
        words = f"Order {number} × {slot.name} ({run.roles[role].name})"
        if slot.make_days is None:
            lines.append(Deadline(None, words, "nobody has said how long making takes", False))
            continue
        day = last_safe_start(run.call.load_on, slot.make_days, Kind.WORKING, run.question.closed)
        note = f"{slot.make_days} working days; its wearer is measured by then"
        if run.call.fittings_from is not None and day < run.call.fittings_from:
            note += ", before the fittings"
        lines.append(Deadline(day, words, note, _late(run, day)))
    return lines


def _notices(run: DryRun) -> list[Deadline]:
    lines = []
    for reference, spans in _clashing(run).items():
        words = (
            f"Ask {spans[0].for_whom} to release {len(spans)} {'piece' if len(spans) == 1 else 'pieces'} ({reference})"
        )
        notice = spans[0].notice_days
        if notice is None:
            lines.append(Deadline(None, words, "no notice was agreed; it may be refused", False))
            continue
        day = last_safe_start(run.call.load_on, notice, Kind.CALENDAR)
        lines.append(Deadline(day, words, f"{notice} days' notice; it may be refused", _late(run, day)))
    return lines


def _late(run: DryRun, day: date | None) -> bool:
    return day is not None and day < run.question.today
