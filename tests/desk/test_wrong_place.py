"""What is in the wrong place, in walking order, and the two taps that put it right."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from catalog.access.duties import Duty
from catalog.care.models import Quarantine, Treatment
from catalog.core import clock
from catalog.desk.wrong_place import strays
from catalog.loans.models import Loan, LoanLine
from catalog.storage.actions import mark_missing, move_container, move_piece
from catalog.storage.models import Standing
from tests.demo_world import DemoWorld

As = Callable[[Any], Client]
LIST, TAP = "/wrong-place/", "/wrong-place/put-right/"


@pytest.fixture
def astray(demo_world: DemoWorld) -> DemoWorld:
    """Two pieces and a trunk stand elsewhere than at home; nobody works on them."""
    by = demo_world.cast.archivist
    move_piece(by=by, piece=demo_world.piece("LHS-0001"), to=demo_world.place("SP-K1-2"))
    move_piece(by=by, piece=demo_world.piece("LHS-0002"), to=demo_world.place("DK-B1"))
    move_container(by=by, container=demo_world.place("T12"), to=demo_world.place("TB-G1-1"))
    return demo_world


def numbers(world: DemoWorld) -> list[str]:
    return [stray.number for stray in strays(world.cast.archivist)]


def tap(client: Client, do: str, thing: str, at: str, home: str, kind: str = "piece") -> str:
    posted = {"thing": thing, "kind": kind, "at": at, "home": home, "do": do}
    return client.post(TAP, posted, follow=True).content.decode()


def place_of(world: DemoWorld, number: str) -> tuple[str, str]:
    standing = Standing.objects.select_related("place", "home").get(piece__number=number)
    assert standing.place
    assert standing.home
    return standing.place.code, standing.home.code


def test_nothing_is_astray_in_the_demo_as_loaded(demo_world: DemoWorld, as_user: As) -> None:
    assert numbers(demo_world) == []
    assert "Nothing is in the wrong place." in as_user(demo_world.cast.archivist).get(LIST).content.decode()


def test_who_sees_the_list_and_who_may_put_right(astray: DemoWorld, as_user: As) -> None:
    staff = set(Duty) - {Duty.VISITOR}
    hands = {Duty.ARCHIVIST, Duty.WARDROBE_LEAD, Duty.SET_COSTUMER}
    for duty in Duty:
        client = as_user(astray.cast.of(duty))
        for address in (LIST, f"{LIST}table.csv"):
            assert client.get(address).status_code == (200 if duty in staff else 403), duty
        assert ("Put back" in client.get(LIST).content.decode()) == (duty in hands)
        posted = {"thing": "LHS-0001", "kind": "piece", "do": "back"}
        assert client.post(TAP, posted).status_code == (302 if duty in hands else 403), duty
    for address in (LIST, f"{LIST}table.csv", TAP):
        assert as_user(None).get(address)["Location"].startswith("/sign-in")
    assert as_user(astray.cast.archivist).get(TAP).status_code == 405


def test_they_are_listed_in_walking_order_with_the_way(astray: DemoWorld, as_user: As) -> None:
    assert set(numbers(astray)) == {"LHS-0001", "LHS-0002", "T12"}
    keys = [tuple(place.code for place in stray.here) for stray in strays(astray.cast.archivist)]
    assert len(set(keys)) == 3
    page = as_user(astray.cast.archivist).get(LIST).content.decode()
    assert "2 pieces and 1 container in the wrong place." in page
    assert [page.index(number) for number in numbers(astray)] == sorted(page.index(n) for n in numbers(astray))


def test_a_job_explains_where_a_piece_is(astray: DemoWorld) -> None:
    today = clock.today()
    Treatment.objects.create(piece=astray.piece("LHS-0001"), what="dry clean", state="started")
    Quarantine.objects.create(piece=astray.piece("LHS-0002"), opened_on=today, due_on=today, reason="back")
    assert numbers(astray) == ["T12"]
    Quarantine.objects.update(released_on=today)
    assert set(numbers(astray)) == {"LHS-0002", "T12"}
    loan = Loan.objects.create(reference="L-9", to_whom="unit", due_on=today)
    LoanLine.objects.create(loan=loan, piece=astray.piece("LHS-0002"), state=LoanLine.State.PULLED)
    assert numbers(astray) == ["T12"]
    LoanLine.objects.filter(loan=loan).update(state=LoanLine.State.LEFT_BEHIND)
    assert set(numbers(astray)) == {"LHS-0002", "T12"}
    mark_missing(by=astray.cast.archivist, piece=astray.piece("LHS-0002"), note="not there")
    assert numbers(astray) == ["T12"]


def test_one_tap_puts_back_and_one_makes_it_home(astray: DemoWorld, as_user: As) -> None:
    client = as_user(astray.cast.archivist)
    at, home = place_of(astray, "LHS-0001")
    assert f"LHS-0001 is back at {home}." in tap(client, "back", "LHS-0001", at, home)
    assert place_of(astray, "LHS-0001") == (home, home)
    at, home = place_of(astray, "LHS-0002")
    assert "LHS-0002 lives at DK-B1 from now on." in tap(client, "stays", "LHS-0002", at, home)
    assert place_of(astray, "LHS-0002") == ("DK-B1", "DK-B1")
    assert "T12 is back at TB-G4-3." in tap(client, "back", "T12", "TB-G1-1", "TB-G4-3", "container")
    assert numbers(astray) == []


def test_a_trunk_gets_a_new_home_from_the_archivist_alone(astray: DemoWorld, as_user: As) -> None:
    told = tap(as_user(astray.cast.set_costumer), "stays", "T12", "TB-G1-1", "TB-G4-3", "container")
    assert "is for the archivist" in told
    assert astray.place("T12").home.code == "TB-G4-3"
    assert "T12 lives at TB-G1-1" in tap(
        as_user(astray.cast.archivist), "stays", "T12", "TB-G1-1", "TB-G4-3", "container"
    )


def test_what_was_moved_meanwhile_is_left_alone(astray: DemoWorld, as_user: As) -> None:
    at, home = place_of(astray, "LHS-0001")
    move_piece(by=astray.cast.archivist, piece=astray.piece("LHS-0001"), to=astray.place("DK-B1"))
    told = tap(as_user(astray.cast.archivist), "stays", "LHS-0001", at, home)
    assert "moved meanwhile" in told
    assert place_of(astray, "LHS-0001") == ("DK-B1", home)
    assert as_user(astray.cast.archivist).post(TAP, {"thing": "QQQ-1", "do": "back"}).status_code == 404


def test_the_table_is_the_list(astray: DemoWorld, as_user: As) -> None:
    answer = as_user(astray.cast.archivist).get(f"{LIST}table.csv")
    lines = b"".join(answer.streaming_content).decode().splitlines()  # type: ignore[attr-defined]
    assert [line.split(",")[0] for line in lines[1:]] == numbers(astray)


def test_today_and_places_lead_there(astray: DemoWorld, as_user: As) -> None:
    client = as_user(astray.cast.archivist)
    assert any(row["text"] == "3 things are in the wrong place." for row in client.get("/").context["reasons"])
    for page in ("/", "/storage/", "/find/"):
        assert f'href="{LIST}"' in client.get(page).content.decode(), page


def test_a_fixed_number_of_queries(astray: DemoWorld, as_user: As, django_assert_max_num_queries: Any) -> None:
    client = as_user(astray.cast.archivist)
    with django_assert_max_num_queries(18) as few:
        client.get(LIST)
    by, bench = astray.cast.archivist, astray.place("DK-B2")
    for number in ("LHS-0003", "LHS-0004", "LHS-0006", "LHS-0007", "LHS-0008", "LHS-0009"):
        move_piece(by=by, piece=astray.piece(number), to=bench)
    with django_assert_max_num_queries(18) as many:
        client.get(LIST)
    assert len(many) == len(few)
