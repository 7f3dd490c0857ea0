"""Travel answers kept before, judged again from their own facts."""

from django.http import HttpRequest, HttpResponse
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_GET

from catalog.core.http import render_page
from catalog.loans.pages import call_or_404, call_steps
from catalog.shipping.replay_queries import moments, replayed


@require_GET
def kept_travel(request: HttpRequest, reference: str) -> HttpResponse:
    """One moment's answers: do the rules of that day give them again, and what do today's say? ?at= is the moment."""
    call = call_or_404(reference)
    kept = moments(call)
    wanted = parse_datetime(request.GET.get("at", "")) if request.GET.get("at") else None
    at = next((row["made_at"] for row in kept if row["made_at"] == wanted), kept[0]["made_at"] if kept else None)
    rows = replayed(call, at) if at else []
    context = {
        "call": call,
        "steps": call_steps(call, "Answers kept before"),
        "kept": kept,
        "at": at,
        "rows": rows,
        "same": sum(row.holds is True for row in rows),
        "different": [row for row in rows if row.holds is False],
        "changed": [row for row in rows if row.changed],
    }
    return render_page(request, "catalog/desk/kept_travel.html", context)
