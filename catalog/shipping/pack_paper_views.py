"""Papers of packing: a list for each crate, the table of all, three labels for each crate."""

from collections.abc import Iterator
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from catalog.access.people import signed_in
from catalog.core import house
from catalog.core.errors import Refused
from catalog.core.paper.page import SIZES, heading_for, pdf_response
from catalog.core.tables import csv_response
from catalog.loans.models import Loan
from catalog.loans.pages import loan_or_404
from catalog.shipping import pack_queries
from catalog.shipping.pack_pdf import packing_list_pdf
from catalog.shipping.pack_queries import CrateRow
from catalog.storage import actions as storage
from catalog.storage.label_pdf import labels_pdf
from catalog.storage.labels import prints_of
from catalog.storage.models import Label, Place

_HEADER = (
    "crate", "kind", "container", "seals", "crate_gross_computed_g", "crate_weighed_g", "lift", "piece", "name",
    "weight_g", "length_mm", "width_mm", "height_mm", "where", "nothing_on_it", "heat_sensitive", "scanned_in",
)  # fmt: skip


def list_pdf(request: HttpRequest, reference: str) -> HttpResponse:
    """The packing lists, ?crate=3 for one alone, ?size=a4 or letter."""
    found = loan_or_404(reference)
    size, crate = request.GET.get("size", "a4"), request.GET.get("crate", "")
    if size not in SIZES:
        raise Refused(f"There is no paper “{size[:20]}”: print on a4 or letter.", field="size")
    rows = [row for row in _rows(found) if not crate or str(row.number) == crate]
    if not rows:
        raise Refused(f"{found} has no crate “{crate[:10]}”.", field="crate")
    heading = heading_for(request, f"Packing list, {found}", about=reverse("pack:pack", args=[found.reference]))
    return pdf_response(f"packing-{found.reference}.pdf", packing_list_pdf(found, rows, heading, size))


def list_csv(request: HttpRequest, reference: str) -> Any:
    """A row for each piece, with its crate."""
    found = loan_or_404(reference)
    return csv_response(f"crates-{found.reference}.csv", _HEADER, _table(_rows(found)))


@require_POST
def labels(request: HttpRequest, reference: str) -> HttpResponse:
    """Three labels for each crate, one a side; a crate without a label gets one."""
    user, found = signed_in(request), loan_or_404(reference)
    places = list(Place.objects.filter(pack_crate__loan=found).order_by("pack_crate__number"))
    if not places:
        raise Refused(f"{found} has no crates yet: take a packing over first.")
    storage.issue_labels(by=user, places=places)
    live = Label.objects.filter(retired_at__isnull=True, place__in=places).select_related("place", "piece")
    paper = "letter-4" if request.POST.get("size") == "letter" else "a4-4"
    prints = prints_of(live.order_by("place__pack_crate__number"), paper)
    return pdf_response(
        f"crate-labels-{found.reference}.pdf", labels_pdf(prints, paper, house=str(house.value("house.name")))
    )


def _rows(loan: Loan) -> list[CrateRow]:
    rows, _ = pack_queries.kept_rows(loan)
    if not rows:
        raise Refused(f"{loan} has no crates yet: take a packing over first.")
    return rows


def _table(rows: list[CrateRow]) -> Iterator[list[Any]]:
    for row in rows:
        kept = row.kept
        for item in row.items:
            yield [
                row.number,
                row.spec.code,
                kept.place.code if kept else "",
                kept.seal if kept else "",
                row.gross_g,
                kept.weighed_g if kept else None,
                row.lift.mark,
                item.piece.number,
                item.piece.name,
                item.thing.weight_g,
                *(item.thing.sides_mm or (None, None, None)),
                item.laid.bay,
                "yes" if item.thing.on_top else "no",
                "yes" if item.thing.heat else "no",
                "yes" if item.packed else "no",
            ]
