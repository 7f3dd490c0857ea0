"""Size sheets refuse what no tape can read and days that cannot be; the refusals repeat no size."""

from datetime import date, timedelta
from typing import Any

import pytest

from catalog.core.errors import Refused
from catalog.fitting.actions import add_sheet
from catalog.fitting.calc.body import POINT_WORDS, POINTS
from catalog.fitting.calc.body_bounds import BOUNDS, impossible
from tests.demo_world import DemoWorld


@pytest.mark.parametrize(
    ("point", "value", "wrong"),
    [
        ("chest", 90, True),
        ("chest", 957, False),
        ("height", 17, True),
        ("height", 1713, False),
        ("weight", 880_000, True),
        ("weight", 88_000, False),
        ("foot_length", 2600, True),
        ("ankle", 230, False),
    ],
)
def test_a_slipped_digit_is_caught(point: str, value: int, wrong: bool) -> None:
    sentence = impossible(point, value, POINT_WORDS[point])
    assert bool(sentence) is wrong
    assert sentence is None or str(value) not in sentence


def test_every_bound_is_of_a_point_we_know() -> None:
    assert set(BOUNDS) <= set(POINTS)


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"values": {"chest": 90}}, "tape_chest"),
        ({"height_mm": 260}, "height"),
        ({}, "height"),
        ({"height_mm": 1700, "taken_on": date(2036, 1, 1)}, "taken_on"),
        ({"height_mm": 1700, "delete_on": date(2036, 1, 1)}, "delete_on"),
    ],
)
def test_the_action_refuses_and_keeps_the_sheet_there_was(
    facts: dict[str, Any], field: str, demo_world: DemoWorld
) -> None:
    wearer = demo_world.call.wearers.get(number="E01")
    before = list(wearer.sheets.values_list("pk", flat=True))
    with pytest.raises(Refused) as refused:
        add_sheet(by=demo_world.cast.wardrobe_lead, wearer=wearer, layer="measured", consent=True, **facts)
    assert refused.value.field == field
    assert list(wearer.sheets.values_list("pk", flat=True)) == before


def test_the_longest_the_house_may_keep_is_allowed(demo_world: DemoWorld) -> None:
    wearer, call = demo_world.call.wearers.get(number="E01"), demo_world.call
    last = call.back_on + timedelta(days=400)
    sheet = add_sheet(by=demo_world.cast.wardrobe_lead, wearer=wearer, layer="card", height_mm=1700, delete_on=last)
    assert sheet.delete_on == last
