"""What is supposed is said first, can be dropped, must exist; and the suppositions side by side."""

from collections.abc import Callable
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from catalog.core.models import HistoryLine
from catalog.fitting import actions
from catalog.fitting.models import Plan
from catalog.fitting.queries import dry_run
from tests.demo_world import DemoWorld
from tests.reading import text_of

SignIn = Callable[[Any], Client]
CALL = "/fitting/calls/RS-2026-01/"
BOTH = {"found": "T14", "released": "H-02"}


def test_the_answer_starts_with_what_is_supposed_and_each_can_be_dropped(
    demo_world: DemoWorld, as_user: SignIn
) -> None:
    page = as_user(demo_world.cast.production).get(f"{CALL}dry-run/", BOTH)
    words = text_of(page)
    assert "If T14 is found and H-02 is released: 17 of 20 can be dressed." in words
    assert 'href="/fitting/calls/RS-2026-01/dry-run/?released=H-02">T14 is found' in words
    assert 'href="/fitting/calls/RS-2026-01/dry-run/?found=T14">H-02 is released' in words
    # What to do next, and nothing that would keep or hold what is only supposed.
    assert "Look for T14" in words
    assert "Ask for H-02 to be released" in words
    assert words.count('class="act"') == 1
    assert "Hold these" not in words
    one = text_of(as_user(demo_world.cast.archivist).get(f"{CALL}dry-run/", {"found": "t14"}))
    assert "If T14 is found: 15 of 20 can be dressed." in one


@pytest.mark.parametrize(("name", "thing"), [("released", "hold"), ("found", "place or trunk")])
def test_what_does_not_exist_is_refused_by_name(demo_world: DemoWorld, as_user: SignIn, name: str, thing: str) -> None:
    lead = as_user(demo_world.cast.wardrobe_lead)
    page = lead.get(f"{CALL}dry-run/", {name: "NOPE"})
    assert page.status_code == 422
    assert f"there is no {thing} NOPE." in text_of(page)
    assert "can be dressed" not in text_of(page)
    kept = lead.post(f"{CALL}plan/keep/", {name: "NOPE"}, follow=True)
    assert f"there is no {thing} NOPE." in text_of(kept)
    assert not Plan.objects.exists()
    with pytest.raises(CommandError, match=f"there is no {thing} NOPE"):
        call_command("plan", "RS-2026-01", f"--as-if-{name}", "NOPE", stdout=StringIO())


def test_what_changes_nothing_is_said(demo_world: DemoWorld, as_user: SignIn) -> None:
    page = text_of(as_user(demo_world.cast.archivist).get(f"{CALL}dry-run/", {"found": "T12", "released": "H-03"}))
    assert "T12: nothing of these roles hangs on it on these days, so it changes nothing." in page
    assert "If T12 is found and H-03 is released: 13 of 20 can be dressed." in page


def test_the_command_says_what_it_supposes(demo_world: DemoWorld) -> None:
    out = StringIO()
    call_command("plan", "RS-2026-01", "--as-if-found", "T14", "--with-making", stdout=out)
    assert out.getvalue().startswith("RS-2026-01, if T14 is found and what is short is made: 20 of 20")


def test_a_kept_plan_supposes_nothing_and_leads_to_the_dry_run(demo_world: DemoWorld, as_user: SignIn) -> None:
    answer = as_user(demo_world.cast.production).get(f"{CALL}plan/", BOTH)
    assert answer.status_code == 302
    assert answer["Location"] == f"{CALL}dry-run/?found=T14&released=H-02"
    costumer = as_user(demo_world.cast.set_costumer).get(f"{CALL}plan/", BOTH)
    assert "No plan is kept yet" in text_of(costumer)


def test_side_by_side(demo_world: DemoWorld, as_user: SignIn, django_assert_max_num_queries: Any) -> None:
    before = HistoryLine.objects.count(), Plan.objects.count()
    client = as_user(demo_world.cast.production)
    with django_assert_max_num_queries(120):
        page = client.get(f"{CALL}side-by-side/")
    rows = page.context["rows"]
    told = [
        (
            row.words,
            row.run.plan.total,
            [dressed for _, dressed, _ in row.by_role],
            len(row.made.plan.make),
            row.missing,
        )
        for row in rows
    ]
    assert told == [
        ("As recorded", 13, [6, 5, 2], 16, 7),
        ("T14 found", 15, [8, 5, 2], 10, 5),
        ("H-02 released", 15, [6, 5, 4], 12, 5),
        ("T14 found and H-02 released", 17, [8, 5, 4], 6, 3),
    ]
    assert all(row.gap == 0 and row.whole == sum(row.run.plan.whole_sets.values()) for row in rows)
    words = text_of(page)
    assert "13 of 20 can be dressed as recorded, 17 with T14 found and H-02 released." in words
    for row in rows[1:]:
        assert f"{CALL}dry-run/?{row.query}".replace("&", "&amp;") in words
        assert f"{CALL}dry-run/?{row.making_query}".replace("&", "&amp;") in words
    assert f"{CALL}side-by-side/" in text_of(client.get(f"{CALL}dry-run/"))
    assert (HistoryLine.objects.count(), Plan.objects.count()) == before
    for person in (demo_world.cast.visitor, demo_world.cast.set_costumer):
        assert as_user(person).get(f"{CALL}side-by-side/").status_code == 403
    assert "/sign-in/" in as_user(None).get(f"{CALL}side-by-side/")["Location"]
    assert client.get("/fitting/calls/NIX/side-by-side/").status_code == 404


def test_locks_are_told_and_the_rest_is_planned_around_them(demo_world: DemoWorld, as_user: SignIn) -> None:
    lead, user = as_user(demo_world.cast.wardrobe_lead), demo_world.cast.wardrobe_lead
    kept = actions.store_plan(by=user, run=dry_run(demo_world.call))
    page = text_of(lead.get(f"{CALL}plan/"))
    assert "Nothing is locked." in page
    assert "Work it out again" in page
    number = kept.lines.order_by("wearer__number")[0].wearer.number
    lead.post(f"{CALL}plan/lock/{number}/", {"locked": "yes"})
    page = text_of(lead.get(f"{CALL}plan/"))
    assert "Plan the rest around 1 locked outfit" in page
    own = set(kept.lines.filter(wearer__number=number).values_list("piece__number", flat=True))
    again = lead.get(f"{CALL}dry-run/", BOTH)
    assert "1 outfit is locked and kept; the rest is planned around it." in text_of(again)
    assert {x.piece for x in again.context["run"].plan.assignments if x.wearer == number} == own


def test_the_navigation_stands_on_calls(demo_world: DemoWorld, as_user: SignIn) -> None:
    client = as_user(demo_world.cast.wardrobe_lead)
    for address in ("dry-run/", "plan/", "side-by-side/", "sizes/"):
        nav = client.get(CALL + address).context["nav"]
        assert [item["word"] for item in nav if item["current"]] == ["Calls"], address
    nav = client.get("/fitting/quick/").context["nav"]
    assert [item["word"] for item in nav if item["current"]] == ["Fittings"]


def test_the_step_of_performers_opens_their_list_once_there_is_one(demo_world: DemoWorld, as_user: SignIn) -> None:
    lead = as_user(demo_world.cast.wardrobe_lead)

    def step() -> str:
        steps = lead.get(reverse("desk:call", args=["RS-2026-01"])).context["call_steps"]
        return str(next(one.url for one in steps if one.word == "Performers"))

    assert step() == reverse("loans:wearers", args=["RS-2026-01"])
    demo_world.call.wearers.all().delete()
    assert step() == reverse("exchange:import_roster", args=["RS-2026-01"])
