"""Which pieces are not in a look, the samples that were tried, and breakdown that waits for an approved one."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from catalog.care import actions
from catalog.care.evidence_queries import told_of_one
from catalog.care.look_queries import not_in_look, of_roles
from catalog.care.models import LookSample
from catalog.core.errors import NotAllowed, Refused, WrongState, WrongValues
from catalog.pieces.actions import add_look
from catalog.pieces.models import Look, Piece
from tests.cast import Cast
from tests.demo_world import DemoWorld
from tests.pieces import world
from tests.reading import text_of

pytestmark = pytest.mark.django_db
As = Callable[[Any], Client]
DAY = date(2024, 5, 6)
TRIED = {"what": "salt solution on an offcut", "made_on": DAY, "made_by_name": "Bo"}
DECIDED = {"decided_on": DAY, "decided_by_name": "Ida"}


@pytest.fixture
def coat(cast: Cast) -> Piece:
    film = world.production(cast)
    return world.piece(cast, film, role=world.role(cast, film))


@pytest.fixture
def storm(cast: Cast, coat: Piece) -> Look:
    return add_look(by=cast.archivist, production=coat.production, name="storm")


def tried(cast: Cast, look: Look, result: str = "", why: str = "") -> LookSample:
    sample = actions.add_sample(by=cast.wardrobe_lead, look=look, **TRIED)  # type: ignore[arg-type]
    if result:
        actions.decide_sample(by=cast.wardrobe_lead, sample=sample, result=result, why=why, **DECIDED)  # type: ignore[arg-type]
    return sample


def test_the_first_try_is_refused_the_second_approved_and_both_are_kept(cast: Cast, coat: Piece, storm: Look) -> None:
    work = actions.need_treatment(by=cast.archivist, piece=coat, what="break down to look storm", days=2, to_look=storm)
    with pytest.raises(WrongState, match="no sample of it is approved"):
        actions.start_treatment(by=cast.archivist, treatment=work, started_on=DAY)
    tried(cast, storm, "refused", "too white")
    with pytest.raises(WrongState, match=r"sample 1 was refused \(too white\)"):
        actions.start_treatment(by=cast.archivist, treatment=work, started_on=DAY)
    tried(cast, storm, "approved")
    actions.start_treatment(by=cast.archivist, treatment=work, started_on=DAY)
    assert [(one.number, one.result, one.why) for one in storm.samples.all()] == [
        (1, "refused", "too white"),
        (2, "approved", ""),
    ]
    actions.finish_treatment(by=cast.archivist, treatment=work, done_on=DAY)
    coat.refresh_from_db()
    assert coat.look == storm
    assert told_of_one(coat).words == "on-screen breakdown: keep (broken down to the look storm)"
    assert not_in_look(of_roles(Piece.objects.all(), storm, ()), storm) == []


def test_bad_input_is_a_sentence(cast: Cast, coat: Piece, storm: Look) -> None:
    waiting = tried(cast, storm)
    with pytest.raises(WrongState, match="Sample 1 of the look storm waits"):
        tried(cast, storm)
    for more, words in (
        ({"result": "refused"}, "Say why it is refused"),
        ({"result": "waiting"}, "Choose whether"),
        ({"result": "approved", "decided_on": date(2024, 5, 5)}, "on or after"),
        ({"result": "approved", "decided_by_name": " "}, "by name"),
        ({"result": "approved", "decided_on": date(2999, 1, 1)}, "still to come"),
    ):
        with pytest.raises(Refused, match=words):
            actions.decide_sample(by=cast.wardrobe_lead, sample=waiting, **{**DECIDED, **more})  # type: ignore[arg-type]
    actions.decide_sample(by=cast.wardrobe_lead, sample=waiting, result="approved", **DECIDED)  # type: ignore[arg-type]
    with pytest.raises(WrongState, match="approved already"):
        actions.decide_sample(by=cast.wardrobe_lead, sample=waiting, result="refused", why="x", **DECIDED)  # type: ignore[arg-type]
    with pytest.raises(WrongValues):
        actions.add_sample(by=cast.wardrobe_lead, look=storm, what=" ", made_on=DAY, made_by_name="Bo")
    other = add_look(by=cast.archivist, production=world.production(cast, "XYZ"), name="rain")
    with pytest.raises(Refused, match="not of ABC-0001's production"):
        actions.need_treatment(by=cast.archivist, piece=coat, what="break down", to_look=other)
    actions.need_treatment(by=cast.archivist, piece=coat, what="break down", to_look=storm)
    with pytest.raises(WrongState, match="ordered already"):
        actions.need_treatment(by=cast.archivist, piece=coat, what="break down", to_look=storm)
    for person in (cast.production, cast.set_costumer, cast.visitor):
        with pytest.raises(NotAllowed):
            actions.add_sample(by=person, look=storm, what="salt", made_on=DAY, made_by_name="Bo")


@pytest.mark.parametrize("wrong", [{"result": "approved"}, {"result": "fine"}, {"what": ""}, {"decided_on": DAY}])
def test_the_database_refuses_too(cast: Cast, storm: Look, wrong: dict[str, Any]) -> None:
    sample = tried(cast, storm)
    with pytest.raises(IntegrityError), transaction.atomic():
        LookSample.objects.filter(pk=sample.pk).update(**wrong)


def test_which_pieces_are_not_in_the_storm_look(demo_world: DemoWorld, as_user: As) -> None:
    """The demo's value: of the call's roles the suits LHS-0014 and LHS-0018, two working days each, a sample to
    approve; back from loading on Monday 14 September 2026 that is Thursday the 10th."""
    client = as_user(demo_world.cast.production)
    call = text_of(client.get("/calls/RS-2026-01/"))
    link = call.split('href="/care/looks/')[1].split('"')[0].replace("&amp;", "&")
    page = text_of(client.get(f"/care/looks/{link}"))
    assert "2 pieces are not in the look storm." in page
    assert "no sample approved" in page
    assert page.count("2 working days") == 2
    assert page.count("Thu\u00a010\u00a0Sep\u00a02026".replace("\u00a0", " ")) == 2
    look = Look.objects.get(production__code="LHS", name="storm")
    rows = not_in_look(of_roles(Piece.objects.all(), look, ["DIV", "KEE", "CUS"]), look, date(2026, 9, 14))
    assert [row.piece.number for row in rows] == ["LHS-0014", "LHS-0018"]
    assert [when.start_by for row in rows for _, when in row.work if when] == [date(2026, 9, 10)] * 2


def test_ordering_it_counts_the_work_once(demo_world: DemoWorld, as_user: As) -> None:
    client, look = as_user(demo_world.cast.archivist), Look.objects.get(production__code="LHS", name="storm")
    address = reverse("care:order_breakdown", args=[look.pk])
    sent = {"number": "LHS-0014", "days": "2", "query": "role=DIV&by=2026-09-14"}
    assert client.post(address, sent)["Location"].endswith("/?role=DIV&by=2026-09-14")
    client.get("/")  # The sentence of what was done is read here.
    page = text_of(client.get(f"/care/looks/{look.pk}/?role=DIV"))
    assert page.count("2 working days") == 2, "the repair of its wear decision is this very work"
    told = text_of(client.post(address, {**sent, "days": "soon"}, follow=True))
    assert "in whole working days" in told
    assert client.post(address, {**sent, "number": "TTR-0001"}).status_code == 404
    assert client.get("/care/looks/999999/").status_code == 404
    assert client.get(f"/care/looks/{look.pk}/?by=soon").status_code == 200


def test_the_pages_of_a_sample(cast: Cast, storm: Look, as_user: As) -> None:
    client = as_user(cast.wardrobe_lead)
    add = reverse("care:add_sample", args=[storm.pk])
    fault = client.post(add, {"what": "salt", "made_on": "2024-05-06"})
    assert fault.status_code == 422
    assert 'value="salt"' in text_of(fault)
    assert client.post(add, {**TRIED, "made_on": "2024-05-06"}).status_code == 302
    decide = reverse("care:decide_sample", args=[storm.pk, 1])
    sent = {"result": "refused", "why": "", "decided_on": "2024-05-06", "decided_by_name": "Ida"}
    fault = client.post(decide, sent)
    assert fault.status_code == 422
    assert "Say why it is refused" in text_of(fault)
    assert client.post(decide, {**sent, "why": "too white"}).status_code == 302
    page = text_of(client.get(reverse("care:look", args=[storm.pk])))
    assert "too white" in page
    assert "Note a sample" in page


@pytest.mark.parametrize(("name", "allowed"), [("look", "AWPS"), ("add_sample", "AW"), ("decide_sample", "AW")])
def test_who_may_open_what(cast: Cast, storm: Look, as_user: As, name: str, allowed: str) -> None:
    tried(cast, storm)
    address = reverse(f"care:{name}", args=[storm.pk, *([1] if name == "decide_sample" else [])])
    for letter, person in zip("AWPSV", cast.everyone(), strict=True):
        assert as_user(person).get(address).status_code == (200 if letter in allowed else 403), person
    assert as_user(None).get(address).status_code == 302
    assert as_user(cast.wardrobe_lead).post(reverse("care:order_breakdown", args=[storm.pk])).status_code == 403


def test_the_page_asks_a_fixed_number_of_queries(
    demo_world: DemoWorld, as_user: As, django_assert_max_num_queries: Any
) -> None:
    look = Look.objects.get(production__code="LHS", name="storm")
    client = as_user(demo_world.cast.archivist)
    for query in ("?role=DIV&by=2026-09-14", "?by=2026-09-14"):
        with django_assert_max_num_queries(22):
            assert client.get(f"/care/looks/{look.pk}/{query}").status_code == 200
