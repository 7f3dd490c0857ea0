"""Record a piece with everything around it: one post, all or nothing, and what was typed stays."""

from collections.abc import Callable
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from catalog.care.queries import wear_blockers
from catalog.core.models import File, HistoryLine
from catalog.pieces import actions as pieces
from catalog.pieces.models import Piece, Production
from catalog.storage import actions as storage
from catalog.storage.models import Label, Place, Standing
from tests.cast import Cast
from tests.pieces import world

pytestmark = pytest.mark.django_db
AsUser = Callable[[Any], Client]


@pytest.fixture
def film(cast: Cast) -> Production:
    film = world.production(cast)
    role = world.role(cast, film)
    world.slot(cast, role)
    pieces.add_set(by=cast.archivist, role=role, code="MIL-01")
    return film


@pytest.fixture
def trunk(cast: Cast) -> Place:
    room = storage.add_place(by=cast.archivist, code="R1", name="Room", kind="room")
    return storage.add_place(by=cast.archivist, code="K7", name="Trunk 7", kind="trunk", parent=room, home=room)


def address(kind: str = "coat", production: str = "ABC") -> str:
    return f"{reverse('desk:record')}?kind={kind}&production={production}"


def typed(**more: Any) -> dict[str, Any]:
    plain = {
        "name": "Pea coat",
        "number": "ABC-0001",
        "origin": "original",
        "is_home": "on",
        "repair_day_kind": "working",
    }
    return {**plain, **more}


def shot(colour: str = "navy") -> SimpleUploadedFile:
    return SimpleUploadedFile("shot.jpg", world.picture(colour), content_type="image/jpeg")


def test_only_the_archivist_records(cast: Cast, as_user: AsUser, film: Production) -> None:
    for person in (cast.wardrobe_lead, cast.production, cast.set_costumer, cast.visitor):
        assert as_user(person).get(address()).status_code == 403
        assert as_user(person).post(address(), typed()).status_code == 403
    assert as_user(None).get(address()).status_code == 302
    assert not Piece.objects.exists()


def test_the_kind_comes_first_and_the_right_measures_follow(cast: Cast, as_user: AsUser, film: Production) -> None:
    client = as_user(cast.archivist)
    choose = client.get(reverse("desk:record")).content.decode()
    assert 'value="coat"' in choose
    assert "Film ABC" in choose
    coat, boots = client.get(address()).content.decode(), client.get(address("boots")).content.decode()
    assert 'name="m_chest"' in coat
    assert 'name="m_shoe_eu"' not in coat
    assert 'name="m_shoe_eu"' in boots
    assert "become parts by themselves" in boots
    assert 'value="ABC-0001"' in coat
    assert "ABC-R001" in coat
    assert "measure-guide" in coat
    assert "What is it?" in client.get(address("no-such-kind")).content.decode()


def test_without_a_production_it_says_what_to_do(cast: Cast, as_user: AsUser) -> None:
    page = as_user(cast.archivist).get(reverse("desk:record")).content.decode()
    assert "No production is recorded yet" in page
    assert reverse("pieces:add_production") in page


def test_one_post_records_everything(cast: Cast, as_user: AsUser, film: Production, trunk: Place) -> None:
    blank = storage.make_blanks(by=cast.archivist, count=1)[0]
    slot = film.roles.get().slots.get()
    sent = typed(
        picture=shot(),
        slot=f"s{slot.pk}",
        outfit_set="mil-01",
        place="k7",
        label=blank.code.lower(),
        materials="wool, horn buttons",
        weight_g="2.4",
        parts="belt, badge",
        m_chest="104.5",
        out_chest="2",
        m_back_length="38 in",
        grade="2",
        stability="watch",
        completeness="complete",
        note="light wear",
        decision="wear",
    )
    answer = as_user(cast.archivist).post(address(), sent)
    assert answer.status_code == 302
    assert answer["Location"] == reverse("desk:piece", args=["ABC-0001"])
    piece = Piece.objects.get()
    assert (piece.role, piece.slot, str(piece.set), piece.weight_g) == (slot.role, slot, "MIL-01", 2400)
    assert {m.point: (m.value_mm, m.let_out_mm) for m in piece.measures.all()} == {
        "chest": (1045, 20),
        "back_length": (965, None),
    }
    assert [(part.letter, part.name) for part in piece.parts.all()] == [("a", "belt"), ("b", "badge")]
    assert piece.pictures.get().main
    standing = Standing.objects.get(piece=piece)
    assert (standing.place, standing.home, standing.state) == (trunk, trunk, "in store")
    assert Label.objects.get(piece=piece) == blank
    assert piece.reports.get().occasion == "entry"
    assert wear_blockers(piece) == ()


def test_name_and_number_are_enough_and_it_is_not_for_wear(cast: Cast, as_user: AsUser, film: Production) -> None:
    assert as_user(cast.archivist).post(address("boots"), typed(name="Boots")).status_code == 302
    piece = Piece.objects.get()
    assert [part.letter for part in piece.parts.all()] == ["a", "b"]
    assert not Standing.objects.exists()
    assert not Label.objects.exists()
    assert "Nobody has decided yet" in wear_blockers(piece)[0]


