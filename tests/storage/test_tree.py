"""Random moves against a plain dict: no cycle, the right content, the right path, whatever the order of moves."""

from concurrent.futures import ThreadPoolExecutor
from random import Random
from threading import Barrier

import pytest
from django.db import connection
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog.core.errors import Refused
from catalog.core.history import faults
from catalog.storage import actions, queries, tree
from catalog.storage.models import Move, Place, Standing
from catalog.storage.place_actions import refuse_inside_itself
from tests.storage.world import Store

ROOMS = ("R0", "R1")
BOXES = tuple(f"B{n}" for n in range(6))
PIECES = tuple(f"T-{n:04d}" for n in range(5))

STEP = st.tuples(st.sampled_from(BOXES + PIECES), st.sampled_from(ROOMS + BOXES))


def above(parents: dict[str, str], code: str) -> list[str]:
    """The plain model's path, innermost first."""
    path = [code]
    while path[-1] in parents:
        path.append(parents[path[-1]])
    return path


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(STEP, max_size=25))
def test_random_moves_keep_the_tree(store: Store, steps: list[tuple[str, str]]) -> None:
    _fresh(store)
    parents = dict.fromkeys((*BOXES, *PIECES), "R0")
    for what, to in steps:
        if what in PIECES:
            actions.move_piece(
                by=store.cast.archivist, piece=Standing.objects.get(piece__number=what).piece, to=store[to]
            )
            parents[what] = to
        elif what in above(parents, to):
            with pytest.raises(Refused, match="cannot be put inside"):
                actions.move_container(by=store.cast.archivist, container=store[what], to=store[to])
        else:
            actions.move_container(by=store.cast.archivist, container=store[what], to=store[to])
            parents[what] = to
    _compare(store, parents)


def _fresh(store: Store) -> None:
    """The same start for every example: boxes and pieces in room R0."""
    if "R0" not in store.places:
        for code in ROOMS:
            store.place(code, "room")
        for code in BOXES:
            store.place(code, "box", "R0")
        for number in PIECES:
            store.piece(number, "R0")
        return
    Place.objects.filter(code__in=BOXES).update(parent=store["R0"])
    Standing.objects.filter(piece__number__in=PIECES).update(place=store["R0"])


def _compare(store: Store, parents: dict[str, str]) -> None:
    for code in BOXES:
        assert [step.code for step in tree.path(store[code])] == above(parents, code)[::-1]
    for code in ROOMS + BOXES:
        inside = {what for what in parents if code in above(parents, what)}
        assert {p.number for p in queries.pieces_under(store[code])} == inside & set(PIECES)
        boxes = Place.objects.filter(pk__in=tree.ids_under(store[code])).values_list("code", flat=True)
        assert set(boxes) - {code} == (inside & set(BOXES)) - {code}
        held = queries.content(store[code])
        assert held.count == len(inside & set(PIECES))
        assert sum(held.by_child.values()) == held.count


def test_the_chain_holds_after_many_moves(store: Store) -> None:
    _fresh(store)
    for turn in range(12):
        box = store[BOXES[turn % len(BOXES)]]
        actions.move_container(by=store.cast.archivist, container=box, to=store[ROOMS[turn % 2]])
    assert list(faults()) == []
    assert Move.objects.filter(container__code__in=BOXES).count() == 12


def test_paths_take_two_queries_however_many(store: Store, django_assert_num_queries) -> None:
    ids = list(Place.objects.values_list("pk", flat=True))
    with django_assert_num_queries(2):
        found = tree.paths(ids)
    assert set(found) == set(ids)
    with django_assert_num_queries(0):
        assert tree.paths([]) == {}


def test_walking_keys_sort_by_room_then_rack(store: Store) -> None:
    codes = {place.pk: place.code for place in Place.objects.all()}
    keys = queries.walking_keys(codes)
    walk = [codes[pk] for pk in sorted(keys, key=lambda pk: keys[pk])]
    assert walk.index("MAIN-2-1") < walk.index("BOX1") < walk.index("MAIN-10-1") < walk.index("DOCKS")


