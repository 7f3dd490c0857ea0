"""Alterations of a garment, and its card: original and present size side by side, on the page and on paper."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods

from catalog.access.permissions import Ability, can
from catalog.care import actions
from catalog.care.forms import AlterationForm
from catalog.care.garment_cards import card_pdf
from catalog.care.garment_queries import CardRow, GarmentCard, garment_card
from catalog.care.queries import care_facts
from catalog.core import clock, house
from catalog.core.form_fields import length_unit
from catalog.core.paper.page import pdf_response
from catalog.core.units import LengthUnit
from catalog.pieces.measure_fields import show_measure
from catalog.pieces.pages import back_to, done, form_page, signed_in, steps_to, the_piece


@require_http_methods(["GET", "POST"])
def alteration(request: HttpRequest, number: str) -> HttpResponse:
    """A change of size that can be undone, and those not undone yet."""
    user, piece = signed_in(request), the_piece(request, number)
    unit = length_unit(user)
    form = AlterationForm(request.POST or None, initial={"done_on": clock.today(), "done_by_name": str(user)})
    form.fields["change_mm"].unit = unit  # type: ignore[attr-defined]
    form.fields["change_mm"].help_text = f"In {unit}, without a sign."
    if request.method == "POST" and done(form, lambda: actions.alter(by=user, piece=piece, **form.cleaned_data)):
        return back_to(request, piece, f"The alteration of {piece.number} is noted. Its card shows the present size.")
    return form_page(
        request,
        piece,
        form,
        word="Alteration",
        answer=f"Alter {piece.number}.",
        verb="Note this alteration",
        template="catalog/care/alteration.html",
        care=care_facts(piece),
        card=(card := garment_card(piece)),
        lines=_lines(card, unit),
        today=clock.today(),
    )


@require_GET
def card(request: HttpRequest, number: str) -> HttpResponse:
    """How far it can be let out, and what was done to it."""
    user, piece = signed_in(request), the_piece(request, number)
    found = garment_card(piece)
    context = {
        "piece": piece,
        "steps": steps_to(piece, "Garment card"),
        "card": found,
        "lines": _lines(found, length_unit(user)),
        "today": clock.today(),
        "stays_mm": house.value("alter.stays_in_seam_mm"),
        "may_alter": can(user, Ability.ALTER),
        "may_record": can(user, Ability.RECORD),
    }
    return render(request, "catalog/care/garment_card.html", context)


@require_GET
def card_paper(request: HttpRequest, number: str) -> HttpResponse:
    """The card to hang on the garment: numbers, never a name."""
    user, piece = signed_in(request), the_piece(request, number)
    made = card_pdf(garment_card(piece), length_unit(user), str(house.value("house.name")), clock.today())
    return pdf_response(f"garment-card-{piece.number}.pdf", made)


def _lines(found: GarmentCard, unit: LengthUnit) -> list[dict[str, Any]]:
    """The rows with both sizes in the reader's unit; None where nothing was measured."""

    def shown(row: CardRow, value: int | None) -> str | None:
        return None if value is None else show_measure(row.point, value, unit)

    return [
        {"row": row, "made": shown(row, row.sizes.original), "now": shown(row, row.sizes.present)} for row in found.rows
    ]
