"""Pages of loans that come home: counted back, put away, closed."""

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods, require_POST

from catalog.access.models import User
from catalog.access.people import signed_in
from catalog.core import clock
from catalog.core.errors import Refused
from catalog.core.http import render_page
from catalog.loans import actions, loan_queries
from catalog.loans.forms import PutAwayForm, ReasonForm, ReturnForm
from catalog.loans.home_queries import freed_by_closing
from catalog.loans.models import Loan, LoanLine
from catalog.loans.owner_actions import give_back
from catalog.loans.pages import form_page, line_or_404, loan_or_404, loan_steps, status_of
from catalog.loans.unlisted_queries import line_elsewhere, unlisted_of
from catalog.pieces.pages import done

GET_POST = ["GET", "POST"]
_S = LoanLine.State


@require_http_methods(GET_POST)
def take_back(request: HttpRequest, reference: str) -> HttpResponse:
    """Count one piece home. The scan finds it; then how it is, and each of its parts."""
    user, found = signed_in(request), loan_or_404(reference)
    code = (request.POST.get("code") or request.GET.get("code") or "").strip()
    line, refused = _scanned(found, code)
    if request.method == "POST" and refused and _noted_elsewhere(request, found, code):
        return redirect(request.path)
    # The scan sends the code alone; the form about the piece always sends its note, also when no answer was chosen.
    answered = "note" in request.POST or "result" in request.POST
    form = ReturnForm(request.POST if answered else None, line=line, initial={"code": code})
    if request.method == "POST" and line is not None:
        # What was noted on set is looked at first: no quick word over it.
        plain = not line.parts.exists() and not line.damage.exists()
        if not answered and request.POST.get("quick") and plain:
            actions.return_piece(by=user, loan=found, code_or_number=code, result=LoanLine.Result.AS_SENT)
            messages.success(request, f"{line.piece.number} is back as sent; it waits in quarantine.")
            return redirect(f"{request.path}?quick=on")
        if not answered:
            return redirect(f"{request.path}?{urlencode({'code': line.piece.number})}")
        if done(form, lambda: actions.return_piece(by=user, loan=found, **_return_facts(form))):
            messages.success(request, f"{line.piece.number} is back; it waits in quarantine.")
            return redirect(request.path)
    lines = [one for one in loan_queries.lines_of(found) if one.state in {_S.OUT, _S.ON_SET}]
    context = {
        "loan": found,
        "line": line,
        "form": form if line else None,
        "code": code,
        "refused": refused,
        "has_errors": bool(refused),
        "quick": bool(request.GET.get("quick")),
        "still_out": lines,
        "unlisted": unlisted_of(found),
        "damage": line.damage.all() if line else (),
        "steps": loan_steps(found, "Return"),
    }
    return render_page(
        request, "catalog/loans/return.html", context, status=422 if refused or (line and form.errors) else 200
    )


def _noted_elsewhere(request: HttpRequest, loan: Loan, code: str) -> bool:
    """What came from another loan gets its own line, and the page says where it is counted back."""
    other = line_elsewhere(loan, code)
    if other is None or loan.state not in {Loan.State.OUT, Loan.State.HOME}:
        return False
    actions.note_elsewhere(by=signed_in(request), loan=loan, line=other)
    messages.success(
        request,
        f"{other.piece.number} is of {other.loan}, to {other.loan.to_whom}: it has its own line here.",
    )
    return True


def _scanned(loan: Loan, code: str) -> tuple[LoanLine | None, str]:
    """The line of what was scanned, if it may come back now; else the sentence that says why not."""
    if not code:
        return None, ""
    try:
        piece = loan_queries.scanned_piece(code, stranger="Set it apart and ask whose it is.")
        return loan_queries.line_to_return(loan, piece), ""
    except Refused as error:
        return None, error.sentence


def _return_facts(form: ReturnForm) -> dict[str, Any]:
    data = form.cleaned_data
    parts = data.get("parts_back") if "parts_back" in form.fields else None
    return {
        "code_or_number": data["code"],
        "result": data["result"],
        "note": data["note"],
        "parts_back": parts,
        "place": data["place"],
    }


