"""The page that lays the photograph of a return on the one from before the loan."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_GET

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.care.picture_pairs import DrawnPair, drawn_pair
from catalog.core.errors import Refused
from catalog.core.http import render_page
from catalog.loans.compare_queries import Choice, pictures_of
from catalog.loans.pages import line_or_404, loan_or_404, loan_steps


@require_GET
def compare(request: HttpRequest, reference: str, number: str) -> HttpResponse:
    """Out and in, side by side and on each other, with what looks different outlined and listed."""
    user, found = signed_in(request), loan_or_404(reference)
    line = line_or_404(found, number)
    choice = pictures_of(line, user, out=request.GET.get("out", ""), back=request.GET.get("back", ""))
    drawn, refused = _drawn(choice)
    steps = loan_steps(found, "Compare")
    steps.insert(-1, {"word": "Return", "url": reverse("loans:return", args=[found.reference])})
    context = {
        "loan": found,
        "line": line,
        "choice": choice,
        "drawn": drawn,
        "refused": refused,
        "other_view": bool(choice.out and choice.back and choice.out.view != choice.back.view),
        "places": _places(drawn),
        "may_mark": can(user, Ability.DECIDE_WEAR),
        "steps": steps,
    }
    return render_page(request, "catalog/loans/compare.html", context)


def _drawn(choice: Choice) -> tuple[DrawnPair | None, str]:
    if choice.out is None or choice.back is None:
        return None, ""
    try:
        return drawn_pair(choice.out.file, choice.back.file), ""
    except Refused as error:
        return None, error.sentence


def _places(drawn: DrawnPair | None) -> list[dict[str, object]]:
    """Each region with its number, its box in pixels of the drawing, and where its pin stands: inside the drawing."""
    if drawn is None:
        return []
    placed = []
    for n, region in enumerate(drawn.compared.regions, 1):
        left, right = (edge * drawn.width // 1000 for edge in (region.left, region.right))
        top, bottom = (edge * drawn.height // 1000 for edge in (region.top, region.bottom))
        box = {"x": left - 5, "y": top - 5, "width": right - left + 10, "height": bottom - top + 10}
        pin = {"x": min(max(right + 14, 16), drawn.width - 16), "y": min(max(top - 10, 16), drawn.height - 16)}
        middle = {"x": (region.left + region.right) // 2, "y": (region.top + region.bottom) // 2}
        across, down = drawn.on_back(middle["x"], middle["y"])
        share = round(100 * region.area_px / (drawn.width * drawn.height), 1)
        there = {"across": across, "down": down}
        placed.append({"n": n, "region": region, "box": box, "pin": pin, "share": share, **there})
    return placed
