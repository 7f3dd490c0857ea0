"""What was found without a label: temporary number, comparison with what is missing, merged only by a yes."""

import io
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from catalog.access.duties import Duty
from catalog.core.errors import CatalogError, NotAllowed, Refused, WrongState
from catalog.core.history import faults, lines_of
from catalog.core.models import File
from catalog.pieces.actions import add_picture, record_piece, set_measure
from catalog.pieces.models import Piece
from catalog.storage import actions
from catalog.storage.found_queries import compared
from catalog.storage.missing_models import FoundThing
from catalog.storage.models import MissingFile, Standing
from catalog.storage.readings import read
from tests.core.test_looks import drawn, jpeg
from tests.storage.world import Store

As = Callable[[Any], Client]


@pytest.fixture(autouse=True)
def _here(tmp_path: Any, settings: Any) -> Iterator[None]:
    settings.MEDIA_ROOT = tmp_path
    with time_machine.travel("2031-05-01 09:00Z", tick=False):
        yield


@pytest.fixture
def lost(store: Store) -> Store:
    """Two pairs of gloves and a coat are missing; G-0001 has a measure and a picture."""
    by = store.cast.archivist
    for number, kind, material in (("G-0001", "gloves", "rubber"), ("G-0002", "gloves", "leather")):
        store.piece(number, "MAIN-2-1", kind=kind, name=f"gauntlets {number}", materials=[material])
    piece = Piece.objects.get(number="G-0001")
    set_measure(by=by, piece=piece, point="palm", value_mm=230)
    add_picture(by=by, piece=piece, data=jpeg(drawn(1)))
    for number in ("G-0001", "G-0002", "M-0003"):
        actions.mark_missing(by=by, piece=Piece.objects.get(number=number), note="audit")
    return store


def found_in(store: Store, **facts: Any) -> FoundThing:
    told: dict[str, Any] = {"name": "gauntlets", "kind": "gloves", "place": store["BENCH"], "materials": ["Rubber"]}
    return actions.take_in_found(by=store.cast.archivist, **(told | facts))


def ranked(store: Store, found: FoundThing) -> list[str]:
    return [one.piece.number for one in compared(found, store.cast.archivist).candidates]


def test_temporary_numbers_count_up_and_no_piece_has_one(lost: Store) -> None:
    assert [found_in(lost).number for _ in range(2)] == ["FOUND-0001", "FOUND-0002"]
    for number in ("FOUND-0009", "found-9"):
        with pytest.raises(Refused, match="a piece never has one"):
            lost.piece(number)
    with pytest.raises(IntegrityError), transaction.atomic():
        Piece.objects.filter(number="G-0001").update(number="found-7")
    with pytest.raises(IntegrityError), transaction.atomic():
        FoundThing.objects.filter(number="FOUND-0001").update(number="G-0009")
    with pytest.raises(IntegrityError), transaction.atomic():
        FoundThing.objects.filter(number="FOUND-0001").update(state="known")


def test_candidates_are_ranked_and_say_what_agrees(lost: Store) -> None:
    found = found_in(lost, production=lost.production, picture=jpeg(drawn(1).resize((200, 250))))
    actions.measure_found(by=lost.cast.set_costumer, found=found, values_mm={"palm": 233})
    result = compared(FoundThing.objects.get(pk=found.pk), lost.cast.archivist)
    first = result.candidates[0]
    assert ranked(lost, found) == ["G-0001", "G-0002"]
    assert (result.compared, result.left_out) == (3, 1)
    assert {"material rubber", "production The Moor", "the pictures look alike"} <= set(first.like.agrees)
    assert any("within 3 mm" in words for words in first.like.agrees)
    assert "material leather" in result.candidates[1].like.differs
    assert Standing.objects.get(piece=first.piece).state == "not found", "nothing merges without a yes"


def test_a_yes_finds_the_piece_and_the_temporary_number_leads_to_it(lost: Store) -> None:
    found, piece = found_in(lost), Piece.objects.get(number="G-0001")
    actions.know_again(by=lost.cast.archivist, found=found, piece=piece)
    standing = Standing.objects.get(piece=piece)
    assert (standing.state, standing.place.code) == ("in store", "BENCH")
    assert MissingFile.objects.get(piece=piece).outcome == "found at BENCH"
    found.refresh_from_db()
    assert (found.state, found.piece) == ("known", piece)
    assert read("found-0001", lost.cast.archivist).piece == piece
    told = [(line.verb, line.after) for line in lines_of(piece.subject)[:2]]
    assert told[0] == ("known again", {"found_as": "FOUND-0001"})
    assert (told[1][0], lines_of(piece.subject)[1].reason) == ("found", "found as FOUND-0001")
    assert lines_of(found.subject)[0].after == {"piece": "G-0001", "state": "known"}
    assert list(faults()) == []
    with pytest.raises(WrongState, match="known already: it is G-0001"):
        actions.know_again(by=lost.cast.archivist, found=found, piece=Piece.objects.get(number="G-0002"))


def test_what_stands_elsewhere_by_its_record_is_not_merged(lost: Store) -> None:
    found = found_in(lost)
    with pytest.raises(WrongState, match=r"M-0001 is not missing: it is in store \(BOX1\)"):
        actions.know_again(by=lost.cast.archivist, found=found, piece=Piece.objects.get(number="M-0001"))
    new = record_piece(
        by=lost.cast.archivist, number="G-0050", name="gauntlets", kind="gloves", production=lost.production
    )
    actions.know_again(by=lost.cast.archivist, found=found, piece=new)
    assert Standing.objects.get(piece=new).place.code == "BENCH"


