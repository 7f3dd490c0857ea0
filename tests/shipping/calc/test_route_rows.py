"""The shipped rows about borders, wildlife and old things: a case that fires each and one, close by, that does not."""

from typing import Any

import pytest

from catalog.shipping.calc.facts import Mode, PieceFacts, Trip, WildPart
from catalog.shipping.calc.journey import judge_journey
from catalog.shipping.calc.routes import Route, trip_along
from catalog.shipping.calc.verdicts import Verdict
from tests.shipping.calc.shipped import BOOK, check, piece

Case = tuple[PieceFacts, Trip]


def along(*countries: str, comes_back: bool | None = True, wood: str | None = "none", year: int = 2026) -> Trip:
    """A trip along these countries, to be worn."""
    start, *through, goal = countries
    return trip_along(Route(start, goal, tuple(through), comes_back, wood), to_be_worn=True, year=year)


HOME = along("GB", "GB")


def wild(group: str, **facts: Any) -> PieceFacts:
    """A coat with one part of this animal or plant."""
    return piece(wild=(WildPart(group, **facts),))


def aged(made_year: int, currency: str, amount: float) -> PieceFacts:
    return piece(made_year=made_year, values=((currency, amount),))


def gun(*, cleared: bool = False) -> PieceFacts:
    return piece("resin", kind="pistol", hazards=(("replica_gun", "cleared"),) if cleared else ())


IVORY = {"share_pct": 3.0, "obtained_year": 1930}
ROWS: dict[str, tuple[Case, Case]] = {
    "WILD-HOME": ((wild("seal"), HOME), (wild("seal"), along("GB", "FR"))),
    "WILD-LISTED-FIRST": (
        (wild("sea turtle", listing="I"), along("GB", "FR")),
        (wild("sea turtle", listing="I"), HOME),
    ),
    "WILD-LISTED-SECOND": (
        (wild("crocodilian", listing="II"), along("GB", "FR")),
        (wild("crocodilian", listing="none"), along("GB", "FR")),
    ),
    "WILD-TOUR": (
        (wild("crocodilian", listing="II"), along("GB", "FR")),
        (wild("crocodilian", listing="II"), along("GB", "FR", comes_back=False)),
    ),
    "WILD-ROSEWOOD-SMALL": (
        (wild("rosewood", listing="II", wood_g=10_000), along("GB", "FR")),
        (wild("rosewood", listing="II", wood_g=10_001), along("GB", "FR")),
    ),
    "WILD-ROSEWOOD-LARGE": (
        (wild("rosewood", listing="II", wood_g=10_001), along("GB", "FR")),
        (wild("rosewood", listing="II", wood_g=10_000), along("GB", "FR")),
    ),
    "WILD-UNLISTED": (
        (wild("bird feather", listing="none", farmed=True), along("GB", "FR")),
        (wild("eagle", listing="none"), along("GB", "FR")),
    ),
    "WILD-EAGLE": ((wild("eagle", listing="II"), along("CA", "US")), (wild("eagle", listing="II"), along("US", "US"))),
    "WILD-BIRD-US": (
        (wild("bird feather", farmed=False), along("GB", "US")),
        (wild("bird feather", farmed=True), along("GB", "US")),
    ),
    "WILD-BIRD-US-HOME": (
        (wild("bird feather", farmed=False), along("US", "US")),
        (wild("bird feather", farmed=False), along("CA", "CA")),
    ),
    "WILD-US-ENTRY": ((wild("other animal"), along("GB", "US")), (wild("other animal"), along("GB", "FR"))),
    "WILD-WHALE-US": ((wild("great whale"), along("GB", "US")), (wild("great whale"), along("GB", "CA"))),
    "WILD-SEAL-EU": ((wild("seal"), along("GB", "FR")), (wild("seal"), along("DE", "FR"))),
    "IVORY-GB-SMALL": (
        (wild("elephant ivory", **IVORY), HOME),
        (wild("elephant ivory", **IVORY), along("FR", "DE")),
    ),
    "IVORY-GB-LARGE": (
        (wild("elephant ivory", share_pct=10.0, obtained_year=1930), along("GB", "US")),
        (wild("elephant ivory", **IVORY), along("GB", "US")),
    ),
    "IVORY-GB-LATE": (
        (wild("elephant ivory", share_pct=3.0, obtained_year=1947), HOME),
        (wild("elephant ivory", share_pct=3.0, obtained_year=1946), HOME),
    ),
    "CULTURE-GB": ((aged(1968, "GBP", 120_000), along("GB", "FR")), (aged(1976, "GBP", 120_000), along("GB", "FR"))),
    "CULTURE-EU": ((aged(1920, "EUR", 50_000), along("FR", "GB")), (aged(1920, "EUR", 49_999), along("FR", "GB"))),
    "CULTURE-EU-ENTRY": (
        (aged(1800, "EUR", 20_000), along("GB", "FR")),
        (aged(1800, "EUR", 18_000), along("GB", "FR")),
    ),
    "GUN-GB": ((gun(), along("FR", "GB")), (gun(), along("FR", "DE"))),
    "GUN-US": ((gun(), along("CA", "US")), (gun(cleared=True), along("CA", "US"))),
    "HELD-ELSEWHERE": ((piece(held_elsewhere=True), HOME), (piece(), HOME)),
    "DAMP-SEA": ((piece("felt"), HOME), (piece("cotton"), HOME)),
}
JOURNEYS: dict[str, tuple[Trip, Trip]] = {
    "JOURNEY-LIST": (along("GB", "FR"), along("DE", "FR")),
    "JOURNEY-FOR-GOOD": (along("GB", "FR", comes_back=False), along("GB", "FR")),
    "JOURNEY-US-HIRE": (along("GB", "US"), along("GB", "CA")),
    "WOOD-UNMARKED": (along("GB", "FR", wood="unmarked"), along("GB", "FR", wood="marked")),
    "WOOD-MARKED": (along("GB", "FR", wood="marked"), along("GB", "FR", wood="none")),
    "JOURNEY-RETURN": (along("GB", "US"), along("US", "CA")),
}


