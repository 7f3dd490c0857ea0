"""Pages of loans until they leave: the list, one loan, the pull, sending, calling off."""

from collections.abc import Callable
from datetime import timedelta

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_POST

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core import clock, history
from catalog.core.errors import Refused
from catalog.core.http import render_page
from catalog.loans import actions, loan_queries, queries
from catalog.loans.forms import PullForm, ReasonForm, SendForm
from catalog.loans.loan_queries import PullRow
from catalog.loans.models import Loan, LoanLine
from catalog.loans.pages import form_page, line_or_404, loan_or_404, loan_steps, told
from catalog.pieces.calc.values import money_words, sums
from catalog.pieces.models import Piece, Valuation
from catalog.pieces.pages import done
from catalog.pieces.value_queries import newest_values

GET_POST = ["GET", "POST"]
_S = LoanLine.State


def loans(request: HttpRequest) -> HttpResponse:
    """All loans: what is under way first, then what is closed."""
    today = clock.today()
    under_way = loan_queries.loans().exclude(state=Loan.State.CLOSED).order_by("due_on", "reference")
    page = Paginator(loan_queries.loans().filter(state=Loan.State.CLOSED), 30).get_page(request.GET.get("page"))
    rows = list(under_way)
    away = (Loan.State.OUT, Loan.State.HOME)
    context = {
        "under_way": rows,
        "late": [loan for loan in rows if loan.due_on < today and loan.state in away],
        "page": page,
        "today": today,
        "may_hold": can(request.user, Ability.HOLD),
    }
    return render_page(request, "catalog/loans/loans.html", context)


def loan(request: HttpRequest, reference: str) -> HttpResponse:
    """One loan: what is out, what is home, what keeps it open, and what comes next."""
    found = loan_or_404(reference)
    lines = loan_queries.lines_of(found)
    context = {
        "loan": found,
        "lines": lines,
        "changed": [line for line in lines if line.result in {LoanLine.Result.CHANGED, LoanLine.Result.INCOMPLETE}],
        "not_back": [line for line in lines if line.state == _S.NOT_BACK],
        "not_ours": [line for line in lines if line.piece.owner != Piece.Owner.OURS],
        "parts": loan_queries.missing_parts(found),
        "open_sentence": loan_queries.open_sentence(found),
        "late": found.due_on < clock.today() and found.state in {Loan.State.OUT, Loan.State.HOME},
        "history": told(found.subject),
        "steps": loan_steps(found),
        "may_pull": can(request.user, Ability.PULL),
        "may_sign": can(request.user, Ability.SIGN_OUT),
        "may_put_away": can(request.user, Ability.PUT_AWAY),
    }
    return render_page(request, "catalog/loans/loan.html", context)


@require_http_methods(GET_POST)
def pull(
    request: HttpRequest, reference: str, warn: Callable[[Loan, list[PullRow]], None] | None = None
) -> HttpResponse:
    """The pull list in walking order; each scan ticks one piece off, a wrong one is refused by name.

    `warn` fills in at each row what only a room above knows: that a piece stays by the travel rules.
    """
    user, found = signed_in(request), loan_or_404(reference)
    rows = _rows_to_pull(found, warn)
    form = PullForm(request.POST or None, wanted=[row.line for row in rows if row.line.state == _S.TO_PULL])
    refused = ""
    text = request.POST.get("code", "") if request.method == "POST" else request.GET.get("place", "")
    place = loan_queries.scanned_place(text) if text else None
    if request.method == "POST" and request.POST.get("inside"):
        return _take_all_inside(request, found, request.POST["inside"])
    if place is None and request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            line = actions.pull_piece(
                by=user,
                loan=found,
                code_or_number=data["code"],
                substitute_for=data["substitute_for"],
                reason=data["reason"],
            )
        except Refused as error:
            refused = error.sentence
        else:
            stays = next((row.travel for row in rows if row.line.pk == line.pk), "")
            messages.success(request, f"{line.piece.number} {line.piece.name}: taken.")
            if stays:
                messages.warning(request, f"{line.piece.number}: {stays}")
            return redirect("loans:pull", found.reference)
    context = {
        "loan": found,
        "rows": rows,
        "left": sum(row.line.state == _S.TO_PULL for row in rows),
        "form": form,
        "refused": refused,
        "place": place,
        "place_words": loan_queries.what_it_is(place) if place else "",
        "inside": loan_queries.wanted_in(found, place) if place else [],
        "has_errors": bool(refused),
        "steps": loan_steps(found, "Pull"),
        "pulling": found.state == Loan.State.PULLING,
    }
    return render_page(request, "catalog/loans/pull.html", context, status=422 if refused else 200)


def _rows_to_pull(loan: Loan, warn: Callable[[Loan, list[PullRow]], None] | None) -> list[PullRow]:
    rows = loan_queries.pull_list(loan)
    if warn is not None:
        warn(loan, rows)
    return rows


def _take_all_inside(request: HttpRequest, loan: Loan, code: str) -> HttpResponse:
    """What the list asks for in a trunk or on a shelf is ticked off at once."""
    place = loan_queries.scanned_place(code)
    if place is None:
        raise Refused(f"There is no place {code[:40]}.")
    taken, refused = actions.pull_from(by=signed_in(request), loan=loan, place=place)
    if taken:
        numbers = ", ".join(line.piece.number for line in taken[:8]) + (" and more" if len(taken) > 8 else "")
        messages.success(request, f"{len(taken)} taken from {place.code}: {numbers}.")
    for sentence in refused:
        messages.warning(request, sentence)
    return redirect("loans:pull", loan.reference)


