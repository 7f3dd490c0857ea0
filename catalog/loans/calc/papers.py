"""The papers of a loan in the order in which they are needed: what each is for, and why it may not be printed yet."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Stand:
    """How far a loan has come. `state` is its word: pulling, out, home, closed."""

    state: str = "pulling"
    pieces: int = 0
    has_hold: bool = True
    has_left: bool = False
    counted: int = 0
    lost_or_damaged: int = 0
    performers: int = 0
    away: int = 0
    reported_out: bool = False
    reported_in: bool = False


WhyNot = Callable[[Stand], str]


def at_any_time(stand: Stand) -> str:
    """It may be printed whatever the loan has come to."""
    return ""


def with_pieces(stand: Stand) -> str:
    """Something is to go, or went."""
    return "" if stand.pieces else "No piece is on this loan."


def with_hold(stand: Stand) -> str:
    """There is a hold to tell of."""
    return "" if stand.has_hold else "No hold is behind this loan."


def while_pulling(stand: Stand) -> str:
    """Only before the truck leaves."""
    if stand.state != "pulling":
        return "Nothing is left to pull: the loan has left." if stand.has_left else "This loan was called off."
    return with_pieces(stand)


def once_gone(stand: Stand) -> str:
    """Something is out or was."""
    return "" if stand.has_left else "Nothing has left yet."


def while_out(stand: Stand) -> str:
    """Something is still with the borrower."""
    return once_gone(stand) or ("" if stand.away else "Nothing is out any more.")


def to_sign_out(stand: Stand) -> str:
    """There are pieces on the way out or out, and somebody to sign for them."""
    if not stand.performers:
        return "No performer is on the list of this call."
    if stand.has_left and not stand.away:
        return "Nothing is out any more."
    return with_pieces(stand)


def once_counted(stand: Stand) -> str:
    """At least one piece was counted back."""
    return once_gone(stand) or ("" if stand.counted else "No piece has been counted back yet.")


def once_reported_out(stand: Stand) -> str:
    """Somebody has begun the out-report."""
    return "" if stand.reported_out else "No piece is in the out-report yet."


def once_reported_in(stand: Stand) -> str:
    """Somebody has begun the in-report."""
    return once_counted(stand) or ("" if stand.reported_in else "No piece is in the in-report yet.")


def with_damage(stand: Stand) -> str:
    """There is a loss or a damage to tell of."""
    return once_gone(stand) or ("" if stand.lost_or_damaged else "Nothing is recorded as lost or damaged.")


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper: the name of its address, what it is for, when it may be printed, and its other forms by their word."""

    address: str
    title: str
    purpose: str
    why_not: WhyNot = at_any_time
    also: Mapping[str, str] = field(default_factory=dict)
    form: str = "PDF"


PAPERS: tuple[Paper, ...] = (
    Paper(
        "loans:agreement",
        "Loan agreement",
        "Signed by both sides before anything leaves: purpose, days, places, values, costs and the house's own terms.",
        with_pieces,
    ),
    Paper(
        "desk:loan_values",
        "Insured value",
        "For the cover: the total, by basis, what is stale when it leaves, and what goes stale before it is back.",
        with_pieces,
        {"CSV": "desk:loan_values_csv"},
    ),
    Paper(
        "desk:pull_paper",
        "Pull list",
        "To walk with: in walking order, where steps are needed and where two people lift.",
        while_pulling,
        {"CSV": "desk:pull_csv"},
    ),
    Paper("loans:gap_cards", "Gap cards", "One stays on the shelf where each piece was.", with_pieces),
    Paper(
        "loans:out_report",
        "Out-report",
        "Beside the agreement: the state of each piece as it leaves, its marks on the picture, signed by both sides.",
        once_reported_out,
    ),
    Paper(
        "loans:sign_out_sheet",
        "Sign-out sheet, wardrobe's copy",
        "On set: each performer's pieces with room for the hours and a signature. No size stands on it.",
        to_sign_out,
    ),
    Paper(
        "loans:sign_out_production",
        "Sign-out sheet, production's copy",
        "Who is dressed: name, role, days, yes or no. No piece and no size stands on it.",
        to_sign_out,
    ),
    Paper(
        "loans:count_back_sheet",
        "Count-back sheet",
        "Every night on location: what should be here, to tick before the trucks close.",
        while_out,
        {"CSV": "loans:count_back_table"},
    ),
    Paper(
        "loans:in_report",
        "In-report",
        "Beside the out-report: each old mark the same, worse or gone, and what is new, with its cause.",
        once_reported_in,
    ),
    Paper(
        "loans:loss_list",
        "Loss and damage list",
        "What did not come back, or not as it left, each with its newest value.",
        with_damage,
        {"CSV": "loans:loss_csv"},
    ),
    Paper(
        "desk:insurer_file",
        "Insurer's file",
        "For a claim: the loss list, custody statements with their proof, condition reports, the list of pictures.",
        with_damage,
        form="ZIP",
    ),
    Paper(
        "desk:loan_report",
        "Loan report",
        "Two pages at the end: asked, given, made, cost, damage, delays, and what to change in the store.",
        once_gone,
    ),
)
OF_ADDRESS: Mapping[str, Paper] = {paper.address: paper for paper in PAPERS}
