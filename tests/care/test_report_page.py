"""The page of a condition report: pins by tap or typed, old marks answered, pictures of which the label was seen."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from catalog.care import actions
from catalog.care.calc.marks import proper_side, wrong_side
from catalog.care.condition_models import ConditionReport
from catalog.care.report_actions import MarkSeen
from catalog.pieces.actions import add_picture
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.pieces import world
from tests.reading import text_of

AsUser = Callable[[Any], Client]
SIGNED = {"grade": "2", "stability": "stable", "completeness": "complete"}


@pytest.fixture
def coat(cast: Cast) -> Piece:
    return world.piece(cast, world.production(cast), kind="coat", name="Watch coat", materials=["wool"])


def address(piece: Piece) -> str:
    return reverse("care:report", args=[piece.number])


def rows(*marks: dict[str, str]) -> dict[str, str]:
    sent = {"mark-TOTAL_FORMS": str(len(marks)), "mark-INITIAL_FORMS": str(len(marks))}
    return sent | {f"mark-{n}-{name}": value for n, mark in enumerate(marks) for name, value in mark.items()}


def value(page: str, name: str) -> str:
    found = re.search(rf'name="{name}"[^>]*value="([^"]*)"', page)
    return found[1] if found else ""


def test_a_tap_puts_a_pin_on_the_outline_and_stores_nothing(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    client = as_user(cast.archivist)
    page = client.get(address(coat)).content.decode()
    assert 'name="tap280"' in page
    assert 'name="tap460"' in page
    typed = SIGNED | {"note": "still typing"} | rows({"where": "front"})
    answer = client.post(address(coat), typed | {"board": "front", "tap280.x": "210", "tap280.y": "70"})
    page = answer.content.decode()
    assert answer.status_code == 200
    assert (value(page, "mark-0-across"), value(page, "mark-0-down")) == ("75.0", "25.0")
    assert value(page, "mark-0-zone") == "front, wearer&#x27;s left"
    assert "still typing" in page
    assert 'transform="translate(750 250)"' in page
    assert not coat.reports.exists()
    # The same place tapped on the larger drawing, and a second pin once the first has a word.
    first = {"where": "front", "across": "75.0", "down": "25.0", "zone": "front", "word": "tear"}
    page = client.post(
        address(coat), rows(first) | {"board": "back", "tap460.x": "345", "tap460.y": "115"}
    ).content.decode()
    assert (value(page, "mark-1-across"), value(page, "mark-1-down")) == ("75.0", "25.0")
    assert value(page, "mark-1-zone") == "back, wearer&#x27;s right"
    assert value(page, "mark-0-word") == "tear"


def test_a_typed_pin_is_kept_on_its_outline(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    mark = {"where": "back", "across": "12.5", "down": "100", "zone": "hem, left", "word": "mud, as filmed"}
    sent = SIGNED | rows(mark | {"size_mm": "4", "origin": "yes"})
    assert as_user(cast.archivist).post(address(coat), sent).status_code == 302
    kept = coat.reports.get().marks.get()
    assert (kept.outline, kept.x_permille, kept.y_permille, kept.size_mm) == ("back", 125, 1000, 40)
    assert (kept.on_screen, kept.state, kept.file) == (True, "noted", None)


@pytest.mark.parametrize(
    ("mark", "sentence"),
    [
        ({"across": "100.1", "down": "3"}, "The mark lies outside its picture"),
        ({"across": "-1", "down": "3"}, "The mark lies outside its picture"),
        ({"across": "5"}, "A pin needs both numbers"),
        ({"across": "5", "down": "5", "where": ""}, "Say on which picture or outline the pin stands"),
        ({"across": "90", "down": "50", "zone": "right cuff"}, "wearer&#x27;s left, the words say right"),
    ],
)  # fmt: skip
def test_a_pin_that_cannot_be_is_told(
    cast: Cast, as_user: AsUser, coat: Piece, mark: dict[str, str], sentence: str
) -> None:
    sent = SIGNED | rows({"where": "front", "zone": "cuff", "word": "tear"} | mark)
    answer = as_user(cast.archivist).post(address(coat), sent)
    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert not coat.reports.exists()


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"grade": "3"}, "Say which small work it needs and how long"),
        ({"completeness": "incomplete"}, "Say what is missing"),
    ],
)
def test_what_a_grade_still_needs_is_asked(
    cast: Cast, as_user: AsUser, coat: Piece, facts: dict[str, str], sentence: str
) -> None:
    answer = as_user(cast.archivist).post(address(coat), SIGNED | facts | rows())
    assert answer.status_code == 422
    assert sentence in text_of(answer)


def test_a_picture_without_its_label_is_questioned_and_kept(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    client = as_user(cast.archivist)
    sent = SIGNED | rows() | {"view": "front"}
    answer = client.post(address(coat), sent | {"picture": SimpleUploadedFile("a.jpg", world.picture(), "image/jpeg")})
    assert answer.status_code == 422
    assert f"Is this {coat.number}?" in text_of(answer)
    kept = value(answer.content.decode(), "kept")
    assert len(kept) == 64
    assert not coat.pictures.exists()
    # Shown at once, so that pins can stand on it; the browser need not send it again.
    shown = client.post(address(coat), sent | {"kept": kept, "show": "taken"}).content.decode()
    assert 'href="data:image/jpeg;base64,' in shown
    mark = {"where": "taken", "across": "50", "down": "50", "zone": "front", "word": "stain"}
    assert client.post(address(coat), sent | rows(mark) | {"kept": kept, "label": "shown"}).status_code == 302
    report = coat.reports.get()
    assert report.pictures.get().label == "shown"
    assert report.marks.get().file == report.pictures.get().file == coat.pictures.get().file


def test_old_marks_are_answered_one_by_one(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    old = [MarkSeen("hem", "tear"), MarkSeen("collar", "stain", outline="front", x_permille=500, y_permille=100)]
    first = actions.report_condition(by=cast.archivist, piece=coat, grade=2, marks=old)
    tear, stain = first.marks.all()
    client = as_user(cast.archivist)
    page = client.get(address(coat)).content.decode()
    assert "1. tear at hem" in page
    assert 'class="mark-pin old"' in page
    olds = {"old-TOTAL_FORMS": "2", "old-INITIAL_FORMS": "2", "old-0-answers": str(tear.pk)}
    olds |= {"old-1-answers": str(stain.pk), "old-0-state": "worse", "old-0-note": "4 cm longer"}
    answer = client.post(address(coat), SIGNED | rows() | olds)
    assert answer.status_code == 422
    assert re.search(r"Old mark 2\. [^<]*Say whether the old mark is same, worse or gone\.", text_of(answer))
    assert client.post(address(coat), SIGNED | rows() | olds | {"old-1-state": "gone"}).status_code == 302
    newest = coat.reports.first()
    assert newest is not None
    assert [(m.state, m.answers_id, m.note) for m in newest.marks.all()] == [
        ("worse", tear.pk, "4 cm longer"),
        ("gone", stain.pk, ""),
    ]
    # What is gone is not asked after again; and a form of the report before is told that it is old.
    assert "2. " not in re.sub(
        r"(?s).*Marks of the last report</h2>(.*?)<h2>.*", r"\1", client.get(address(coat)).content.decode()
    )
    late = client.post(address(coat), SIGNED | rows() | olds | {"old-1-state": "gone"})
    assert "has a newer report" in text_of(late)
    assert ConditionReport.objects.count() == 2


def test_it_opens_the_picture_and_the_place_of_a_comparison(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    for colour in ("teal", "brown"):
        row = add_picture(by=cast.archivist, piece=coat, data=world.picture(colour))
    asked = {"picture": row.file_id, "across": "12.5", "down": "40.0"}
    page = as_user(cast.archivist).get(address(coat), asked).content.decode()
    assert value(page, "board") == f"p{row.file_id}"
    assert (value(page, "mark-0-across"), value(page, "mark-0-down")) == ("12.5", "40.0")
    assert f'<option value="p{row.file_id}" selected>' in page
    stranger = as_user(cast.archivist).get(address(coat), {"picture": "987654"})
    assert stranger.status_code == 200


def test_it_asks_as_much_with_many_marks_and_pictures(
    cast: Cast, as_user: AsUser, coat: Piece, django_assert_max_num_queries: Any
) -> None:
    for n in range(12):
        add_picture(by=cast.archivist, piece=coat, data=world.picture(size=(40 + n, 30)))
    actions.report_condition(
        by=cast.archivist, piece=coat, grade=2, marks=[MarkSeen("hem", f"tear {n}") for n in range(30)]
    )
    client = as_user(cast.archivist)
    with django_assert_max_num_queries(34):
        client.get(address(coat))


def test_the_side_is_the_wearers() -> None:
    """Proper left and right are the wearer's: common practice of registrars, no source."""
    assert [proper_side("coat", view, x) for view in ("front", "back") for x in (100, 500, 900)] == [
        "right", "", "left", "left", "", "right",
    ]  # fmt: skip
    assert proper_side("boots", "front", 900) == "", "boots are drawn as they lie"
    assert wrong_side("coat", "front", 900, "left cuff") == ""
    assert wrong_side("coat", "front", 900, "left to right") == ""
    assert "wearer's left" in wrong_side("coat", "front", 900, "Right cuff.")


