"""Alterations within what the seam gives, and the garment card with original and present size."""

import io
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from catalog.care import actions
from catalog.care.garment_queries import garment_card, sizes_of_piece
from catalog.care.models import Alteration
from catalog.core import history
from catalog.core.errors import Refused, WrongValues
from catalog.fitting.problem_queries import Bands, candidate
from catalog.fitting.stock_queries import pieces_of
from catalog.pieces.actions import set_measure
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.demo_world import DemoWorld
from tests.papers import words_of as paper_words
from tests.pieces import world
from tests.reading import text_of

pytestmark = pytest.mark.django_db
As = Callable[[Any], Client]
DAY = date(2024, 5, 6)
LET_DOWN = {"what": "sleeve let down", "way": "out", "seam": "cuff hem, both", "point": "sleeve_cb"}
DONE = {"done_on": DAY, "done_by_name": "Bo"}


@pytest.fixture
def coat(cast: Cast) -> Piece:
    piece = world.piece(cast, world.production(cast))
    set_measure(by=cast.archivist, piece=piece, point="sleeve_cb", value_mm=860, let_out_mm=30)
    set_measure(by=cast.archivist, piece=piece, point="chest", value_mm=1080)
    return piece


def alter(cast: Cast, piece: Piece, change: int | None = 30, **more: Any) -> Alteration:
    return actions.alter(by=cast.wardrobe_lead, piece=piece, **{**LET_DOWN, **DONE, "change_mm": change, **more})


def test_a_sleeve_is_let_down_as_far_as_the_seam_gives(cast: Cast, coat: Piece) -> None:
    with pytest.raises(Refused, match=r"sleeve from centre back gives 3\.0 cm at most") as refused:
        alter(cast, coat, 31)
    assert refused.value.field == "change_mm"
    row = alter(cast, coat, 20, for_number=" e09 ", undo_by=date(2024, 9, 1))
    assert (row.for_number, row.before_mm, row.seam) == ("E09", 860, "cuff hem, both")
    with pytest.raises(Refused, match=r"gives 1\.0 cm at most"):
        alter(cast, coat, 11)
    alter(cast, coat, 10)
    now = sizes_of_piece(coat, "sleeve_cb")
    assert (now.original, now.present, now.left) == (860, 890, 0)
    actions.undo_alteration(by=cast.wardrobe_lead, alteration=row, undone_on=DAY)
    assert sizes_of_piece(coat, "sleeve_cb").present == 870
    told = str([line.after for line in history.lines_of(coat.subject)])
    assert "E09" not in told


def test_what_nobody_measured_gives_nothing(cast: Cast, coat: Piece) -> None:
    with pytest.raises(Refused, match="chest, all round has no reserve recorded"):
        alter(cast, coat, 10, what="side seams let out", point="chest")
    alter(cast, coat, -20, what="side seams taken in", point="chest", way="in")
    alter(cast, coat, 20, what="side seams let out again", point="chest")
    assert sizes_of_piece(coat, "chest").present == 1080
    set_measure(by=cast.archivist, piece=coat, point="chest", value_mm=1080, taken_on=DAY)
    assert sizes_of_piece(coat, "chest").original == 1080


@pytest.mark.parametrize("what", ["hem cut", "dyed darker", "glued patch"])
def test_what_does_not_go_back_is_questioned(cast: Cast, coat: Piece, what: str) -> None:
    with pytest.raises(Refused, match="would not go back: nothing is cut, dyed or glued"):
        alter(cast, coat, None, what=what, way="other")
    assert alter(cast, coat, None, what=what, way="other", goes_back=True).pk
    assert {word for word, _ in Alteration.Way.choices} == {"out", "in", "other"}, "no such choice"


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"for_number": "Farid Osmundsen"}, "never a name"),
        ({"for_number": "Farid"}, "never a name"),
        ({"undo_by": date(2024, 5, 5)}, "on or after the day"),
        ({"done_on": date(2999, 1, 1)}, "still to come"),
        ({"point": "", "change_mm": 10}, "Say at which point"),
        ({"point": "ear"}, "no point we measure"),
        ({"change_mm": -760, "way": "in"}, "cannot be right"),
    ],
)
def test_bad_input_is_a_sentence(cast: Cast, coat: Piece, more: dict[str, Any], words: str) -> None:
    with pytest.raises(Refused, match=words):
        alter(cast, coat, **{"change": 10, **{k: v for k, v in more.items() if k != "change_mm"}} | (
            {"change": more["change_mm"]} if "change_mm" in more else {}))  # fmt: skip
    assert not coat.alterations.exists()


