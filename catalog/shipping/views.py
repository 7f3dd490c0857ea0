"""The travel rules of the house, readable by whoever has to trust them."""

from django.http import HttpRequest, HttpResponse

from catalog.core.http import render_page
from catalog.shipping.calc.rules import CONFIDENCE
from catalog.shipping.models import RuleRow


def rules(request: HttpRequest) -> HttpResponse:
    """All active rules with source, edition, how sure, and when checked."""
    rows = list(RuleRow.objects.filter(active=True).order_by("code"))
    memory = sum(row.confidence == RuleRow.Confidence.MEMORY for row in rows)
    unchecked = sum(row.checked_on is None for row in rows)
    context = {"rules": rows, "memory": memory, "unchecked": unchecked, "confidence": CONFIDENCE}
    return render_page(request, "catalog/shipping/rules.html", context)
