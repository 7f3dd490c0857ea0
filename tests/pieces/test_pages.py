"""Pages about one piece and about productions: who may, what is kept, what a fault looks like."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from catalog.access.models import User
from catalog.core import history
from catalog.pieces import actions
from catalog.pieces.calc.kinds import impossible
from catalog.pieces.models import Piece, PieceFile, Production
from catalog.pieces.queries import piece_facts, visible_to
from tests.cast import Cast
from tests.pieces import world

pytestmark = pytest.mark.django_db
AsUser = Callable[[Any], Client]
ONE_PIECE = ("edit", "measure", "pictures", "parts", "matches")


@pytest.fixture
def coat(cast: Cast) -> Piece:
    film = world.production(cast)
    role = world.role(cast, film)
    return world.piece(cast, film, role=role, slot=world.slot(cast, role), weight_g=1234)


def edited(piece: Piece, **changes: Any) -> dict[str, Any]:
    """What a browser sends back from the untouched form, with these changes."""
    plain = {"name": piece.name, "kind": piece.kind, "role": piece.role_id or "", "slot": piece.slot_id or ""}
    more = {"outfit_set": "", "look": "", "multiple": "", "materials": "linen", "weight_g": f"{piece.weight_g} g"}
    rest = {"size_mark": "", "origin": piece.origin, "owner": piece.owner, "owner_name": "", "note": ""}
    return {**plain, **more, **rest, **changes}


# --- who may ----------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("name", ONE_PIECE)
def test_only_the_archivist_opens_the_forms(cast: Cast, as_user: AsUser, coat: Piece, name: str) -> None:
    url = reverse(f"pieces:{name}", args=[coat.number])
    assert as_user(cast.archivist).get(url).status_code == 200
    for person in (cast.wardrobe_lead, cast.production, cast.set_costumer, cast.visitor):
        assert as_user(person).get(url).status_code == 403
        assert as_user(person).post(url, {"name": "x"}).status_code == 403
    stranger = as_user(None).get(url)
    assert stranger.status_code == 302
    assert stranger["Location"].startswith(reverse("access:sign_in"))


@pytest.mark.parametrize("name", [*ONE_PIECE, "value"])
def test_no_such_piece_is_404(cast: Cast, as_user: AsUser, name: str) -> None:
    assert as_user(cast.archivist).get(reverse(f"pieces:{name}", args=["ABC-9999"])).status_code == 404


def test_values_are_seen_by_two_duties_and_added_by_one(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    url = reverse("pieces:value", args=[coat.number])
    sent = {"amount": "560", "currency": "EUR", "basis": "agreed", "valued_on": "2020-02-03", "source": "Auction sheet"}
    assert as_user(cast.archivist).post(url, sent).status_code == 302
    page = as_user(cast.production).get(url)
    assert "EUR\u00a0560<" in page.content.decode()
    assert b"Add this value" not in page.content
    assert as_user(cast.production).post(url, sent).status_code == 403
    assert coat.valuations.count() == 1
    for person in (cast.wardrobe_lead, cast.set_costumer, cast.visitor):
        assert as_user(person).get(url).status_code == 403


def test_a_value_stays_out_of_the_history_of_who_may_not_see_it(cast: Cast, coat: Piece) -> None:
    actions.value_piece(by=cast.archivist, piece=coat, amount=4711, currency="EUR", valued_on=date(2020, 1, 1))

    def told(user: User) -> str:
        return str(piece_facts(coat, user)["history"])

    assert "4,711" in told(cast.archivist)
    assert "4,711" in told(cast.production)
    assert "4,711" not in told(cast.wardrobe_lead)
    assert piece_facts(coat, cast.wardrobe_lead)["values"] is None
    assert piece_facts(coat, cast.visitor)["history"] is None


# --- a closed production ----------------------------------------------------------------------------------------------
def test_a_visitor_sees_nothing_of_a_closed_production(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    picture = actions.add_picture(by=cast.archivist, piece=coat, data=world.picture())
    image = reverse("pieces:picture", args=[picture.file_id, "small"])
    production = reverse("pieces:production", args=["ABC"])
    visitor, lead = as_user(cast.visitor), as_user(cast.wardrobe_lead)
    assert [visitor.get(url).status_code for url in (image, production)] == [200, 200]
    actions.edit_production(by=cast.archivist, production=coat.production, closed=True)
    assert [visitor.get(url).status_code for url in (image, production)] == [404, 404]
    assert [lead.get(url).status_code for url in (image, production)] == [200, 200]
    assert b"Film ABC" not in visitor.get(reverse("pieces:productions")).content
    assert not visible_to(cast.visitor).exists()
    assert visible_to(cast.wardrobe_lead).count() == 1
    assert not visible_to(User.objects.create_user("nobody")).exists()


# --- edit -------------------------------------------------------------------------------------------------------------
def test_it_corrects_and_tells_only_what_changed(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    url = reverse("pieces:edit", args=[coat.number])
    client = as_user(cast.archivist)
    assert b'value="1.234"' in client.get(url).content
    answer = client.post(url, edited(coat, name="Long dust coat", materials="linen, horn"))
    assert answer.status_code == 302
    assert answer["Location"] == reverse("desk:piece", args=[coat.number])
    line = history.lines_of(coat.subject)[0]
    assert line.before == {"name": "Dust coat", "materials": ["linen"]}
    assert line.after == {"name": "Long dust coat", "materials": ["horn", "linen"]}


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("weight_g", "heavy", "is no weight"),
        ("weight_g", "3000 kg", "between 1 g and 2,000 kg"),
        ("name", "", "Name: this is empty. Fill it in."),
        ("reference_piece", "NO-1", "There is no piece NO-1"),
        ("packed_length", "60", "all three sides"),
        ("owner", "hired in", "Say who owns it"),
    ],
)
def test_a_fault_is_told_and_what_was_typed_stays(
    cast: Cast, as_user: AsUser, coat: Piece, field: str, typed: str, sentence: str
) -> None:
    url = reverse("pieces:edit", args=[coat.number])
    page = as_user(cast.archivist).post(url, edited(coat, note="typed long", **{field: typed}))
    assert page.status_code == 422
    text = page.content.decode()
    assert sentence in text
    assert "typed long" in text
    assert "Error:" in text
    coat.refresh_from_db()
    assert coat.note == ""


# --- measure ----------------------------------------------------------------------------------------------------------
def measured(**values: str) -> dict[str, str]:
    return {"trust": "measured", "how": "flat", "taken_on": "2024-05-06", "taken_by": "Bo", **values}


def test_it_measures_in_the_readers_unit(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    url = reverse("pieces:measure", args=[coat.number])
    client = as_user(cast.archivist)
    assert b"measure-guide" in client.get(url).content
    sent = measured(m_chest="104.5", out_chest="2", why_waist="lining too weak", m_back_length="38 in")
    assert client.post(url, sent).status_code == 302
    rows = {row.point: row for row in coat.measures.all()}
    assert (rows["chest"].value_mm, rows["chest"].let_out_mm, rows["chest"].taken_by) == (1045, 20, "Bo")
    assert (rows["waist"].value_mm, rows["waist"].not_measured_because) == (None, "lining too weak")
    assert rows["back_length"].value_mm == 965
    cast.archivist.units = "inches"
    cast.archivist.save()
    assert b'value="41.14"' in client.get(url).content


def test_a_form_sent_back_untouched_corrects_nothing(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    cast.archivist.units = "inches"
    cast.archivist.save()
    boots = world.piece(cast, coat.production, number="ABC-0002", kind="boots", name="Boots")
    actions.set_measure(by=cast.archivist, piece=boots, point="shoe_eu", value_mm=281)
    actions.set_measure(by=cast.archivist, piece=boots, point="shaft_height", value_mm=301)
    before = history.lines_of(boots.subject).count()
    client, url = as_user(cast.archivist), reverse("pieces:measure", args=[boots.number])
    page = client.get(url).content
    assert b'value="42"' in page
    assert b'value="11.85"' in page
    assert client.post(url, measured(m_shoe_eu="42", m_shaft_height="11.85")).status_code == 302
    assert history.lines_of(boots.subject).count() == before
    assert boots.measures.get(point="shoe_eu").value_mm == 281
    client.post(url, measured(m_shoe_eu="43", m_shaft_height="11.85"))
    assert boots.measures.get(point="shoe_eu").value_mm == 287


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"m_chest": "9"}, "9 cm cannot be right"),
        ({"m_chest": "wide"}, "is no length"),
        ({"m_chest": "104", "why_chest": "torn"}, "There is a measure"),
        ({"out_chest": "2"}, "that the let-out reserve belongs to"),
        ({"m_hem": "180", "m_chest": "104", "out_chest": "90"}, "between 0 and 50 cm"),
    ],
)
def test_an_impossible_measure_stays_in_the_form(
    cast: Cast, as_user: AsUser, coat: Piece, values: dict[str, str], sentence: str
) -> None:
    page = as_user(cast.archivist).post(reverse("pieces:measure", args=[coat.number]), measured(**values))
    assert page.status_code == 422
    assert sentence in page.content.decode()
    assert not coat.measures.exists(), "nothing is half stored"


def test_a_measure_does_not_vanish_without_a_reason(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    actions.set_measure(by=cast.archivist, piece=coat, point="chest", value_mm=1040)
    url = reverse("pieces:measure", args=[coat.number])
    page = as_user(cast.archivist).post(url, measured(m_chest=""))
    assert page.status_code == 422
    assert b"Say why it is not measured any more" in page.content


# --- pictures ---------------------------------------------------------------------------------------------------------
def upload(data: bytes, name: str = "a.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data, content_type="image/jpeg")


def pictured(**more: Any) -> dict[str, Any]:
    return {"view": "back", "caption": "on a stand", "seen_by": "everybody", **more}


def test_it_adds_pictures_and_the_first_is_the_main_one(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    url, client = reverse("pieces:pictures", args=[coat.number]), as_user(cast.archivist)
    assert client.post(url, pictured(picture=upload(world.picture("red")))).status_code == 302
    assert client.post(url, pictured(picture=upload(world.picture("blue")), view="front")).status_code == 302
    first, second = PieceFile.objects.order_by("id")
    assert (first.main, second.main) == (True, False)
    change = reverse("pieces:change_picture", args=[coat.number, second.pk])
    assert client.post(change, {"main": "1"}).status_code == 302
    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.main, second.main, second.view) == (False, True, "front")
    again = client.post(url, pictured(picture=upload(world.picture("red"))))
    assert again.status_code == 422
    assert b"has this picture already" in again.content
    verbs = [line.verb for line in history.lines_of(coat.subject)]
    assert verbs == ["picture changed", "picture added", "picture added", "recorded"]


@pytest.mark.parametrize(("data", "sentence"), [(b"not a picture", "no picture we can read"), (b"", "empty")])
def test_what_is_no_picture_is_refused_at_its_field(
    cast: Cast, as_user: AsUser, coat: Piece, data: bytes, sentence: str
) -> None:
    url = reverse("pieces:pictures", args=[coat.number])
    page = as_user(cast.archivist).post(url, pictured(picture=upload(data)))
    assert page.status_code == 422
    assert sentence in page.content.decode()
    assert b"on a stand" in page.content
    assert not PieceFile.objects.exists()


def test_only_derivatives_are_served_and_only_to_the_circle(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    data = world.picture("green", size=(2000, 1500))
    for circle, allowed in (("everybody", "AWPSV"), ("staff", "AWPS"), ("wardrobe", "AW")):
        given = actions.add_picture(
            by=cast.archivist, piece=coat, data=data + circle.encode(), seen_by=circle, caption=circle
        )
        for letter, person in zip("AWPSV", cast.everyone(), strict=True):
            answer = as_user(person).get(reverse("pieces:picture", args=[given.file_id, "large"]))
            assert answer.status_code == (200 if letter in allowed else 404), (circle, person)
            if answer.status_code == 200:
                body = b"".join(answer.streaming_content)
                assert answer["Content-Type"] == "image/jpeg"
                assert answer["X-Content-Type-Options"] == "nosniff"
                assert answer["Cache-Control"].startswith("private")
                assert body.startswith(b"\xff\xd8")
                assert circle.encode() not in body
        assert as_user(None).get(reverse("pieces:picture", args=[given.file_id, "large"])).status_code == 302
    for size in ("original", "huge"):
        assert as_user(cast.archivist).get(f"/pieces/pictures/{given.file_id}/{size}.jpg").status_code == 404
    assert as_user(cast.archivist).get(f"/media/{given.file.original.name}").status_code == 404


# --- parts, matches ---------------------------------------------------------------------------------------------------
def test_parts_and_matches_by_page(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    client = as_user(cast.archivist)
    parts, matches = (reverse(f"pieces:{name}", args=[coat.number]) for name in ("parts", "matches"))
    assert client.post(parts, {"letter": "a", "name": "belt", "side": ""}).status_code == 302
    assert b'value="b"' in client.get(parts).content, "the next free letter is offered"
    taken = client.post(parts, {"letter": "A", "name": "badge", "side": ""})
    assert taken.status_code == 422
    assert b"has a part of this letter" in taken.content
    assert client.post(matches, {"group": "ring", "value": "B"}).status_code == 302
    assert b"ring" in client.get(matches).content


# --- productions ------------------------------------------------------------------------------------------------------
def test_productions_roles_looks_slots_and_sets_are_added_by_page(cast: Cast, as_user: AsUser) -> None:
    client = as_user(cast.archivist)
    new = {"code": "MIL", "title": "The Mill", "year": "1990", "world": ""}
    assert client.post(reverse("pieces:add_production"), new)["Location"] == reverse("pieces:production", args=["MIL"])
    assert client.post(reverse("pieces:add_production"), {**new, "code": "mil"}).status_code == 422
    role = {"code": "HAN", "name": "Hand", "sort": "background", "sets_made": ""}
    assert client.post(reverse("pieces:add_role", args=["MIL"]), role).status_code == 302
    assert client.post(reverse("pieces:add_look", args=["MIL"]), {"name": "dusty"}).status_code == 302
    slot = {"code": "hat", "name": "Straw hat", "kind": "hat", "order": "1", "required": "on", "usual_weight_g": "0.2"}
    assert client.post(reverse("pieces:add_slot", args=["MIL", "HAN"]), slot).status_code == 302
    assert client.post(reverse("pieces:add_set", args=["MIL", "HAN"]), {"code": "HAN-01"}).status_code == 302
    page = client.get(reverse("pieces:production", args=["mil"])).content.decode()
    for word in ("The Mill", "Hand", "Straw hat", "HAN-01", "dusty", "0.20 kg"):
        assert word in page
    edit = reverse("pieces:edit_production", args=["MIL"])
    assert client.post(edit, {"title": "The Old Mill", "year": "", "world": ""}).status_code == 302
    film = Production.objects.get(code="MIL")
    assert (film.title, film.year, film.closed) == ("The Old Mill", None, False)
    for person in (cast.wardrobe_lead, cast.visitor):
        assert as_user(person).post(edit, {"title": "x"}).status_code == 403
        assert as_user(person).get(reverse("pieces:productions")).status_code == 200


def test_lists_take_the_same_queries_however_long(cast: Cast, as_user: AsUser, coat: Piece) -> None:
    client = as_user(cast.archivist)

    def count(url: str) -> int:
        with CaptureQueriesContext(connection) as counted:
            assert client.get(url).status_code == 200
        return len(counted)

    listing, one = reverse("pieces:productions"), reverse("pieces:production", args=["ABC"])
    before = count(listing), count(one)
    for n in range(5):
        film = world.production(cast, f"F{n}")
        role = world.role(cast, coat.production, f"R{n}")
        world.slot(cast, role)
        actions.add_set(by=cast.archivist, role=role, code=f"R{n}-01")
        world.piece(cast, film, number=f"F{n}-0001")
    assert (count(listing), count(one)) == before


def test_the_piece_sheet_takes_a_fixed_number_of_queries(cast: Cast, coat: Piece) -> None:
    def count() -> int:
        with CaptureQueriesContext(connection) as counted:
            piece_facts(Piece.objects.select_related("production", "role", "slot").get(pk=coat.pk), cast.archivist)
        return len(counted)

    before = count()
    for n, point in enumerate(("chest", "waist", "hem")):
        actions.set_measure(by=cast.archivist, piece=coat, point=point, value_mm=1000)
        actions.add_part(by=cast.archivist, piece=coat, letter="abc"[n], name="x")
        actions.add_picture(by=cast.archivist, piece=coat, data=world.picture(size=(40 + n, 40)))
    assert count() == before


def test_a_marked_size_is_said_once_and_refused_as_it_was_typed(cast: Cast, as_user: AsUser) -> None:
    boots = world.piece(cast, world.production(cast), kind="boots", name="Boots")
    client, url = as_user(cast.archivist), reverse("pieces:measure", args=[boots.number])
    page = client.post(url, measured(m_shoe_eu="470")).content.decode()
    assert "Marked size: EU 470 cannot be right; it lies between EU 22.5 and EU 57." in page
    assert client.post(url, measured(m_shoe_eu="47")).status_code == 302
    told = piece_facts(boots, cast.archivist)
    assert told["history"][0]["text"].startswith("Measured: marked size EU 47")
    assert (told["measures"][0]["word"], told["measures"][0]["value"]) == ("marked size", "EU 47")
    assert (
        impossible("chest", 90, "in") == "Chest, all round: 3.5 in cannot be right; it lies between 15.7 and 98.4 in."
    )
