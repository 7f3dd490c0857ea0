"""Papers of a loan."""

from django.http import HttpRequest, HttpResponse

from catalog.core import house
from catalog.core.errors import Refused
from catalog.core.paper.page import SIZES, pdf_response
from catalog.loans import gap_cards as cards
from catalog.loans.pages import loan_or_404


def gap_cards(request: HttpRequest, reference: str) -> HttpResponse:
    """What stays on the shelf for each piece of the loan, ?size=a4 or letter."""
    found = loan_or_404(reference)
    size = request.GET.get("size", "a4")
    if size not in SIZES:
        raise Refused(f"There is no paper “{size[:20]}”: print on a4 or letter.", field="size")
    made = cards.cards_of(found)
    if not made:
        raise Refused(f"Nothing of {found} leaves its shelf: there is no card to print.")
    return pdf_response(f"gap-cards-{found.reference}.pdf", cards.cards_pdf(made, size, str(house.value("house.name"))))