def spoke(code: str, case: Case) -> bool:
    mode = "sea" if code == "DAMP-SEA" else "road"
    return f"{code}@1" in check(case[0], mode, case[1]).rules


@pytest.mark.parametrize("code", sorted(ROWS))
def test_the_row_fires_and_keeps_silent(code: str) -> None:
    fires, silent = ROWS[code]
    assert spoke(code, fires)
    assert not spoke(code, silent)


@pytest.mark.parametrize("code", sorted(JOURNEYS))
def test_the_row_of_the_journey_fires_and_keeps_silent(code: str) -> None:
    fires, silent = JOURNEYS[code]
    for mode in Mode:
        assert f"{code}@1" in judge_journey(fires, BOOK).by_mode[mode].rules
        assert f"{code}@1" not in judge_journey(silent, BOOK).by_mode[mode].rules


def test_every_row_of_the_journey_speaks_once_and_not_of_a_piece() -> None:
    assert {rule.code for rule in BOOK.rules if rule.of_journey} == set(JOURNEYS)
    coat = check(piece(), "road", along("GB", "US", comes_back=None, wood=None))
    assert (coat.verdict, coat.rules) == (Verdict.MAY, ())


def test_a_journey_nobody_described_is_unknown_and_one_at_home_is_free() -> None:
    said = judge_journey(Trip(), BOOK)
    assert not said.described
    assert {found.verdict for found in said.by_mode.values()} == {Verdict.UNKNOWN}
    assert {"trip.customs_border", "trip.comes_back", "trip.wood"} <= {question.fact for question in said.questions}
    home = judge_journey(along("GB", "GB", comes_back=None, wood=None), BOOK)
    assert home.described
    assert {found.verdict for found in home.by_mode.values()} == {Verdict.MAY}


def test_a_gap_in_the_route_is_a_question_and_no_yes() -> None:
    for gap, fact in (
        (along("GB", "US", comes_back=None), "trip.comes_back"),
        (along("GB", "US", wood=None), "trip.wood"),
    ):
        said = judge_journey(gap, BOOK)
        assert said.by_mode[Mode.ROAD].verdict is Verdict.UNKNOWN
        assert fact in {question.fact for question in said.questions}
