"""What a place's page says of neighbours, hazards out of their cabinet, and free room."""

from io import BytesIO
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from PIL import Image

from catalog.access.house_actions import put_setting
from catalog.care import actions as care
from catalog.care.models import BatteryPack
from catalog.core import clock
from catalog.pieces import actions as pieces
from catalog.pieces.models import Material, Piece
from catalog.storage import actions, room_queries
from catalog.storage.models import Place
from catalog.storage.stocktake_actions import start_stocktake
from tests.storage.world import Store


def made_of(piece: Piece, *names: str) -> Piece:
    for name in names:
        piece.materials.add(Material.objects.get_or_create(name=name, defaults={"family": "other"})[0])
    return piece


def page(as_user: Any, user: Any, code: str) -> str:
    return " ".join(as_user(user).get(f"/storage/{code}/").content.decode().split())


@pytest.fixture
def shelf(store: Store) -> Store:
    store.place("SHELF", "shelf", "MAIN", name="shelf 9", width_mm=900)
    store.place("CAB", "cabinet", "MAIN", name="battery cabinet")
    store.place("CAB-1", "shelf", "CAB", name="battery cabinet, shelf 1")
    return store


def test_bad_neighbours_and_hazards_are_named_with_why_and_who_decides(shelf: Store, as_user: Any) -> None:
    made_of(shelf.piece("M-0010", "SHELF"), "celluloid")
    made_of(shelf.piece("M-0011", "SHELF"), "silk")
    shelf.piece("M-0012", "SHELF")
    lamp = made_of(shelf.piece("M-0013", "SHELF"), "ash")
    care.record_pack(by=shelf.cast.archivist, piece=lamp, state="sound", seen_on=clock.today())
    for code in ("SHELF", "MAIN"):
        said = page(as_user, shelf.cast.set_costumer, code)
        assert "Celluloid beside cloth" in said
        assert "CCI Notes 15/3" in said
        assert "Batteries outside a cabinet" in said
        assert "Local rules decide." in said
        assert "no material recorded and could not be judged" in said
    assert "M-0010" not in page(as_user, shelf.cast.visitor, "SHELF").split("<h2>Pieces</h2>")[0]


def test_in_the_cabinet_a_sound_pack_is_right_and_a_swollen_one_is_not(shelf: Store, as_user: Any) -> None:
    lamp = made_of(shelf.piece("M-0013", "CAB-1"), "ash")
    care.record_pack(by=shelf.cast.archivist, piece=lamp, state="sound", seen_on=clock.today())
    assert "Nothing recorded here must lie apart" in page(as_user, shelf.cast.archivist, "CAB")
    BatteryPack.objects.update(state="damaged")
    said = page(as_user, shelf.cast.archivist, "CAB")
    assert "A damaged battery pack in a cabinet" in said
    assert "apart from other cells" in said


def test_an_empty_room_says_nothing_of_neighbours(shelf: Store, as_user: Any) -> None:
    assert "lie apart" not in page(as_user, shelf.cast.archivist, "CAGE")


def test_a_large_place_is_judged_shelf_by_shelf(shelf: Store, as_user: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room_queries, "MOST", 2)
    assert "Neighbours are judged shelf by shelf" in page(as_user, shelf.cast.archivist, "MAIN")


def test_free_room_is_not_known_until_somebody_says_how_it_is_measured(shelf: Store, as_user: Any) -> None:
    archivist = shelf.cast.archivist
    assert "what it takes was not recorded" in page(as_user, archivist, "BENCH")
    assert "nobody has said whether things hang or lie in it" in page(as_user, archivist, "SHELF")
    actions.edit_place(by=archivist, place=shelf["SHELF"], measured_by="shelf length")
    assert "90.0 cm of 90.0 cm" in page(as_user, archivist, "SHELF")
    shelf.piece("M-0020", "SHELF", packed_mm=(500, 300, 100))
    assert "<dd> 60.0 cm of 90.0 cm" in page(as_user, archivist, "SHELF")
    shelf.piece("M-0021", "SHELF")
    said = page(as_user, archivist, "SHELF")
    assert "at most 60.0 cm of 90.0 cm" in said
    assert "1 thing in it has no width recorded" in said


def test_a_rail_counts_garments_by_the_houses_figure_and_a_count_wins(shelf: Store, as_user: Any) -> None:
    archivist = shelf.cast.archivist
    actions.edit_place(by=archivist, place=shelf["SHELF"], measured_by="hanging length")
    for number in range(4):
        shelf.piece(f"M-003{number}", "SHELF")
    assert "about 58.0 cm of 90.0 cm" in page(as_user, archivist, "SHELF")
    put_setting(by=archivist, key="room.hanging_mm", value=300)
    said = page(as_user, archivist, "SHELF")
    assert "over full" in said
    assert "120.0 cm used of 90.0 cm" in said
    actions.edit_place(by=archivist, place=shelf["SHELF"], takes_count=5)
    assert "1 of 5 things" in page(as_user, archivist, "SHELF")