def test_where_a_piece_is_told_in_a_sentence(store: Store, django_assert_num_queries) -> None:
    pieces = list(store.production.pieces.order_by("number"))
    with django_assert_num_queries(3):
        found = queries.where_are(pieces)
    first = found[pieces[0].pk]
    assert first.sentence == "In store: site SITE, Main Hall, rack 2, level 1, in BOX1."
    assert (first.at_home, first.sure, first.place.code) == (True, True, "BOX1")
    assert found[pieces[2].pk].at_home is False
    actions.move_container(by=store.cast.archivist, container=store["BOX1"], to=None)
    lost = queries.where_is(pieces[0])
    assert (lost.sentence, lost.tone) == ("Not found, last known in BOX1.", "bad")
    assert queries.where_facts(pieces[0])["lost_with"].code == "BOX1"
    unplaced = queries.where_is(store.piece("M-0099"))
    assert (unplaced.state, unplaced.at_home) == ("not recorded", None)


@pytest.mark.django_db(transaction=True)
def test_two_trunks_are_not_put_into_each_other_at_the_same_moment(store: Store) -> None:
    """Each move is fine by itself; together they would make a circle. One of them must lose."""
    start = Barrier(2)

    def put(what: str, to: str) -> str:
        start.wait()
        try:
            actions.move_container(by=store.cast.archivist, container=store[what], to=store[to])
        except Refused:
            return "refused"
        finally:
            connection.close()
        return "moved"

    for _ in range(5):
        Place.objects.filter(code__in=["BOX1", "BOX2"]).update(parent=store["MAIN"])
        with ThreadPoolExecutor(2) as pool:
            told = sorted(pool.map(put, ["BOX1", "BOX2"], ["BOX2", "BOX1"]))
        assert told == ["moved", "refused"]


def test_a_name_on_a_path_does_not_say_again_what_stands_above_it() -> None:
    steps = [Place(name=name) for name in ("Trunk Hall", "rack G", "rack G, bay 4", "rack G, bay 4, level 3", "rack G")]
    assert tree.names(steps) == ["Trunk Hall", "rack G", "bay 4", "level 3", "rack G"]
    assert tree.names([]) == []


def test_ten_thousand_random_moves_keep_paths_content_and_cycles_right(store: Store) -> None:
    """The tree's own rules against plain dicts; every twentieth move is the whole action, the others its rows alone."""
    steps, boxes, pieces = (10_000 if connection.vendor == "sqlite" else 1_000), 40, 60
    lot, by = Random(20_311), store.cast.archivist
    room = Place.objects.bulk_create(Place(code=f"Z{n}", name="room", kind="room") for n in range(5))
    box = Place.objects.bulk_create(Place(code=f"Y{n}", name="box", kind="box", parent=room[0]) for n in range(boxes))
    made = [store.piece(f"W-{n:04d}") for n in range(pieces)]
    Standing.objects.bulk_create(Standing(piece=piece, place=room[0], state="in store") for piece in made)
    parents = {one.code: "Z0" for one in box} | {piece.number: "Z0" for piece in made}
    refused = 0
    for step in range(1, steps + 1):
        to, whole = lot.choice(room if lot.random() < 0.2 else box), step % 20 == 0
        if lot.random() < 0.3:
            piece = lot.choice(made)
            if whole:
                actions.move_piece(by=by, piece=piece, to=to)
            else:
                Standing.objects.filter(piece=piece).update(place=to)
            parents[piece.number] = to.code
        else:
            moved = lot.choice(box)
            try:
                if whole:
                    actions.move_container(by=by, container=moved, to=to)
                else:
                    refuse_inside_itself(moved, to)
                    Place.objects.filter(pk=moved.pk).update(parent=to)
            except Refused:
                refused += 1
                assert moved.code in above(parents, to.code)
            else:
                assert moved.code not in above(parents, to.code)
                parents[moved.code] = to.code
                assert [one.code for one in tree.steps(moved)] == above(parents, moved.code)[::-1]
        if step % 500 == 0:
            _same_everywhere([*room, *box], parents)
    assert refused > steps / 40, "the lot must try many circles"
    assert list(faults()) == []


def _same_everywhere(places: list[Place], parents: dict[str, str]) -> None:
    """Every path, and what lies in every place, as the plain dict says."""
    paths = {key: [one.code for one in path] for key, path in tree.paths([one.pk for one in places]).items()}
    assert paths == {one.pk: above(parents, one.code)[::-1] for one in places}
    inside: dict[str, set[str]] = {one.code: set() for one in places}
    for code in parents:
        for over in above(parents, code)[1:]:
            inside[over].add(code)
    for one in places:
        assert {piece.number for piece in queries.pieces_under(one)} == {
            code for code in inside[one.code] if "-" in code
        }
        under = set(tree.under(one).exclude(pk=one.pk).values_list("code", flat=True))
        assert under == {code for code in inside[one.code] if "-" not in code}
