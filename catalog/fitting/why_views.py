"""Why not, and who can take over: pages of the wardrobe lead. Reading somebody's sizes here is told to the history."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from catalog.access.models import User
from catalog.access.people import signed_in
from catalog.core.form_fields import length_unit, weight_unit
from catalog.core.http import render_page
from catalog.fitting import actions
from catalog.fitting.body_queries import person_of
from catalog.fitting.calc.against import against
from catalog.fitting.calc.fit import Verdict
from catalog.fitting.kept_queries import Kept, kept_today
from catalog.fitting.plan_queries import kept_plan
from catalog.fitting.problem_queries import candidate
from catalog.fitting.queries import Ground, ground_of
from catalog.fitting.stock_queries import StockPiece, question_of, stock_of
from catalog.fitting.why_queries import Pair, pair_of, pairs_of_wearer, sentences, worn_in_plan
from catalog.loans.models import Call, Wearer
from catalog.loans.pages import call_or_404, call_steps


@never_cache
@require_GET
def why_not(request: HttpRequest, reference: str) -> HttpResponse:
    """One performer and one piece with every reason; or all pieces for one performer, all performers for one piece."""
    user, call = signed_in(request), call_or_404(reference)
    ground, worn = ground_of(call), worn_in_plan(call)
    stock = [row for row in stock_of(list(ground.roles.values()), question_of(call)) if row.piece.slot is not None]
    asked, faults = _asked(request, ground, stock)
    wearer, row = asked
    context: dict[str, Any] = {
        "call": call,
        "steps": call_steps(call, "Why not?"),
        "people": list(ground.wearers.values()),
        "choices": _choices(ground, stock),
        "wearer": wearer,
        "row": row,
        "faults": faults,
    }
    if wearer is not None and row is not None:
        pair = pair_of(ground, wearer, row, worn)
        points = against(person_of(wearer), candidate(row.piece, ground.bands))
        context |= {"pair": pair, "reasons": sentences(pair, length_unit(user), weight_unit(user)), "points": points}
        _note(user, call, [pair], drawn=bool(points))
    elif wearer is not None:
        context["slots"] = pairs_of_wearer(ground, wearer, stock, worn)
    elif row is not None:
        pairs = [pair_of(ground, one, row, worn) for one in ground.wearers.values()]
        pairs.sort(key=lambda pair: (pair.verdict is Verdict.NO, pair.verdict is Verdict.UNKNOWN))
        context |= {"pairs": pairs, "fitting": sum(pair.verdict is Verdict.YES for pair in pairs)}
    return render_page(request, "catalog/fitting/why_not.html", context, status=422 if faults else 200)


def _note(user: User, call: Call, pairs: list[Pair], *, drawn: bool = False) -> None:
    """Sizes stand on the page when a size is among the reasons, or the body is drawn against the piece."""
    told = [pair for pair in pairs if drawn or any(one.point for one in pair.obstacles)]
    read = sum(bool(pair.wearer.sheets.all()) for pair in told)
    if read:
        actions.note_reading(by=user, call=call, number=read)


def _asked(
    request: HttpRequest, ground: Ground, stock: list[StockPiece]
) -> tuple[tuple[Wearer | None, StockPiece | None], list[str]]:
    """The performer and the piece of the address, and a sentence for a name that is none of the call's."""
    number, piece = (request.GET.get(name, "").strip() for name in ("performer", "piece"))
    wearer = next((one for one in ground.wearers.values() if one.number.lower() == number.lower()), None)
    row = next((one for one in stock if one.piece.number.lower() == piece.lower()), None)
    faults = []
    if number and wearer is None:
        faults.append(f"There is no performer {number[:20]} on the list of {ground.call.reference}.")
    if piece and row is None:
        faults.append(f"{piece[:30]} is no piece of a role that {ground.call.reference} asks for.")
    return (wearer, row), faults


def _choices(ground: Ground, stock: list[StockPiece]) -> list[tuple[str, list[StockPiece]]]:
    """The pieces by role and slot, for the list to choose from."""
    return [
        (f"{ground.roles[role].name}, {slot.name}", [row for row in stock if row.piece.slot_id == slot.pk])
        for (role, _), slot in ground.slots.items()
    ]


@never_cache
@require_GET
def take_over(request: HttpRequest, reference: str, number: str) -> HttpResponse:
    """Who of the others could wear what the kept plan gives this performer, slot by slot."""
    call = call_or_404(reference)
    wearer = call.wearers.filter(number__iexact=number).first()
    if wearer is None:
        raise Http404(f"There is no performer {number[:20]} in {call.reference}.")
    plan = kept_plan(call)
    kept = kept_today(plan) if plan is not None else None
    own = [line for line in kept.assignments if line.wearer == wearer.number] if kept else []
    rows = _rows(kept, wearer) if kept and own else []
    context = {
        "call": call,
        "wearer": wearer,
        "plan": plan,
        "slots": [(kept.problem.word(line.slot), line) for line in own] if kept else [],
        "rows": rows,
        "able": [row for row in rows if row["stand_in"].all],
        "free": [row for row in rows if row["stand_in"].all and not row["role"]],
        "steps": call_steps(call, f"Who can take over from {wearer.number}?"),
    }
    return render_page(request, "catalog/fitting/take_over.html", context)


def _rows(kept: Kept, wearer: Wearer) -> list[dict[str, Any]]:
    """The undressed before the dressed among those who can wear as much."""
    roles = {line.wearer: kept.problem.word(line.role) for line in kept.assignments}
    rows = [
        {"wearer": kept.ground.wearers[one.wearer], "stand_in": one, "role": roles.get(one.wearer, "")}
        for one in kept.stand_ins(wearer.number)
    ]
    return sorted(rows, key=lambda row: (-row["stand_in"].fitting, bool(row["role"])))
