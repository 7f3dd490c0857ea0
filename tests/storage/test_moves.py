"""Moving pieces and trunks: everything kept together, nothing lost, nothing moved that may not be."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine

from catalog.access.duties import Duty
from catalog.care.models import Quarantine
from catalog.core.errors import NotAllowed, Refused, WrongState
from catalog.core.history import faults, lines_of
from catalog.storage import actions, queries
from catalog.storage.models import Move, Place, Standing
from tests.storage.world import Store


@pytest.fixture(autouse=True)
def _on_the_day():
    with time_machine.travel("2031-05-01 09:00Z", tick=False):
        yield


def quarantine(store: Store, number: str) -> Quarantine:
    piece = Standing.objects.get(piece__number=number).piece
    return Quarantine.objects.create(
        piece=piece, opened_on=date(2031, 5, 1), due_on=date(2031, 5, 15), reason="back from a job"
    )


def standing(number: str) -> Standing:
    return Standing.objects.select_related("place", "home", "piece").get(piece__number=number)


def test_it_keeps_move_standing_sighting_and_line_together(store: Store) -> None:
    piece = standing("M-0003").piece
    move = actions.move_piece(by=store.cast.set_costumer, piece=piece, to=store["BENCH"], reason="loose button")
    now = standing("M-0003")
    assert (now.place.code, now.state, now.home.code) == ("BENCH", "in store", "MAIN-2-1")
    assert (now.last_seen, now.last_seen_by) == (date(2031, 5, 1), "set_costumer")
    assert (move.from_place.code, move.to_place.code, move.reason) == ("MAIN-10-1", "BENCH", "loose button")
    line = lines_of(piece.subject)[0]
    assert (line.verb, line.before, line.after) == ("moved", {"place": "MAIN-10-1"}, {"place": "BENCH"})
    assert line.reason == "loose button"


def test_it_moves_a_trunk_with_what_is_in_it(store: Store) -> None:
    actions.move_container(by=store.cast.wardrobe_lead, container=store["BOX1"], to=store["BENCH"])
    assert standing("M-0001").place.code == "BOX1"
    assert [step.code for step in queries.path(store["BOX1"])] == ["SITE", "DOCKS", "BENCH", "BOX1"]
    assert [p.number for p in queries.pieces_under(store["DOCKS"])] == ["M-0001", "M-0002"]
    assert Move.objects.filter(container__code="BOX1").count() == 1
    assert lines_of(store["BOX1"].subject)[0].after == {"parent": "BENCH"}
    # One move, one line: nothing is written about the content.
    assert [line.verb for line in lines_of(standing("M-0001").piece.subject)] == ["received", "recorded"]


@pytest.mark.parametrize("depth", [0, 1, 2, 5])
def test_it_refuses_a_trunk_inside_itself_at_any_depth(store: Store, depth: int) -> None:
    inner = "BOX1"
    for number in range(depth):
        store.place(f"IN{number}", "box", inner)
        inner = f"IN{number}"
    with pytest.raises(Refused, match="BOX1 cannot be put inside") as refusal:
        actions.move_container(by=store.cast.archivist, container=store["BOX1"], to=store[inner])
    assert refusal.value.field == "to"
    assert store["BOX1"].parent.code == "MAIN-2-1"
    assert not Move.objects.filter(container__code="BOX1").exists()


def test_it_refuses_to_move_a_shelf(store: Store) -> None:
    with pytest.raises(Refused, match="stays where it is"):
        actions.move_container(by=store.cast.archivist, container=store["MAIN-2-1"], to=store["DOCKS"])


def test_a_repeated_scan_adds_nothing_and_gives_the_move_back(store: Store) -> None:
    piece, scan = standing("M-0003").piece, uuid4()
    first = actions.move_piece(by=store.cast.archivist, piece=piece, to=store["BENCH"], client_id=scan)
    lines = lines_of(piece.subject).count()
    actions.move_piece(by=store.cast.archivist, piece=piece, to=store["MAIN-2-1"])
    again = actions.move_piece(by=store.cast.archivist, piece=piece, to=store["BENCH"], client_id=scan)
    assert again == first
    assert standing("M-0003").place.code == "MAIN-2-1"
    assert lines_of(piece.subject).count() == lines + 1
    trunk = uuid4()
    one = actions.move_container(by=store.cast.archivist, container=store["BOX1"], to=store["BENCH"], client_id=trunk)
    two = actions.move_container(by=store.cast.archivist, container=store["BOX1"], to=store["BENCH"], client_id=trunk)
    assert one == two
    with pytest.raises(Refused, match="another thing"):
        actions.move_piece(by=store.cast.archivist, piece=piece, to=store["BENCH"], client_id=trunk)


def test_moving_it_to_where_it_is_counts_as_a_sighting(store: Store) -> None:
    piece = standing("M-0003").piece
    with time_machine.travel("2031-06-02 09:00Z", tick=False):
        actions.move_piece(by=store.cast.archivist, piece=piece, to=store["MAIN-10-1"])
    assert standing("M-0003").last_seen == date(2031, 6, 2)
    assert lines_of(piece.subject)[0].verb == "seen"


def test_a_piece_that_is_out_is_not_moved_without_saying_so(store: Store) -> None:
    piece = standing("M-0003").piece
    actions.send_out(by=store.cast.archivist, piece=piece, to=store["MUSEUM"], reason="exhibition")
    assert (standing("M-0003").state, standing("M-0003").place.code) == ("out", "MUSEUM")
    with pytest.raises(WrongState, match="bring it back first"):
        actions.move_piece(by=store.cast.archivist, piece=piece, to=store["BENCH"])
    with pytest.raises(WrongState, match="only what is in store"):
        actions.send_out(by=store.cast.archivist, piece=piece, to=None, reason="again")
    actions.bring_back(by=store.cast.archivist, piece=piece, to=store["CAGE"], reason="home")
    assert (standing("M-0003").state, standing("M-0003").place.code) == ("in store", "CAGE")
    with pytest.raises(WrongState, match="only what is out"):
        actions.bring_back(by=store.cast.archivist, piece=piece, to=store["CAGE"], reason="home")


def test_nothing_goes_away_by_a_plain_move(store: Store) -> None:
    with pytest.raises(WrongState, match="away from the store"):
        actions.move_piece(by=store.cast.archivist, piece=standing("M-0003").piece, to=store["MUSEUM"])
    with pytest.raises(WrongState, match="away from the store"):
        actions.move_container(by=store.cast.archivist, container=store["BOX1"], to=store["MUSEUM"])
    with pytest.raises(Refused, match="choose an away place"):
        actions.send_out(by=store.cast.archivist, piece=standing("M-0003").piece, to=store["BENCH"], reason="")


@pytest.mark.parametrize(
    ("to", "fit"),
    [("CAGE", True), ("BENCH", True), ("MAIN-2-1", False), ("MAIN", False), ("BOX2", False), ("DOCKS", False)],
)
def test_quarantine_has_no_place_in_the_main_store(store: Store, to: str, fit: bool) -> None:
    opened = quarantine(store, "M-0003")
    piece = standing("M-0003").piece
    if fit:
        actions.move_piece(by=store.cast.archivist, piece=piece, to=store[to])
        assert standing("M-0003").place.code == to
        return
    with pytest.raises(WrongState, match="M-0003 is in quarantine"):
        actions.move_piece(by=store.cast.archivist, piece=piece, to=store[to])
    opened.released_on = date(2031, 5, 1)
    opened.save()
    actions.move_piece(by=store.cast.archivist, piece=piece, to=store[to])
    assert standing("M-0003").place.code == to


def test_a_trunk_carries_no_quarantined_piece_into_the_store(store: Store) -> None:
    store.place("INNER", "box", "BOX1")
    store.piece("M-0009", "INNER")
    quarantine(store, "M-0009")
    quarantine(store, "M-0001")
    with pytest.raises(WrongState, match="M-0001, M-0009 are in quarantine"):
        actions.move_container(by=store.cast.archivist, container=store["BOX1"], to=store["MAIN-10-1"])
    actions.move_container(by=store.cast.archivist, container=store["BOX1"], to=store["CAGE"])
    assert store["BOX1"].parent.code == "CAGE"
    with pytest.raises(WrongState, match="in quarantine"):
        actions.send_out(by=store.cast.archivist, piece=standing("M-0001").piece, to=None, reason="")


def test_an_old_list_only_adds_to_the_past(store: Store) -> None:
    """Movements of years ago are loaded after the pieces: they must not carry anything away."""
    piece = standing("M-0003").piece
    long_ago = datetime(2011, 5, 17, tzinfo=UTC)
    actions.move_piece(
        by=store.cast.archivist,
        piece=piece,
        to=store["BENCH"],
        happened=long_ago,
        by_name="assistant B",
        reason="survey",
    )
    move = actions.move_piece(
        by=store.cast.archivist, piece=piece, to=store["MAIN"], happened=long_ago + timedelta(days=2), by_name="B"
    )
    assert move.from_place.code == "BENCH"
    assert (standing("M-0003").place.code, standing("M-0003").last_seen) == ("MAIN-10-1", date(2031, 5, 1))
    line = lines_of(piece.subject)[0]
    assert (line.by_name, line.happened.year, line.recorded.year) == ("B", 2011, 2031)


def test_where_a_trunk_went_may_be_written_nowhere(store: Store) -> None:
    """Unknown counts for nobody: the trunk and its content are not found from then on."""
    actions.move_container(by=store.cast.archivist, container=store["BOX1"], to=None, reason="roof leak")
    assert (store["BOX1"].parent, store["BOX1"].state) == (None, "not found")
    assert (standing("M-0001").state, standing("M-0001").place.code) == ("not found", "BOX1")
    assert lines_of(standing("M-0002").piece.subject)[0].after == {"state": "not found", "missing": "BOX1"}
    with pytest.raises(WrongState, match="say that it was found"):
        actions.move_container(by=store.cast.archivist, container=store["BOX1"], to=store["BENCH"])
    with pytest.raises(WrongState, match="nothing can be put into it"):
        actions.move_piece(by=store.cast.archivist, piece=standing("M-0003").piece, to=store["BOX1"])


def test_treatment_ends_when_it_leaves_the_bench(store: Store) -> None:
    piece = standing("M-0003").piece
    actions.take_to_treatment(by=store.cast.archivist, piece=piece, to=store["BENCH"], reason="wax")
    actions.move_piece(by=store.cast.archivist, piece=piece, to=store["CAGE"])
    assert standing("M-0003").state == "at treatment"
    actions.move_piece(by=store.cast.archivist, piece=piece, to=store["MAIN-2-1"])
    assert standing("M-0003").state == "in store"


def test_a_piece_without_a_standing_is_received_by_its_first_move(store: Store) -> None:
    piece = store.piece("M-0010")
    with pytest.raises(Refused, match="Say where M-0010 is"):
        actions.receive_piece(by=store.cast.archivist, piece=piece)
    actions.move_piece(by=store.cast.archivist, piece=piece, to=store["BENCH"])
    assert (standing("M-0010").place.code, standing("M-0010").home) == ("BENCH", None)
    with pytest.raises(WrongState, match="received already"):
        actions.receive_piece(by=store.cast.archivist, piece=piece, place=store["BENCH"])
    actions.set_home(by=store.cast.archivist, piece=piece, home=store["MAIN-2-1"])
    assert lines_of(piece.subject)[0].after == {"home": "MAIN-2-1"}


def test_a_list_is_no_sighting(store: Store) -> None:
    piece = store.piece("M-0011")
    actions.receive_piece(by=store.cast.archivist, piece=piece, home=store["MAIN-2-1"], source="pieces.csv row 4")
    assert (standing("M-0011").place.code, standing("M-0011").last_seen) == ("MAIN-2-1", None)
    assert queries.where_is(piece).sure is False


@pytest.mark.parametrize("duty", [Duty.PRODUCTION, Duty.VISITOR])
def test_it_is_not_for_everybody(store: Store, duty: Duty) -> None:
    who = store.cast.of(duty)
    piece = standing("M-0003").piece
    with pytest.raises(NotAllowed):
        actions.move_piece(by=who, piece=piece, to=store["BENCH"])
    with pytest.raises(NotAllowed):
        actions.move_container(by=who, container=store["BOX1"], to=store["BENCH"])
    with pytest.raises(NotAllowed):
        actions.mark_missing(by=who, piece=piece)
    with pytest.raises(NotAllowed):
        actions.add_place(by=who, code="X", name="x", kind="room")
    with pytest.raises(NotAllowed):
        actions.issue_label(by=who, piece=piece)
    assert standing("M-0003").place.code == "MAIN-10-1"


def test_the_chain_holds_after_all_this(store: Store) -> None:
    piece = standing("M-0003").piece
    for code in ("BENCH", "BOX2", "MAIN-2-1"):
        actions.move_piece(by=store.cast.archivist, piece=piece, to=store[code])
    actions.move_container(by=store.cast.archivist, container=store["BOX2"], to=store["BOX1"])
    assert list(faults()) == []
    assert Place.objects.get(code="BOX2").parent == store["BOX1"]
