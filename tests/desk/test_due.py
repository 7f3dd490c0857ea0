"""What must be looked at this month, as one walk with one tap; and which pieces die first."""

import csv
import json
from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from catalog.care import actions
from catalog.care.inspection_queries import by_material, dying_first, intervals
from catalog.care.models import Inspection
from catalog.core import history, house
from catalog.core.errors import NotAllowed, Refused
from catalog.core.models import HouseSetting
from catalog.desk.inspection_list import walk_of
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.demo_world import FOLDER, DemoWorld
from tests.pieces import world
from tests.reading import text_of

pytestmark = pytest.mark.django_db
As = Callable[[Any], Client]
MONTH_END = date(2026, 7, 31)


def rows() -> dict[str, dict[str, str]]:
    """The demo's own table, read without the program."""
    with (FOLDER / "pieces.csv").open(newline="") as file:
        return {row["no"]: row for row in csv.DictReader(file)}


def expected() -> set[str]:
    """Due by the end of July 2026 by the table alone: half a year after November 2025 for wool, silk, fur, hair, felt
    and what has electrics or a pack; a year for foam and rubber, four years for the rest, only what was seen in 2019.
    Intervals: TRADE practice, house judgement.
    """
    half = ("wool", "flannel", "silk", "fur", "hair", "felt", "electric", "lithium")
    due = set()
    for number, row in rows().items():
        soft = [name for name in row["materials"].split("|") if any(word in name for word in half)]
        if soft or row["last_seen"] == "2019-03-06":
            due.add(number)
    return due


def test_the_walk_names_what_is_due_room_by_room(demo_world: DemoWorld) -> None:
    walk = walk_of(Piece.objects.all(), MONTH_END)
    inside = {stop.due.piece.number for stop in walk.stops}
    outside = {one.piece.number: why for one, why in walk.elsewhere}
    assert inside | set(outside) == expected()
    assert not inside & set(outside)
    lost = {"LHS-0035", "LHS-0038", "LHS-0049", "LHS-0064", "LHS-0066", "LHS-0067", "LHS-0076"}
    assert {number for number, why in outside.items() if why != "out"} == lost
    assert {"LHS-0114", "LHS-0115"} <= set(outside), "at the museum"
    rooms = [room for room, _ in walk.rooms]
    assert len(rooms) == len(set(rooms)), "each room is entered once"
    assert sum(number for _, number in walk.rooms) == len(walk.stops)
    keys = [tuple((place.order, place.code) for place in stop.here) for stop in walk.stops]
    for room in rooms:
        some = [key for key, stop in zip(keys, walk.stops, strict=True) if stop.room == room]
        assert len({key[:2] for key in some}) == 1


def test_one_tap_sets_the_next_day_and_says_it_once(demo_world: DemoWorld, as_user: As) -> None:
    client, piece = as_user(demo_world.cast.archivist), demo_world.piece("LHS-0001")
    assert client.post("/due/looked/", {"number": "LHS-0001", "page": "1"})["Location"] == "/due/?page=1"
    client.post("/due/looked/", {"number": "lhs-0001"})
    assert Inspection.objects.get(piece=piece).looked_on == demo_world.today
    assert history.lines_of(piece.subject)[0].verb == "looked at, no change"
    assert "LHS-0001" not in {stop.due.piece.number for stop in walk_of(Piece.objects.all(), MONTH_END).stops}
    assert "seen, no change 27\u00a0Jul\u00a02026" in client.get("/pieces/LHS-0001/").content.decode()
    with pytest.raises(IntegrityError), transaction.atomic():
        Inspection.objects.create(piece=piece, looked_on=demo_world.today)


def test_the_queue_keeps_the_day_of_the_tap_and_counts_it_once(demo_world: DemoWorld, as_user: As) -> None:
    client = as_user(demo_world.cast.archivist)
    act = {"client_id": str(uuid4()), "number": "LHS-0002", "at": "2026-07-25T10:00:00Z", "waited": True}
    sent = {"acts": [act, {"client_id": str(uuid4()), "number": "NOPE"}]}
    for _ in range(2):
        answer = client.post("/due/send/", json.dumps(sent), content_type="application/json").json()["answers"]
        assert [one["result"] for one in answer] == ["done", "refused"]
    assert "There is no piece NOPE" in answer[1]["sentence"]
    assert Inspection.objects.get().looked_on == date(2026, 7, 25)


