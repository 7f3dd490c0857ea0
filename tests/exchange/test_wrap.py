"""A wrap list as a table: what is kept becomes pieces with an owner, what is not kept is told and written down."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from catalog.care.models import Quarantine
from catalog.core import history
from catalog.core.errors import BadTable, NotAllowed
from catalog.exchange.actions import Outcome, import_table
from catalog.pieces.models import Piece
from catalog.storage import actions
from catalog.storage.models import Standing
from catalog.storage.receiving_models import WrapThing
from tests.cast import Cast
from tests.storage.world import Store, make_store

HEADER = "number,name,kind,production,owner,owner_name,fate,container\n"
LIST = (
    ",pea coat,coat,MOOR,ours,,keep,T01\n"
    "MOOR-0001,sea boots,boots,MOOR,ours,,keep,T01\n"
    ",oilskin,coat,MOOR,hired in,Gale and Sons,keep,\n"
    ",fur coat,coat,MOOR,hired in,Gale and Sons,return,T01\n"
    ",own watch,,MOOR,performer's own,Somebody Known,performer's own,\n"
    ",torn socks,,MOOR,,,dispose,\n"
)


@pytest.fixture
def store(cast: Cast) -> Store:
    made = make_store(cast)
    actions.receive_trunk(by=cast.archivist, place=made["CAGE"], production=made.production, said=2)
    return made


def load(store: Store, text: str, **options: Any) -> Outcome:
    by = options.pop("by", store.cast.archivist)
    return import_table(by=by, kind="wrap", data=text.encode(), file_name="wrap.csv", **options)


def test_what_is_kept_becomes_pieces_and_the_rest_is_named_in_the_answer(store: Store) -> None:
    before = Piece.objects.count()
    outcome = load(store, HEADER + LIST)
    assert Piece.objects.count() == before + 3
    assert {p.name: p.number for p in Piece.objects.filter(number__startswith="MOOR-")} == {
        "sea boots": "MOOR-0001",
        "pea coat": "MOOR-0002",
        "oilskin": "MOOR-0003",
    }
    assert Piece.objects.get(name="oilskin").owner_name == "Gale and Sons"
    assert outcome.sentence == "3 pieces, 1 thing to return, 1 thing of a performer, 1 thing to dispose of stored."
    assert outcome.notes == (
        "To return, no piece (1): fur coat (Gale and Sons).",
        "A performer's own, no piece (1): own watch.",
        "To dispose of, no piece (1): torn socks.",
    )
    assert list(WrapThing.objects.values_list("name", "owner_name").order_by("name")) == [
        ("fur coat", "Gale and Sons"),
        ("own watch", ""),
        ("torn socks", ""),
    ]


def test_what_is_packed_in_a_received_trunk_is_expected_there_and_in_quarantine(store: Store) -> None:
    load(store, HEADER + LIST)
    boots = Piece.objects.get(name="sea boots")
    standing = Standing.objects.select_related("place").get(piece=boots)
    assert (str(standing.place), standing.last_seen) == ("T01", None)
    assert Quarantine.objects.filter(piece=boots, released_on=None).count() == 1
    assert not Standing.objects.filter(piece__name="oilskin").exists()


def test_the_productions_history_tells_what_was_not_kept_and_no_performers_name(store: Store) -> None:
    load(store, HEADER + LIST)
    lines = history.lines_of(store.production.subject).filter(verb="not kept")
    assert lines.count() == 3
    assert "Somebody Known" not in str([(line.after, line.reason) for line in lines])


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (",pea coat,coat,MOOR,,,keep,\n", "Row 3, owner: what is kept needs an owner"),
        (",pea coat,coat,MOOR,hired in,,keep,\n", "Row 3, owner_name: it is not ours: say who owns it"),
        (",pea coat,,MOOR,ours,,keep,\n", "Row 3, kind: what is kept needs a kind"),
        (",pea coat,coat,MOOR,ours,,sell,\n", "Row 3, fate: “sell” is not known"),
        (",pea coat,coat,MOOR,ours,,,\n", "Row 3, fate: is empty"),
        (",pea coat,coat,MOOR,ours,,keep,T99\n", "Row 3, container: there is no place “T99”"),
        (",pea coat,coat,MOOR,ours,,keep,MAIN\n", "Row 3, container: MAIN is a room, not a container"),
        ("M-0001,pea coat,coat,MOOR,ours,,keep,\n", "Row 3, number: The number M-0001 is taken"),
        (",pea coat,coat,NONE,ours,,keep,\n", "Row 3, production: there is no production “NONE”"),
    ],
)
def test_a_fault_names_its_row_and_nothing_is_stored(store: Store, row: str, sentence: str) -> None:
    before = Piece.objects.count()
    with pytest.raises(BadTable) as told:
        load(store, HEADER + ",cane,prop,MOOR,ours,,return,\n" + row)
    assert any(fault.startswith(sentence) for fault in told.value.faults), told.value.faults
    assert Piece.objects.count() == before
    assert not WrapThing.objects.exists()


def test_a_dry_run_stores_nothing_and_only_the_archivist_loads(store: Store) -> None:
    assert load(store, HEADER + LIST, dry_run=True).notes
    assert not WrapThing.objects.exists()
    with pytest.raises(NotAllowed):
        load(store, HEADER + LIST, by=store.cast.wardrobe_lead)


def test_the_page_looks_first_then_loads_and_the_list_shows_what_is_not_kept(
    store: Store, as_user: Callable[[Any], Client]
) -> None:
    client = as_user(store.cast.archivist)
    look = client.post(reverse("exchange:import"), {"kind": "wrap", "pasted": HEADER + LIST})
    assert "A performer&#x27;s own, no piece (1): own watch." in look.content.decode()
    client.post(reverse("exchange:import"), {"sealed": look.context["sealed"]})
    page = client.get(reverse("storage:received")).content.decode()
    assert "fur coat" in page
    assert "Somebody Known" not in page
    unpack = client.get(reverse("storage:unpack", args=["T01"])).content.decode()
    assert "fur coat (to return, Gale and Sons)" in unpack
