"""A count against the record: what is missing, extra, misplaced, and which label says another."""

from datetime import UTC, datetime, timedelta

import pytest

from catalog.storage.calc.counted import Count, Difference, Recorded, Seen, Thing, best_match, differences

T0 = datetime(2031, 5, 1, 9, tzinfo=UTC)
SHELF, BENCH, ELSEWHERE = 1, 2, 9
TRUNK, LOST, OTHER = 11, 12, 13


def piece(number: int) -> Thing:
    return ("piece", number)


def box(number: int) -> Thing:
    return ("container", number)


class Walk:
    """Sightings one after another."""

    def __init__(self) -> None:
        self.rows: list[Seen] = []

    def see(self, place: int, thing: Thing | None = None, inside: int | None = None, **more: object) -> int:
        number = len(self.rows) + 100
        is_box = bool(more.pop("is_container", thing is not None and thing[0] == "container"))
        at = T0 + timedelta(minutes=len(self.rows))
        self.rows.append(Seen(number, at, place, thing, is_box, inside, **more))  # type: ignore[arg-type]
        return number

    def compare(self, recorded: dict[Thing, Recorded], *, done: tuple[int, ...] = (SHELF, BENCH)) -> Difference:
        boxes = {thing[1]: row.place for thing, row in recorded.items() if thing[0] == "container"}
        area = {SHELF, BENCH} | {pk for pk, place in boxes.items() if place in (SHELF, BENCH)}

        def shelf(place: int | None) -> int | None:
            while place in boxes:
                place = boxes[place]
            return place

        listed: dict[int, frozenset[Thing]] = {
            pk: frozenset(thing for thing, row in recorded.items() if row.place == pk) for pk in boxes
        }
        expected = {
            thing: T0 + timedelta(hours=2) for thing, row in recorded.items() if row.here and shelf(row.place) in done
        }
        return differences(Count(tuple(self.rows), recorded, listed, frozenset(area), expected))


def test_all_where_it_is_recorded_is_no_difference() -> None:
    walk = Walk()
    trunk = walk.see(SHELF, box(TRUNK))
    walk.see(SHELF, piece(1), trunk)
    walk.see(BENCH, piece(2))
    recorded = {box(TRUNK): Recorded(SHELF), piece(1): Recorded(TRUNK), piece(2): Recorded(BENCH)}
    assert walk.compare(recorded) == Difference()


def test_missing_extra_wrong_and_unread() -> None:
    walk = Walk()
    extra = walk.see(SHELF, piece(1))
    wrong = walk.see(BENCH, piece(2))
    out = walk.see(BENCH, piece(3))
    unknown = walk.see(BENCH, piece(4))
    unreadable = walk.see(SHELF)
    bare = walk.see(SHELF, labelled=False)
    recorded = {
        piece(1): Recorded(ELSEWHERE),
        piece(2): Recorded(SHELF),
        piece(3): Recorded(BENCH, here=False),
        piece(5): Recorded(SHELF),
    }
    found = walk.compare(recorded)
    assert found.missing == [piece(5)]
    assert (found.extra, found.wrong) == ([extra, out, unknown], [wrong])
    assert (found.unreadable, found.unlabelled) == ([unreadable], [bare])


def test_what_was_not_counted_is_not_judged() -> None:
    recorded = {piece(1): Recorded(SHELF), piece(2): Recorded(BENCH)}
    assert Walk().compare(recorded, done=(BENCH,)).missing == [piece(2)]


def test_seen_twice_counts_where_it_was_seen_last() -> None:
    walk = Walk()
    walk.see(BENCH, piece(1))
    walk.see(SHELF, piece(1))
    assert walk.compare({piece(1): Recorded(SHELF)}) == Difference()


@pytest.mark.parametrize(("moved", "told"), [(timedelta(minutes=-5), 1), (timedelta(minutes=5), 0)])
def test_a_move_after_the_sighting_is_newer_than_it(moved: timedelta, told: int) -> None:
    walk = Walk()
    walk.see(BENCH, piece(1))
    found = walk.compare({piece(1): Recorded(SHELF, since=T0 + moved)})
    assert len(found.wrong) == told


def test_what_came_to_the_shelf_after_it_was_done_is_not_missing() -> None:
    late = Recorded(SHELF, since=T0 + timedelta(hours=3))
    assert Walk().compare({piece(1): late, piece(2): Recorded(SHELF)}).missing == [piece(2)]


def test_a_missing_trunk_takes_its_content_with_it_but_for_what_was_seen() -> None:
    walk = Walk()
    wrong = walk.see(SHELF, piece(2))
    recorded = {box(TRUNK): Recorded(SHELF), piece(1): Recorded(TRUNK), piece(2): Recorded(TRUNK)}
    found = walk.compare(recorded)
    assert (found.missing, found.wrong) == ([box(TRUNK)], [wrong])


def lost_trunk(pieces: int) -> dict[Thing, Recorded]:
    lost: dict[Thing, Recorded] = {piece(n): Recorded(LOST, here=False) for n in range(1, pieces + 1)}
    return {box(LOST): Recorded(None, here=False)} | lost