def test_a_signed_report_is_read_with_its_pins(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    row = add_picture(by=cast.archivist, piece=coat, data=world.picture())
    hidden = add_picture(by=cast.archivist, piece=coat, data=world.picture("brown"), view="back", seen_by="wardrobe")
    marks = [
        MarkSeen("hem", "tear", 20, file=row.file, x_permille=250, y_permille=500),
        MarkSeen("collar", "stain", outline="back", x_permille=100, y_permille=900, on_screen=True),
        MarkSeen("cuff", "rub", file=hidden.file, x_permille=1, y_permille=1),
    ]
    report = actions.report_condition(by=cast.archivist, piece=coat, grade=2, marks=marks, method="by eye")
    address = reverse("care:reported", args=[coat.number, report.pk])
    page = as_user(cast.archivist).get(address).content.decode()
    # The picture is 400 by 300: half way down is 375 thousandths of its width.
    assert 'transform="translate(250 375)"' in page
    assert 'transform="translate(100 900)"' in page
    assert page.count('class="mark-pin"') == 3
    assert "original to the film: keep" in page
    assert "by eye" in page
    seen = as_user(cast.set_costumer).get(address).content.decode()
    assert seen.count('class="mark-pin"') == 2, "a picture for the wardrobe alone is not shown on set"
    assert as_user(cast.visitor).get(address).status_code == 403
    assert as_user(None).get(address).status_code == 302
    other = world.piece(cast, coat.production, number="ABC-0002")
    elsewhere = reverse("care:reported", args=[other.number, report.pk])
    assert as_user(cast.archivist).get(elsewhere).status_code == 404
