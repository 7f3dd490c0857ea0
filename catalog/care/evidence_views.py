"""Pages about breakdown that was on screen: saying it, approving a cleaning by name, the list of what is not washed."""

from collections.abc import Iterator
from typing import Any

from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET, require_http_methods

from catalog.access.permissions import Ability, can
from catalog.care import actions
from catalog.care.evidence_queries import must_not_be_washed, nobody_has_said, told_of_one
from catalog.care.forms import ApproveForm, BreakdownForm
from catalog.care.models import Treatment
from catalog.care.unwashed_queries import Unwashed, with_care
from catalog.core import clock
from catalog.core.http import render_page
from catalog.core.tables import csv_response
from catalog.pieces.models import Piece
from catalog.pieces.pages import back_to, done, form_page, signed_in, the_piece
from catalog.pieces.queries import visible_to

GET_POST = ["GET", "POST"]
PER_PAGE = 50
UNSAID = "unsaid"
HEADER = ("number", "name", "production", "look", "breakdown", "said by", "allowed instead")


@require_http_methods(GET_POST)
def breakdown(request: HttpRequest, number: str) -> HttpResponse:
    """Whether the piece carries on-screen breakdown."""
    user, piece = signed_in(request), the_piece(request, number)
    form = BreakdownForm(request.POST or None, initial={"said_on": clock.today(), "said_by_name": str(user)})
    if request.method == "POST" and done(
        form, lambda: actions.say_breakdown(by=user, piece=piece, **form.cleaned_data)
    ):
        return back_to(request, piece, f"What is on {piece.number} is noted.")
    return form_page(
        request,
        piece,
        form,
        word="Breakdown",
        answer=f"Was what is on {piece.number} on screen?",
        verb="Keep this",
        template="catalog/care/breakdown.html",
        told=told_of_one(piece),
    )


@require_http_methods(GET_POST)
def approve(request: HttpRequest, number: str, treatment_id: int) -> HttpResponse:
    """An approval by name for a cleaning that needs one."""
    user, piece = signed_in(request), the_piece(request, number)
    treatment = get_object_or_404(Treatment, pk=treatment_id, piece=piece)
    form = ApproveForm(request.POST or None, initial={"approved_on": clock.today()})
    if request.method == "POST" and done(
        form, lambda: actions.approve_cleaning(by=user, treatment=treatment, **form.cleaned_data)
    ):
        return back_to(request, piece, f"“{treatment.what}” is approved and may begin.")
    return form_page(
        request,
        piece,
        form,
        word="Approve",
        answer=f"Who approves “{treatment.what}”?",
        verb="Keep this approval",
        template="catalog/care/breakdown.html",
        told=told_of_one(piece),
    )


@require_GET
def not_washed(request: HttpRequest) -> HttpResponse:
    """What must not be washed, with the care that stays allowed; ?show=unsaid: of which nobody has said."""
    user = signed_in(request)
    pieces = visible_to(user)
    unsaid = request.GET.get("show") == UNSAID
    kept, open_ = must_not_be_washed(pieces), nobody_has_said(pieces)
    page = Paginator(_ready(open_ if unsaid else kept), PER_PAGE).get_page(request.GET.get("page"))
    context: dict[str, Any] = {
        "rows": with_care(page.object_list),
        "page": page,
        "unsaid": unsaid,
        "kept": page.paginator.count if not unsaid else kept.count(),
        "open": page.paginator.count if unsaid else open_.count(),
        "all": pieces.count(),
        "may_decide": can(user, Ability.DECIDE_WEAR),
        "may_export": can(user, Ability.EXPORT),
    }
    return render_page(request, "catalog/care/not_washed.html", context)


@require_GET
def not_washed_csv(request: HttpRequest) -> HttpResponseBase:
    """The same list, all of it."""
    return csv_response("not-washed.csv", HEADER, _cells(must_not_be_washed(visible_to(signed_in(request)))))


def _cells(pieces: QuerySet[Piece]) -> Iterator[tuple[str, ...]]:
    for row in with_care(_ready(pieces)):
        yield _line(row)


def _line(row: Unwashed) -> tuple[str, ...]:
    piece, look = row.piece, row.piece.look.name if row.piece.look else ""
    return (
        piece.number,
        piece.name,
        piece.production.code,
        look,
        row.told.what,
        row.told.source,
        "; ".join(row.instead),
    )


def _ready(pieces: QuerySet[Piece]) -> QuerySet[Piece]:
    return pieces.select_related("production", "look").prefetch_related("materials").order_by("number")
