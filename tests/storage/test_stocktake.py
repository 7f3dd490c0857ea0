"""Stocktakes by their actions: draw, blind count by two, what came of it, and every answer to a line."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from catalog.core.errors import NotAllowed, Refused, WrongState
from catalog.core.history import faults, lines_of
from catalog.pieces.actions import value_piece
from catalog.pieces.models import Piece
from catalog.storage import actions, stocktake_queries, stocktake_resolving
from catalog.storage import stocktake_actions as taking
from catalog.storage.calc.sampling import draw
from catalog.storage.models import Label, MissingFile, Place, Sighting, Standing, Stocktake, StocktakeLine
from catalog.storage.queries import label_of
from catalog.storage.stocktake_actions import Spot
from tests.demo_world import DemoWorld
from tests.storage.world import Store

See = Callable[..., Sighting]


@pytest.fixture
def take(store: Store) -> Stocktake:
    """Everything in the hall; an old sighting of each thing, so that a new one shows."""
    Standing.objects.update(last_seen=date(2020, 1, 1), since=timezone.now() - timedelta(days=400))
    return taking.start_stocktake(by=store.cast.archivist, place=store["MAIN"], draw="everything")


@pytest.fixture
def see(store: Store, take: Stocktake) -> See:
    """`see("M-0001", "MAIN-2-1", inside)`: the archivist saw a piece or container there."""

    def saw(code: str, at: str, inside: Sighting | None = None, **more: Any) -> Sighting:
        piece = Piece.objects.filter(number=code).first()
        box = None if piece else Place.objects.filter(code=code).first()
        more = {"by": store.cast.archivist, "client_id": uuid4()} | more
        if not piece and not box:
            more = {"reads": code} | more
        return taking.see(stocktake=take, at=Spot(store[at], inside), piece=piece, container=box, **more)

    return saw


def close(store: Store, take: Stocktake, *counted: str) -> dict[str, list[str]]:
    """Close after these places are counted; the lines by kind."""
    for code in counted or [stop.place.code for stop in take.stops.select_related("place")]:
        taking.count_stop(by=store.cast.set_costumer, stocktake=take, place=store[code])
    taking.close_stocktake(by=store.cast.archivist, stocktake=take)
    found: dict[str, list[str]] = {}
    for row in take.lines.select_related("piece", "container", "sighting__piece", "sighting__container"):
        found.setdefault(row.kind, []).append(str(row.piece or row.container or row.sighting))
    return found


def standing(number: str) -> Standing:
    return Standing.objects.select_related("place", "home").get(piece__number=number)


def test_the_places_of_a_whole_count_are_its_shelves_in_walking_order(take: Stocktake) -> None:
    assert [stop.place.code for stop in stocktake_queries.stops_of(take)] == ["MAIN", "MAIN-2-1", "MAIN-10-1"]
    assert take.reference == f"ST-{timezone.localdate().year}-01"


def test_one_open_stocktake_a_place(store: Store, take: Stocktake) -> None:
    with pytest.raises(WrongState, match="counted already"):
        taking.start_stocktake(by=store.cast.archivist, place=store["MAIN"], draw="everything")
    other = Stocktake(reference="X-1", place=store["MAIN"], draw="everything", started_by=store.cast.archivist)
    with pytest.raises(IntegrityError), transaction.atomic():
        other.save()
    close(store, take)
    again = taking.start_stocktake(by=store.cast.archivist, place=store["MAIN"], draw="everything")
    assert again.reference.endswith("-02")


def test_a_sighting_dates_the_piece_and_tells_its_history(store: Store, take: Stocktake, see: See) -> None:
    box = see("BOX1", "MAIN-2-1")
    see("M-0001", "MAIN-2-1", box, by=store.cast.set_costumer)
    row = standing("M-0001")
    assert (row.last_seen, row.last_seen_by) == (timezone.localdate(), "set_costumer")
    assert row.place.code == "BOX1"
    assert store["BOX1"].last_seen == timezone.localdate()
    line = lines_of(row.piece.subject)[0]
    assert (line.verb, line.after, line.reason) == ("seen", {"seen": "BOX1 at MAIN-2-1"}, f"stocktake {take}")
    assert list(faults()) == []


def test_a_repeated_scan_adds_nothing_and_two_counters_add_two(store: Store, take: Stocktake, see: See) -> None:
    scan = uuid4()
    first = see("M-0003", "MAIN-10-1", client_id=scan)
    assert see("M-0003", "MAIN-10-1", client_id=scan) == first
    see("M-0003", "MAIN-10-1", by=store.cast.wardrobe_lead)
    rows = take.sightings.order_by("id").values_list("by_name", "client_id")
    assert [name for name, _ in rows] == ["archivist", "wardrobe_lead"]
    with pytest.raises(Refused, match="another thing"):
        see("M-0001", "MAIN-10-1", client_id=scan)


@pytest.mark.parametrize("who", ["production", "visitor"])
def test_who_may_not_count_or_start(store: Store, take: Stocktake, see: See, who: str) -> None:
    with pytest.raises(NotAllowed):
        see("M-0003", "MAIN-10-1", by=getattr(store.cast, who))
    for other in (who, "wardrobe_lead"):
        with pytest.raises(NotAllowed):
            taking.start_stocktake(by=getattr(store.cast, other), place=store["DOCKS"], draw="everything")
        with pytest.raises(NotAllowed):
            taking.close_stocktake(by=getattr(store.cast, other), stocktake=take)


def test_what_cannot_be_counted_is_refused(store: Store, take: Stocktake, see: See) -> None:
    with pytest.raises(Refused, match="BENCH is not part"):
        see("M-0003", "BENCH")
    with pytest.raises(Refused, match="counted in, not counted"):
        see("MAIN-10-1", "MAIN-2-1")
    with pytest.raises(WrongState, match="No place is counted"):
        taking.close_stocktake(by=store.cast.archivist, stocktake=take)
    box = see("BOX1", "MAIN-2-1")
    with pytest.raises(Refused, match="not seen here"):
        see("M-0001", "MAIN-10-1", box)
    close(store, take)
    with pytest.raises(WrongState, match="closed"):
        see("M-0003", "MAIN-10-1")


def test_the_next_trunk_stands_on_the_shelf_and_a_box_in_the_trunk(store: Store, take: Stocktake, see: See) -> None:
    store.place("SMALL", "box", "BOX1")
    trunk = see("BOX1", "MAIN-2-1")
    assert see("SMALL", "MAIN-2-1", trunk).inside == trunk
    assert see("BOX2", "MAIN-2-1", trunk).inside is None


def test_the_last_scan_is_taken_back_by_a_line(store: Store, take: Stocktake, see: See) -> None:
    box = see("BOX1", "MAIN-2-1")
    one = see("M-0001", "MAIN-2-1", box)
    with pytest.raises(WrongState, match="take those back first"):
        taking.take_back(by=store.cast.archivist, sighting=box)
    taking.take_back(by=store.cast.archivist, sighting=one)
    with pytest.raises(WrongState, match="already"):
        taking.take_back(by=store.cast.archivist, sighting=one)
    assert lines_of(standing("M-0001").piece.subject)[0].verb == "sighting taken back"
    assert "M-0001" in close(store, take)["missing"]


def test_the_four_lists(store: Store, take: Stocktake, see: See) -> None:
    store.piece("M-0004", "MAIN-2-1")
    store.piece("D-0001", "BENCH")
    Standing.objects.update(since=timezone.now() - timedelta(days=1))
    box = see("BOX1", "MAIN-2-1")
    see("M-0001", "MAIN-2-1", box)
    see("M-0002", "MAIN-2-1")
    see("M-0003", "MAIN-10-1")
    see("BOX2", "MAIN-10-1")
    see("D-0001", "MAIN-10-1")
    see("ZZ-9", "MAIN-10-1")
    see("", "MAIN-10-1", reads="", words="a cap, no label")
    assert close(store, take) == {
        "missing": ["M-0004"],
        "extra": ["D-0001"],
        "wrong place": ["M-0002", "BOX2"],
        "unreadable": ["ZZ-9"],
        "unlabelled": ["a cap, no label"],
    }


def test_shelves_nobody_counted_are_not_judged(store: Store, take: Stocktake, see: See) -> None:
    see("BOX2", "MAIN-2-1")
    assert close(store, take, "MAIN-10-1") == {"missing": ["M-0003"]}
    assert {stop.place.code for stop in stocktake_queries.not_counted(take)} == {"MAIN", "MAIN-2-1"}


def line(take: Stocktake, kind: str) -> StocktakeLine:
    return take.lines.get(kind=kind)


def test_missing_is_settled_by_its_file_or_by_a_second_look(store: Store, take: Stocktake, see: See) -> None:
    close(store, take, "MAIN-10-1")
    row = line(take, "missing")
    with pytest.raises(NotAllowed):
        stocktake_resolving.settle_missing(by=store.cast.set_costumer, line=row)
    with pytest.raises(WrongState, match="no answer"):
        stocktake_resolving.settle_here(by=store.cast.archivist, line=row)
    stocktake_resolving.settle_missing(by=store.cast.archivist, line=row)
    assert MissingFile.objects.get(piece__number="M-0003").note == f"not seen at stocktake {take}"
    with pytest.raises(WrongState, match="settled already"):
        stocktake_resolving.settle_seen_after_all(by=store.cast.archivist, line=row)


def test_seen_after_all_is_a_sighting_of_today(store: Store, take: Stocktake, see: See) -> None:
    close(store, take, "MAIN-10-1")
    stocktake_resolving.settle_seen_after_all(by=store.cast.archivist, line=line(take, "missing"))
    assert (standing("M-0003").state, standing("M-0003").last_seen) == ("in store", timezone.localdate())


@pytest.mark.parametrize(("settle", "at"), [("settle_here", "MAIN-10-1"), ("settle_back", "BOX1")])
def test_what_lies_elsewhere_stays_or_goes_back(store: Store, take: Stocktake, see: See, settle: str, at: str) -> None:
    see("M-0002", "MAIN-10-1")
    see("M-0003", "MAIN-10-1")
    close(store, take, "MAIN-10-1")
    getattr(stocktake_resolving, settle)(by=store.cast.archivist, line=line(take, "wrong place"))
    assert standing("M-0002").place.code == at
    assert lines_of(take.subject)[0].verb == "settled"


def test_a_lost_piece_that_was_seen_is_found_there(store: Store, take: Stocktake, see: See) -> None:
    actions.mark_missing(by=store.cast.archivist, piece=standing("M-0003").piece, note="audit")
    see("M-0003", "MAIN-2-1")
    close(store, take, "MAIN-10-1")
    stocktake_resolving.settle_here(by=store.cast.archivist, line=line(take, "extra"))
    assert (standing("M-0003").state, standing("M-0003").place.code) == ("in store", "MAIN-2-1")
    assert MissingFile.objects.get().closed_on is not None


def test_a_lost_trunk_under_its_own_label_comes_back_with_what_was_seen_in_it(
    store: Store, take: Stocktake, see: See
) -> None:
    actions.mark_missing(by=store.cast.archivist, container=store["BOX1"], note="audit")
    see("M-0001", "MAIN-10-1", see("BOX1", "MAIN-10-1"))
    see("M-0003", "MAIN-10-1")
    assert close(store, take, "MAIN-10-1") == {"extra": ["BOX1"]}
    stocktake_resolving.settle_here(by=store.cast.archivist, line=line(take, "extra"))
    assert store["BOX1"].parent.code == "MAIN-10-1"
    assert (standing("M-0001").state, standing("M-0002").state) == ("in store", "not found")


@pytest.mark.parametrize("with_blank", [True, False])
def test_an_unread_thing_gets_a_label_and_is_no_longer_missing(
    store: Store, take: Stocktake, see: See, with_blank: bool
) -> None:
    see("smudged", "MAIN-10-1")
    close(store, take, "MAIN-10-1")
    blank = actions.make_blanks(by=store.cast.archivist, count=1)[0].code if with_blank else ""
    row = line(take, "unreadable")
    with pytest.raises(Refused, match="Say which"):
        stocktake_resolving.settle_label(by=store.cast.archivist, line=row, container=store["MAIN"])
    label = stocktake_resolving.settle_label(
        by=store.cast.archivist, line=row, piece=standing("M-0003").piece, blank=blank
    )
    assert label.code == (blank or label.code)
    assert label_of(piece=standing("M-0003").piece) == label
    assert "seen: it is M-0003" in line(take, "missing").outcome
    assert not take.lines.filter(resolved_at=None).exists()


def test_nothing_is_left_without_a_reason(store: Store, take: Stocktake, see: See) -> None:
    close(store, take, "MAIN-10-1")
    with pytest.raises(Refused, match="Say why"):
        stocktake_resolving.settle_otherwise(by=store.cast.archivist, line=line(take, "missing"), why="  ")
    stocktake_resolving.settle_otherwise(by=store.cast.archivist, line=line(take, "missing"), why="at the cleaner's")
    assert line(take, "missing").outcome == "left as it is: at the cleaner's"


def test_a_failed_act_settles_nothing(store: Store, take: Stocktake, see: See) -> None:
    piece = store.piece("D-0001", "BENCH")
    actions.send_out(by=store.cast.archivist, piece=piece, to=store["MUSEUM"], reason="loan")
    Standing.objects.filter(piece=piece).update(since=timezone.now() - timedelta(days=1))
    see("D-0001", "MAIN-10-1")
    see("M-0003", "MAIN-10-1")
    close(store, take, "MAIN-10-1")
    with pytest.raises(WrongState, match="is out"):
        stocktake_resolving.settle_here(by=store.cast.archivist, line=line(take, "extra"))
    assert line(take, "extra").resolved_at is None


# --- samples ---------------------------------------------------------------------------------------------------------
@pytest.fixture
def many(store: Store) -> Store:
    """Twenty more pieces on two shelves; three are worth much, one is valued in another currency."""
    for number in range(20):
        piece = store.piece(f"S-{number:04d}", "MAIN-2-1" if number % 2 else "MAIN-10-1")
        worth = {0: ("EUR", 2000), 1: ("EUR", 9000), 2: ("EUR", 1999), 3: ("USD", 5)}.get(number)
        if worth:
            value_piece(
                by=store.cast.archivist, piece=piece, amount=worth[1], currency=worth[0], basis="agreed",
                valued_on=date(2020, 1, 1),
            )  # fmt: skip
    Standing.objects.update(since=timezone.now() - timedelta(days=9))
    return store


def test_all_of_high_value_and_a_sample_that_can_be_drawn_again(many: Store) -> None:
    take = taking.start_stocktake(by=many.cast.archivist, place=many["MAIN"], draw="sample", sample_size=6, seed="s1")
    high = set(take.drawn.filter(why="high value").values_list("piece__number", flat=True))
    assert high == {"S-0000", "S-0001", "S-0003"}
    others = set(Piece.objects.filter(standing__isnull=False).values_list("number", flat=True)) - high
    assert take.drawn_from == len(others) == 20
    drawn = set(take.drawn.filter(why="sample").values_list("piece__number", flat=True))
    assert drawn == set(draw(others, 6, "s1"))
    assert (take.seed, take.sample_size, take.high_value) == ("s1", 6, 2000)


def test_only_shelves_of_what_was_drawn_are_gone_to(many: Store) -> None:
    take = taking.start_stocktake(by=many.cast.archivist, place=many["MAIN"], draw="sample", sample_size=0)
    assert {stop.place.code for stop in take.stops.all()} == {"MAIN-2-1", "MAIN-10-1"}
    with pytest.raises(Refused, match="of high value"):
        taking.start_stocktake(by=many.cast.archivist, place=many["DOCKS"], draw="sample", sample_size=0)


@pytest.mark.parametrize(
    ("skip", "words"),
    [
        (0, "None of the 6 drawn at random are missing: at most 6 of the 20 (30 %) are missing, at 95 % confidence."),
        (1, "1 of the 6 drawn at random is missing: at most 10 of the 20 (50 %) are missing, at 95 % confidence."),
    ],
)
def test_the_result_says_what_the_sample_bought(many: Store, skip: int, words: str) -> None:
    """Checked by hand: C(14, 6) / C(20, 6) = 3003 / 38760 = 7.7 % for 6 gone, C(13, 6) / C(20, 6) = 4.4 % for 7."""
    take = taking.start_stocktake(by=many.cast.archivist, place=many["MAIN"], draw="sample", sample_size=6, seed="s1")
    left = set(take.drawn.filter(why="sample").order_by("piece__number").values_list("piece", flat=True)[:skip])
    for row in Standing.objects.select_related("piece", "place").exclude(piece__in=left):
        shelf = row.place.parent if row.place.is_container else row.place
        taking.see(by=many.cast.archivist, stocktake=take, at=Spot(shelf), client_id=uuid4(), piece=row.piece)
    close(many, take)
    assert stocktake_queries.what_it_bought(Stocktake.objects.get()) == words


def test_a_sample_that_was_not_counted_whole_says_nothing(many: Store) -> None:
    take = taking.start_stocktake(by=many.cast.archivist, place=many["MAIN"], draw="sample", sample_size=20)
    close(many, take, "MAIN-10-1")
    assert "were not looked for, so the sample says nothing" in stocktake_queries.what_it_bought(
        Stocktake.objects.get()
    )


def test_the_database_refuses_a_sample_without_its_seed(many: Store) -> None:
    row = Stocktake(
        reference="X", place=many["MAIN"], draw="sample", sample_size=1, drawn_from=2, high_value=1,
        started_by=many.cast.archivist,
    )  # fmt: skip
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


# --- the trunk whose label says another ------------------------------------------------------------------------------
def test_the_trunk_that_reads_another_number_is_named_and_found(demo_world: DemoWorld) -> None:
    """Check values of the invented archive: seven pieces, all of the lost trunk's list, under a bench."""
    by = demo_world.cast.archivist
    take = taking.start_stocktake(by=by, place=demo_world.place("WR"), draw="everything")
    bench = Spot(demo_world.place("WR-B4"))
    reads = taking.see(by=by, stocktake=take, at=bench, client_id=UUID(int=1), reads="T41", is_container=True)
    lost = list(Piece.objects.filter(standing__place__code="T14").order_by("number"))
    assert len(lost) == 7
    for number, piece in enumerate(lost, start=2):
        spot = Spot(bench.place, reads)
        taking.see(by=by, stocktake=take, at=spot, client_id=UUID(int=number), piece=piece)
    for stop in take.stops.all():
        taking.count_stop(by=by, stocktake=take, place=stop.place)
    taking.close_stocktake(by=by, stocktake=take)
    row = take.lines.select_related("match", "sighting").get()
    assert (row.kind, row.sighting.text, row.match.code) == ("otherwise", "T41", "T14")
    assert (row.agree, row.seen, row.listed) == (7, 7, 7)
    stocktake_resolving.settle_really(by=by, line=row, counted=lost, new_label=True)
    trunk = demo_world.place("T14")
    assert (trunk.state, trunk.parent.code, trunk.last_seen) == ("in store", "WR-B4", demo_world.today)
    assert set(Standing.objects.filter(place=trunk).values_list("state", flat=True)) == {"in store"}
    assert not MissingFile.objects.filter(container=trunk, closed_on=None).exists()
    assert Label.objects.filter(place=trunk, retired_at=None).count() == 1
    assert list(faults()) == []


