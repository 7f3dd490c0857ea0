"""The rescue list as a paper: photo, weight, lift mark and order, dated on every page."""

from collections.abc import Iterator

from reportlab.platypus import Flowable

from catalog.care.calc.cautions import LOCAL_RULES
from catalog.core.paper import parts
from catalog.core.paper.page import Heading, paper_pdf
from catalog.core.units import show_weight
from catalog.pieces.models import PieceFile
from catalog.storage.calc.lifting import CAUTION, HEAD_HEIGHT, SOURCE, LiftMark
from catalog.storage.models import Place
from catalog.storage.rescue_queries import Rescue, RescueBox, RescueRow

WARNING = "Restricted. It names what is worth most: kept locked away, off the site, never copied without its date."
ORDER = (
    "In the order of the newest recorded value, the highest first. What nobody has valued stands last, which says "
    "nothing about its worth. People go first: nobody enters before whoever is in charge has let them in."
)


def rescue_pdf(place: Place, found: Rescue, heading: Heading, size: str) -> bytes:
    """The paper. Raises KeyError for a size nobody declared."""
    return paper_pdf(heading, list(_parts(place, found)), size)


def _parts(place: Place, found: Rescue) -> Iterator[Flowable]:
    total = len(found.rows) + found.left_out
    yield parts.answer(f"{place.name}: {total} {'piece' if total == 1 else 'pieces'} to carry out, in this order.")
    yield parts.text(ORDER)
    if found.left_out:
        yield parts.text(f"Only the first {len(found.rows)} are listed: print the places in it for the rest.")
    if found.not_valued:
        yield parts.text(f"{found.not_valued} of them nobody has valued.")
    if found.rows:
        head = ["", "Photo", "Piece", "Where", "Weight, lift", "Take care"]
        rows = (_row(number, row) for number, row in enumerate(found.rows, 1))
        yield parts.table(head, rows, [8, 22, 50, 28, 28, 37])
    if found.boxes:
        yield parts.heading("Trunks, crates and boxes, with all that is in them")
        rows = (
            [
                parts.strong(box.place.code),
                box.place.name,
                box.where,
                str(box.pieces),
                _gross(box),
                _lift_words(box.lift),
            ]
            for box in found.boxes
        )
        yield parts.table(["Code", "Name", "Where", "Pieces", "Gross", "Lift"], rows, [24, 45, 30, 14, 28, 32])
    yield parts.gap()
    yield parts.small(f"{CAUTION} “Above reach”: {HEAD_HEIGHT} {SOURCE} Hazards as recorded on this day. {LOCAL_RULES}")


def _row(number: int, row: RescueRow) -> list[parts.Cell]:
    piece = row.piece
    weight = "not weighed" if piece.weight_g is None else show_weight(piece.weight_g)
    return [
        str(number),
        _photo(row.picture),
        parts.stack(parts.strong(piece.number), parts.small(piece.name + ("" if row.is_valued else ", not valued"))),
        row.where,
        parts.stack(parts.small(weight), _lift_words(row.lift)),
        "; ".join(row.hazards) or "nothing known",
    ]


def _gross(box: RescueBox) -> str:
    if not box.known_g:
        return "not weighed"
    return f"{'at least ' if box.unweighed else ''}{show_weight(box.known_g)}"


def _lift_words(mark: LiftMark) -> Flowable:
    above = ", above reach" if HEAD_HEIGHT in mark.cautions else ""
    words = {"not known": "weigh it first"}.get(mark.lift, mark.lift) + above
    return parts.small(words) if mark.lift == "one person" and not above else parts.strong(words)


def _photo(picture: PieceFile | None) -> parts.Cell:
    if picture is None or not picture.file.small:
        return parts.small("no photo")
    try:
        with picture.file.small.open("rb") as stored:
            return parts.picture(stored.read(), 19, 19)
    except OSError:
        return parts.small("photo not readable")
