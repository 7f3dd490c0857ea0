"""A route turned into the facts that rules ask about."""

import pytest

from catalog.shipping.calc.facts import Trip
from catalog.shipping.calc.routes import EU, Route, trip_along


def test_the_way_back_crosses_the_same_borders_unless_all_of_it_goes_for_good() -> None:
    assert Route("GB", "ES", ("FR",)).steps == [("GB", "FR"), ("FR", "ES"), ("ES", "FR"), ("FR", "GB")]
    assert Route("GB", "ES", ("FR",), comes_back=False).steps == [("GB", "FR"), ("FR", "ES")]
    assert Route("GB", "GB").steps == []


@pytest.mark.parametrize(
    ("route", "border", "customs", "leaves", "enters"),
    [
        (Route("FR", "DE", comes_back=False), True, False, {"FR"}, {"DE"}),
        (Route("GB", "FR", comes_back=False), True, True, {"GB"}, {"FR", "EU"}),
        (Route("FR", "CH", ("DE",), comes_back=False), True, True, {"FR", "DE", "EU"}, {"DE", "CH"}),
        (Route("US", "US"), False, False, set(), set()),
    ],
)
def test_inside_the_union_a_border_is_no_customs_border(
    route: Route, border: bool, customs: bool, leaves: set[str], enters: set[str]
) -> None:
    trip = trip_along(route, to_be_worn=None)
    assert (trip.crosses_border, trip.customs_border) == (border, customs)
    assert (trip.leaves, trip.enters) == (leaves, enters)


def test_the_union_has_its_27_states() -> None:
    """European Union, country profiles, since 1 February 2020: 27 member states, the United Kingdom not among them."""
    assert len(EU) == 27
    assert not EU & {"GB", "NO", "CH", "IS"}


def test_without_a_route_nothing_about_countries_is_known() -> None:
    trip = trip_along(None, to_be_worn=True, year=2026)
    assert trip == Trip(to_be_worn=True, year=2026)


@pytest.mark.parametrize("wrong", ["gb", "GBR", "", "G1"])
def test_a_country_is_two_capital_letters(wrong: str) -> None:
    with pytest.raises(ValueError, match="two letters"):
        Route("GB", wrong)


def test_a_trip_is_read_back_as_it_was_kept() -> None:
    for trip in (Trip(), trip_along(Route("GB", "FR", ("BE",), True, "marked"), to_be_worn=False, year=2026)):
        assert Trip.from_json(trip.as_json()) == trip
