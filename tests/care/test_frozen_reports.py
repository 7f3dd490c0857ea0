"""A signed report is never changed: the actions refuse it, and so does the database, on whichever the suite runs."""

from collections.abc import Callable
from dataclasses import fields

import pytest
from django.db import DatabaseError, connection, transaction

from catalog.care import actions
from catalog.care.condition_models import ConditionMark, ConditionReport, ReportPicture
from catalog.care.report_actions import MarkSeen, PictureSeen
from catalog.core import frozen, history
from catalog.core.errors import CatalogError, Refused
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.pieces import world

pytestmark = pytest.mark.django_db


@pytest.fixture
def coat(cast: Cast) -> Piece:
    return world.piece(cast, world.production(cast), kind="coat", name="Watch coat", materials=["wool"])


@pytest.fixture
def report(cast: Cast, coat: Piece) -> ConditionReport:
    seen = MarkSeen("front, wearer's left cuff", "tear", 25, x_permille=700, y_permille=520, outline="front")
    picture = PictureSeen(world.picture(), "shown")
    return actions.report_condition(by=cast.archivist, piece=coat, grade=2, marks=[seen], pictures=[picture])


CHANGES: dict[str, Callable[[ConditionReport], object]] = {
    "grade": lambda report: ConditionReport.objects.filter(pk=report.pk).update(grade=1),
    "signature": lambda report: ConditionReport.objects.filter(pk=report.pk).update(signed_at=None),
    "mark": lambda report: report.marks.update(size_mm=5),
    "mark moved away": lambda report: report.marks.update(report=None),
    "mark gone": lambda report: ConditionMark.objects.filter(report=report)._raw_delete("default"),
    "mark added": lambda report: ConditionMark.objects.create(report=report, zone="hem", word="stain"),
    "picture": lambda report: report.pictures.update(label="read"),
    "picture gone": lambda report: ReportPicture.objects.filter(report=report)._raw_delete("default"),
}


@pytest.mark.parametrize("what", CHANGES)
def test_the_database_refuses_to_change_what_is_signed(report: ConditionReport, what: str) -> None:
    with pytest.raises(DatabaseError), transaction.atomic():
        CHANGES[what](report)
    report.refresh_from_db()
    assert (report.grade, report.signed_at is None) == (2, False)
    assert [mark.size_mm for mark in report.marks.all()] == [25]
    assert report.pictures.get().label == "shown"


def test_history_is_not_whole_while_a_trigger_is_missing(report: ConditionReport) -> None:
    assert list(history.faults()) == []
    frozen.lift(connection)
    assert any("catalog_conditionmark_frozen_insert" in fault for fault in history.faults())
    frozen.install(connection)
    assert frozen.missing(connection) == []


@pytest.mark.parametrize(("x", "y"), [(-1, 500), (500, 1001), (70_000, 0)])
def test_a_mark_outside_its_picture_is_refused_in_one_sentence(cast: Cast, coat: Piece, x: int, y: int) -> None:
    seen = MarkSeen("front", "tear", outline="front", x_permille=x, y_permille=y)
    with pytest.raises(Refused) as refused:
        actions.report_condition(by=cast.archivist, piece=coat, grade=2, marks=[seen])
    assert refused.value.sentence == "The mark lies outside its picture."
    unsigned = ConditionReport.objects.create(piece=coat, grade=2)
    with pytest.raises(DatabaseError), transaction.atomic():
        ConditionMark.objects.create(
            report=unsigned, zone="front", word="tear", outline="front", x_permille=x, y_permille=y
        )


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"x_permille": 10}, "A pin has a picture or an outline"),
        ({"x_permille": 10, "y_permille": 10}, "A pin has a picture or an outline"),
        ({"state": "new"}, "wear, handling or an accident"),
        ({"state": "new", "cause": "accident"}, "in whose hands it happened"),
        ({"state": "worse"}, "are said of an old mark"),
    ],
)
def test_half_a_mark_is_refused(cast: Cast, coat: Piece, more: dict[str, object], sentence: str) -> None:
    assert set(more) <= {field.name for field in fields(MarkSeen)}
    with pytest.raises(CatalogError, match=sentence):
        actions.report_condition(
            by=cast.archivist, piece=coat, grade=2, marks=[MarkSeen("hem", "tear", **more)]  # type: ignore[arg-type]
        )  # fmt: skip
    assert not coat.reports.exists()


def test_a_picture_must_show_this_piece(cast: Cast, coat: Piece, report: ConditionReport) -> None:
    other = world.piece(cast, coat.production, kind="coat", name="Second coat", number="ZZZ-0002")
    for picture, sentence in (
        (PictureSeen(world.picture("brown"), ""), f"Is this {other.number}\\?"),
        (PictureSeen(world.picture(), "shown"), f"a picture of {coat.number} already"),
    ):
        with pytest.raises(Refused, match=sentence):
            actions.report_condition(by=cast.archivist, piece=other, grade=2, pictures=[picture])
    on_its_picture = MarkSeen("hem", "tear", file=report.pictures.get().file, x_permille=1, y_permille=1)
    with pytest.raises(Refused, match="a picture that is not of"):
        actions.report_condition(by=cast.archivist, piece=other, grade=2, marks=[on_its_picture])


def test_unchanged_answers_each_living_mark_with_same(cast: Cast, report: ConditionReport) -> None:
    again = actions.report_unchanged(by=cast.archivist, last=report, occasion="before a loan")
    mark = again.marks.get()
    assert (again.grade, again.unchanged, mark.state, mark.answers) == (2, True, "same", report.marks.get())
    assert (mark.x_permille, mark.y_permille, mark.outline) == (700, 520, "front")
