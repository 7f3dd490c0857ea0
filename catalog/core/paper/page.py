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
from catalog.core.errors import Refused
from catalog.core.paper.fonts import BOLD, TEXT, cut, register, width_of
from catalog.core.paper.qr_mark import draw_qr
from catalog.core.qr import qr_modules

SIZES: dict[str, tuple[float, float]] = {"a4": A4, "letter": letter}
SIDE, TOP, BOTTOM = 18 * mm, 30 * mm, 22 * mm
# Side of the code in the head, quiet zone included: half a millimetre a module for an address of sixty signs.
_CODE = 22 * mm


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands on each page. `warning` is for papers that may not lie about: it stands in the head of every page.

    `code`: what the QR code in the head of every page says, for papers that are found again by scanning; "": no code.
    """

    title: str
    house: str
    address: str
    printed: datetime
    by: str
    warning: str = ""
    code: str = ""

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


def heading_for(
    request: HttpRequest, title: str, *, about: str = "", warning: str = "", coded: bool = False
) -> Heading:
    """The heading of a paper that this person prints now; `about` is the address of its page, else the paper's own.

    `coded`: the same address stands as a QR code in the head.
    """
    address = request.build_absolute_uri(about or None)
    return Heading(
        title=title,
        house=str(house.value("house.name")),
        address=address,
        printed=timezone.localtime(),
        by=request.user.get_username(),
        warning=warning,
        code=address if coded else "",
    )


def size_asked(request: HttpRequest) -> str:
    """?size=a4 or letter; A4 when nothing is said. Raises Refused for a paper nobody declared."""
    size = request.GET.get("size", "a4")
    if size not in SIZES:
        raise Refused(f"There is no paper “{size[:20]}”: print on a4 or letter.", field="size")
    return size


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
    right = width - SIDE
    if heading.code:
        draw_qr(canvas, qr_modules(heading.code), right - _CODE + 2 * mm, height - 29 * mm, _CODE)
        right -= _CODE
    canvas.setFont(BOLD, 10)
    name = cut(heading.house, BOLD, 10, (right - SIDE) / 2)
    canvas.drawString(SIDE, height - 16 * mm, name)
    canvas.setFont(TEXT, 9)
    room = right - SIDE - width_of(name, BOLD, 10) - 8 * mm
    canvas.drawRightString(right, height - 16 * mm, cut(heading.title, TEXT, 9, room))
    canvas.setLineWidth(0.6)
    canvas.line(SIDE, height - 19 * mm, right, height - 19 * mm)
    if heading.warning:
        canvas.setFont(BOLD, 8)
        canvas.drawString(SIDE, height - 24 * mm, cut(heading.warning, BOLD, 8, right - SIDE))
    canvas.setLineWidth(0.3)
    canvas.line(SIDE, 17 * mm, width - SIDE, 17 * mm)
    canvas.setFont(TEXT, 7.5)
    pages = f"{canvas.getPageNumber()} of {total}"
    canvas.drawRightString(width - SIDE, 12.5 * mm, pages)
    canvas.drawString(SIDE, 12.5 * mm, f"Printed {heading.day} by {heading.by}")
    canvas.drawString(SIDE, 9 * mm, cut(heading.address, TEXT, 7.5, width - 2 * SIDE))
    canvas.restoreState()