def test_a_refusal_leaves_everything_as_it_was(lost: Store) -> None:
    with pytest.raises(Refused, match="not in the store"):
        found_in(lost, place=lost["MUSEUM"])
    with pytest.raises(Refused, match="no kind"):
        found_in(lost, kind="thing")
    with pytest.raises(CatalogError):
        found_in(lost, picture=b"no picture")
    assert not FoundThing.objects.exists()
    found = found_in(lost)
    with pytest.raises(Refused):
        actions.measure_found(by=lost.cast.archivist, found=found, values_mm={"palm": 9000})
    with pytest.raises(NotAllowed):
        actions.know_again(by=lost.cast.wardrobe_lead, found=found, piece=Piece.objects.get(number="G-0001"))
    with pytest.raises(NotAllowed):
        actions.take_in_found(by=lost.cast.production, name="x", kind="gloves", place=lost["BENCH"])


def test_the_pages_from_found_to_known(lost: Store, as_user: As) -> None:
    hands, archivist = as_user(lost.cast.set_costumer), as_user(lost.cast.archivist)
    picture = SimpleUploadedFile("a.jpg", jpeg(drawn(1)), content_type="image/jpeg")
    facts = {"name": "one gauntlet", "kind": "gloves", "place": "BENCH", "materials": "rubber", "picture": picture}
    answer = hands.post(reverse("storage:add_found"), facts)
    page = reverse("storage:found_thing", args=["FOUND-0001"])
    assert answer["Location"] == page
    body = hands.get(page).content.decode()
    assert 'may be <span class="nowrap">G-0001</span>' in body
    assert "the pictures look alike" in body
    assert "Yes, it is" not in body
    body = archivist.get(page).content.decode()
    assert body.count('class="act"') == 1
    assert "Yes, it is G-0001" in body
    kept = hands.post(reverse("storage:measure_found", args=["FOUND-0001"]), {"m_palm": "9"})
    assert kept.status_code == 302
    assert "9 in" in hands.get(page).content.decode().replace("\u00a0", " ")
    shown = FoundThing.objects.get().pictures.get()
    assert hands.get(reverse("storage:found_picture", args=["FOUND-0001", shown.pk])).status_code == 200
    assert archivist.post("/scan/", {"code": "found-0001"})["Location"] == page
    answer = archivist.post(reverse("storage:know_again", args=["FOUND-0001"]), {"piece": "G-0001"})
    assert answer["Location"] == reverse("desk:piece", args=["G-0001"])
    assert 'is <span class="nowrap">G-0001</span>.' in archivist.get(page).content.decode()
    assert archivist.post("/scan/", {"code": "FOUND-0001"})["Location"] == reverse("desk:piece", args=["G-0001"])
    assert "Every found thing is known again." in archivist.get(reverse("storage:found")).content.decode()


def test_bad_input_is_said_and_stays(lost: Store, as_user: As) -> None:
    archivist = as_user(lost.cast.archivist)
    facts = {"name": "typed name", "kind": "gloves", "place": "NOWHERE"}
    body = archivist.post(reverse("storage:add_found"), facts).content.decode()
    assert "NOWHERE" in body
    assert 'value="typed name"' in body
    body = archivist.post(reverse("storage:add_found"), facts | {"kind": "", "place": "BENCH"}).content.decode()
    assert "Kind" in body
    assert not FoundThing.objects.exists(), "no kind is taken for granted"
    found = found_in(lost)
    known = reverse("storage:know_again", args=[found.number])
    assert "is a place, not a piece" in archivist.post(known, {"piece": "BENCH"}).content.decode()
    assert "is not missing" in archivist.post(known, {"piece": "M-0001"}).content.decode()
    bad = SimpleUploadedFile("a.jpg", b"nothing", content_type="image/jpeg")
    answer = archivist.post(reverse("storage:picture_found", args=[found.number]), {"picture": bad})
    assert "no picture we can read" in answer.content.decode()
    assert archivist.get(reverse("storage:found_thing", args=["FOUND-0099"])).status_code == 404


def test_a_visitor_learns_nothing_of_what_is_found(lost: Store) -> None:
    found_in(lost)
    reading = read("FOUND-0001", lost.cast.of(Duty.VISITOR))
    assert (reading.found, reading.thing) == (None, None)
    assert "Nothing was found" in reading.problem


def test_old_pictures_are_hashed_by_command(lost: Store) -> None:
    wanted = File.objects.get().dhash
    File.objects.update(dhash=None)
    out = io.StringIO()
    call_command("hash_pictures", stdout=out)
    assert "1 picture hashed, 0 could not be read." in out.getvalue()
    assert File.objects.get().dhash == wanted


def test_the_comparison_takes_the_same_queries_however_much_is_missing(
    lost: Store, django_assert_max_num_queries: Any
) -> None:
    found = found_in(lost)
    with django_assert_max_num_queries(16) as few:
        compared(FoundThing.objects.get(pk=found.pk), lost.cast.archivist)
    for number in range(10):
        piece = lost.piece(f"Z-{number:04d}", "MAIN-10-1", kind="gloves")
        actions.mark_missing(by=lost.cast.archivist, piece=piece, note="audit")
    with django_assert_max_num_queries(16) as many:
        compared(FoundThing.objects.get(pk=found.pk), lost.cast.archivist)
    assert len(few) == len(many)
