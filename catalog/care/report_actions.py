"""Condition reports: written, signed and from then on unchangeable."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.care.models import ConditionMark, ConditionReport, ReportPicture
from catalog.core import clock, history
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused, WrongState
from catalog.core.models import File
from catalog.pieces.actions import add_picture
from catalog.pieces.models import Look, Piece, PieceFile

_M = ConditionMark.State
# Marks that are still there: they are asked after again in the next report.
LIVING = (_M.NOTED, _M.SAME, _M.WORSE, _M.NEW)


@dataclass(frozen=True, slots=True)
class MarkSeen:
    """A mark as it was seen: where, which word, how large, where its pin stands, what became of an old one."""

    zone: str
    word: str
    size_mm: int | None = None
    on_screen: bool | None = None
    file: File | None = None
    outline: str = ""
    x_permille: int | None = None
    y_permille: int | None = None
    state: str = _M.NOTED
    answers: ConditionMark | None = None
    cause: str = ""
    happened_on: date | None = None
    happened_with: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class PictureSeen:
    """A picture taken for a report; `label` says how it is known which piece it shows (empty: nobody has said)."""

    data: bytes
    label: str
    view: str = PieceFile.View.FRONT


@transaction.atomic
def report_condition(
    *,
    by: User,
    piece: Piece,
    grade: int,
    stability: str = ConditionReport.Stability.STABLE,
    completeness: str = ConditionReport.Completeness.COMPLETE,
    missing: str = "",
    work: str = "",
    look: Look | None = None,
    method: str = "",
    note: str = "",
    occasion: str = "",
    unchanged: bool = False,
    reported_at: datetime | None = None,
    marks: Iterable[MarkSeen] = (),
    pictures: Iterable[PictureSeen] = (),
    by_name: str = "",
    source: str = "",
) -> ConditionReport:
    """A new condition report with its marks and pictures; earlier ones stay as they were signed.

    Raises Refused for a mark outside its picture or on a picture of another piece, and for a new picture of which
    nobody has said that it shows this piece's label or that the label was read.
    """
    require(by, Ability.DECIDE_WEAR)
    refuse_unless_past(reported_at=reported_at)
    when = reported_at or clock.now()
    report = ConditionReport(piece=piece, grade=grade, stability=stability, completeness=completeness)
    report.missing, report.work, report.method = missing.strip(), work.strip(), method.strip()
    report.look, report.unchanged = look, unchanged
    report.note, report.occasion, report.reported_at, report.reported_by = note.strip(), occasion.strip(), when, by
    keep(report)
    taken = [_keep_picture(by, report, picture) for picture in pictures]
    _keep_marks(report, list(marks), taken)
    report.signed_at = clock.now()
    keep(report, update_fields=["signed_at"])
    facts: dict[str, Any] = {"grade": grade, "stability": stability, "completeness": completeness}
    facts |= {"condition_note": report.note} if report.note else {}
    if words := [_words(mark) for mark in report.marks.all()]:
        facts["mark"] = words
    reason = source or report.occasion
    history.record(by, "condition reported", piece.subject, after=facts, reason=reason, happened=when, by_name=by_name)
    return report


@transaction.atomic
def report_unchanged(
    *, by: User, last: ConditionReport, occasion: str, pictures: Iterable[PictureSeen] = ()
) -> ConditionReport:
    """A report of today that says the same as `last`: each mark that was still there is answered with "same"."""
    seen = [same_again(mark) for mark in last.marks.filter(state__in=LIVING).select_related("file", "report")]
    return report_condition(
        by=by,
        piece=last.piece,
        grade=last.grade,
        stability=last.stability,
        completeness=last.completeness,
        missing=last.missing,
        work=last.work,
        look=last.look,
        note=last.note,
        occasion=occasion,
        unchanged=True,
        marks=seen,
        pictures=pictures,
    )


def same_again(mark: ConditionMark, state: str = _M.SAME, **more: Any) -> MarkSeen:
    """An old mark as it stands in the next report, where it was and with its pin."""
    seen = MarkSeen(
        zone=mark.zone,
        word=mark.word,
        size_mm=mark.size_mm,
        on_screen=mark.on_screen,
        file=mark.file,
        outline=mark.outline,
        x_permille=mark.x_permille,
        y_permille=mark.y_permille,
        state=state,
        answers=mark,
    )
    return replace(seen, **more)


@transaction.atomic
def mark_condition(*, by: User, report: ConditionReport, seen: MarkSeen) -> ConditionMark:
    """One more mark on a report that nobody has signed yet. Raises WrongState once it is signed."""
    require(by, Ability.DECIDE_WEAR)
    if report.signed_at is not None:
        raise WrongState("A signed report stays as it is: write a new one.")
    mark = _keep_marks(report, [seen], [])[0]
    history.record(by, "mark added", report.piece.subject, after={"mark": [_words(mark)]})
    return mark


def _keep_picture(by: User, report: ConditionReport, picture: PictureSeen) -> File:
    """The picture becomes one of the piece's, and of the report."""
    number = report.piece.number
    if picture.label not in ReportPicture.Label.values:
        raise Refused(
            f"Is this {number}? Say how you know: its label is in the picture, or you read the label as you took it.",
            field="label",
        )
    file = add_picture(
        by=by, piece=report.piece, data=picture.data, view=picture.view, caption=report.occasion, main=False
    ).file
    other = PieceFile.objects.select_related("piece").filter(file=file).exclude(piece=report.piece).first()
    if other is not None:
        raise Refused(f"This is a picture of {other.piece.number} already: take one of {number}.", field="picture")
    keep(ReportPicture(report=report, file=file, label=picture.label))
    return file


def _keep_marks(report: ConditionReport, marks: Sequence[MarkSeen], taken: Sequence[File]) -> list[ConditionMark]:
    asked = {seen.file.pk for seen in marks if seen.file} - {file.pk for file in taken}
    own = set(report.piece.pictures.filter(file__in=asked).values_list("file_id", flat=True)) if asked else set()
    if asked - own:
        raise Refused(f"A mark stands on a picture that is not of {report.piece.number}.", field="picture")
    return [_keep_mark(report, seen) for seen in marks]


def _keep_mark(report: ConditionReport, seen: MarkSeen) -> ConditionMark:
    if any(place is not None and not 0 <= place <= 1000 for place in (seen.x_permille, seen.y_permille)):
        raise Refused("The mark lies outside its picture.", field="across")
    if seen.answers is not None and seen.answers.report.piece_id != report.piece_id:
        raise Refused("An old mark belongs to another piece.")
    refuse_unless_past(happened_on=seen.happened_on)
    mark = ConditionMark(report=report, zone=" ".join(seen.zone.split()), word=" ".join(seen.word.split()))
    for name in ("size_mm", "on_screen", "file", "outline", "x_permille", "y_permille", "state", "answers"):
        setattr(mark, name, getattr(seen, name))
    mark.cause, mark.happened_on, mark.happened_with = seen.cause, seen.happened_on, seen.happened_with
    mark.note = seen.note.strip()
    return keep(mark)


def _words(mark: ConditionMark) -> str:
    """ "Tear at left cuff", and of an old mark what became of it."""
    said = [] if mark.state == _M.NOTED else [mark.get_state_display()]
    said += [mark.get_cause_display()] if mark.cause else []
    return f"{mark.word} at {mark.zone}" + (f" ({', '.join(said)})" if said else "")
