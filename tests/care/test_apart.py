"""Open pest work and quarantine on rows: what is refused, what is told, and what ends it."""

from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from catalog.care import actions
from catalog.care.apart_queries import kept_apart, refuse_kept
from catalog.care.calc.apart import KeptApart, PestWork
from catalog.care.models import Treatment
from catalog.core import history
from catalog.core.errors import NotAllowed, Refused, WrongState
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.pieces import world

pytestmark = pytest.mark.django_db
DAY = date(2024, 5, 6)


@pytest.fixture
def hat(cast: Cast) -> Piece:
    return world.piece(cast, world.production(cast), kind="hat", name="Tall hat", materials=["silk"])


def freeze(cast: Cast, piece: Piece, **more: Any) -> Treatment:
    told = {"what": "freeze at -30 °C", "days": 14, "day_kind": "calendar"} | more
    return actions.need_treatment(by=cast.archivist, piece=piece, **told)  # type: ignore[arg-type]


def quarantine(cast: Cast, piece: Piece) -> None:
    actions.open_quarantine(by=cast.archivist, piece=piece, opened_on=DAY, due_on=date(2024, 5, 20), reason="moth seen")


def test_words_or_the_mark_make_it_pest_work_and_the_line_says_so(cast: Cast, hat: Piece) -> None:
    assert freeze(cast, hat).against_pests
    assert actions.need_treatment(by=cast.archivist, piece=hat, what="second bag", against_pests=True).against_pests
    assert history.lines_of(hat.subject)[0].after["against_pests"] is True
    mending = actions.need_treatment(by=cast.archivist, piece=hat, what="moth holes darned")
    assert not mending.against_pests
    assert "against_pests" not in history.lines_of(hat.subject)[0].after


def test_open_work_refuses_a_release_until_it_is_done(cast: Cast, hat: Piece) -> None:
    quarantine(cast, hat)
    work = freeze(cast, hat)
    with pytest.raises(WrongState, match="released from quarantine: the pest work “freeze at -30 °C” is ordered"):
        actions.release_quarantine(by=cast.archivist, piece=hat, released_on=DAY)
    actions.start_treatment(by=cast.archivist, treatment=work, started_on=DAY)
    with pytest.raises(WrongState, match=r"is under way, due 20 May 2024\. Finish that work or call it off first\."):
        actions.release_quarantine(by=cast.archivist, piece=hat, released_on=DAY)
    assert hat.quarantines.filter(released_on=None).exists()
    actions.finish_treatment(by=cast.archivist, treatment=work, done_on=date(2024, 5, 20))
    actions.release_quarantine(by=cast.archivist, piece=hat, released_on=date(2024, 5, 20), findings="none found")
    assert not hat.quarantines.filter(released_on=None).exists()


def test_work_is_called_off_with_a_reason_by_the_archivist(cast: Cast, hat: Piece) -> None:
    quarantine(cast, hat)
    work = freeze(cast, hat)
    with pytest.raises(Refused, match="Say why"):
        actions.call_off_treatment(by=cast.archivist, treatment=work, reason=" ")
    with pytest.raises(NotAllowed):
        actions.call_off_treatment(by=cast.wardrobe_lead, treatment=work, reason="x")
    actions.call_off_treatment(by=cast.archivist, treatment=work, reason="no moth in the trap")
    line = history.lines_of(hat.subject)[0]
    assert (line.verb, line.reason, line.after["treatment_state"]) == (
        "treatment called off", "no moth in the trap", "dropped",
    )  # fmt: skip
    with pytest.raises(WrongState, match="is called off"):
        actions.start_treatment(by=cast.archivist, treatment=work, started_on=DAY)
    actions.release_quarantine(by=cast.archivist, piece=hat, released_on=DAY)


def test_mending_keeps_nothing_back(cast: Cast, hat: Piece) -> None:
    actions.need_treatment(by=cast.archivist, piece=hat, what="new band")
    refuse_kept([hat], "pulled")
    assert kept_apart([hat.pk]) == {hat.pk: KeptApart()}
    actions.need_treatment(by=cast.archivist, piece=hat, what="freeze", days=14)
    assert kept_apart([hat.pk])[hat.pk].is_kept


