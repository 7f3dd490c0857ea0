"""Which tape next, on the demo's rows: fixed queries, words without a size, and it follows the call's own pieces."""

import re
from typing import Any

from django.template.loader import render_to_string

from catalog.fitting.body_queries import wearers_of
from catalog.fitting.calc.body import POINTS
from catalog.fitting.calc.size_systems import labels_of
from catalog.fitting.models import SizeSheet, SizeValue
from catalog.fitting.tape_queries import TapeAdvice, next_tape, rail_of
from tests.demo_world import DemoWorld


def said(advice: TapeAdvice | None) -> str:
    return " ".join(render_to_string("catalog/fitting/_next_tape.html", {"advice": advice}).split())


def test_a_performer_with_a_card_alone_is_told_what_to_tape(
    demo_world: DemoWorld, django_assert_max_num_queries: Any
) -> None:
    SizeSheet.objects.exclude(layer=SizeSheet.Layer.CARD).delete()
    wearers = wearers_of(demo_world.call)
    with django_assert_max_num_queries(30):
        rail = rail_of(demo_world.call)
    assert len(rail.slots) == len(rail.rack.told) > 50
    advice = next_tape(wearers[0], rail)
    assert advice is not None
    assert advice.point in POINTS
    assert 0 < advice.settles <= advice.open == sum(slot.open for slot in advice.slots)
    words = said(advice)
    assert words.startswith(f'<p class="next-tape">Next tape: <b>{advice.words}</b>.')
    assert f"settle {advice.settles} of the {advice.open} pieces" in words
    with django_assert_max_num_queries(0):
        assert next_tape(wearers[0], rail) == advice


def test_what_was_just_taped_is_not_asked_again(demo_world: DemoWorld) -> None:
    SizeSheet.objects.exclude(layer=SizeSheet.Layer.CARD).delete()
    wearer = wearers_of(demo_world.call)[0]
    rail = rail_of(demo_world.call)
    asked: list[str] = []
    sheet = SizeSheet.objects.create(
        wearer=wearer,
        layer=SizeSheet.Layer.MEASURED,
        delete_on=wearer.sheets.all()[0].delete_on,
    )
    for _ in range(3):
        advice = next_tape(wearers_of(demo_world.call)[0], rail)
        assert advice is not None
        assert advice.point not in asked
        asked.append(advice.point)
        SizeValue.objects.create(sheet=sheet, point=advice.point, value_mm=600)


def test_somebody_fully_taped_has_nothing_left_to_tell(demo_world: DemoWorld) -> None:
    rail = rail_of(demo_world.call)
    advices = [next_tape(wearer, rail) for wearer in wearers_of(demo_world.call)[:5]]
    assert advices == [None] * 5
    assert "is taped" in said(None)


def test_the_line_tells_no_size(demo_world: DemoWorld) -> None:
    SizeSheet.objects.exclude(layer=SizeSheet.Layer.CARD).delete()
    rail = rail_of(demo_world.call)
    for wearer in wearers_of(demo_world.call)[:3]:
        words = said(next_tape(wearer, rail))
        assert not re.search(r"\d+([.,]\d+)? ?(mm|cm|kg|in)\b", words)


def test_each_state_has_its_sentence() -> None:
    assert "No single tape settles the 1 piece that is only possible" in said(TapeAdvice("hip", "hip", 1, 0, ()))
    assert "makes it surest" in said(TapeAdvice("hip", "hip", 0, 0, ()))


def test_sizes_show_their_system_and_what_is_from_memory() -> None:
    words = " ".join(
        render_to_string("catalog/fitting/_size_labels.html", {"labels": labels_of("foot_length", 270)}).split()
    )
    assert "Mondopoint <b>270</b>, EU <b>43</b>" in words
    assert words.count("From memory, not checked") == 3
    assert render_to_string("catalog/fitting/_size_labels.html", {"labels": labels_of("chest", 1000)}).strip() == ""
