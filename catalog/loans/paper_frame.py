"""The frame that the papers of this room share: the loan's or hold's own code in the head, and its page in the foot."""

from collections.abc import Iterable
from datetime import date
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from reportlab.platypus import Flowable

from catalog.core.paper.page import heading_for, paper_pdf, pdf_response, size_asked
from catalog.loans.models import Hold, Loan


def day_words(day: date | None, unknown: str = "not recorded") -> str:
    """ "8 Sep 2026", or the word for a day that nobody recorded."""
    return f"{day:%-d %b %Y}" if day else unknown


def span_words(first: date, last: date) -> str:
    """ "8 Sep 2026" or "8 Sep 2026 to 10 Sep 2026"."""
    return day_words(first) if first == last else f"{day_words(first)} to {day_words(last)}"


def count_words(count: int, one: str, more: str) -> str:
    """ "1 piece", "3 pieces"."""
    return f"{count} {one if count == 1 else more}"


pieces_words = partial(count_words, one="piece", more="pieces")


def loan_paper(
    request: HttpRequest, loan: Loan, title: str, name: str, parts: Iterable[Flowable], warning: str = ""
) -> HttpResponse:
    """A paper of the loan as an answer, ?size=a4 or letter."""
    return _paper(request, f"{title}, {loan}", reverse("loans:loan", args=[loan.reference]), name, parts, warning)


def hold_paper(request: HttpRequest, hold: Hold, title: str, name: str, parts: Iterable[Flowable]) -> HttpResponse:
    """A paper of the hold as an answer, ?size=a4 or letter."""
    return _paper(request, f"{title}, {hold}", reverse("loans:hold", args=[hold.reference]), name, parts, "")


def _paper(
    request: HttpRequest, title: str, about: str, name: str, parts: Iterable[Flowable], warning: str
) -> HttpResponse:
    size = size_asked(request)
    heading = heading_for(request, title, about=about, warning=warning, coded=True)
    return pdf_response(f"{name}-{heading.printed:%Y-%m-%d}.pdf", paper_pdf(heading, list(parts), size))
