"""May this piece go there by that way? One answer for the telephone, in an address that can be forwarded."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from catalog.access.people import signed_in
from catalog.core.http import render_page
from catalog.pieces.queries import visible_to
from catalog.shipping.calc.facts import Mode
from catalog.shipping.calc.journey import judge_journey
from catalog.shipping.calc.routes import Route, trip_along
from catalog.shipping.calc.travel import CAUTION
from catalog.shipping.queries import judge_pieces, pieces_to_judge, rule_book
from catalog.shipping.route_forms import AskForm

MOST = 40


@require_GET
def ask(request: HttpRequest) -> HttpResponse:
    """The question as a form; with an answer under it once it is whole."""
    form = AskForm(request.GET or None)
    context = {"form": form, "caution": CAUTION, "modes": list(Mode)}
    if form.is_bound and form.is_valid():
        context |= _answer(request, form)
    status = 422 if form.is_bound and form.errors else 200
    return render_page(request, "catalog/shipping/ask.html", context, status=status)


def _answer(request: HttpRequest, form: AskForm) -> dict[str, object]:
    facts, numbers = form.cleaned_data, form.numbers()
    if len(numbers) > MOST:
        form.add_error("pieces", f"Ask about at most {MOST} pieces at once; make a call for more.")
        return {}
    numbers = [number.upper() for number in numbers]
    seen = set(visible_to(signed_in(request)).filter(number__in=numbers).values_list("number", flat=True))
    unknown = [number for number in numbers if number not in seen]
    if unknown:
        form.add_error("pieces", f"There is no piece {unknown[0][:30]}.")
        return {}
    route = Route(facts["start"], facts["goal"], tuple(facts["through"]), facts["comes_back"], facts["wood"] or None)
    trip = trip_along(route, to_be_worn=facts["worn"])
    ways = [Mode(facts["way"])] if facts["way"] else list(Mode)
    answers = [answer.among(ways) for answer in judge_pieces(pieces_to_judge(numbers), trip)]
    return {
        "answers": answers,
        "journey": judge_journey(trip, rule_book()).among(ways),
        "route": route,
        "ways": ways,
        "yes": sum(all(found.verdict.is_yes for found in answer.by_mode.values()) for answer in answers),
    }
