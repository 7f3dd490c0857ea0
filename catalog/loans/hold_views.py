"""Pages of holds: the list with its clashes, one hold, making, firming up and releasing."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core import clock
from catalog.core.http import render_page
from catalog.loans import (
    actions,
    buffer_queries,
    hold_queries,
    holdable_queries,
    loan_queries,
    queries,
    waiting_queries,
)
from catalog.loans.calc.waiting import ordinal
from catalog.loans.forms import FirmUpForm, HoldForm, ReleaseForm
from catalog.loans.holdable_queries import to_be_worn
from catalog.loans.models import Call, Hold, HoldPiece, Loan
from catalog.loans.pages import call_steps, form_page, hold_or_404, hold_steps, told
from catalog.pieces.models import Piece
from catalog.pieces.pages import done


def holds(request: HttpRequest) -> HttpResponse:
    """Every hold that stands, the clashes named, and the holds along time."""
    today = clock.today()
    standing = list(hold_queries.standing_holds(today)[:200])
    clashes = hold_queries.clashes_among(standing)
    ranks = waiting_queries.ranks_of(standing)
    spans = [_span(hold) for hold in standing]
    context = {
        "rows": [
            {"hold": hold, "clashes": clashes.get(hold.pk, []), "rank": _rank_word(ranks, hold)} for hold in standing
        ],
        "firm_n": sum(hold.strength == Hold.Strength.FIRM for hold in standing),
        "pencils_n": sum(hold.strength == Hold.Strength.PENCIL for hold in standing),
        "clashing": len([hold for hold in standing if clashes.get(hold.pk)]),
        "bars": queries.bars(spans),
        "first": min([today, *(hold.starts for hold in standing)]) if standing else today,
        "last": max([today, *(hold.ends for hold in standing)]) if standing else today,
        "today": today,
        "past": hold_queries.past_holds(today)[:20],
        "may_hold": can(request.user, Ability.HOLD),
    }
    return render_page(request, "catalog/loans/holds.html", context)


def hold(request: HttpRequest, reference: str) -> HttpResponse:
    """One hold: what it has, what clashes with it, and what comes next."""
    found = hold_or_404(reference)
    today = clock.today()
    rows = hold_queries.pieces_in(found)
    kept = [row for row in rows if row.released_on is None]
    overlaps = hold_queries.overlaps_of(found, rows)
    living = queries.is_living(found, today)
    ids = [row.piece_id for row in kept]
    line = waiting_queries.line_of(found, ids) if living else []
    loans = list(found.loans.order_by("-pk"))
    spans = [_span(found), *queries.holds_of(ids, found.starts, found.ends, ignoring=found)]
    context = {
        "hold": found,
        "living": living,
        "firm": found.strength == Hold.Strength.FIRM,
        "rows": rows,
        "kept": kept,
        "overlaps": overlaps if living else [],
        "rank_word": ordinal(next((one.rank for one in line if one.mine), 1)),
        "line": line,
        "not_ours": [row for row in kept if row.piece.owner != Piece.Owner.OURS],
        "piece_words": ",".join(row.piece.number for row in kept[:60]),
        "gone": waiting_queries.gone_ahead(found, ids) if living and found.strength == Hold.Strength.PENCIL else [],
        "bars": queries.bars(spans),
        "first": min(span.first for span in spans),
        "last": max(span.last for span in spans),
        "today": today,
        "notes": _to_know(found, kept) if living else [],
        "missing": holdable_queries.missing_among(ids) if living else set(),
        "loans": loans,
        "loan": next((one for one in loans if one.state == Loan.State.PULLING), None),
        "open_loan": next((one for one in loans if one.state != Loan.State.CLOSED), None),
        "left": loan_queries.left_to_pull(found) if living else [],
        "lines": told(found.subject),
        "steps": hold_steps(found),
        "may_hold": can(request.user, Ability.HOLD),
        "may_pull": can(request.user, Ability.PULL),
    }
    return render_page(request, "catalog/loans/hold.html", context)


@require_http_methods(["GET", "POST"])
def make_hold(request: HttpRequest) -> HttpResponse:
    """Hold pieces by number or by set, with or without a call behind it."""
    initial = {"pieces": request.GET.get("pieces", ""), "reference": queries.next_hold_reference()}
    return take_hold(request, None, initial)


def take_hold(request: HttpRequest, call: Call | None, initial: Mapping[str, Any]) -> HttpResponse:
    """The hold form and its answer; a call's page hands in the plan's pieces and the call's days."""
    user = signed_in(request)
    form = HoldForm(request.POST or None, initial=dict(initial))
    if request.method == "POST" and done(form, lambda: actions.hold(by=user, call=call, **form.cleaned_data)):
        made = hold_or_404(form.cleaned_data["reference"])
        messages.success(request, _what_it_does(made))
        return redirect("loans:hold", made.reference)
    return form_page(
        request,
        form,
        steps=call_steps(call, "Hold") if call else hold_steps(None, "Hold pieces"),
        answer=f"Hold or pencil pieces for {call.reference}." if call else "Hold or pencil pieces.",
        verb="Hold or pencil these pieces",
        template="catalog/loans/make_hold.html",
        call=call,
        overlaps=_in_the_way(form, call),
        may_hold=True,
    )


