"""The frame of every paper: letterhead, foot with date and address, "2 of 5"; and the PDF made from its parts.

A paper says in its foot when and by whom it was printed and where its page is, so that an old copy shows its age.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from reportlab.lib.pagesizes import A4, letter
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from catalog.core import house
from catalog.core.paper.fonts import BOLD, TEXT, cut, register, width_of

SIZES: dict[str, tuple[float, float]] = {"a4": A4, "letter": letter}
SIDE, TOP, BOTTOM = 18 * mm, 30 * mm, 22 * mm


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands on each page. `warning` is for papers that may not lie about: it stands in the head of every page."""

    title: str
    house: str
    address: str
    printed: datetime
    by: str
    warning: str = ""

    @property
    def day(self) -> str:
        """ "8 Sep 2026, 14:05", in the zone of the moment that was handed in."""
        return f"{self.printed:%-d %b %Y, %H:%M}"


def paper_pdf(heading: Heading, parts: Sequence[Flowable], size: str = "a4") -> bytes:
    """The paper as a PDF. Raises KeyError for a size nobody declared."""
    register()
    width, height = SIZES[size]
    stream = BytesIO()
    document = BaseDocTemplate(
        stream, pagesize=(width, height), title=heading.title, author=heading.house, creator="Wrapkeep", lang="en-GB"
    )
    frame = Frame(SIDE, BOTTOM, width - 2 * SIDE, height - TOP - BOTTOM, 0, 0, 0, 0)
    document.addPageTemplates(PageTemplate("page", [frame], pagesize=(width, height)))
    document.build(list(parts), canvasmaker=_numbered(lambda canvas, total: _frame(canvas, heading, total)))
    return stream.getvalue()


def heading_for(request: HttpRequest, title: str, *, about: str = "", warning: str = "") -> Heading:
    """The heading of a paper that this person prints now; `about` is the address of its page, else the paper's own."""
    return Heading(
        title=title,
        house=str(house.value("house.name")),
        address=request.build_absolute_uri(about or None),
        printed=timezone.localtime(),
        by=request.user.get_username(),
        warning=warning,
    )


def pdf_response(name: str, data: bytes) -> HttpResponse:
    """The PDF, shown in the browser; never kept in a shared cache."""
    answer = HttpResponse(data, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    answer["Cache-Control"] = "private, no-store"
    return answer


def new_canvas(stream: BytesIO, size: tuple[float, float], title: str) -> Canvas:
    """A bare canvas for what has no letterhead: labels and cards. Millimetres are `reportlab.lib.units.mm`."""
    register()
    canvas = Canvas(stream, pagesize=size, pageCompression=1, lang="en-GB")
    canvas.setTitle(title)
    canvas.setCreator("Wrapkeep")
    canvas.setViewerPreference("PrintScaling", "None")  # a viewer must not shrink it to its margins
    return canvas


def _numbered(frame: Callable[[Canvas, int], None]) -> Any:
    """A canvas that draws the frame of each page when it knows how many there are."""

    class Numbered(Canvas):  # type: ignore[misc]  # the PDF library has no types
        def __init__(self, *args: Any, **options: Any) -> None:
            super().__init__(*args, **{**options, "pageCompression": 1})
            self.kept: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802 - the library's own name
            self.kept.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            for page in self.kept:
                self.__dict__.update(page)
                frame(self, len(self.kept))
                super().showPage()
            super().save()

    return Numbered


def _frame(canvas: Canvas, heading: Heading, total: int) -> None:
    width, height = canvas._pagesize
    canvas.saveState()
    canvas.setFont(BOLD, 10)
    canvas.drawString(SIDE, height - 16 * mm, heading.house)
    canvas.setFont(TEXT, 9)
    room = width - 2 * SIDE - width_of(heading.house, BOLD, 10) - 8 * mm
    canvas.drawRightString(width - SIDE, height - 16 * mm, cut(heading.title, TEXT, 9, room))
    canvas.setLineWidth(0.6)
    canvas.line(SIDE, height - 19 * mm, width - SIDE, height - 19 * mm)
    if heading.warning:
        canvas.setFont(BOLD, 8)
        canvas.drawString(SIDE, height - 24 * mm, cut(heading.warning, BOLD, 8, width - 2 * SIDE))
    canvas.setLineWidth(0.3)
    canvas.line(SIDE, 17 * mm, width - SIDE, 17 * mm)
    canvas.setFont(TEXT, 7.5)
    pages = f"{canvas.getPageNumber()} of {total}"
    canvas.drawRightString(width - SIDE, 12.5 * mm, pages)
    canvas.drawString(SIDE, 12.5 * mm, f"Printed {heading.day} by {heading.by}")
    canvas.drawString(SIDE, 9 * mm, cut(heading.address, TEXT, 7.5, width - 2 * SIDE))
    canvas.restoreState()