@require_POST
def put_back(request: HttpRequest, reference: str) -> HttpResponse:
    """A pulled piece goes back on its shelf for now."""
    found = loan_or_404(reference)
    line = actions.put_back(by=signed_in(request), line=line_or_404(found, request.POST.get("number", "")))
    messages.success(request, f"{line.piece.number} is to pull again.")
    return redirect("loans:pull", found.reference)


@require_http_methods(GET_POST)
def send(request: HttpRequest, reference: str) -> HttpResponse:
    """Hand the pulled pieces over to whoever takes custody."""
    user, found = signed_in(request), loan_or_404(reference)
    lines = loan_queries.lines_of(found)
    unpulled = [line for line in lines if line.state == _S.TO_PULL]
    form = SendForm(request.POST or None, unpulled=unpulled, initial={"out_on": clock.today()})
    if request.method == "POST" and done(form, lambda: actions.send_loan(by=user, loan=found, **form.cleaned_data)):
        messages.success(request, _sent_words(found, len(unpulled)))
        return redirect("loans:loan", found.reference)
    pulled = sum(line.state == _S.PULLED for line in lines)
    rest = f"Send only what is pulled; leave {len(unpulled)} behind"
    return form_page(
        request,
        form,
        steps=loan_steps(found, "Send"),
        answer=_ready_words(pulled, pulled + len(unpulled)),
        verb=rest if unpulled else "Send these pieces out",
        template="catalog/loans/send.html",
        loan=found,
        unpulled=unpulled,
        pulled=pulled,
        early=loan_queries.early_words(found, clock.today()),
        early_holds=_who_has_them_before(found, lines),
    )


def _ready_words(pulled: int, every: int) -> str:
    """How many of the list's pieces are pulled: "1 of 7 pieces is ready to leave"."""
    pieces = "piece" if every == 1 else "pieces"
    return f"{pulled} of {every} {pieces} {'is' if pulled == 1 else 'are'} ready to leave."


def _sent_words(loan: Loan, behind: int) -> str:
    """That it is out and who took it; how much stayed, and whether it left before its hold began."""
    said = f"{loan.reference} is out, taken by {loan.taken_by}"
    if loan.out_on and (early := loan_queries.early_words(loan, loan.out_on)):
        said += f", {early}"
    return f"{said}. {behind} stayed behind and can follow on a loan of their own." if behind else f"{said}."


def _who_has_them_before(loan: Loan, lines: list[LoanLine]) -> list[str]:
    """Other jobs' holds and pencils on the days between today and the loan's own hold."""
    if loan.hold is None or clock.today() >= loan.hold.starts:
        return []
    pulled = [line.piece_id for line in lines if line.state == _S.PULLED]
    spans = queries.holds_of(pulled, clock.today(), loan.hold.starts - timedelta(days=1), ignoring=loan.hold)
    return [f"{span.sentence}." for span in spans if loan.call_id is None or span.call_id != loan.call_id][:6]


@require_http_methods(GET_POST)
def call_off(request: HttpRequest, reference: str) -> HttpResponse:
    """Give up a loan that never left."""
    user, found = signed_in(request), loan_or_404(reference)
    form = ReasonForm(request.POST or None)
    if request.method == "POST" and done(form, lambda: actions.call_off_loan(by=user, loan=found, **form.cleaned_data)):
        messages.success(request, f"{found.reference} is called off; its pieces stay held by {found.hold}.")
        return redirect("loans:loan", found.reference)
    return form_page(
        request,
        form,
        steps=loan_steps(found, "Call off"),
        answer=f"Call off {found.reference}?",
        verb="Call this loan off",
        note="Nothing leaves. What was pulled goes back on its shelf; the hold stands until it is released.",
    )


def _values_of(lines: list[LoanLine]) -> dict[int, Valuation]:
    pieces = Piece.objects.filter(pk__in=[line.piece_id for line in lines])
    return {row.piece_id: row for row in newest_values(pieces)}


def report(request: HttpRequest, reference: str) -> HttpResponse:
    """What goes, as a list to print and sign, with values for those who may see them; what stayed stands apart."""
    found = loan_or_404(reference)
    lines = loan_queries.lines_of(found)
    going = [line for line in lines if line.state not in {_S.TO_PULL, _S.LEFT_BEHIND}]
    sees_values = can(request.user, Ability.SEE_VALUES)
    values = _values_of(going) if sees_values else {}
    context = {
        "loan": found,
        "rows": [{"line": line, "value": values.get(line.piece_id)} for line in going],
        "total": money_words(sums((row.currency, row.amount) for row in values.values())),
        "not_valued": len(going) - len(values),
        "sees_values": sees_values,
        "waiting": [line for line in lines if line.state == _S.TO_PULL],
        "behind": [line for line in lines if line.state == _S.LEFT_BEHIND],
        "parts": loan_queries.missing_parts(found),
        "head": history.head_hash(found.subject),
        "steps": loan_steps(found, "List"),
    }
    return render_page(request, "catalog/loans/loan_list.html", context)
