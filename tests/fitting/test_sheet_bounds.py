"""Size sheets refuse what no tape can read and days that cannot be; the refusals repeat no size."""

import html
from datetime import date, timedelta
from typing import Any

import pytest

from catalog.access.models import User
from catalog.core.errors import Refused
from catalog.fitting.actions import add_sheet
from catalog.fitting.calc.body import POINT_WORDS, POINTS
from catalog.fitting.calc.body_bounds import BOUNDS, impossible, impossible_together
from catalog.fitting.models import SizeSheet
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


@pytest.mark.parametrize(
    ("height", "weight", "wrong"),
    [
        (1760, 81_000, False),
        (690, 81_000, True),  # 69 inches typed as cm
        (1760, 12_300, True),  # 12st 3 typed as kg
        (1100, 19_000, False),  # a child of five
        (1900, 300_000, False),
        (None, 81_000, False),
        (1760, None, False),
    ],
)
def test_no_body_has_a_childs_height_and_a_mans_weight(height: int | None, weight: int | None, wrong: bool) -> None:
    sentence = impossible_together(height, weight)
    assert bool(sentence) is wrong
    assert sentence is None or not any(sign.isdigit() for sign in sentence)


@pytest.mark.parametrize(
    ("units", "typed", "field", "sentence"),
    [
        ("inches", {"height": "180"}, "height", "“180” in inches would be 457.2 cm"),
        ("cm", {"height": "176", "weight": "7"}, "weight", "If you mean 7 st, type it with its unit"),
        ("cm", {"height": "69", "weight": "81"}, "weight", "Nobody has this height and this weight"),
        ("cm", {"tape_chest": "38"}, "tape_chest", "If you mean 38 in, type it with its unit"),
        ("cm", {"height": "5 ft 13"}, "height", "12 inches are a foot"),
    ],
)
def test_swapped_units_are_refused_on_both_pages_and_stay_typed(
    demo_world: DemoWorld, as_user: Any, units: str, typed: dict[str, str], field: str, sentence: str
) -> None:
    lead = demo_world.cast.wardrobe_lead
    User.objects.filter(pk=lead.pk).update(units=units)
    lead.refresh_from_db()
    client, sheets = as_user(lead), SizeSheet.objects.count()
    sheet = {"layer": "card", "reference_shape": "either", "delete_on": "2026-10-30", "consent": "on"}
    quick = {"role": "DIV", "adult": "yes"}
    for address, rest in (("/fitting/quick/", quick), ("/fitting/calls/RS-2026-01/sizes/E01/", sheet)):
        page = client.post(address, rest | typed)
        assert page.status_code == 422
        assert sentence in html.unescape(page.content.decode())
        assert page.context["form"].errors[field]
        for value in typed.values():
            assert f'value="{value}"' in page.content.decode()
    assert SizeSheet.objects.count() == sheets


def test_every_bound_is_of_a_point_we_know() -> None:
    assert set(BOUNDS) <= set(POINTS)


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"values": {"chest": 90}}, "tape_chest"),
        ({"height_mm": 260}, "height"),
        ({"height_mm": 690, "weight_g": 81_000}, "weight"),
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


def test_a_day_of_deletion_that_has_passed_is_a_slip(demo_world: DemoWorld, as_user: Any) -> None:
    page = as_user(demo_world.cast.wardrobe_lead).post(
        "/fitting/calls/RS-2026-01/sizes/E11/", {"layer": "measured", "reference_shape": "m", "delete_on": "2026-07-26"}
    )
    assert page.status_code == 422
    assert "26 Jul 2026 has passed" in page.content.decode()