def test_many_pieces_are_asked_in_two_queries(cast: Cast, django_assert_num_queries: Any) -> None:
    film = world.production(cast)
    pieces = [world.piece(cast, film, number=f"ABC-000{n}") for n in range(1, 7)]
    freeze(cast, pieces[0])
    quarantine(cast, pieces[1])
    with django_assert_num_queries(2):
        kept = kept_apart(piece.pk for piece in pieces)
    assert kept[pieces[0].pk] == KeptApart((PestWork("freeze at -30 °C", None, 14, "calendar"),))
    assert kept[pieces[1].pk] == KeptApart((), date(2024, 5, 20), "moth seen")
    assert not any(kept[piece.pk].is_kept for piece in pieces[2:])
    for piece in pieces[2:]:
        freeze(cast, piece)
    with pytest.raises(WrongState, match=r"The same holds for 3 more\.$"), django_assert_num_queries(2):
        refuse_kept(pieces, "sent out")


# --- pages ------------------------------------------------------------------------------------------------------------
def test_the_work_page_marks_it_and_calls_it_off(cast: Cast, hat: Piece, as_user: Any) -> None:
    client: Client = as_user(cast.archivist)
    address = reverse("care:treatment", args=[hat.number])
    told = {"what": "bag with absorber", "days": "21", "day_kind": "calendar", "against_pests": "on"}
    assert client.post(address, told).status_code == 302
    work = hat.treatments.get()
    assert work.against_pests
    off = reverse("care:call_off_treatment", args=[hat.number, work.pk])
    page = client.get(address).content.decode()
    assert "against pests" in page
    assert off in page
    empty = client.post(off, {"reason": ""})
    assert empty.status_code == 422
    assert Treatment.objects.get().state == "needed"
    assert client.post(off, {"reason": "nothing found"}).status_code == 302
    assert Treatment.objects.get().state == "dropped"
    page = client.get(address).content.decode()
    assert "called off" in page
    assert off not in page, "what is called off is not called off again"
    assert as_user(cast.wardrobe_lead).get(off).status_code == 403
    assert as_user(None).get(off).status_code == 302


def test_a_release_that_is_refused_says_why_and_keeps_what_was_typed(cast: Cast, hat: Piece, as_user: Any) -> None:
    quarantine(cast, hat)
    freeze(cast, hat)
    page = as_user(cast.archivist).get(reverse("care:quarantine", args=[hat.number])).content.decode()
    assert "The pest work “freeze at -30 °C” is ordered and has not begun." in page, "told before anything is typed"
    assert reverse("care:treatment", args=[hat.number]) in page
    costumer = as_user(cast.set_costumer).get(reverse("care:quarantine", args=[hat.number])).content.decode()
    assert reverse("care:treatment", args=[hat.number]) not in costumer
    sent = {"findings": "no insects seen", "released_on": "2024-05-21"}
    fault = as_user(cast.archivist).post(reverse("care:quarantine", args=[hat.number]), sent)
    assert fault.status_code == 422
    text = fault.content.decode()
    assert "may not be released from quarantine" in text
    assert "no insects seen" in text


@pytest.mark.parametrize(
    ("materials", "findings", "said", "cautioned"),
    [
        ([], [], "Materials are not recorded, so hazards are not known.", True),
        ([], [("glass", "confirmed")], "Materials are not recorded, so other hazards are not known.", True),
        (["silk"], [], "No hazard is known from its materials (silk), and none was found.", False),
        (["silk"], [("glass", "cleared")], "No other hazard is known from its materials (silk).", False),
        (["fur felt", "silk"], [], "Judged by the materials recorded (fur felt, silk) and by what was found.", False),
    ],
)
def test_unknown_materials_read_as_unknown(
    materials: list[str], findings: list[tuple[str, str]], said: str, cautioned: bool, cast: Cast, as_user: Any
) -> None:
    piece = world.piece(cast, world.production(cast), materials=materials)
    for hazard, state in findings:
        actions.find_hazard(
            by=cast.archivist, piece=piece, hazard=hazard, state=state, note="seen", found_on=DAY, found_by_name="Bo"
        )
    page = as_user(cast.archivist).get(reverse("desk:piece", args=[piece.number])).content.decode()
    assert said in page
    assert ("Handle it like an old piece" in page) is cautioned
    assert ("Record its materials" in page) is cautioned
    assert ("No hazard is known" in page) is said.startswith("No hazard")
    assert "Record its materials" not in as_user(cast.production).get(f"/pieces/{piece.number}/").content.decode()
