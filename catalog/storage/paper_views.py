"""Papers of a place."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from catalog.core.errors import Refused
from catalog.core.paper.page import SIZES, heading_for, pdf_response
from catalog.storage import actions
from catalog.storage.rescue_pdf import WARNING, rescue_pdf
from catalog.storage.views import place_or_404, user_of


@require_POST
def rescue_list(request: HttpRequest, code: str) -> HttpResponse:
    """The rescue list of a place; that it was taken is kept, so it is pressed for and never merely opened."""
    found = place_or_404(code)
    size = request.POST.get("size", "a4")
    if size not in SIZES:
        raise Refused(f"There is no paper “{size[:20]}”: print on a4 or letter.", field="size")
    listed = actions.take_rescue_list(by=user_of(request), place=found)
    about = reverse("storage:place", args=[found.code])
    heading = heading_for(request, f"Rescue list, {found.name}", about=about, warning=WARNING)
    return pdf_response(f"rescue-{found.code}-{heading.printed:%Y-%m-%d}.pdf", rescue_pdf(found, listed, heading, size))
