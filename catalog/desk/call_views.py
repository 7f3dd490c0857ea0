"""The call's own page: what is asked, how far it has come, and the one next step; holding and pulling its plan."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import NoReverseMatch, reverse
from django.views.decorators.http import require_http_methods, require_POST

from catalog.access.people import signed_in
from catalog.access.permissions import ADDRESSES, Ability, can
from catalog.core import clock
from catalog.core.http import render_page
from catalog.fitting.calc.plan_types import PlanError
from catalog.fitting.models import Plan
from catalog.fitting.queries import dry_run, needed_pieces
from catalog.loans import actions, queries
from catalog.loans.hold_views import take_hold
from catalog.loans.models import Call, Hold, Loan, Wearer
from catalog.loans.pages import call_or_404, call_steps, hold_or_404, told


@dataclass(frozen=True, slots=True)
class CallStep:
    """A step of the call: done, now, or still ahead; the address only where this person may go."""

    word: str
    verb: str
    note: str
    done: bool
    url: str


def call(request: HttpRequest, reference: str) -> HttpResponse:
    """The hub: everything about a call is reachable from here."""
    found = call_or_404(reference)
    needs = list(found.needs.select_related("role"))
    listed = queries.wearer_rows(found)
    plan = Plan.objects.filter(call=found, current=True).order_by("-made_at").first()
    today = clock.today()
    holds = list(found.holds.exclude(state=Hold.State.RELEASED).order_by("pk"))
    loans = list(found.loans.order_by("pk"))
    asked = sum(need.count for need in needs)
    steps = _steps(request, found, asked, listed, plan, [one for one in holds if queries.is_living(one, today)], loans)
    context = {
        "call": found,
        "needs": needs,
        "asked": asked,
        "listed": listed,
        "plan": plan,
        "holds": [{"hold": one, "living": queries.is_living(one, today)} for one in holds],
        "loans": loans,
        "call_steps": steps,
        "answer": _answer(found, asked, plan, holds, loans),
        "next_step": next((step for step in steps if not step.done and step.url), None),
        "steps": call_steps(None, found.reference),
        "history": told(found.subject),
        "may_call": can(request.user, Ability.CALL) and found.state == Call.State.OPEN,
        "may_hold": can(request.user, Ability.HOLD),
        "may_see_bodies": can(request.user, Ability.SEE_BODIES),
        "may_see_values": can(request.user, Ability.SEE_VALUES),
        "can_close": can(request.user, Ability.CALL) and _can_close(found, loans),
    }
    return render_page(request, "catalog/desk/call.html", context)


@require_http_methods(["GET", "POST"])
def hold_call(request: HttpRequest, reference: str) -> HttpResponse:
    """Hold the pieces of the call's stored plan, else of its dry run, for the call's days."""
    found = call_or_404(reference)
    initial: dict[str, Any] = {
        "reference": queries.next_hold_reference(),
        "for_whom": found.asked_by or found.title,
        "use_from": min(day for day in (found.fittings_from, found.load_on) if day),
        "use_to": found.back_on,
    }
    if request.method == "GET":
        initial["pieces"] = "\n".join(_numbers_to_hold(found))
    return take_hold(request, found, initial)


@require_POST
def start_loan(request: HttpRequest, reference: str) -> HttpResponse:
    """Make the pull list of a hold; each piece is meant for the performer whom the plan names."""
    hold = hold_or_404(reference)
    loan = actions.start_loan(by=signed_in(request), hold=hold, wearers=_meant_for(hold))
    messages.success(request, f"{loan.reference}: scan each piece as you take it from its shelf.")
    return redirect("loans:pull", loan.reference)


def _numbers_to_hold(call: Call) -> list[str]:
    plan = Plan.objects.filter(call=call, current=True).order_by("-made_at").first()
    if plan is not None:
        lines = plan.lines.filter(piece__isnull=False)
        return list(lines.order_by("piece__number").values_list("piece__number", flat=True))
    if not call.needs.exists() or not call.wearers.exists():
        return []
    try:
        return needed_pieces(dry_run(call))
    except PlanError:
        return []


def _meant_for(hold: Hold) -> dict[int, Wearer]:
    if hold.call is None:
        return {}
    plan = Plan.objects.filter(call=hold.call, current=True).order_by("-made_at").first()
    if plan is None:
        return {}
    lines = plan.lines.filter(piece__isnull=False).select_related("wearer")
    return {line.piece_id: line.wearer for line in lines if line.piece_id is not None}


def _steps(
    request: HttpRequest,
    call: Call,
    asked: int,
    listed: list[dict[str, Any]],
    plan: Plan | None,
    holds: list[Hold],
    loans: list[Loan],
) -> list[CallStep]:
    """The steps of a call in order; an exhibition needs no performers, so those steps are left out."""

    def at(name: str, *args: str) -> str:
        return _address(request, name, *(args or (call.reference,)))

    hold = next((one for one in holds if one.strength == Hold.Strength.FIRM), holds[0] if holds else None)
    loan = next((one for one in loans if one.state != Loan.State.CLOSED), loans[-1] if loans else None)
    firm = hold is not None and hold.strength == Hold.Strength.FIRM
    closed = loan is not None and loan.state == Loan.State.CLOSED
    past_pull = loan is not None and loan.state != Loan.State.PULLING
    dressed = call.purpose in {Call.Purpose.RESHOOT, Call.Purpose.STILLS} or asked > 0
    steps: list[CallStep] = []
    if dressed:
        listed_words = f"{len(listed)} listed" if listed else "nobody listed"
        without = "held without a plan" if hold else "nothing worked out yet"
        planned = f"{plan.dressed} of {plan.asked} dressed" if plan else without
        far = plan is not None or hold is not None
        sizes = at("exchange:import_roster") or at("loans:wearers")
        steps += [
            CallStep("How many", "Say how many", f"{asked} asked for", asked > 0, at("loans:needs")),
            CallStep("Performers", "List the performers", listed_words, bool(listed), sizes),
            CallStep("Dry run", "See who can be dressed", "holds nothing", far, at("fitting:dry_run")),
            CallStep("Fitting plan", "Plan the fittings", planned, far, at("fitting:plan")),
        ]
    hold_url = at("loans:hold", hold.reference) if hold else at("desk:hold_call")
    hold_note = f"{hold.reference}, {hold.strength}" if hold else "nothing held"
    hold_verb = "Make the hold firm" if hold and not firm else "Hold the pieces"
    steps.append(CallStep("Hold", hold_verb, hold_note, firm or past_pull, hold_url))
    steps.append(_loan_step(at, hold, loan, past_pull))
    steps.append(
        CallStep("Travel", "See what may travel", "what flies, goes by road, stays", past_pull, at("desk:call_travel"))
    )
    if loan is not None and past_pull:
        home = loan.state == Loan.State.HOME
        verb = "Bring it home" if home else "See what is out"
        steps.append(CallStep("Out and home", verb, loan.get_state_display(), closed, at("loans:loan", loan.reference)))
    return steps


def _loan_step(at: Any, hold: Hold | None, loan: Loan | None, past_pull: bool) -> CallStep:
    if loan is not None:
        word = "pulled" if past_pull else "being pulled"
        return CallStep(
            "Pull", "Pull the pieces", f"{loan.reference}, {word}", past_pull, at("loans:pull", loan.reference)
        )
    url = at("loans:hold", hold.reference) if hold else ""
    return CallStep("Pull", "Start the pull", "after a firm hold", False, url)


def _answer(call: Call, asked: int, plan: Plan | None, holds: list[Hold], loans: list[Loan]) -> str:
    """How the call stands, in one sentence."""
    out = [loan.reference for loan in loans if loan.state in {Loan.State.OUT, Loan.State.HOME}]
    pulling = [loan.reference for loan in loans if loan.state == Loan.State.PULLING]
    firm = sum(one.strength == Hold.Strength.FIRM and one.state == Hold.State.ACTIVE for one in holds)
    if call.state == Call.State.CLOSED:
        return f"{call.reference} is closed."
    if out:
        return f"{' and '.join(out)} {'is' if len(out) == 1 else 'are'} out for {call.title}."
    if loans and not pulling:
        return "Everything that left is home or accounted for."
    said = f"{plan.dressed} of {plan.asked} are dressed in the plan" if plan else ""
    if not said and asked:
        said = f"{asked} {'performer is' if asked == 1 else 'performers are'} asked for"
    if pulling:
        return f"{' and '.join(pulling)} is being pulled{f'; {said}' if said else ''}."
    return f"{said or call.title}; {'pieces are firmly held' if firm else 'nothing is firmly held yet'}."


def _can_close(call: Call, loans: list[Loan]) -> bool:
    return call.state == Call.State.OPEN and bool(loans) and all(loan.state == Loan.State.CLOSED for loan in loans)


def _address(request: HttpRequest, name: str, *args: str) -> str:
    """The address, or nothing where it is not built or not for this person."""
    needed = ADDRESSES.get(name)
    if not isinstance(needed, Ability) or not can(request.user, needed):
        return ""
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return ""
