"""What the page of a piece says first, and what it offers first, so that head, act, days and travel never disagree.

Pure: where the piece stands, what keeps it there and what was decided about wearing it go in; words come out.
"""

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from catalog.care.calc.apart import KeptApart
from catalog.care.calc.wear import Wear

# States of a loan line whose piece is home again and not on its shelf yet.
BACK = frozenset({"back", "quarantined"})


class Act(StrEnum):
    """The one filled act of the page."""

    FOUND = "found"
    WORK = "work"
    RELEASE = "release"
    PUT_AWAY = "put away"
    LOAN = "loan"
    PLACE = "place"
    MOVE = "move"
    NONE = ""


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a piece. `state`: in store, out, at treatment, not found, or empty while nobody has placed it.

    `loan` and `loan_state` are of the loan that has it now; `lost_with` is the container that was lost with it inside.
    """

    name: str
    state: str
    wear: Wear
    kept: KeptApart = field(default_factory=KeptApart)
    loan: str = ""
    loan_state: str = ""
    lost_with: str = ""
    missing_since: date | None = None
    last_seen: date | None = None
    last_seen_by: str = ""
    last_place: str = ""


@dataclass(frozen=True, slots=True)
class Head:
    """The head of the page. An empty `lead`, `not_free` or `no_travel` leaves the word to the section itself."""

    answer: str
    act: Act
    lead: str = ""
    not_free: str = ""
    no_travel: str = ""
    wear_note: str = ""


_WEAR = {
    Wear.YES: "may be worn",
    Wear.LIMITS: "may be worn with limits",
    Wear.REPAIR: "may be worn after its repair",
    Wear.NO: "not for wear",
}


def head_of(known: Known) -> Head:
    """The gravest fact decides: missing, then kept apart, then on a loan, then where it stands."""
    name = known.name[:1].upper() + known.name[1:]
    if known.state == "not found" or known.lost_with:
        return _missing(name, known)
    if known.kept.is_kept:
        return _kept(name, known)
    if known.loan:
        act = Act.PUT_AWAY if known.loan_state in BACK else Act.LOAN
        return Head(f"{name}: {_on_loan(known)}, {_WEAR[known.wear]}.", act)
    return _standing(name, known)


def _standing(name: str, known: Known) -> Head:
    """Where it stands, while nothing else speaks."""
    if known.state == "at treatment":
        return Head(
            f"{name}: at treatment, {_later(known.wear, 'it is back')}.",
            Act.MOVE,
            not_free="It is at treatment.",
            no_travel="Not while it is at treatment.",
            wear_note=_note(known.wear, "it is back from treatment"),
        )
    if known.state == "out":
        return Head(f"{name}: out, {_WEAR[known.wear]}.", Act.NONE, not_free="It is out.")
    if not known.state:
        return Head(
            f"{name}: not placed yet, {_WEAR[known.wear]}.",
            Act.PLACE,
            not_free="Nobody has recorded where it is, so it does not count as free.",
            no_travel="Not before somebody has recorded where it is.",
        )
    return Head(f"{name}: {known.state}, {_WEAR[known.wear]}.", Act.MOVE)


def _missing(name: str, known: Known) -> Head:
    since = f", not found since {_day(known.missing_since)}" if known.missing_since else ""
    lost = f" It was lost with {known.lost_with}." if known.lost_with else ""
    seen = "Nobody has surely seen it since it was recorded."
    if known.last_seen:
        by = f" by {known.last_seen_by}" if known.last_seen_by else ""
        where = f", {known.last_place}" if known.last_place else ""
        seen = f"Last surely seen {_day(known.last_seen)}{by}{where}."
    return Head(
        f"{name} is missing{since}.",
        Act.FOUND if known.state == "not found" else Act.PLACE,
        lead=seen + lost,
        not_free="It is missing.",
        no_travel="Not while it is missing.",
        wear_note="What was decided counts again when it is found and looked at.",
    )


def _kept(name: str, known: Known) -> Head:
    work, until = known.kept.work, known.kept.until
    if until is not None:
        told, over = f"in quarantine until {_day(until)}{', pest work is open' if work else ''}", "it is released"
        act = Act.PUT_AWAY if known.loan_state in BACK else Act.RELEASE
        not_free, no_travel = f"It is in quarantine until {_day(until)}.", "Not while it is in quarantine."
    else:
        told, over = "kept where it is, pest work is open", "the pest work is done"
        act, not_free, no_travel = Act.WORK, "Pest work on it is open.", "Not while pest work on it is open."
    opened = "".join(f"{one.words[:1].upper()}{one.words[1:]}. " for one in work)
    return Head(
        f"{name}: {told}.",
        Act.WORK if work else act,
        lead=f"{opened}It {_later(known.wear, over)}." if known.wear is not Wear.NO else f"{opened}It is not for wear.",
        not_free=not_free,
        no_travel=no_travel,
        wear_note=_note(known.wear, over),
    )


def _on_loan(known: Known) -> str:
    if known.loan_state in BACK:
        return f"back from {known.loan} and not put away yet"
    return f"{known.loan_state} {'for' if known.loan_state == 'pulled' else 'with'} {known.loan}"


def _later(wear: Wear, over: str) -> str:
    return _WEAR[wear] if wear is Wear.NO else f"{_WEAR[wear]} once {over}"


def _note(wear: Wear, over: str) -> str:
    return "" if wear is Wear.NO else f"It {_WEAR[wear]}, not before {over}."


def _day(day: date | None) -> str:
    return f"{day:%-d %b %Y}" if day else ""
