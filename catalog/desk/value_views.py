"""What the store is worth, and what leaves the door for a call. For those alone who may see values."""

from collections.abc import Iterator
from datetime import date
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Prefetch, QuerySet
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.urls import reverse

from catalog.core import clock
from catalog.core.http import render_page
from catalog.core.paper.page import heading_for, paper_pdf, pdf_response, size_asked
from catalog.core.tables import csv_response
from catalog.desk.call_values import leaving, leaving_worth, loan_worth
from catalog.desk.value_paper import WARNING, value_parts
from catalog.loans.models import LoanLine
from catalog.loans.pages import call_or_404, call_steps, loan_or_404
from catalog.loans.paper_frame import loan_paper
from catalog.loans.paper_queries import printable
from catalog.pieces.calc.values import stale_from
from catalog.pieces.models import Piece, Production, Valuation
from catalog.pieces.value_queries import newest_values, not_valued, stale_values, stale_years, worth_of
from catalog.storage.models import State

PER_PAGE = 50
# So many unvalued pieces are named on the page; the table has them all.
NAMED = 20
HEADER = (
    "number", "name", "production", "origin", "owner", "state", "currency", "value", "basis", "valued on", "valued by",
    "stale from",
)  # fmt: skip


def values(request: HttpRequest) -> HttpResponse:
    """The total, its parts, and the stale values as a list; with ?production= of one production alone."""
    today, years = clock.today(), stale_years()
    production, pieces = _chosen(request)
    unknown = not_valued(pieces)
    context = {
        "production": production,
        "worth": worth_of(pieces, today, years),
        "lost": worth_of(pieces.filter(standing__state=State.NOT_FOUND), today, years).total,
        "others": worth_of(pieces.exclude(owner=Piece.Owner.OURS), today, years).total,
        "not_valued": list(unknown[:NAMED]),
        "not_valued_count": unknown.count(),
        "years": years,
        "page": Paginator(stale_values(pieces, today, years), PER_PAGE).get_page(request.GET.get("page")),
        "csv_query": f"production={production.code}&" if production else "",
        "today": today,
        "steps": [{"word": "Values", "url": reverse("desk:values")}, {"word": production.title, "url": ""}]
        if production
        else [],
    }
    return render_page(request, "catalog/desk/values.html", context)


def values_csv(request: HttpRequest) -> HttpResponseBase:
    """Every piece with its newest value, or with ?stale=1 only the stale ones."""
    _, pieces = _chosen(request)
    if request.GET.get("stale"):
        pieces = pieces.filter(pk__in=stale_values(pieces, clock.today(), stale_years()).order_by().values("piece"))
        return csv_response("stale-values.csv", HEADER, _rows(pieces))
    return csv_response("values.csv", HEADER, _rows(pieces))


def call_values(request: HttpRequest, reference: str) -> HttpResponse:
    """The insured value of what leaves for a call, and which values will not last until it is back."""
    call = call_or_404(reference)
    context = {
        "call": call,
        "worth": leaving_worth(call, clock.today()),
        "years": stale_years(),
        "today": clock.today(),
        "steps": call_steps(call, "Insured value"),
    }
    return render_page(request, "catalog/desk/call_values.html", context)


def call_values_pdf(request: HttpRequest, reference: str) -> HttpResponse:
    """The same on paper, ?size=a4 or letter."""
    call, size = call_or_404(reference), size_asked(request)
    about = reverse("desk:call_values", args=[call.reference])
    heading = heading_for(request, f"Insured value, {call}", about=about, warning=WARNING, coded=True)
    made = value_parts(leaving_worth(call, clock.today()), call.load_on, call.back_on, stale_years())
    return pdf_response(f"values-{call.reference}-{heading.printed:%Y-%m-%d}.pdf", paper_pdf(heading, list(made), size))


def loan_values(request: HttpRequest, reference: str) -> HttpResponse:
    """The insured value of one loan on paper."""
    found = loan_or_404(reference)
    printable(found, "desk:loan_values")
    made = value_parts(*loan_worth(found, clock.today()), stale_years())
    return loan_paper(request, found, "Insured value", f"values-{found.reference}", made, WARNING)


def loan_values_csv(request: HttpRequest, reference: str) -> HttpResponseBase:
    """The same as a table, piece by piece."""
    found = loan_or_404(reference)
    printable(found, "desk:loan_values")
    goes = found.lines.exclude(state=LoanLine.State.LEFT_BEHIND).values("piece")
    return csv_response(f"values-{found.reference}.csv", HEADER, _rows(Piece.objects.filter(pk__in=goes)))


def call_values_csv(request: HttpRequest, reference: str) -> HttpResponseBase:
    """The same as a table, piece by piece."""
    call = call_or_404(reference)
    _, pieces = leaving(call, clock.today())
    return csv_response(f"values-{call.reference}.csv", HEADER, _rows(pieces))


def _chosen(request: HttpRequest) -> tuple[Production | None, QuerySet[Piece]]:
    """The production of the address and its pieces, or all pieces."""
    pieces = Piece.objects.seen_by(request.user)
    code = request.GET.get("production", "")
    if not code:
        return None, pieces
    production = Production.objects.filter(code__iexact=code).first()
    if production is None:
        raise Http404(f"There is no production {code[:30]}.")
    return production, pieces.filter(production=production)


def _rows(pieces: QuerySet[Piece]) -> Iterator[tuple[Any, ...]]:
    years = stale_years()
    newest = newest_values(Piece.objects.all()).select_related("valued_by")
    rows = pieces.select_related("production", "standing").order_by("number")
    for piece in rows.prefetch_related(Prefetch("valuations", newest, to_attr="newest_value")).iterator(500):
        value: Valuation | None = piece.newest_value[0] if piece.newest_value else None
        standing = getattr(piece, "standing", None)
        yield (
            piece.number,
            piece.name,
            piece.production.code,
            piece.origin,
            piece.owner_name or piece.owner,
            standing.state if standing else "not placed",
            *(_cells(value, years) if value else ("", "not valued", "", "", "", "")),
        )


def _cells(value: Valuation, years: int) -> tuple[str, str, str, str, str, str]:
    day: date = value.valued_on
    by = str(value.valued_by or "")
    return value.currency, str(value.amount), value.basis, day.isoformat(), by, stale_from(day, years).isoformat()
