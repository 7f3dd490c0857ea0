"""The two-page report of a loan, and whose data its call holds until when."""

from collections.abc import Iterator

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from reportlab.platypus import Flowable

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core import clock
from catalog.core.http import render_page
from catalog.core.paper import parts
from catalog.core.paper.page import heading_for, paper_pdf, pdf_response, size_asked
from catalog.desk.data_kept_queries import DataKept, data_kept
from catalog.desk.insurer_file import insurer_zip
from catalog.desk.loan_report import report_parts
from catalog.desk.loan_report_queries import report_of
from catalog.loans.pages import call_or_404, call_steps, loan_or_404
from catalog.loans.paper_frame import count_words, day_words, loan_paper
from catalog.loans.paper_queries import printable

FOR_INSURER = "Confidential: for the insurer of these pieces. It names values."
WHO_SEES = (
    ("Number, name, role, dressed or not, days", "archivist, wardrobe lead, production, set costumer"),
    ("Which piece somebody wears", "archivist, wardrobe lead, set costumer"),
    ("Sizes, and what somebody must not wear", "the wardrobe lead alone"),
)
STAYS = (
    "With the last size sheet go the performer's name and what they must not wear; the number stays, so that pieces "
    "can be accounted for. Names of those who authorised, took and signed stay with the holds and loans. Backups made "
    "before the day hold the sheets until they are deleted themselves."
)


def loan_report(request: HttpRequest, reference: str) -> HttpResponse:
    """Asked, given, made, cost, damage, delays, what to change: on two pages."""
    found = loan_or_404(reference)
    printable(found, "desk:loan_report")
    today = clock.today()
    kept = data_kept(found.call, today) if found.call else None
    made = report_parts(report_of(found, today), kept)
    return loan_paper(
        request, found, "Loan report", f"report-{found.reference}", made, "Confidential: it names values and costs."
    )


def insurer_file(request: HttpRequest, reference: str) -> HttpResponse:
    """Everything an insurer asks for after a loss, in one ZIP, ?size=a4 or letter."""
    found = loan_or_404(reference)
    printable(found, "desk:insurer_file")
    size, about = size_asked(request), reverse("loans:loan", args=[found.reference])
    heading = heading_for(request, f"Insurer's file, {found}", about=about, warning=FOR_INSURER, coded=True)
    data = insurer_zip(found, signed_in(request), heading, size)
    answer = HttpResponse(data, content_type="application/zip")
    name = f"insurer-{found.reference}-{heading.printed:%Y-%m-%d}.zip"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    answer["Cache-Control"] = "private, no-store"
    return answer


def data_kept_page(request: HttpRequest, reference: str) -> HttpResponse:
    """Whose data the call holds; production reads no size here, and nobody else does either."""
    call = call_or_404(reference)
    context = {
        "call": call,
        "kept": data_kept(call, clock.today()),
        "who_sees": WHO_SEES,
        "stays": STAYS,
        "may_fit": can(request.user, Ability.FIT),
        "steps": call_steps(call, "Data we hold"),
    }
    return render_page(request, "catalog/desk/data_kept.html", context)


def data_kept_pdf(request: HttpRequest, reference: str) -> HttpResponse:
    """The same on paper, ?size=a4 or letter."""
    call = call_or_404(reference)
    size, about = size_asked(request), reverse("desk:data_kept", args=[call.reference])
    heading = heading_for(request, f"Data we hold, {call}", about=about, coded=True)
    made = paper_pdf(heading, list(_parts(data_kept(call, clock.today()))), size)
    return pdf_response(f"data-{call.reference}-{heading.printed:%Y-%m-%d}.pdf", made)


def _parts(kept: DataKept) -> Iterator[Flowable]:
    yield parts.answer(f"{kept.call}: {kept.sentence}")
    yield parts.facts([("Names kept", str(kept.names)), *((what, f"seen by {who}") for what, who in WHO_SEES)], 70, 100)
    yield parts.heading("Performers")
    rows = (
        [
            one.number,
            one.name or "name deleted",
            one.role or "no role",
            "yes" if one.dressed else "no",
            ", ".join(f"{day:%-d %b}" for day in one.days) or "no day given",
            str(one.sheets),
            day_words(one.until, "nothing kept"),
        ]
        for one in kept.people
    )
    head = ["No.", "Name", "Role", "Dressed", "Days", "Sheets", "Kept until"]
    yield parts.table(head, rows, [14, 44, 30, 16, 34, 13, 23])
    yield parts.heading("Deleted")
    for one in kept.deleted:
        yield parts.text(f"{day_words(one.day)}: {count_words(one.sheets, 'size sheet', 'size sheets')}, by {one.by}.")
    if not kept.deleted:
        yield parts.text("Nothing has been deleted yet.")
    yield parts.small(STAYS)
