"""The steps of a call: what is done, what is open, which comes next, and the one sentence of how it stands."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.urls import NoReverseMatch, reverse

from catalog.access.permissions import ADDRESSES, Ability, can
from catalog.fitting.models import Plan
from catalog.loans.calc.progress import Progress
from catalog.loans.models import Call, Hold, Loan

AWAY = {Loan.State.OUT, Loan.State.HOME}


@dataclass(frozen=True, slots=True)
class CallStep:
    """A step of the call: done, now, or still ahead; the address only where this person may go."""

    word: str
    verb: str
    note: str
    done: bool
    url: str


@dataclass(frozen=True, slots=True)
class Stand:
    """What the steps are worked out from: the call, its people and plan, its living holds, its loans."""

    user: AbstractBaseUser | AnonymousUser
    today: date
    call: Call
    asked: int
    listed: int
    plan: Plan | None
    holds: list[Hold]
    loans: list[Loan]
    progress: Progress
    # The firm hold with pieces that are on no loan yet.
    to_pull_from: Hold | None = None

    @property
    def hold(self) -> Hold | None:
        """The firm hold, else the pencil."""
        return next((one for one in self.holds if one.strength == Hold.Strength.FIRM), next(iter(self.holds), None))

    @property
    def pulling(self) -> Loan | None:
        """The loan that is being pulled."""
        return next((one for one in self.loans if one.state == Loan.State.PULLING), None)

    @property
    def away(self) -> list[Loan]:
        """The loans that are out or coming home."""
        return [one for one in self.loans if one.state in AWAY]

    @property
    def sent(self) -> list[Loan]:
        """The loans that ever left."""
        return [one for one in self.loans if one.out_on is not None]

    def at(self, name: str, *args: str) -> str:
        """The address, or nothing where it is not built or not for this person."""
        needed = ADDRESSES.get(name)
        if not isinstance(needed, Ability) or not can(self.user, needed):
            return ""
        try:
            return reverse(name, args=args or (self.call.reference,))
        except NoReverseMatch:
            return ""


def steps_of(stand: Stand) -> list[CallStep]:
    """The steps of a call in order; an exhibition needs no performers, so those steps are left out."""
    dressed = stand.call.purpose in {Call.Purpose.RESHOOT, Call.Purpose.STILLS} or stand.asked > 0
    steps = _dressing(stand) if dressed else []
    steps += [_hold_step(stand), _pull_step(stand)]
    past_pull = bool(stand.sent)
    travel = "what flies, goes by road, stays"
    steps.append(CallStep("Travel", "See what may travel", travel, past_pull, stand.at("desk:call_travel")))
    if stand.sent:
        steps.append(_home_step(stand))
    return steps


def next_of(stand: Stand, steps: list[CallStep]) -> CallStep | None:
    """The one step to take now. What is coming home goes before what could still leave; a pull begun is finished."""
    open_steps = [step for step in steps if not step.done and step.url]
    if stand.pulling is None and (stand.today > stand.call.last_day or _coming_home(stand)):
        open_steps.sort(key=lambda step: step.word != "Out and home")
    elif stand.pulling is not None or stand.sent:
        open_steps.sort(key=lambda step: step.word not in {"Pull", "Out and home"})
    return next(iter(open_steps), None)


def answer_of(stand: Stand) -> str:
    """How the call stands, in one sentence."""
    call, progress = stand.call, stand.progress
    if call.state == Call.State.CLOSED:
        return f"{call.reference} is closed."
    if progress.under_way:
        if not stand.away and not stand.pulling and not progress.held:
            return "Everything that left is home or accounted for."
        return progress.sentence
    said = f"{stand.plan.dressed} of {stand.plan.asked} are dressed in the plan" if stand.plan else ""
    if not said and stand.asked:
        said = f"{stand.asked} {'performer is' if stand.asked == 1 else 'performers are'} asked for"
    if stand.pulling:
        return f"{stand.pulling} is being pulled: {progress.sentence}"
    if progress.held or progress.pencilled:
        return f"{said or call.title}; {progress.sentence}"
    return f"{said or call.title}; nothing is firmly held yet."


def can_close(stand: Stand) -> bool:
    """Whether nothing of the call is open: its loans are closed, nothing is held, and it was sent or is over."""
    nothing = not stand.progress.held and not stand.progress.pencilled
    closed = all(loan.state == Loan.State.CLOSED for loan in stand.loans)
    over = bool(stand.loans) or stand.today > stand.call.last_day
    return stand.call.state == Call.State.OPEN and nothing and closed and over


def _dressing(stand: Stand) -> list[CallStep]:
    plan, far = stand.plan, stand.plan is not None or stand.hold is not None or bool(stand.sent)
    listed = f"{stand.listed} listed" if stand.listed else "nobody listed"
    without = "held without a plan" if stand.progress.held or stand.sent else "nothing worked out yet"
    planned = f"{plan.dressed} of {plan.asked} dressed" if plan else without
    # Once people are listed the step is the list itself; before, it is the way to load one.
    sizes = (not stand.listed and stand.at("exchange:import_roster")) or stand.at("loans:wearers")
    return [
        CallStep("How many", "Say how many", f"{stand.asked} asked for", stand.asked > 0, stand.at("loans:needs")),
        CallStep("Performers", "List the performers", listed, bool(stand.listed), sizes),
        CallStep("Dry run", "See who can be dressed", "holds nothing", far, stand.at("fitting:dry_run")),
        CallStep("Fitting plan", "Plan the fittings", planned, far, stand.at("fitting:plan")),
    ]


def _hold_step(stand: Stand) -> CallStep:
    hold = stand.hold
    firm = hold is not None and hold.strength == Hold.Strength.FIRM
    note = ", ".join(f"{one.reference} {one.word}" for one in stand.holds) or "nothing held"
    verb = "Make the hold firm" if hold and not firm else "Hold the pieces"
    url = stand.at("loans:hold", hold.reference) if hold else stand.at("desk:hold_call")
    return CallStep("Hold", verb, note, firm or bool(stand.sent), url)


def _pull_step(stand: Stand) -> CallStep:
    """Done only when nothing firmly held waits to be pulled: what was left behind can follow on a loan of its own."""
    loan, left, hold = stand.pulling, stand.progress.left, stand.to_pull_from
    may_pull = can(stand.user, Ability.PULL)
    if loan is not None:
        note = f"{loan.reference}, {stand.progress.pulled} of {stand.progress.pulled + stand.progress.listed} pulled"
        return CallStep("Pull", "Pull the pieces", note, False, stand.at("loans:pull", loan.reference))
    if left and hold is not None:
        note = f"{left} {'piece' if left == 1 else 'pieces'} held and on no loan"
        if stand.loans and stand.today > stand.call.last_day:
            return CallStep(
                "Pull", f"Release the {left} never sent", note, False, stand.at("loans:release", hold.reference)
            )
        verb = f"Pull the {left} left behind" if stand.sent else "Start the pull"
        return CallStep("Pull", verb, note, False, stand.at("loans:hold", hold.reference) if may_pull else "")
    if stand.sent:
        return CallStep("Pull", "Pull the pieces", "nothing is left to pull", True, "")
    url = stand.at("loans:hold", stand.hold.reference) if stand.hold and may_pull else ""
    return CallStep("Pull", "Start the pull", "after a firm hold", False, url)


def _home_step(stand: Stand) -> CallStep:
    first: Any = next(iter(stand.away), stand.sent[-1])
    verb = "Bring it home" if _coming_home(stand) or stand.today > stand.call.last_day else "See what is out"
    states = ", ".join(f"{loan.reference} {loan.get_state_display()}" for loan in stand.sent)
    return CallStep("Out and home", verb, states, not stand.away, stand.at("loans:loan", first.reference))


def _coming_home(stand: Stand) -> bool:
    return any(loan.state == Loan.State.HOME for loan in stand.loans)
