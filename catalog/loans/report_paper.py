"""The out-report and the in-report of a loan on paper: piece by piece, marks pinned on pictures, two signatures."""

from collections.abc import Iterator, Mapping

from reportlab.platypus import Flowable

from catalog.access.models import User
from catalog.core.models import File
from catalog.core.paper import parts
from catalog.core.paper.pinned import Pin, PinnedPicture
from catalog.loans.models import Loan
from catalog.loans.paper_frame import count_words, day_words, pieces_words
from catalog.loans.report_queries import LoanReportFacts, MarkFacts, PieceReport, Signature, in_report, out_report
from catalog.pieces.queries import may_see_file

Files = Mapping[int, File]
TITLES = {"out": "Out-report", "in": "In-report"}
LEFT_RIGHT = "Left and right are the wearer's. What was on screen is part of the look and stays."


def condition_parts(loan: Loan, way: str, user: User) -> Iterator[Flowable]:
    """The report; a fixed number of queries, whatever the size. Pictures are those that the person may see."""
    found = out_report(loan) if way == "out" else in_report(loan)
    pinned = {mark.picture_id for piece in found.pieces for mark in piece.marks if mark.picture_id}
    files = {pk: file for pk, file in File.objects.in_bulk(pinned).items() if may_see_file(user, file.seen_by)}
    yield parts.answer(_answer(found))
    yield parts.facts(_facts(loan, found))
    yield parts.small(LEFT_RIGHT)
    for piece in found.pieces:
        yield from _piece(piece, files)
    if found.not_reported:
        yield parts.heading("Not reported on")
        yield parts.text(", ".join(found.not_reported))
    yield from _signatures(found.signatures)


def _answer(found: LoanReportFacts) -> str:
    what = "as they left" if found.way == "out" else "as they came back"
    return f"{found.reference}: {pieces_words(len(found.pieces))} {what}, {_marks_words(found)}."


def _marks_words(found: LoanReportFacts) -> str:
    if found.way == "out":
        return count_words(sum(len(piece.marks) for piece in found.pieces), "mark", "marks")
    fresh = [mark for piece in found.pieces for mark in piece.worse_or_new]
    new = sum(mark.state == "new" for mark in fresh)
    return f"{count_words(new, 'new mark', 'new marks')}, {len(fresh) - new} worse"


def _facts(loan: Loan, found: LoanReportFacts) -> list[tuple[str, parts.Cell]]:
    unsaid = pieces_words(len(found.not_reported))
    return [
        ("Borrower", found.to_whom),
        ("Out, due", f"{day_words(loan.out_on, 'not left yet')}, {day_words(loan.due_on)}"),
        ("Signed", _signed(found.signatures)),
        ("Not reported on", f"{unsaid}, named at the end" if found.not_reported else "none"),
    ]


def _signed(rows: tuple[Signature, ...]) -> str:
    if not rows:
        return "not signed by both sides: it may still change"
    names = " and ".join(f"{row.name} for {row.signs_for}" for row in rows)
    return f"{names}, {day_words(rows[0].signed_on)}; nothing in it changes any more"


def _piece(piece: PieceReport, files: Files) -> Iterator[Flowable]:
    yield parts.heading(f"{piece.number}, {piece.name}: {piece.grade_words}")
    said = [
        piece.stability,
        piece.completeness + (f" ({piece.missing})" if piece.missing else ""),
        f"look {piece.look}" if piece.look else "",
        piece.method,
        f"before it goes: {piece.work}" if piece.work else "",
        piece.note,
        "no change since the last report" if piece.unchanged else "",
    ]
    yield parts.text("; ".join(word for word in said if word))
    yield parts.small(f"Reported {day_words(piece.reported_on)} by {piece.reported_by or 'not known'}.")
    if not piece.marks:
        yield parts.text("No mark.")
        return
    head = ["No.", "Mark", "Where", "Size", "Since", "State"]
    yield parts.table(head, map(_mark, piece.marks), [10, 40, 48, 16, 30, 28])
    yield from _pictures(piece, files)


def _mark(mark: MarkFacts) -> list[parts.Cell]:
    came = [mark.cause, day_words(mark.happened_on, ""), f"with {mark.happened_with}" if mark.happened_with else ""]
    state = mark.state if mark.state in {"noted", "same", "gone"} else parts.strong(mark.state)
    where = f"{mark.zone}{f', on the outline of the {mark.outline}' if mark.outline else ''}"
    return [
        str(mark.n),
        f"{mark.word}{f': {mark.note}' if mark.note else ''}",
        where,
        f"{mark.size_mm} mm" if mark.size_mm else "not measured",
        mark.origin,
        [state if isinstance(state, Flowable) else parts.small(state), parts.small(", ".join(filter(None, came)))],
    ]


def _pictures(piece: PieceReport, files: Files) -> Iterator[Flowable]:
    """Each picture that a mark is pinned on, once, with its pins."""
    by_picture: dict[int, list[Pin]] = {}
    for mark in piece.marks:
        picture_id, x, y = mark.picture_id, mark.x_permille, mark.y_permille
        if picture_id in files and picture_id is not None and x is not None and y is not None:
            by_picture.setdefault(picture_id, []).append((mark.n, x, y))
    for picture_id, pins in by_picture.items():
        yield _picture(files[picture_id], pins)


def _picture(file: File, pins: list[Pin]) -> Flowable:
    if not file.large:
        return parts.small("The picture is not stored.")
    try:
        with file.large.open("rb") as stored:
            return PinnedPicture(stored.read(), 80, 70, pins)
    except OSError:
        return parts.small("The picture cannot be read.")


def _signatures(rows: tuple[Signature, ...]) -> Iterator[Flowable]:
    if rows:
        yield parts.heading("Signed")
        for row in rows:
            yield parts.text(f"{row.side.capitalize()}: {row.name} for {row.signs_for}, {day_words(row.signed_on)}")
    else:
        yield parts.signatures(["For the lender", "For the borrower"])