def test_it_issues_a_label_and_offers_the_next_out_of_the_trunk(
    cast: Cast, as_user: AsUser, film: Production, trunk: Place
) -> None:
    label = storage.issue_label(by=cast.archivist, place=trunk)
    client = as_user(cast.archivist)
    scanned = f"HTTPS://EXAMPLE.ORG/Q/{label.code}"
    answer = client.post(address(), typed(place=scanned, issue_label="on", materials="wool", another="1"))
    assert Label.objects.get(piece__number="ABC-0001").letter == "P"
    assert Standing.objects.get().place == trunk
    page = client.get(answer["Location"]).content.decode()
    assert 'value="ABC-0002"' in page
    assert label.code in page
    assert 'value="wool"' in page
    assert "ABC-0001, Pea coat, is recorded" in page


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"number": "abc-0009"}, "never reused"),
        ({"number": "A/9"}, "cannot be a number"),
        ({"name": ""}, "Name: this is empty. Fill it in."),
        ({"m_chest": "9"}, "9 cm cannot be right"),
        ({"out_chest": "2"}, "that the let-out reserve belongs to"),
        ({"m_chest": "104", "why_chest": "torn"}, "There is a measure: leave the reason empty."),
        ({"place": "K99"}, "There is no place “K99”"),
        ({"place": "L000010"}, "There is no"),
        ({"label": "B00001X"}, "wrong check character"),
        ({"label": "hello"}, "is no label code"),
        ({"label": "B00001X", "issue_label": "on"}, "leave this unticked"),
        ({"outfit_set": "NONE-1"}, "There is no set NONE-1"),
        ({"decision": "wear with limits"}, "Say what the limits are"),
        ({"decision": "wear after repair"}, "Say what must be repaired"),
        ({"note": "torn"}, "Choose the grade"),
        ({"grade": "2"}, "Stability: nothing was chosen. A report says all three."),
        ({"weight_g": "heavy"}, "is no weight"),
        ({"parts": ", ".join(f"part {n}" for n in range(40))}, "at most 26 parts"),
        ({"materials": "x" * 90}, "too long"),
    ],
)
def test_a_fault_keeps_nothing_and_loses_nothing(
    cast: Cast, as_user: AsUser, film: Production, trunk: Place, sent: dict[str, str], sentence: str
) -> None:
    world.piece(cast, film, number="ABC-0009")
    lines = HistoryLine.objects.count()
    page = as_user(cast.archivist).post(address(), typed(place="K7", size_mark="38 R", decision="wear") | sent)
    text = page.content.decode()
    assert page.status_code == 422
    assert sentence in text
    assert "Error:" in text
    assert 'value="38 R"' in text
    assert Piece.objects.count() == 1
    assert HistoryLine.objects.count() == lines
    assert not Standing.objects.exists()


def test_a_good_picture_survives_a_fault_elsewhere(cast: Cast, as_user: AsUser, film: Production) -> None:
    client = as_user(cast.archivist)
    page = client.post(address(), typed(picture=shot(), m_chest="9"))
    assert page.status_code == 422
    kept = File.objects.get()
    assert f'value="{kept.sha256}"' in page.content.decode()
    assert "you need not take it again" in page.content.decode()
    assert client.post(address(), typed(kept=kept.sha256, m_chest="104")).status_code == 302
    assert Piece.objects.get().pictures.get().file == kept


def test_a_picture_of_somebody_else_is_not_taken(cast: Cast, as_user: AsUser, film: Production) -> None:
    other = world.piece(cast, film, number="ABC-0009")
    given = pieces.add_picture(by=cast.archivist, piece=other, data=world.picture("red"))
    File.objects.update(stored_by=cast.wardrobe_lead)
    as_user(cast.archivist).post(address(), typed(kept=given.file.sha256))
    assert not Piece.objects.get(number="ABC-0001").pictures.exists()


def test_what_is_no_picture_is_refused_beside_its_field(cast: Cast, as_user: AsUser, film: Production) -> None:
    bad = SimpleUploadedFile("shot.jpg", b"no picture", content_type="image/jpeg")
    page = as_user(cast.archivist).post(address(), typed(picture=bad))
    assert page.status_code == 422
    assert "no picture we can read" in page.content.decode()
    assert not Piece.objects.exists()
    assert not File.objects.exists()


def test_a_used_blank_is_refused_and_the_piece_with_it(cast: Cast, as_user: AsUser, film: Production) -> None:
    blank = storage.make_blanks(by=cast.archivist, count=1)[0]
    other = world.piece(cast, film, number="ABC-0009")
    storage.bind_label(by=cast.archivist, code=blank.code, piece=other)
    page = as_user(cast.archivist).post(address(), typed(label=blank.code))
    assert page.status_code == 422
    assert "take another blank" in page.content.decode()
    assert Piece.objects.count() == 1


def test_the_page_takes_the_same_queries_however_much_there_is(
    cast: Cast, as_user: AsUser, film: Production, django_assert_max_num_queries: Any
) -> None:
    for n in range(6):
        role = world.role(cast, film, f"R{n}")
        world.slot(cast, role)
        pieces.add_look(by=cast.archivist, production=film, name=f"look {n}")
        world.piece(cast, film, number=f"ABC-000{n}")
    client = as_user(cast.archivist)
    with django_assert_max_num_queries(21):
        assert client.get(address()).status_code == 200
