"""What the pages of this room share: finding the call, hold or loan of an address, and a page with one form."""

from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from catalog.core import history
from catalog.core.http import render_page
from catalog.loans import loan_queries, queries
from catalog.loans.calc.folding import Entry, folded
from catalog.loans.models import Call, Hold, Loan, LoanLine

Steps = list[dict[str, str]]


def call_or_404(reference: str) -> Call:
    """The call of the address."""
    call = queries.call_by_reference(reference)
    if call is None:
        raise Http404(f"There is no call {reference[:30]}.")
    return call


def hold_or_404(reference: str) -> Hold:
    """The hold of the address."""
    found = Hold.objects.select_related("call", "made_by").filter(reference__iexact=reference).first()
    if found is None:
        raise Http404(f"There is no hold {reference[:30]}.")
    return found


def loan_or_404(reference: str) -> Loan:
    """The loan of the address, with its counts."""
    found = loan_queries.loans().filter(reference__iexact=reference).first()
    if found is None:
        raise Http404(f"There is no loan {reference[:30]}.")
    return found


def line_or_404(loan: Loan, number: str) -> LoanLine:
    """The line of a piece number on the loan."""
    lines = loan.lines.select_related("piece", "loan", "wearer")
    found = lines.filter(piece__number__iexact=number.strip()).first()
    if found is None:
        raise Http404(f"{number[:30]} is not on {loan}.")
    return found


def call_steps(call: Call | None, word: str = "") -> Steps:
    """The path above a page of the call."""
    steps = [{"word": "Calls", "url": reverse("loans:calls")}]
    if call is not None:
        steps.append({"word": call.reference, "url": reverse("desk:call", args=[call.reference])})
    return [*steps, {"word": word, "url": ""}] if word else steps


def hold_steps(hold: Hold | None, word: str = "") -> Steps:
    """The path above a page of the hold."""
    steps = [{"word": "Holds", "url": reverse("loans:holds")}]
    if hold is not None:
        steps.append({"word": hold.reference, "url": reverse("loans:hold", args=[hold.reference])})
    return [*steps, {"word": word, "url": ""}] if word else steps


def loan_steps(loan: Loan | None, word: str = "") -> Steps:
    """The path above a page of the loan."""
    steps = [{"word": "Loans", "url": reverse("loans:loans")}]
    if loan is not None:
        steps.append({"word": loan.reference, "url": reverse("loans:loan", args=[loan.reference])})
    return [*steps, {"word": word, "url": ""}] if word else steps


# Read often, and each read is a line: on the page one person's reads of a day are one line.
_FOLDED = {"size sheets read": "read the size sheets"}
# So far back the page looks for what to fold.
_LOOKED_BACK = 2000


def told(subject: history.Subject, most: int = 12) -> list[dict[str, Any]]:
    """The newest history lines as a page shows them; a performer is a number there, and repeated reads are folded."""
    lines = history.lines_of(subject)[:_LOOKED_BACK].iterator(chunk_size=100)
    entries = (
        Entry(
            happened=timezone.localtime(line.happened),
            recorded=line.recorded,
            by=line.by_name,
            text=" ".join([line.verb, *_details(line.after)]),
            reason=line.reason,
            verb=line.verb,
        )
        for line in lines
    )
    return [
        {
            "happened": entry.happened,
            "recorded": entry.recorded,
            "by": entry.by,
            "text": entry.text,
            "reason": entry.reason,
        }
        for entry in folded(entries, _FOLDED, most)
    ]


def _details(after: dict[str, Any]) -> list[str]:
    """The few facts that make a line readable: who, how many, to which state."""
    words = [f"{after['performer']}"] if after.get("performer") else []
    if "count" in after:
        words.append(f"{after['count']} {after.get('role', '')}")
    if after.get("pieces"):
        # Most lines name the pieces, some only count them.
        count = after["pieces"] if isinstance(after["pieces"], int) else len(after["pieces"])
        words.append(f"({count} {'piece' if count == 1 else 'pieces'})")
    return words


def form_page(
    request: HttpRequest,
    form: forms.BaseForm,
    *,
    steps: Steps,
    answer: str,
    verb: str,
    template: str = "catalog/loans/form_page.html",
    **more: Any,
) -> HttpResponse:
    """A page with one form; 422 when what was sent could not be kept."""
    context = {"form": form, "steps": steps, "answer": answer, "verb": verb, **more}
    return render_page(request, template, context, status=status_of(form))


def status_of(form: forms.BaseForm) -> int:
    """422 when what was sent could not be kept, else 200."""
    return 422 if form.is_bound and form.errors else 200