@pytest.mark.parametrize("wrong", [{"change_mm": 0}, {"way": "in"}, {"way": "cut"}, {"point": ""}])
def test_the_database_refuses_too(cast: Cast, coat: Piece, wrong: dict[str, Any]) -> None:
    row = alter(cast, coat, 10)
    with pytest.raises(IntegrityError), transaction.atomic():
        Alteration.objects.filter(pk=row.pk).update(**wrong)
    with pytest.raises(WrongValues):
        alter(cast, coat, 0)


def test_fitting_reckons_with_the_present_size(demo_world: DemoWorld) -> None:
    """The demo's sleeve is let down by the 3 cm that it gives; the fit then has no reserve left."""
    coat = demo_world.piece("LHS-0114")

    def garment() -> tuple[int, int]:
        piece = next(row for row in pieces_of([coat.role]) if row.pk == coat.pk)  # type: ignore[list-item]
        found = candidate(piece, Bands([piece.slot])).garment  # type: ignore[list-item]
        return found.values["sleeve_cb"], found.let_out["sleeve_cb"]

    assert garment() == (860, 30)
    actions.alter(
        by=demo_world.cast.wardrobe_lead, piece=coat, change_mm=30, **LET_DOWN, done_on=demo_world.today,
        done_by_name="Bo",
    )  # type: ignore[arg-type]  # fmt: skip
    assert garment() == (890, 0)


def test_the_card_answers_how_far_it_can_be_let_out(demo_world: DemoWorld, as_user: As) -> None:
    coat, client = demo_world.piece("LHS-0114"), as_user(demo_world.cast.wardrobe_lead)
    page = text_of(client.get("/care/LHS-0114/garment-card/"))
    assert "Sleeve from centre back: can still be let out 3.0 cm" in page
    assert "LHS-0114 is as it was made." in page
    sent = {**LET_DOWN, "change_mm": "3", "done_on": "2026-07-27", "done_by_name": "Bo", "undo_by": "2026-10-01"}
    fault = client.post("/care/LHS-0114/alteration/", {**sent, "change_mm": "3.5"})
    assert fault.status_code == 422
    assert "gives 3.0 cm at most" in text_of(fault)
    assert 'value="3.5"' in text_of(fault)
    assert client.post("/care/LHS-0114/alteration/", {**sent, "for_number": "E09"}).status_code == 302
    page = text_of(client.get("/care/LHS-0114/garment-card/"))
    assert "1 alteration is in LHS-0114." in page
    assert "86.0 cm" in page
    assert "89.0 cm" in page
    assert "nothing is left in the seam" in page
    paper = paper_words(io.BytesIO(client.get("/care/LHS-0114/garment-card.pdf").content).getvalue())
    for word in ("LHS-0114", "86.0 cm", "89.0 cm", "E09", "undo by 1 Oct 2026"):
        assert word in paper, word
    card = garment_card(coat)
    assert [row.point.key for row in card.reserves] == ["sleeve_cb"]


def test_a_long_card_goes_on(cast: Cast, coat: Piece, as_user: As) -> None:
    for n in range(9):
        alter(cast, coat, None, what=f"tack {n} with a rather long word about where it is and how it was sewn")
    answer = as_user(cast.archivist).get(f"/care/{coat.number}/garment-card.pdf")
    paper = paper_words(answer.content)
    assert all(f"tack {n}" in paper for n in range(9))


@pytest.mark.parametrize("name", ["garment-card/", "garment-card.pdf"])
def test_who_may_open_the_card(cast: Cast, coat: Piece, as_user: As, name: str) -> None:
    """A number beside a change of size tells of a body: the production and visitors do not see the card."""
    for letter, person in zip("AWPSV", cast.everyone(), strict=True):
        got = as_user(person).get(f"/care/{coat.number}/{name}").status_code
        assert got == (200 if letter in "AWS" else 403), person
    assert as_user(None).get(f"/care/{coat.number}/{name}").status_code == 302


def test_the_card_asks_a_fixed_number_of_queries(cast: Cast, coat: Piece, django_assert_max_num_queries: Any) -> None:
    for _ in range(4):
        alter(cast, coat, None)
    with django_assert_max_num_queries(2):
        assert len(garment_card(coat).open) == 4
