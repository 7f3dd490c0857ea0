"""Packing a loan: proposed, taken over, scanned in, sealed, weighed; what is refused, what is questioned."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from catalog.core import history
from catalog.core.errors import CatalogError, NotAllowed, Refused, WrongState, WrongValues
from catalog.loans import actions as loans
from catalog.pieces.models import Material, Piece
from catalog.shipping import pack_actions, pack_queries
from catalog.shipping.pack_models import PackCrate, PackLine
from catalog.storage.models import Place
from tests.cast import Cast
from tests.papers import words_of
from tests.shipping.conftest import Ready, make_kind

As = Callable[[Any], Client]


def taken(cast: Cast, ready: Ready) -> PackCrate:
    proposal = pack_queries.propose(ready.loan)
    (crate,) = pack_actions.take_packing(by=cast.archivist, loan=ready.loan, mark=proposal.mark)
    return crate


def put(cast: Cast, ready: Ready, piece: Piece, **more: Any) -> PackLine:
    return pack_actions.put_in_crate(by=cast.archivist, loan=ready.loan, code=piece.number, **more)


def all_in(cast: Cast, ready: Ready) -> PackCrate:
    crate = taken(cast, ready)
    for piece in (*ready.stage.coats[:2], ready.stage.boots[0]):
        put(cast, ready, piece)
    return crate


def page(ready: Ready, name: str = "pack", *more: Any) -> str:
    return reverse(f"pack:{name}", args=[ready.loan.reference, *more])


def text(client: Client, url: str) -> str:
    return client.get(url).content.decode()


def make_apart(ready: Ready) -> None:
    """One coat of rubber, one of polyurethane."""
    for piece, name in zip(ready.stage.coats, ("rubber", "polyurethane"), strict=False):
        piece.materials.add(Material.objects.create(name=name, family="foam rubber"))


def test_a_proposal_stores_nothing_and_says_how_many_are_needed(cast: Cast, ready: Ready, as_user: As) -> None:
    said = text(as_user(cast.archivist), page(ready))
    assert "1 crate is enough; at least 1 is needed." in said
    assert "Take this packing" in said
    assert not PackCrate.objects.exists()
    assert "Local rules decide" in said


def test_taking_it_makes_a_container_and_says_what_goes_in(cast: Cast, ready: Ready, as_user: As) -> None:
    client = as_user(cast.archivist)
    mark = pack_queries.propose(ready.loan).mark
    assert client.post(page(ready, "take"), {"mark": mark}).status_code == 302
    crate = PackCrate.objects.get()
    assert (crate.place.kind, crate.place.tare_g, crate.lines.count()) == ("crate", 8_000, 3)
    assert "3 pieces are still to go in." in text(client, page(ready))
    assert history.lines_of(ready.loan.subject)[0].verb == "crates planned"


def test_a_proposal_that_is_no_more_the_same_is_not_taken(cast: Cast, ready: Ready) -> None:
    mark = pack_queries.propose(ready.loan).mark
    Piece.objects.filter(pk=ready.stage.coat.pk).update(weight_g=None)
    with pytest.raises(Refused, match="Something has changed"):
        pack_actions.take_packing(by=cast.archivist, loan=ready.loan, mark=mark)
    assert not Place.objects.filter(kind="crate").exists()
    taken(cast, ready)
    with pytest.raises(WrongState, match="has its crates already"):
        taken(cast, ready)


def test_what_nobody_weighed_is_named_and_asked_for(cast: Cast, ready: Ready, as_user: As) -> None:
    Piece.objects.filter(pk=ready.stage.coat.pk).update(weight_g=None, packed_length_mm=None)
    said = text(as_user(cast.archivist), page(ready))
    assert "1 piece is not packed: nobody knows the weight or the packed size." in said
    assert "its weight and its packed size" in said
    taken(cast, ready)
    with pytest.raises(Refused, match="not known"):
        put(cast, ready, ready.stage.coat, crate=PackCrate.objects.get())


def test_a_scan_moves_the_piece_into_its_crate(cast: Cast, ready: Ready, as_user: As) -> None:
    crate = taken(cast, ready)
    answer = as_user(cast.set_costumer).post(page(ready, "put"), {"code": ready.stage.coat.number, "crate": ""})
    assert answer.status_code == 302
    ready.stage.coat.refresh_from_db()
    assert ready.stage.coat.standing.place == crate.place
    assert PackLine.objects.get(line__piece=ready.stage.coat).packed_at is not None


def test_bad_neighbours_are_apart_and_one_is_put_there_only_with_a_reason(
    cast: Cast, ready: Ready, as_user: As
) -> None:
    make_apart(ready)
    proposal = pack_queries.propose(ready.loan)
    crates = pack_actions.take_packing(by=cast.archivist, loan=ready.loan, mark=proposal.mark)
    assert len(crates) == 2
    rubber, foam = ready.stage.coats[:2]
    home = put(cast, ready, rubber).crate
    answer = as_user(cast.archivist).post(page(ready, "put"), {"code": foam.number, "crate": f"crate {home.number}"})
    assert answer.status_code == 422
    assert "lies beside" in answer.content.decode()
    row = put(cast, ready, foam, crate=home, anyway="each in a bag of its own")
    assert (row.crate, row.packed_anyway) == (home, "each in a bag of its own")


def test_too_heavy_is_refused_whatever_the_reason(cast: Cast, ready: Ready) -> None:
    crate = taken(cast, ready)
    small = make_kind(cast, "small", max_gross_g=10_500)
    with pytest.raises(Refused, match="may weigh"):
        put(cast, ready, ready.stage.coat, new_kind=small, anyway="it must")
    # What was refused left no empty crate behind.
    assert list(PackCrate.objects.all()) == [crate]


def test_a_new_crate_a_stranger_piece_and_one_that_is_not_pulled(cast: Cast, ready: Ready) -> None:
    taken(cast, ready)
    assert put(cast, ready, ready.stage.boots[0], new_kind=ready.kind).crate.number == 2
    with pytest.raises(Refused, match="not on the list"):
        put(cast, ready, ready.stage.boots[1])
    loans.put_back(by=cast.archivist, line=ready.loan.lines.get(piece=ready.stage.coat))
    with pytest.raises(WrongState, match="pull it first"):
        put(cast, ready, ready.stage.coat)


def test_no_seal_before_all_is_in_and_nothing_moves_after(cast: Cast, ready: Ready) -> None:
    crate = taken(cast, ready)
    with pytest.raises(WrongState, match="3 pieces are not in crate 1 yet"):
        pack_actions.note_crate(by=cast.archivist, crate=crate, seal="S 100", weighed_g=None)
    for piece in (*ready.stage.coats[:2], ready.stage.boots[0]):
        put(cast, ready, piece)
    pack_actions.note_crate(by=cast.archivist, crate=crate, seal="S 100", weighed_g=16_200)
    with pytest.raises(WrongState, match="is sealed"):
        put(cast, ready, ready.stage.coat, new_kind=ready.kind)


def test_a_light_crate_names_the_boots_left_on_the_bench(cast: Cast, ready: Ready, as_user: As) -> None:
    """Crate 8.0, coats 3.0 and 3.1, boots 2.1 kg: computed 16.2 kg; the scale says 14.1."""
    all_in(cast, ready)
    client = as_user(cast.archivist)
    answer = client.post(page(ready, "crate", 1), {"seal": "A1, A2", "weighed": "14.1"}, follow=True)
    said = answer.content.decode()
    assert "Crate 1 is 2.1 kg light." in said
    assert f"{ready.stage.boots[0].number} weighs about that: is it in there?" in said
    pack_actions.note_crate(by=cast.archivist, crate=PackCrate.objects.get(), seal="A1", weighed_g=16_300)
    assert "kg light" not in text(client, page(ready))


def test_the_kind_of_crate_is_kept_or_told_what_is_wrong(cast: Cast, ready: Ready, as_user: As) -> None:
    with pytest.raises(WrongValues, match="not larger inside"):
        make_kind(cast, "odd", inner_length_mm=2_000)
    with pytest.raises(NotAllowed):
        pack_actions.keep_crate_kind(by=cast.production, code="x")
    client = as_user(cast.archivist)
    assert "1 kind of crate is in use." in text(client, reverse("shipping:crate_kinds"))
    answer = client.post(reverse("shipping:add_crate_kind"), {"code": "trunk", "name": "again"})
    assert answer.status_code == 422
    sides = dict.fromkeys([f"{w}_{s}" for w in ("inner", "outer") for s in ("length", "width", "height")], "60")
    facts = {"name": "cube", **sides, "tare": "5", "max_gross": "25", "by_hand": "on", "active": "on"}
    assert client.post(reverse("shipping:add_crate_kind"), {"code": "TRUNK", **facts}).status_code == 422
    assert client.post(reverse("shipping:add_crate_kind"), {"code": "cube", **facts}).status_code == 302
    assert client.post(reverse("shipping:edit_crate_kind", args=["cube"]), facts | {"how_many": "3"}).status_code == 302
    assert "2 kinds of crates are in use." in text(client, reverse("shipping:crate_kinds"))


def test_paper_table_and_labels(cast: Cast, ready: Ready, as_user: As) -> None:
    client = as_user(cast.archivist)
    assert "no crates yet" in client.get(page(ready, "list_pdf")).content.decode()
    crate = all_in(cast, ready)
    words = words_of(client.get(page(ready, "list_pdf")).content)
    assert "Crate 1 of 1: 3 pieces." in words
    assert all(piece.number in words for piece in (*ready.stage.coats[:2], ready.stage.boots[0]))
    assert "16.2 kg" in words
    assert "Local rules decide." in words
    table = b"".join(client.get(page(ready, "list_csv")).streaming_content).decode().splitlines()  # type: ignore[attr-defined]
    assert len(table) == 4
    assert table[0].startswith("crate,kind,container,seals")
    printed = words_of(client.post(page(ready, "labels")).content)
    assert printed.count(crate.place.code) >= 3


@pytest.mark.parametrize(
    ("who", "sees", "packs"),
    [("archivist", 200, True), ("wardrobe_lead", 200, True), ("production", 200, False), ("visitor", 403, False)],
)
def test_who_may_look_and_who_may_pack(cast: Cast, ready: Ready, as_user: As, who: str, sees: int, packs: bool) -> None:
    client = as_user(getattr(cast, who))
    answer = client.get(page(ready))
    assert answer.status_code == sees
    if sees == 200:
        assert ("Take this packing" in answer.content.decode()) is packs
    assert (client.post(page(ready, "take"), {"mark": "x"}).status_code == 403) is not packs


def test_a_stranger_signs_in_first(ready: Ready, client: Client) -> None:
    assert client.get(page(ready)).status_code == 302


def test_nobody_reads_who_wears_what(cast: Cast, ready: Ready, as_user: As) -> None:
    assert "Quillfeather" not in text(as_user(cast.production), page(ready))


@pytest.mark.parametrize("kept", [False, True])
def test_as_many_questions_for_three_pieces_as_for_one(
    cast: Cast, ready: Ready, as_user: As, django_assert_max_num_queries: Any, kept: bool
) -> None:
    if kept:
        taken(cast, ready)
    client = as_user(cast.archivist)
    client.get(page(ready))
    with django_assert_max_num_queries(36):
        client.get(page(ready))


def test_an_action_that_is_refused_tells_one_sentence(cast: Cast, ready: Ready) -> None:
    with pytest.raises(CatalogError, match="say into which one"):
        put(cast, ready, ready.stage.coat)


def test_the_crates_leave_and_come_back_with_their_loan(cast: Cast, ready: Ready, as_user: As) -> None:
    crate = all_in(cast, ready)
    with pytest.raises(WrongState, match="has not left yet"):
        pack_actions.crates_travel(by=cast.archivist, loan=ready.loan, away=True)
    loans.send_loan(by=cast.archivist, loan=ready.loan, taken_by="B. Driver")
    client = as_user(cast.archivist)
    assert "The crates left with it" in text(client, page(ready))
    assert client.post(page(ready, "travel"), {"away": "yes"}).status_code == 302
    crate.place.refresh_from_db()
    assert (crate.place.state, crate.place.parent) == ("out", None)
    with pytest.raises(Refused, match="away already"):
        pack_actions.crates_travel(by=cast.archivist, loan=ready.loan, away=True)
    assert client.post(page(ready, "travel"), {"away": "no"}).status_code == 302
    crate.place.refresh_from_db()
    assert crate.place.state == "in store"