def test_bad_input_is_a_sentence(cast: Cast, as_user: As) -> None:
    piece = world.piece(cast, world.production(cast), materials=[])
    with pytest.raises(Refused, match="write its first condition report"):
        actions.seen_no_change(by=cast.archivist, piece=piece, looked_on=date(2024, 5, 6))
    actions.report_condition(by=cast.archivist, piece=piece, grade=2)
    with pytest.raises(Refused, match="still to come"):
        actions.seen_no_change(by=cast.archivist, piece=piece, looked_on=date(2999, 1, 1))
    for person in (cast.wardrobe_lead, cast.production, cast.set_costumer, cast.visitor):
        with pytest.raises(NotAllowed):
            actions.seen_no_change(by=person, piece=piece, looked_on=date(2024, 5, 6))
    assert as_user(cast.archivist).post("/due/looked/", {"number": "ABC-9999"}).status_code == 404
    assert as_user(cast.archivist).get("/due/looked/").status_code == 405


def test_the_house_decides_how_often(demo_world: DemoWorld) -> None:
    assert intervals() == {"battery": 6, "foam": 12, "pest": 6, "other": 48}
    HouseSetting.objects.create(key="inspect.pest_months", value=12)
    assert intervals()["pest"] == 12
    assert len(walk_of(Piece.objects.all(), MONTH_END).stops) < 30, "only batteries are left"
    assert all(house.SETTINGS[f"inspect.{key}_months"].low == 1 for key in intervals())


@pytest.mark.parametrize(
    ("address", "allowed"),
    [
        ("/due/", "AWPS"),
        ("/due/table.csv", "AWPS"),
        ("/care/dies-first/", "AWPS"),
        ("/care/dies-first/table.csv", "AWPS"),
    ],
)
def test_who_may_open_what(cast: Cast, as_user: As, address: str, allowed: str) -> None:
    for letter, person in zip("AWPSV", cast.everyone(), strict=True):
        assert as_user(person).get(address).status_code == (200 if letter in allowed else 403), person
    assert as_user(None).get(address).status_code == 302
    for person in (cast.wardrobe_lead, cast.visitor):
        assert as_user(person).post("/due/looked/", {"number": "X"}).status_code == 403


def test_the_pages_and_tables_say_it(demo_world: DemoWorld, as_user: As) -> None:
    client, walk = as_user(demo_world.cast.archivist), walk_of(Piece.objects.all(), MONTH_END)
    page = text_of(client.get("/due/"))
    assert f"{len(walk.stops)} pieces to look at by 31\u00a0Jul\u00a02026." in client.get("/due/").content.decode()
    assert "Seen, no change" in page
    assert "Seen, no change" not in text_of(as_user(demo_world.cast.production).get("/due/"))
    table = text_of(client.get("/due/table.csv"))
    assert all(number in table for number in expected())
    told = text_of(client.get("/care/dies-first/"))
    assert "27 pieces break down by themselves, 1 is gone already." in told
    assert "LHS-0057" in text_of(client.get("/care/dies-first/table.csv"))


def test_which_pieces_die_first(demo_world: DemoWorld) -> None:
    """The demo's values: 23 with polyurethane foam or soles that still live, 4 with foam latex, LHS-0057 gone."""
    found = dying_first(Piece.objects.all())
    assert {one.key: number for one, number in by_material(found)} == {"foam_latex": 4, "polyurethane": 23}
    assert [one.piece.number for one in found if one.gone] == ["LHS-0057"]
    assert found[-1].gone, "what is gone cannot be saved: it comes last"
    assert {one.piece.number for one in found[:4]} == {"LHS-0154", "LHS-0155", "LHS-0156", "TTR-0050"}
    by_table = {
        n for n, row in rows().items() if "polyurethane" in row["materials"] or "foam latex" in row["materials"]
    }
    assert {one.piece.number for one in found} == by_table


def test_the_number_of_queries_does_not_grow(
    demo_world: DemoWorld, as_user: As, django_assert_max_num_queries: Any
) -> None:
    with django_assert_max_num_queries(20):
        walk_of(Piece.objects.filter(number__startswith="LHS-000"), MONTH_END)
    with django_assert_max_num_queries(20):
        walk_of(Piece.objects.all(), MONTH_END)
    client = as_user(demo_world.cast.archivist)
    with django_assert_max_num_queries(34):
        client.get("/due/")
    with django_assert_max_num_queries(16):
        client.get("/care/dies-first/")