def test_a_label_that_leads_nowhere_over_another_trunks_content_is_named() -> None:
    walk = Walk()
    reads = walk.see(BENCH, None, is_container=True)
    for number in range(1, 8):
        walk.see(BENCH, piece(number), reads)
    found = walk.compare(lost_trunk(7))
    (named,) = found.otherwise
    assert (named.sighting, named.match, len(named.agree), named.seen, named.listed) == (reads, LOST, 7, 7, 7)
    assert (found.extra, found.unreadable, found.missing) == ([], [], [])


def test_what_is_in_it_and_on_no_list_of_its_keeps_a_line() -> None:
    walk = Walk()
    reads = walk.see(BENCH, None, is_container=True)
    for number in (1, 2, 3):
        walk.see(BENCH, piece(number), reads)
    odd = walk.see(BENCH, piece(50), reads)
    found = walk.compare(lost_trunk(5) | {piece(50): Recorded(ELSEWHERE)})
    assert [(one.match, len(one.agree), one.seen, one.listed) for one in found.otherwise] == [(LOST, 3, 4, 5)]
    assert found.extra == [odd]


def test_one_strayed_piece_does_not_make_it_another_trunk() -> None:
    """Less than half of what was read: the pieces are told one by one, the label stays unread."""
    walk = Walk()
    reads = walk.see(BENCH, None, is_container=True)
    walk.see(BENCH, piece(1), reads)
    for number in (50, 51, 52):
        walk.see(BENCH, piece(number), reads)
    found = walk.compare(lost_trunk(5) | {piece(n): Recorded(ELSEWHERE) for n in (50, 51, 52)})
    assert found.otherwise == []
    assert found.unreadable == [reads]
    assert len(found.extra) == 4


def test_a_known_label_over_another_trunks_content_leaves_its_own_trunk_unseen() -> None:
    walk = Walk()
    reads = walk.see(SHELF, box(TRUNK))
    for number in (1, 2, 3):
        walk.see(SHELF, piece(number), reads)
    found = walk.compare(lost_trunk(3) | {box(TRUNK): Recorded(SHELF), piece(30): Recorded(TRUNK)})
    assert [(one.sighting, one.match) for one in found.otherwise] == [(reads, LOST)]
    # It was only its label that was seen: the trunk and what is listed in it are missing.
    assert found.missing == [box(TRUNK)]


def test_its_own_content_outweighs_what_strayed_into_it() -> None:
    walk = Walk()
    reads = walk.see(SHELF, box(TRUNK))
    walk.see(SHELF, piece(30), reads)
    walk.see(SHELF, piece(31), reads)
    stray = walk.see(SHELF, piece(1), reads)
    own: dict[Thing, Recorded] = {box(TRUNK): Recorded(SHELF), piece(30): Recorded(TRUNK), piece(31): Recorded(TRUNK)}
    found = walk.compare(lost_trunk(3) | own)
    assert (found.otherwise, found.extra) == ([], [stray])


def test_swapped_labels_are_named_both() -> None:
    walk = Walk()
    recorded: dict[Thing, Recorded] = {box(TRUNK): Recorded(SHELF), box(OTHER): Recorded(BENCH)}
    recorded |= {piece(n): Recorded(TRUNK) for n in (1, 2)} | {piece(n): Recorded(OTHER) for n in (3, 4)}
    first = walk.see(SHELF, box(TRUNK))
    walk.see(SHELF, piece(3), first)
    walk.see(SHELF, piece(4), first)
    second = walk.see(BENCH, box(OTHER))
    walk.see(BENCH, piece(1), second)
    walk.see(BENCH, piece(2), second)
    found = walk.compare(recorded)
    assert [(one.sighting, one.match) for one in found.otherwise] == [(first, OTHER), (second, TRUNK)]
    assert (found.missing, found.wrong, found.extra) == ([], [], [])


def test_two_cannot_both_be_the_lost_one() -> None:
    walk = Walk()
    more = walk.see(BENCH, None, is_container=True)
    for number in (1, 2, 3):
        walk.see(BENCH, piece(number), more)
    less = walk.see(SHELF, None, is_container=True)
    strayed = walk.see(SHELF, piece(4), less)
    found = walk.compare(lost_trunk(4))
    assert [one.sighting for one in found.otherwise] == [more]
    assert (found.unreadable, found.extra) == ([less], [strayed])


def test_a_lost_trunk_under_its_own_label_is_one_line() -> None:
    walk = Walk()
    trunk = walk.see(BENCH, box(LOST))
    walk.see(BENCH, piece(1), trunk)
    assert walk.compare(lost_trunk(2)).extra == [trunk]


def test_of_equal_matches_the_shorter_list_is_nearer() -> None:
    listed = {1: frozenset({piece(1), piece(2), piece(3)}), 2: frozenset({piece(4), piece(5)})}
    assert best_match([piece(1), piece(4)], listed) == (2, frozenset({piece(4)}))
    assert best_match([piece(9)], listed) is None
