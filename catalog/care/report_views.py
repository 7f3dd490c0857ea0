"""The condition report of one piece, outside any loan."""

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods

from catalog.care import actions
from catalog.care.report_pages import Task, report_page
from catalog.pieces.pages import back_to, signed_in, the_piece


@require_http_methods(["GET", "POST"])
def report(request: HttpRequest, number: str) -> HttpResponse:
    """What may be done with the piece, and its marks with their pins; `?picture=` opens that picture.

    With `across` and `down` beside it (both in per cent) a pin stands there already.
    """
    user, piece = signed_in(request), the_piece(request, number)
    task = Task(
        piece=piece,
        last=piece.reports.first(),
        keep=partial(actions.report_condition, by=user, piece=piece),
        done_at=lambda: back_to(request, piece, f"The condition of {piece.number} is reported and signed."),
        answer=f"Report the condition of {piece.number}.",
    )
    return report_page(request, task)
