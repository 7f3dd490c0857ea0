"""Scans from a device: repeated sends, late ones that were overtaken, taking back, and many at once."""

import threading
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import IntegrityError, connections, transaction

from catalog.care.models import Quarantine
from catalog.core import clock
from catalog.core.codes import make_code
from catalog.core.errors import NotAllowed, Refused, WrongState
from catalog.core.history import faults, lines_of
from catalog.core.models import HistoryLine
from catalog.pieces.models import Piece
from catalog.storage import actions, scan_queries
from catalog.storage.models import Move, Place, Standing
from catalog.storage.scan_actions import Outcome, Scan
from catalog.storage.scan_models import KeptScan
from catalog.storage.search_queries import cause_of
from tests.cast import Cast, make_cast
from tests.storage.world import Store, make_store


@pytest.fixture
def store(cast: Cast) -> Store:
    return make_store(cast)


def put(store: Store, thing: str, to: str, *, sent: UUID | None = None, by: Any = None, **facts: Any) -> Outcome:
    scan = Scan(sent or uuid4(), thing, to, **facts)
    return actions.put_scanned(by=by or store.cast.archivist, scan=scan)


def at(number: str) -> str:
    return str(Standing.objects.get(piece__number=number).place)


def ago(**span: float) -> datetime:
    return clock.now() - timedelta(**span)


def rows() -> tuple[int, int, int]:
    return Move.objects.count(), HistoryLine.objects.count(), KeptScan.objects.count()


def test_a_repeated_send_adds_nothing_and_is_answered_the_same(store: Store) -> None:
    sent = uuid4()
    first = put(store, "M-0003", "BENCH", sent=sent)
    before = rows()
    again = put(store, "M-0003", "BENCH", sent=sent, waited=True, happened=ago(hours=2))
    assert (first.result, first.sentence) == ("done", "M-0003 is now at BENCH. It was at MAIN-10-1.")
    assert (again.result, again.sentence, again.move) == (first.result, first.sentence, first.move)
    assert rows() == before
    # The same id for another thing is a fault of the device, and for another person too.
    other = put(store, "M-0001", "BENCH", sent=sent, by=store.cast.set_costumer)
    assert (other.result, at("M-0001"), rows()) == ("refused", "BOX1", before)
    # The database itself has the last word.
    with pytest.raises(IntegrityError), transaction.atomic():
        Move.objects.create(container=store["BOX1"], happened=clock.now(), by_name="x", client_id=sent)


def test_a_late_scan_keeps_when_it_happened_and_when_it_was_recorded(store: Store) -> None:
    Standing.objects.update(since=ago(days=3), last_seen=ago(days=3).date())
    Move.objects.update(happened=ago(days=3))
    when = ago(hours=5)
    done = put(store, "m0003", "BENCH", waited=True, happened=when, reason="roof leak")
    line = lines_of(Piece.objects.get(number="M-0003").subject)[0]
    assert done.result == "done"
    assert (line.happened, line.verb, line.reason, line.client_id) == (when, "moved", "roof leak", done.move.client_id)  # type: ignore[union-attr]
    assert line.recorded - when > timedelta(hours=4, minutes=59)
    assert Standing.objects.get(piece__number="M-0003").since == when


@pytest.fixture
def overtaken(store: Store) -> tuple[UUID, datetime]:
    """M-0003 was scanned to the cage without signal; meanwhile somebody put it on the bench."""
    Move.objects.update(happened=ago(days=3))
    Standing.objects.update(since=ago(days=3), last_seen=ago(days=3).date())
    actions.move_piece(by=store.cast.set_costumer, piece=Piece.objects.get(number="M-0003"), to=store["BENCH"])
    sent, when = uuid4(), ago(hours=5)
    outcome = put(store, "M-0003", "CAGE", sent=sent, waited=True, happened=when)
    assert outcome.result == "kept"
    assert "was moved to BENCH by set_costumer on" in outcome.sentence
    return sent, when