def test_the_form_keeps_both_and_refuses_nonsense(shelf: Store, as_user: Any) -> None:
    client = as_user(shelf.cast.archivist)
    posted = {"name": "shelf 9", "kind": "shelf", "parent": "MAIN", "order": "0", "width_mm": "90", "takes_count": "-2"}
    answer = client.post("/storage/SHELF/edit/", posted | {"measured_by": "hanging length"})
    assert 'value="-2"' in answer.content.decode()
    assert answer.context["form"].errors["takes_count"]
    client.post("/storage/SHELF/edit/", posted | {"measured_by": "hanging length", "takes_count": "12"})
    kept = Place.objects.get(code="SHELF")
    assert (kept.measured_by, kept.takes_count) == ("hanging length", 12)
    with pytest.raises(IntegrityError), transaction.atomic():
        Place.objects.filter(code="SHELF").update(measured_by="by eye")


def test_the_page_asks_no_more_for_more_pieces(shelf: Store, as_user: Any, django_assert_max_num_queries) -> None:
    client = as_user(shelf.cast.archivist)
    made_of(shelf.piece("M-0040", "SHELF"), "celluloid")
    client.get("/storage/SHELF/")
    with django_assert_max_num_queries(40) as few:
        client.get("/storage/SHELF/")
    for number in range(41, 53):
        made_of(shelf.piece(f"M-00{number}", "SHELF"), "silk", "rubber")
    with django_assert_max_num_queries(len(few)):
        client.get("/storage/SHELF/")


def test_a_trunk_shows_what_is_in_it_as_far_as_one_may_see(shelf: Store, as_user: Any) -> None:
    stream = BytesIO()
    Image.new("RGB", (40, 30), "navy").save(stream, "JPEG")
    piece = shelf.production.pieces.get(number="M-0001")
    pieces.add_picture(by=shelf.cast.archivist, piece=piece, data=stream.getvalue(), main=True, seen_by="staff")
    address = f"/pieces/pictures/{piece.pictures.get().file_id}/small.jpg"
    assert address in page(as_user, shelf.cast.archivist, "BOX1")
    assert address not in page(as_user, shelf.cast.visitor, "BOX1")
    assert address not in page(as_user, shelf.cast.archivist, "MAIN"), "a room has Find for that"


def test_cautions_stand_where_the_hand_is(shelf: Store, as_user: Any) -> None:
    """Lead and a damaged pack at their place and on the move; nobody alone in the cold, on the place and the count."""
    by = shelf.cast.archivist
    shelf.place("CR", "room", "SITE", name="Cold Room", target_c_tenths=130)
    shelf.place("CR-1", "level", "CR")
    belt = made_of(shelf.piece("B-0001", "CR-1", kind="belt", name="belt"), "leather", "lead")
    lamp = shelf.piece("L-0001", "CR-1", kind="prop", name="lamp")
    care.record_pack(by=by, piece=lamp, state="damaged", seen_on=clock.today())
    archivist = as_user(by)
    said = page(as_user, by, "CR-1")
    for told in ('Lead: <span class="mono">B-0001</span>', "Gloves; wash hands", "nobody works in it alone"):
        assert told in said, told
    assert "not in the battery cabinet" in said
    assert said.index("Damaged power pack") < said.index("Lead:")
    assert "Gloves; wash hands" in archivist.get(f"/storage/piece/{belt.number}/move/").content.decode()
    assert "not in the battery cabinet" in archivist.get(f"/storage/piece/{lamp.number}/move/").content.decode()
    # At the scanner, before it is put anywhere; and on the page where the cold room is counted.
    look = archivist.post("/scan/look/", {"code": "L-0001", "slot": "thing"}).json()
    assert "not in the battery cabinet" in look["lift"]
    assert "nobody works in it alone" in archivist.post("/scan/look/", {"code": "CR-1", "slot": "to"}).json()["lift"]
    take = start_stocktake(by=by, place=shelf["CR"], draw="everything")
    assert "nobody works in it alone" in archivist.get(f"/stocktake/{take.reference}/count/?at=CR-1").content.decode()
    # A visitor is told of no hazard by name, but of the cold.
    said = page(as_user, shelf.cast.visitor, "CR-1")
    assert ("nobody works in it alone" in said, "Lead:" in said) == (True, False)
