"""Pages of the out-report and the in-report: all pieces of a loan in a row each, the long path, both signatures."""

from functools import partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.care.report_pages import Task, report_page
from catalog.core import clock, house
from catalog.core.http import render_page
from catalog.loans import actions
from catalog.loans.models import Loan, LoanReport
from catalog.loans.pages import Steps, form_page, line_or_404, loan_or_404, loan_steps, status_of
from catalog.loans.report_forms import QuickForm, SignForm
from catalog.loans.report_queries import IN, OUT, ReportRow, report_of, report_rows, signatures_of, starting_reports
from catalog.pieces.pages import done

GET_POST = ["GET", "POST"]
_WORDS = {OUT.value: "Condition, out", IN.value: "Condition, in"}


@require_http_methods(GET_POST)
def condition(request: HttpRequest, reference: str, way: str) -> HttpResponse:
    """A row a piece: "no change" in one tap, with a picture or without, or the way to the long report."""
    user, found = signed_in(request), _loan(reference, way)
    form = QuickForm(request.POST or None, request.FILES or None)
    if request.method == "POST":
        line = line_or_404(found, request.POST.get("number", ""))
        if done(
            form,
            lambda: actions.report_line_unchanged(by=user, line=line, way=way, pictures=form.pictures()),
        ):
            messages.success(request, f"{line.piece.number}: no change, reported.")
            return redirect(f"{request.path}#{_next_after(line.piece.number, report_rows(found, way))}")
    rows, report = report_rows(found, way), report_of(found, way)
    opened = (request.POST.get("number") or request.GET.get("picture", "")).casefold()
    context = {
        "loan": found,
        "way": way,
        "rows": rows,
        "told": sum(row.condition is not None for row in rows),
        "report": report,
        "signatures": signatures_of(report),
        "form": form if form.is_bound else None,
        "opened": opened,
        "open_form": form if form.is_bound else QuickForm(initial={"number": opened}),
        "may_report": can(user, Ability.DECIDE_WEAR),
        "steps": loan_steps(found, _WORDS[way]),
    }
    return render_page(request, "catalog/loans/condition.html", context, status=status_of(form))


def _next_after(number: str, rows: list[ReportRow]) -> str:
    """Where the page opens after a tap: the next piece without a report, else the one just told."""
    numbers = [row.line.piece.number for row in rows]
    at = numbers.index(number) if number in numbers else 0
    after = [row for row in [*rows[at:], *rows[:at]] if row.condition is None]
    return f"p-{after[0].line.piece.number if after else number}"


@require_http_methods(GET_POST)
def piece(request: HttpRequest, reference: str, way: str, number: str) -> HttpResponse:
    """The long report of one piece of the loan; on the way in it starts from what was said as it left."""
    user, found = signed_in(request), _loan(reference, way)
    line = line_or_404(found, number)
    steps = [*loan_steps(found), {"word": _WORDS[way], "url": reverse("loans:condition", args=[found.reference, way])}]
    back = way == IN

    def done_at() -> HttpResponse:
        messages.success(request, f"{line.piece.number} is reported.")
        return redirect(f"{reverse('loans:condition', args=[found.reference, way])}#p-{line.piece.number}")

    task = Task(
        piece=line.piece,
        last=starting_reports(found, way, [line]).get(line.pk),
        keep=partial(actions.report_line, by=user, line=line, way=way),
        done_at=done_at,
        answer=f"How {line.piece.number} {'came back' if back else 'goes out'}.",
        verb="Keep in this report",
        home=back,
        occasion=f"{'back from' if back else 'out with'} {found.reference}",
        steps=[*steps, {"word": line.piece.number, "url": ""}],
    )
    return report_page(request, task)


@require_http_methods(GET_POST)
def sign(request: HttpRequest, reference: str, way: str) -> HttpResponse:
    """Both sides sign; from then on nothing in the report changes."""
    user, found = signed_in(request), _loan(reference, way)
    initial = {"borrower_name": found.taken_by, "borrower_for": found.to_whom, "signed_on": clock.today()}
    form = SignForm(request.POST or None, initial=initial)

    def keep() -> None:
        given: dict[str, Any] = {k: v for k, v in form.cleaned_data.items() if k != "read"}
        actions.sign_report(by=user, loan=found, way=way, **given)

    if request.method == "POST" and done(form, keep):
        messages.success(request, f"The {LoanReport.Way(way).label} of {found.reference} is signed by both sides.")
        return redirect("loans:condition", found.reference, way)
    for_house = house.value("house.name") or "the archive"
    return form_page(
        request,
        form,
        steps=_steps(found, way),
        answer=f"Sign the {LoanReport.Way(way).label} of {found.reference}.",
        verb="Both sign",
        note=f"You, {user.get_full_name() or user.get_username()}, sign for {for_house}.",
    )


def _steps(loan: Loan, way: str) -> Steps:
    here = {"word": _WORDS[way], "url": reverse("loans:condition", args=[loan.reference, way])}
    return [*loan_steps(loan), here, {"word": "Sign", "url": ""}]


def _loan(reference: str, way: str) -> Loan:
    if way not in _WORDS:
        raise Http404("A report of a loan is out or in.")
    return loan_or_404(reference)