def test_what_somebody_moved_meanwhile_waits_for_a_decision(store: Store, overtaken: tuple[UUID, datetime]) -> None:
    sent, when = overtaken
    before = rows()
    again = put(store, "M-0003", "CAGE", sent=sent, waited=True, happened=when)
    assert (again.result, rows()) == ("kept", before)
    assert at("M-0003") == "BENCH"
    assert [one.client_id for one in scan_queries.waiting(store.cast.archivist)] == [sent]
    with pytest.raises(IntegrityError), transaction.atomic():
        KeptScan.objects.create(client_id=sent, why="x", happened=when, by=store.cast.archivist)


def test_a_kept_scan_is_noted_in_the_past(store: Store, overtaken: tuple[UUID, datetime]) -> None:
    sent, when = overtaken
    kept = KeptScan.objects.get(client_id=sent)
    move = actions.note_scan(by=store.cast.archivist, kept=kept, why="it went on to the bench")
    assert (move.happened, str(move.to_place), move.by_name) == (when, "CAGE", "archivist")
    assert at("M-0003") == "BENCH"
    with pytest.raises(WrongState, match="has decided already: noted as a sighting in the past"):
        actions.drop_scan(by=store.cast.archivist, kept=kept, why="x")
    assert not scan_queries.waiting(store.cast.archivist)


def test_a_kept_scan_is_carried_out_or_dropped(store: Store, overtaken: tuple[UUID, datetime]) -> None:
    kept = KeptScan.objects.get()
    with pytest.raises(Refused, match="why"):
        actions.drop_scan(by=store.cast.archivist, kept=kept, why=" ")
    with pytest.raises(NotAllowed):
        actions.drop_scan(by=store.cast.production, kept=kept, why="x")
    piece = Piece.objects.get(number="M-0003")
    move = actions.carry_out(by=store.cast.set_costumer, kept=kept, thing=piece, to=store["CAGE"], why="I looked")
    kept.refresh_from_db()
    assert (at("M-0003"), kept.move, kept.decided_by) == ("CAGE", move, store.cast.set_costumer)
    assert "(scanned " in move.reason
    assert move.reason.endswith("I looked")
    assert put(store, "M-0003", "CAGE", sent=kept.client_id).result == "kept"
    other = put(store, "M-9999", "CAGE", waited=True, happened=ago(hours=1)).kept
    assert other is not None
    actions.drop_scan(by=store.cast.archivist, kept=other, why="a note on paper, no piece")
    assert KeptScan.objects.get(pk=other.pk).decision == "dropped"


@pytest.mark.parametrize(
    ("thing", "to", "said", "slot"),
    [
        ("M-0003", "MUSEUM", "away from the store", "to"),
        ("M-0002", "MAIN-2-1", "is in quarantine", "to"),
        ("M-0001", "M-0003", "is a piece, not a place", "to"),
        ("BENCH", "MAIN-2-1", "it stays where it is", "thing"),
        ("BOX1", "BOX1", "cannot be put inside itself", "to"),
        ("NO-SUCH", "BENCH", "No piece, place or label", "thing"),
    ],
)
def test_a_rule_that_says_no(store: Store, thing: str, to: str, said: str, slot: str) -> None:
    """With a signal the answer is no and nothing is written; without one the scan waits for a decision."""
    Quarantine.objects.create(
        piece=Piece.objects.get(number="M-0002"), opened_on=clock.today(), due_on=clock.today(), reason="moth"
    )
    before = rows()
    live = put(store, thing, to)
    assert (live.result, live.slot) == ("refused", slot)
    assert said in live.sentence
    assert rows() == before
    late = put(store, thing, to, waited=True, happened=clock.now())
    assert late.result == "kept"
    assert said in late.kept.why  # type: ignore[union-attr]
    assert (rows()[:2], rows()[2]) == (before[:2], before[2] + 1)


def test_what_is_out_on_loan_waits_for_a_decision(store: Store) -> None:
    piece = Piece.objects.get(number="M-0003")
    actions.send_out(by=store.cast.archivist, piece=piece, to=store["MUSEUM"], reason="loan")
    late = put(store, "M-0003", "BENCH", waited=True, happened=clock.now())
    assert late.result == "kept"
    assert "M-0003 is out" in late.kept.why  # type: ignore[union-attr]
    assert Standing.objects.get(piece=piece).state == "out"