@require_http_methods(GET_POST)
def not_back(request: HttpRequest, reference: str, number: str) -> HttpResponse:
    """A piece that did not come home; a search is opened for it."""
    user, found = signed_in(request), loan_or_404(reference)
    line = line_or_404(found, number)
    form = ReasonForm(request.POST or None)
    form.fields["reason"].label = "Who had it last, and when"
    if request.method == "POST" and done(
        form, lambda: actions.mark_not_back(by=user, line=line, note=form.cleaned_data["reason"])
    ):
        messages.success(request, f"{line.piece.number} is looked for now. If it arrives, scan it here all the same.")
        return redirect("loans:return", found.reference)
    return form_page(
        request,
        form,
        steps=loan_steps(found, "Not back"),
        answer=f"{line.piece.number} did not come back.",
        verb="Open the search",
        piece=line.piece,
    )


@require_http_methods(GET_POST)
def put_away(request: HttpRequest, reference: str) -> HttpResponse:
    """From quarantine to the home place: one by one with what was found, or all that are ready."""
    user, found = signed_in(request), loan_or_404(reference)
    today = clock.today()
    rows = loan_queries.coming_home(found)
    ready = [row for row in rows if row.ready(today) and row.home is not None and row.in_quarantine]
    form = PutAwayForm(request.POST if "number" in request.POST else None)
    asked = request.POST.get("number", "").casefold()
    if request.method == "POST":
        if owners := request.POST.get("owner", ""):
            line = line_or_404(found, owners)
            give_back(by=user, line=line)
            messages.success(request, f"{line.piece.number} went back to its owner.")
            return redirect(request.path)
        if not asked:
            _put_all_away(user, ready)
            messages.success(request, f"{len(ready)} put away.")
            return redirect(request.path)
        line = line_or_404(found, asked)
        if done(form, lambda: _put_one_away(user, line, form)):
            messages.success(request, f"{line.piece.number} is put away.")
            return redirect(request.path)
    context = {
        "loan": found,
        "rows": [{"row": row, "form": form if row.line.piece.number.casefold() == asked else None} for row in rows],
        "ready": ready,
        "form": form if form.is_bound else None,
        "open_sentence": loan_queries.open_sentence(found),
        "today": today,
        "steps": loan_steps(found, "Put away"),
    }
    return render_page(request, "catalog/loans/put_away.html", context, status=status_of(form))


@transaction.atomic
def _put_one_away(user: User, line: LoanLine, form: PutAwayForm) -> None:
    row = next((row for row in loan_queries.coming_home(line.loan) if row.line.pk == line.pk), None)
    if row is not None and row.in_quarantine:
        actions.release_line(by=user, line=line, findings=form.cleaned_data["findings"])
    actions.put_away(by=user, line=line, place=form.cleaned_data["place"])


@transaction.atomic
def _put_all_away(user: User, ready: list[loan_queries.HomeRow]) -> None:
    if not ready:
        raise Refused("Nothing is ready to be put away.")
    for row in ready:
        actions.release_line(by=user, line=row.line)
        actions.put_away(by=user, line=row.line)


@require_POST
def part_home(request: HttpRequest, reference: str, number: str) -> HttpResponse:
    """A part that was missing at the count has turned up."""
    found = loan_or_404(reference)
    line = line_or_404(found, number)
    part = line.piece.parts.filter(letter__iexact=request.POST.get("letter", "")).first()
    if part is None:
        raise Refused(f"{line.piece} has no such part.")
    actions.part_came_home(by=signed_in(request), line=line, part=part)
    messages.success(request, f"{part.name} of {line.piece.number} is home.")
    return redirect(reverse("loans:loan", args=[found.reference]))


@require_POST
def close(request: HttpRequest, reference: str) -> HttpResponse:
    """Close the loan: only when nothing is open."""
    found = loan_or_404(reference)
    freed = freed_by_closing(found, clock.today())
    actions.close_loan(by=signed_in(request), loan=found)
    messages.success(request, f"{found.reference} is closed: everything is home or accounted for. {freed}".strip())
    return redirect("loans:loan", found.reference)