def test_what_was_not_counted_in_it_stays_not_found(store: Store, take: Stocktake, see: See) -> None:
    actions.mark_missing(by=store.cast.archivist, container=store["BOX1"], note="audit")
    reads = see("OBX1", "MAIN-10-1", is_container=True)
    see("M-0001", "MAIN-10-1", reads)
    see("M-0003", "MAIN-10-1")
    close(store, take, "MAIN-10-1")
    row = line(take, "otherwise")
    seen, unseen, rest = stocktake_queries.contents_of(row)
    assert ([p.number for p in seen], [p.number for p in unseen], rest) == (["M-0001"], ["M-0002"], [])
    stocktake_resolving.settle_really(by=store.cast.archivist, line=row, counted=seen, new_label=False)
    assert (standing("M-0001").state, standing("M-0002").state) == ("in store", "not found")
    assert MissingFile.objects.get(piece__number="M-0002", closed_on=None)
    assert not Label.objects.exists()


def test_a_trunk_in_store_under_anothers_label_moves_with_its_content(store: Store, take: Stocktake, see: See) -> None:
    reads = see("BOX2", "MAIN-10-1")
    for number in ("M-0001", "M-0002"):
        see(number, "MAIN-10-1", reads)
    see("M-0003", "MAIN-10-1")
    close(store, take)
    row = line(take, "otherwise")
    assert (row.match.code, row.container.code) == ("BOX1", "BOX2")
    counted = stocktake_queries.contents_of(row)[0]
    stocktake_resolving.settle_really(by=store.cast.archivist, line=row, counted=counted, new_label=True)
    assert store["BOX1"].parent.code == "MAIN-10-1"
    # The other trunk, of which only the label was seen, is missing as before.
    assert [str(one.container) for one in take.lines.filter(kind="missing", resolved_at=None)] == ["BOX2"]