def test_a_misread_label_names_what_it_may_have_been(store: Store) -> None:
    """Wrong check character and two swapped digits: ISO 7064 finds both, and the thing is named."""
    piece = Piece.objects.get(number="M-0001")
    code = actions.issue_label(by=store.cast.archivist, piece=piece).code
    spot = next((i for i in range(1, 5) if code[i] != code[i + 1]), 5)
    swapped = code[:spot] + code[spot + 1] + code[spot] + code[spot + 2 :]
    for wrong in (swapped, code[:6] + ("A" if code[6] != "A" else "B")):
        said = put(store, wrong, "BENCH")
        assert said.result == "refused"
        assert "wrong check character" in said.sentence
        assert said.reading is not None
        assert piece in said.reading.suggestions
    assert put(store, make_code("P", 4711), "BENCH").sentence.endswith("is on no label of this store.")


def test_taking_back_is_another_move_and_another_line(store: Store) -> None:
    piece = Piece.objects.get(number="M-0003")
    Standing.objects.filter(piece=piece).update(last_seen=ago(days=400).date(), last_seen_by="an old list")
    sent, undo = uuid4(), uuid4()
    put(store, "M-0003", "BENCH", sent=sent, reason="tidying")
    back = actions.undo_scanned(by=store.cast.archivist, undoes=sent, client_id=undo)
    assert (back.result, back.sentence) == ("done", "M-0003 is taken back: it is at MAIN-10-1 again.")
    before = rows()
    again = actions.undo_scanned(by=store.cast.archivist, undoes=sent, client_id=undo)
    assert (again.sentence, rows()) == (back.sentence, before)
    standing = Standing.objects.get(piece=piece)
    assert (str(standing.place), standing.last_seen, standing.last_seen_by) == (
        "MAIN-10-1", ago(days=400).date(), "an old list",
    )  # fmt: skip
    assert [line.verb for line in lines_of(piece.subject)[:2]] == ["scan undone", "moved"]
    assert back.move is not None
    assert (back.move.undoes.client_id, back.move.reason) == (sent, "scan undone: tidying")  # type: ignore[union-attr]
    with pytest.raises(IntegrityError), transaction.atomic():
        Move.objects.create(piece=piece, happened=clock.now(), by_name="x", undoes=back.move.undoes)
    assert list(faults()) == []


def test_what_cannot_be_taken_back_says_why(store: Store) -> None:
    sent, other = uuid4(), uuid4()
    put(store, "BOX1", "BENCH", sent=sent)
    said = actions.undo_scanned(by=store.cast.set_costumer, undoes=sent, client_id=uuid4()).sentence
    assert "only who made a scan can take it back" in said
    put(store, "BOX1", "CAGE", sent=other)
    assert "has moved on" in actions.undo_scanned(by=store.cast.archivist, undoes=sent, client_id=uuid4()).sentence
    assert actions.undo_scanned(by=store.cast.archivist, undoes=other, client_id=uuid4()).result == "done"
    assert str(store["BOX1"].parent) == "BENCH"
    store.piece("M-0009")
    put(store, "M-0009", "BENCH", sent=(first := uuid4()))
    assert "had no place" in actions.undo_scanned(by=store.cast.archivist, undoes=first, client_id=uuid4()).sentence
    assert actions.undo_scanned(by=store.cast.archivist, undoes=uuid4(), client_id=uuid4()).result == "refused"


def test_a_piece_taken_from_treatment_by_mistake_is_at_treatment_again(store: Store) -> None:
    piece = Piece.objects.get(number="M-0003")
    actions.take_to_treatment(by=store.cast.archivist, piece=piece, to=store["BENCH"], reason="mending")
    put(store, "M-0003", "MAIN-2-1", sent=(sent := uuid4()))
    assert Standing.objects.get(piece=piece).state == "in store"
    actions.undo_scanned(by=store.cast.archivist, undoes=sent, client_id=uuid4())
    standing = Standing.objects.get(piece=piece)
    assert (str(standing.place), standing.state) == ("BENCH", "at treatment")


def test_a_kept_scan_is_taken_back_by_who_scanned_it(store: Store, overtaken: tuple[UUID, datetime]) -> None:
    said = [
        actions.undo_scanned(by=store.cast.archivist, undoes=overtaken[0], client_id=uuid4()).sentence for _ in range(2)
    ]
    assert said[0] == said[1] == "M-0003 to CAGE is taken back: nothing was moved."
    assert KeptScan.objects.get().decision == "dropped"


