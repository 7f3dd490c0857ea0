"""What a piece's record says about packing it, and what the scale says about a crate."""

import pytest

from catalog.shipping.calc.pack_facts import heat_harms, nothing_on_it, open_first, stands_alone
from catalog.shipping.calc.scale import weighed_against


@pytest.mark.parametrize(
    ("kind", "materials", "free"),
    [
        ("helmet", ["steel"], True),
        ("coat", ["wool"], False),
        ("prop", ["glass"], True),
        ("stiff", ["painted resin on glass cloth"], False),
        ("prop", ["glass fibre"], False),
        ("coat", [], False),
    ],
)
def test_what_must_have_nothing_on_it(kind: str, materials: list[str], free: bool) -> None:
    assert nothing_on_it(kind, materials) is free


@pytest.mark.parametrize(
    ("materials", "hazards", "harms"),
    [
        (["waxed cotton"], {}, True),
        (["wool"], {}, False),
        (["wool"], {"battery": "untested"}, True),
        (["wool"], {"battery": "cleared"}, False),
    ],
)
def test_what_heat_harms(materials: list[str], hazards: dict[str, str], harms: bool) -> None:
    assert heat_harms(materials, hazards) is harms


def test_an_open_hazard_stands_alone_until_it_is_cleared() -> None:
    assert stands_alone({"radium": "untested"})
    assert not stands_alone({"radium": "cleared", "lead": "confirmed"})
    assert open_first([(1, False), (2, True), (3, True)]) == (2, 3)


@pytest.mark.parametrize(
    ("weighed", "said"),
    [
        (20_000, "Crate 1: weighed and computed agree."),
        (20_299, "Crate 1: weighed and computed agree."),
        (17_900, "Crate 1 is 2.1 kg light. boots weighs about that: is it in there?"),
        (24_000, "Crate 1 is 4.0 kg heavy. coat weighs about that: was it put in here?"),
        (12_000, "Crate 1 is 8.0 kg light. No single piece explains it: count what is in it."),
    ],
)
def test_the_scale_against_what_was_computed(weighed: int, said: str) -> None:
    inside, elsewhere = [("boots", 2_100), ("hat", 300)], [("coat", 4_100), ("lamp", 900)]
    assert weighed_against(weighed, 20_000, inside, elsewhere).sentence("Crate 1") == said
