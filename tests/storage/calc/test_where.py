"""The ranked list: each source of evidence by itself, the reasons in words, and what searches do to it."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from catalog.storage.calc.clues import Clues, Hop, Lost, Spot
from catalog.storage.calc.nearness import near
from catalog.storage.calc.where import (
    ELSEWHERE_SHARE,
    MOST_PLACES,
    WEIGHTS,
    Ranking,
    Vain,
    plain_order,
    rank,
    reached,
)

DAY = datetime(2031, 3, 6, 10, tzinfo=UTC)
SITE, HALL, RACK, BAY, ONE, TWO, THREE, OTHER_BAY, FAR, BOX, DOCK, BENCH, SHED = range(1, 14)
SPOTS = {
    spot.pk: spot
    for spot in (
        Spot(SITE, "S", "site"),
        Spot(HALL, "H", "room", SITE, 1),
        Spot(RACK, "H-G", "rack", HALL),
        Spot(BAY, "H-G1", "bay", RACK, 1),
        Spot(ONE, "H-G1-1", "level", BAY, 1),
        Spot(TWO, "H-G1-2", "level", BAY, 2),
        Spot(THREE, "H-G1-3", "level", BAY, 3),
        Spot(OTHER_BAY, "H-G2", "bay", RACK, 2),
        Spot(FAR, "H-G2-1", "level", OTHER_BAY, 1),
        Spot(BOX, "T07", "trunk", ONE, container=True),
        Spot(DOCK, "DK", "room", SITE, 2),
        Spot(BENCH, "DK-B1", "bench", DOCK),
        Spot(SHED, "SH", "level", DOCK),
    )
}
LOST = Lost("X-14", False, ONE, ONE, DAY, "C", "roof leak")


def clues(**facts: object) -> Clues:
    return replace(Clues(LOST, SPOTS), **facts)  # type: ignore[arg-type]


def told(ranking: Ranking, place: int) -> dict[str, str]:
    return {reason.source: reason.words for one in ranking.places if one.place == place for reason in one.reasons}


def hop(thing: str, end: int, *, hours: float = 0, who: str = "D", cause: str = "", start: int | None = FAR) -> Hop:
    return Hop(thing, start, end, DAY + timedelta(hours=hours), who, cause)


def test_the_weights_are_shares() -> None:
    assert sum(WEIGHTS.values()) == pytest.approx(1)
    assert 0 < ELSEWHERE_SHARE < 1


def test_near_is_the_shelf_above_the_trunk_on_it_then_the_next_bay() -> None:
    found = near(ONE, SPOTS)
    assert found[TWO] == found[BOX] == 1
    assert found[TWO] > found[THREE] > found[FAR]
    assert not {ONE, HALL, BAY, BENCH, SITE} & set(found)
    assert near(BOX, SPOTS)[ONE] == 1, "the shelf under a trunk"
    assert near(99, SPOTS) == {}


def test_the_plain_rule_is_the_last_place_then_its_neighbours() -> None:
    assert plain_order(clues()) == [ONE, TWO, BOX, THREE, FAR]
    assert plain_order(clues(lost=replace(LOST, last=None))) == []


@pytest.mark.parametrize(
    ("facts", "place", "source", "words"),
    [
        ({}, ONE, "last", "it was last known there, and can have been overlooked"),
        ({}, TWO, "near", "it stands near H-G1-1, where it was last known"),
        ({}, BENCH, "work place", "a bench: things are put down there for a minute"),
        ({"together": {SHED: 2}}, SHED, "together", "2 things from the same place went there since"),
        (
            {"returned": {BENCH: 1}},
            BENCH,
            "jobs",
            "1 thing of jobs that were out at that time came back to it",
        ),
        ({"kindred": {FAR: 3}}, FAR, "kindred", "3 things of its kind and production there"),
        ({"bustle": {SHED: 4}}, SHED, "from this room", "taken there from its room over the years: 4 things"),
        ({"alike": (("H-G1-3", THREE),)}, THREE, "alike", "its code reads like the place where it should lie"),
        ({"alike": (("X-41", FAR),)}, FAR, "alike", "X-41 lies there, whose number reads like X-14"),
        (
            {"hops": (hop("a", SHED, cause="roof leak"),)},
            SHED,
            "same days",
            "1 thing went there on 6 Mar 2031 (roof leak)",
        ),
        (
            {"hops": (hop("a", SHED, who="C", hours=200),)},
            SHED,
            "person",
            "C, who had it last, put 1 other thing there about then",
        ),
        ({"lost": replace(LOST, own=(Hop("me", SHED, ONE, DAY),))}, SHED, "own way", "it stood there until 6 Mar 2031"),
        ({"lost": replace(LOST, home=FAR)}, FAR, "own way", "it belongs there"),
    ],
)
def test_each_source_says_why(facts: dict[str, object], place: int, source: str, words: str) -> None:
    assert told(rank(clues(**facts)), place)[source] == words


def test_other_days_and_other_reasons_say_nothing() -> None:
    quiet = rank(clues(hops=(hop("a", SHED, hours=24 * 20), hop("b", SHED, hours=24 * 70, cause="roof leak"))))
    assert told(quiet, SHED) == {}


def test_what_was_carried_away_is_less_likely_where_it_was() -> None:
    def chance(left: bool, place: int) -> float:
        ranking = rank(clues(lost=replace(LOST, left=left)))
        return next(one.chance for one in ranking.places if one.place == place)

    assert chance(True, ONE) < chance(False, ONE)
    assert chance(True, BENCH) > chance(False, BENCH)


def test_the_less_is_known_the_more_is_elsewhere() -> None:
    full = clues(together={SHED: 1}, kindred={FAR: 2}, bustle={BENCH: 1}, hops=(hop("a", SHED, who="C"),))
    assert rank(clues()).elsewhere > rank(full).elsewhere > ELSEWHERE_SHARE - 1e-9
    nothing = rank(Clues(Lost("X", False, None), {}))
    assert (nothing.places, nothing.elsewhere, nothing.next) == ((), 1.0, None)


def test_chances_sum_to_one_and_the_reasons_to_the_chance() -> None:
    ranking = rank(clues(together={SHED: 1}, kindred={FAR: 2}))
    assert sum(one.chance for one in ranking.places) + ranking.elsewhere == pytest.approx(1)
    for one in ranking.places:
        assert sum(reason.part for reason in one.reasons) == pytest.approx(one.chance)
        assert one.found < one.chance


def test_a_searched_place_falls_and_a_glance_into_a_trunk_hardly_does() -> None:
    before = {one.place: one.chance for one in rank(clues()).places}
    through = {one.place: one.chance for one in rank(clues(), [Vain(ONE, "looked through")]).places}
    glance = {one.place: one.chance for one in rank(clues(), [Vain(BOX, "glance")]).places}
    assert through[ONE] < before[ONE] / 2
    assert through[TWO] > before[TWO]
    assert before[BOX] * 0.9 < glance[BOX] < before[BOX]


def test_a_searched_bay_covers_its_shelves_and_their_boxes_only_when_emptied() -> None:
    covered = {how: {pk for pk, _ in reached(Vain(BAY, how), clues())} for how in ("looked through", "emptied")}
    assert covered["looked through"] == {BAY, ONE, TWO, THREE}
    assert covered["emptied"] == {BAY, ONE, TWO, THREE, BOX}


def test_a_trunk_that_reads_alike_is_opened_and_no_trunk_lies_in_a_trunk() -> None:
    lost = Lost("T70", True, ONE, ONE, DAY)
    ranking = rank(clues(lost=lost, alike=(("T07", BOX),)))
    assert told(ranking, BOX) == {"alike": "its code reads like T70: open it and compare"}


def test_the_list_has_an_end() -> None:
    many = {pk: Spot(pk, f"P{pk}", "level", HALL) for pk in range(100, 300)}
    ranking = rank(clues(spots=SPOTS | many, kindred=dict.fromkeys(many, 1)))
    assert len(ranking.places) == MOST_PLACES
    assert sum(one.chance for one in ranking.places) + ranking.elsewhere == pytest.approx(1)