def test_moves_of_one_emergency_share_their_reason(store: Store) -> None:
    """What is left to carry shrinks as it is scanned; the search for lost things can go by the shared cause."""
    assert [str(one) for one in scan_queries.left_in(store["MAIN"], store.cast.archivist)[1]] == [
        "BOX1", "BOX2", "M-0003",
    ]  # fmt: skip
    for thing in ("BOX1", "M-0003"):
        put(store, thing, "BENCH", reason="roof leak: out of the hall", waited=True, happened=clock.now())
    assert scan_queries.left_in(store["MAIN"], store.cast.archivist)[0] == 1
    reasons = Move.objects.filter(to_place__code="BENCH").values_list("reason", flat=True)
    assert {cause_of(reason) for reason in reasons} == {"roof leak"}


# --- many at once: on whichever database the suite runs on -----------------------------------------------------------
def race(runners: list[Callable[[], object]]) -> list[Any]:
    results: list[Any] = [None] * len(runners)
    start = threading.Barrier(len(runners))

    def run(n: int) -> None:
        try:
            start.wait(timeout=30)
            results[n] = runners[n]()
        except Exception as error:  # noqa: BLE001 - any other error must fail the test, with its name
            results[n] = error
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=(n,)) for n in range(len(runners))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return results


def test_the_same_scan_sent_by_eight_at_once_is_kept_once(transactional_db: None) -> None:
    store = make_store(make_cast())
    Move.objects.update(happened=ago(days=3))
    live, late = uuid4(), uuid4()
    for sent, to, want in ((live, "BENCH", "done"), (late, "MUSEUM", "kept")):
        before = rows()
        send = lambda to=to, sent=sent: put(store, "M-0003", to, sent=sent, waited=to == "MUSEUM", happened=None)  # noqa: E731
        results = race([send] * 8)
        assert {getattr(one, "result", one) for one in results} == {want}
        assert len({one.sentence for one in results}) == 1
        grown = [now - then for now, then in zip(rows(), before, strict=True)]
        assert grown == ([1, 1, 0] if want == "done" else [0, 0, 1])
    backs = [lambda: actions.undo_scanned(by=store.cast.archivist, undoes=live, client_id=uuid4())] * 6
    assert {getattr(one, "sentence", one) for one in race(backs)} == {"M-0003 is taken back: it is at MAIN-10-1 again."}
    kept = KeptScan.objects.get()
    piece, bench = Piece.objects.get(number="M-0003"), Place.objects.get(code="BENCH")
    decide = [
        lambda: actions.carry_out(by=store.cast.archivist, kept=kept, thing=piece, to=bench),
        lambda: actions.drop_scan(by=store.cast.archivist, kept=kept, why="mistaken"),
    ] * 3
    assert sum(not isinstance(one, WrongState) for one in race(decide)) == 1
    assert list(faults()) == []


def test_sixteen_devices_at_once_lose_and_double_nothing(transactional_db: None) -> None:
    """Each sends four scans, each of them twice; whoever waits for the database waits, and nobody sees it locked."""
    store = make_store(make_cast())
    before = rows()
    things, places = ("M-0001", "M-0003", "BOX2"), ("BENCH", "MAIN-2-1")

    def device(n: int) -> Callable[[], object]:
        scans = [Scan(uuid4(), things[(n + turn) % 3], places[turn % 2]) for turn in range(4)]
        send = lambda one: actions.put_scanned(by=store.cast.archivist, scan=one)  # noqa: E731
        return lambda: [(send(one).sentence, send(one).sentence) for one in scans]

    results = race([device(n) for n in range(16)])
    assert all(isinstance(one, list) for one in results), results
    assert all(first == again for pairs in results for first, again in pairs)
    assert Move.objects.count() - before[0] == HistoryLine.objects.count() - before[1] == 64
    assert list(faults()) == []
    for number in ("M-0001", "M-0003"):
        last = Move.objects.filter(piece__number=number).order_by("-id").first()
        assert last is not None
        assert at(number) == str(last.to_place)
