"""What must be done first for a call: every last safe day on one page, with the demo's days."""

from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

import time_machine
from django.test import Client

from catalog.access.duties import Duty
from catalog.care.actions import need_treatment, start_treatment
from catalog.fitting.deadline_queries import Deadline, kept_things
from catalog.fitting.models import Plan
from catalog.loans import actions as loans
from catalog.loans.hold_queries import overlaps
from catalog.loans.models import Hold
from catalog.pieces.models import Piece, Slot
from tests.demo_world import DemoWorld
from tests.reading import text_of

As = Callable[[Any], Client]
PAGE = "/calls/RS-2026-01/first/"
ASKED = f"{PAGE}?found=T14&released=H-02"
NUMBERS = ("LHS-0005", "LHS-0014", "LHS-0018")


def held(world: DemoWorld, *numbers: str) -> None:
    """These pieces are pencilled for the call."""
    pieces = [world.piece(number) for number in numbers]
    call = world.call
    loans.hold(
        by=world.cast.production, reference="HOLD-1", for_whom="epilogue unit", pieces=pieces, call=call,
        use_from=call.fittings_from, use_to=call.back_on, strength="pencil", lapses_on=date(2026, 8, 10),
    )  # fmt: skip


def lines_of(world: DemoWorld) -> dict[str, Deadline]:
    found = kept_things(world.call)
    assert found is not None
    return {line.words: line for line in found.lines}


def test_every_last_safe_day_stands_on_one_page(demo_world: DemoWorld, as_user: As) -> None:
    page = text_of(as_user(demo_world.cast.production).get(ASKED))
    rows = [(row.split("</td>")[0], row) for row in page.split('<td class="id">')[1:]]
    words = ("suit (", "helmet (", "boots (", "breastplate (", "freeze", "Museum")
    told = {(day, word) for day, row in rows for word in words if word in row}
    assert {("Mon 24 Aug 2026", "suit ("), ("Thu 27 Aug 2026", "helmet ("), ("Thu 27 Aug 2026", "boots (")} <= told
    assert {("Mon 31 Aug 2026", word) for word in ("breastplate (", "freeze", "Museum")} <= told
    assert "by 17 Aug 2026 if it is wanted at the fittings" in page
    suit = next(row for day, row in rows if "suit (" in row and "Order" in row)
    assert "measured on 31 Aug 2026 it is ready 21 Sep 2026, after loading" in suit
    breastplate = next(row for day, row in rows if "breastplate (" in row)
    assert "before the fittings" not in breastplate, "ten days from the first fitting are ready on the day of loading"
    assert "The next last safe day is Mon 24 Aug 2026." in page
    days = [datetime.strptime(day, "%a %d %b %Y").replace(tzinfo=UTC) for day, _ in rows]
    assert days == sorted(days)


def test_the_hold_page_and_this_page_name_the_same_notice(demo_world: DemoWorld) -> None:
    held(demo_world, "LHS-0114")
    line = next(line for words, line in lines_of(demo_world).items() if words.startswith("Ask"))
    hold = Hold.objects.get(reference="HOLD-1")
    found = overlaps([demo_world.piece("LHS-0114").pk], hold.starts, hold.ends, mine=hold)
    way = next(way for one in found for way in one.ways_out if way.startswith("Ask"))
    assert line.day == date(2026, 8, 31)
    assert "by 31 Aug 2026" in way
    assert line.note in way
    assert "by 17 Aug 2026 if they are wanted from 31 Aug 2026" in line.note


def test_what_is_held_is_asked_and_what_has_passed_is_red(demo_world: DemoWorld, as_user: As) -> None:
    held(demo_world, *NUMBERS)
    words = lines_of(demo_world)
    assert sum(text.startswith("Start work on LHS-") for text in words) == 3
    assert not [line for line in words.values() if line.late]
    with time_machine.travel(datetime(2026, 9, 1, 9, tzinfo=UTC)):
        hold = Hold.objects.get(reference="HOLD-1")
        hold.lapses_on = date(2026, 9, 10)
        hold.save()
        page = text_of(as_user(demo_world.cast.archivist).get(PAGE))
    assert "2 last safe days have passed." in page  # the freezer, and the museum's notice
    assert page.count("too late") == 2
    assert "The next that can still be kept is Thu 10 Sep 2026." in page


def test_work_under_way_counts(demo_world: DemoWorld) -> None:
    held(demo_world, "LHS-0014")
    by, piece = demo_world.cast.archivist, demo_world.piece("LHS-0014")
    work = need_treatment(by=by, piece=piece, what="Break down  to look storm", days=2)
    start_treatment(by=by, treatment=work, started_on=demo_world.today)
    brushed = need_treatment(by=by, piece=piece, what="brush off grit")
    lines = [line for line in lines_of(demo_world).values() if line.piece == "LHS-0014"]
    assert [(line.under_way, line.day) for line in lines] == [(False, None), (True, date(2026, 7, 29))]
    assert brushed.what in lines[0].words
    assert "nobody has said how long it takes" in lines[0].note


def test_a_kept_plan_names_what_is_made_and_never_for_whom(demo_world: DemoWorld) -> None:
    call, wearer = demo_world.call, demo_world.call.wearers.get(number="E11")
    plan = Plan.objects.create(call=call, asked=20, dressed=1, with_making=True)
    slot = Slot.objects.get(role__code="DIV", code="boots")
    plan.make_orders.create(wearer=wearer, slot=slot)
    plan.lines.create(wearer=wearer, role=slot.role, slot=slot)
    line = next(line for words, line in lines_of(demo_world).items() if words.startswith("Order 1"))
    assert line.day == date(2026, 8, 27)
    assert "E11" not in line.words + line.note
    assert wearer.name not in line.words + line.note


def test_who_may_ask(demo_world: DemoWorld, as_user: As) -> None:
    held(demo_world, *NUMBERS)
    may = {Duty.ARCHIVIST, Duty.WARDROBE_LEAD, Duty.PRODUCTION}
    for duty in Duty:
        assert as_user(demo_world.cast.of(duty)).get(PAGE).status_code == (200 if duty in may else 403), duty
    assert as_user(None).get(PAGE).status_code == 302
    assert as_user(demo_world.cast.archivist).get("/calls/NONE/first/").status_code == 404
    unknown = as_user(demo_world.cast.archivist).get("/calls/RS-2026-01/first/?found=T99")
    assert unknown.status_code == 200, "what is held is asked as it is; nothing is supposed of it"


def test_a_supposition_that_names_nothing_is_refused(demo_world: DemoWorld, as_user: As) -> None:
    answer = as_user(demo_world.cast.archivist).get(f"{PAGE}?found=T99")
    assert answer.status_code == 422
    assert "T99" in text_of(answer)


def test_the_number_of_queries_does_not_grow(demo_world: DemoWorld, django_assert_max_num_queries: Any) -> None:
    held(demo_world, "LHS-0014")
    with django_assert_max_num_queries(14):
        kept_things(demo_world.call)
    hold = Hold.objects.get(reference="HOLD-1")
    for piece in Piece.objects.filter(role__code="DIV").exclude(number="LHS-0014")[:40]:
        hold.pieces.create(piece=piece)
        need_treatment(by=demo_world.cast.archivist, piece=piece, what="brush", days=1)
    with django_assert_max_num_queries(14):
        found = kept_things(demo_world.call)
    assert found is not None
    assert found.pieces == 41
    assert len(found.lines) > 40