def _what_it_does(made: Hold) -> str:
    """How many pieces are pencilled or held now, and until when."""
    number = made.pieces.filter(released_on=None).count()
    what = f"{number} {'piece is' if number == 1 else 'pieces are'} {made.word}"
    if made.strength == Hold.Strength.PENCIL:
        return f"{what}; the pencil lapses by itself on {made.lapses_on:%-d %b %Y}."
    return f"{what}: nobody else can have {'it' if number == 1 else 'them'} on these days."


def _in_the_way(form: HoldForm, call: Call | None) -> list[hold_queries.Overlap]:
    """The firm holds that refused this one, each with its ways out."""
    data = getattr(form, "cleaned_data", {})
    if not form.is_bound or not all(data.get(name) is not None for name in ("use_from", "use_to")):
        return []
    if "pieces" not in form.errors or "pieces" not in form.asked:
        return []
    first = data["use_from"] - timedelta(days=data.get("days_before") or 0)
    last = data["use_to"] + timedelta(days=data.get("days_after") or 0)
    worn = to_be_worn(data.get("purpose") or "", call)
    ids, use = [piece.pk for piece in form.asked["pieces"]], (data["use_from"], data["use_to"])
    found = hold_queries.overlaps(ids, first, last, call=call, worn=worn, use=use)
    return [one for one in found if one.firm]


@require_http_methods(["GET", "POST"])
def firm_up(request: HttpRequest, reference: str) -> HttpResponse:
    """Make a pencil firm, with the name of who authorised it."""
    user, found = signed_in(request), hold_or_404(reference)
    form = FirmUpForm(request.POST or None)
    if request.method == "POST" and done(form, lambda: actions.firm_up(by=user, hold=found, **form.cleaned_data)):
        messages.success(request, f"{found} is firm: nobody else can have these pieces on these days.")
        return redirect("loans:hold", found.reference)
    return form_page(
        request,
        form,
        steps=hold_steps(found, "Make firm"),
        answer=f"Make {found} firm.",
        verb="Make this hold firm",
        template="catalog/loans/firm_up.html",
        hold=found,
        overlaps=[one for one in hold_queries.overlaps_of(found, hold_queries.pieces_in(found)) if one.firm],
        may_hold=True,
    )


@require_http_methods(["GET", "POST"])
def release(request: HttpRequest, reference: str) -> HttpResponse:
    """Let all pieces go, or some."""
    user, found = signed_in(request), hold_or_404(reference)
    form = ReleaseForm(request.POST or None, hold=found, only=request.GET.get("pieces", ""))
    if request.method == "POST" and done(form, lambda: actions.release_hold(by=user, hold=found, **form.cleaned_data)):
        gone = [piece.pk for piece in form.cleaned_data["pieces"]]
        messages.success(request, f"Released; the trail stays in the history. {_who_is_next(found, gone)}".strip())
        return redirect("loans:hold", found.reference)
    return form_page(
        request,
        form,
        steps=hold_steps(found, "Release"),
        answer=f"Release {found}, or part of it.",
        verb="Release what is ticked",
        hold=found,
    )


def _to_know(hold: Hold, kept: list[HoldPiece]) -> list[str]:
    """What is missing or may not be worn, and what must be done to a piece before the hold even begins."""
    pieces = {row.piece_id: row.piece for row in kept}
    return [*holdable_queries.notes_of(hold, pieces), *buffer_queries.too_short(hold, pieces)]


def _rank_word(ranks: Mapping[int, int], hold: Hold) -> str:
    """ "second pencil"; empty for a firm hold."""
    return f"{ordinal(ranks[hold.pk])} pencil" if hold.pk in ranks else ""


def _who_is_next(released: Hold, piece_ids: list[int]) -> str:
    """Who waits first for what was let go, for the message; empty when nobody does."""
    line = [one for one in waiting_queries.line_of(released, piece_ids) if not one.mine]
    return f"Next in line: {line[0].hold} for {line[0].for_whom}." if line else ""


def _span(hold: Hold) -> queries.HeldSpan:
    """The hold as one band, whatever its pieces."""
    return queries.HeldSpan(
        piece_id=0,
        number="",
        hold=hold.reference,
        for_whom=hold.for_whom,
        strength=hold.strength,
        first=hold.starts,
        last=hold.ends,
        use_from=hold.use_from,
        use_to=hold.use_to,
        call_id=hold.call_id,
        notice_days=hold.notice_days,
        lapses_on=hold.lapses_on,
    )
