"""One call in the browser, from "can you?" to "everything is home again", by the people whose duty each step is.

It runs on the invented archive with a call of its own: two lamp keepers, six pieces each.
"""

import re
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import time_machine

from catalog.core import history
from catalog.core.models import HistoryLine
from catalog.loans.models import Call, Hold, Loan, LoanLine
from catalog.pieces.models import Piece
from tests.demo_world import DemoWorld

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.walk]

# Names and sizes that stand nowhere else in the archive, so that a leak would show.
ROSTER = """number,name,card_height,card_weight,height,chest,waist_natural,head,head_over_hair,foot_length,consent
W1,Ottoline Brackwater,171,70,171.3,95.7,79.3,56.3,57.3,26.3,yes
W2,Ignatius Fenwhistle,178,76,178.7,98.3,82.7,56.7,58.3,25.7,yes
"""
SECRETS = ("Ottoline", "Brackwater", "Ignatius", "Fenwhistle", "171.3", "1713", "178.7", "1787", "95.7", "957")
DATES = {
    "Call received": "2026-07-27",
    "First day of use": "2026-08-04",
    "Last day of use": "2026-08-05",
    "Truck loads": "2026-08-03",
    "Back at the dock": "2026-08-06",
}


class Walk:
    """A browser window in which one person after another signs in."""

    def __init__(self, window: Any, enter: Callable[[Any, Any], None], people: Any, faults: Callable[[Any], list[str]]):
        self.window, self._enter, self.people, self._faults = window, enter, people, faults
        self.seen: list[str] = []

    def as_(self, duty: str, address: str) -> Any:
        self.window.context.clear_cookies()
        self._enter(self.window, getattr(self.people, duty))
        return self.go(address)

    def go(self, address: str) -> Any:
        answer = self.window.goto(address)
        assert answer.status == 200, f"{address}: {answer.status}"
        return self.window

    def press(self, name: str, *, exact: bool = True) -> None:
        self.window.get_by_role("button", name=name, exact=exact).first.click()
        self.window.wait_for_load_state()

    def look(self) -> None:
        """No barrier on the page as it stands, and nothing beside the screen."""
        self.seen += self._faults(self.window)
        sideways = self.window.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        if sideways > 0:
            self.seen.append(f"{self.window.url}: {sideways} px beside the screen")

    def answer(self) -> str:
        text: str = self.window.locator("h1").inner_text()
        return " ".join(text.split())


def take_the_call(walk: Walk) -> None:
    window = walk.as_("production", "/take-a-call/")
    window.get_by_label("Reference").fill("WALK-1")
    window.get_by_label("What is asked").fill("two keepers on the quay")
    window.get_by_label("Production", exact=True).select_option(label="LHS The Lamp at Harrow Skerry")
    window.get_by_label("Where").fill("the quay")
    for label, day in DATES.items():
        window.get_by_label(label).fill(day)
    walk.look()
    window.locator(".act").click()
    walk.go("/calls/WALK-1/how-many/")
    window.get_by_label("Lamp Keeper").fill("2")
    window.locator(".act").click()
    walk.go("/calls/WALK-1/")
    assert "2 performers are asked for" in walk.answer()


def roster_and_plan(walk: Walk) -> None:
    window = walk.as_("wardrobe_lead", "/tables/roster/WALK-1/")
    window.get_by_label("Or pasted rows").fill(ROSTER)
    walk.press("Look at it first")
    walk.look()
    walk.press("Load 2 rows")
    walk.go("/fitting/calls/WALK-1/dry-run/")
    assert walk.answer() == "2 of 2 can be dressed as recorded."
    walk.look()
    walk.press("Keep this plan")
    walk.go("/fitting/calls/WALK-1/plan/")
    walk.look()


def hold_firm(walk: Walk) -> None:
    window = walk.as_("production", "/calls/WALK-1/hold/")
    assert len(window.get_by_label("Pieces", exact=True).input_value().split()) == 12
    window.get_by_label("Reference").fill("H-WALK")
    window.get_by_label("firm", exact=True).check()
    window.get_by_label("Authorised by").fill("line producer")
    walk.look()
    window.locator(".act").click()
    window.wait_for_load_state()
    assert Hold.objects.get(reference="H-WALK").strength == "firm"
    walk.go("/calls/WALK-1/travel/")
    assert "12 pieces" in walk.answer()


def pull_and_send(walk: Walk) -> Loan:
    window = walk.as_("archivist", "/holds/H-WALK/")
    walk.look()
    walk.press("Start the pull", exact=False)
    loan = Loan.objects.get(call__reference="WALK-1")
    wanted = list(loan.lines.order_by("order").values_list("piece__number", flat=True))
    scan = window.get_by_label("Scan the piece you take")
    scan.fill("LHS-0001")
    scan.press("Enter")
    window.get_by_text("LHS-0001", exact=False).first.wait_for()
    # The wrong piece is refused, and the right one named.
    assert wanted[0] in window.locator("#pull-list").inner_text()
    assert not loan.lines.filter(state="pulled").exists()
    for count, number in enumerate(wanted, 1):
        scan.fill(number)
        scan.press("Enter")
        _until(lambda count=count: loan.lines.filter(state="pulled").count() == count)
    walk.go(f"/loans/{loan.reference}/send/")
    window.get_by_label("Taken by").fill("B. Driver")
    walk.look()
    window.locator(".act").click()
    window.wait_for_load_state()
    _until(lambda: loan.lines.filter(state="out").count() == 12)
    return loan


def on_set(walk: Walk, loan: Loan) -> None:
    window = walk.as_("set_costumer", f"/loans/{loan.reference}/on-set/")
    walk.look()
    window.locator("#set-list a").first.click()
    window.locator("[data-joined]").wait_for(state="attached")
    walk.look()
    window.get_by_role("button", name="Sign out LHS").first.click()
    _until(lambda: loan.lines.filter(state="on set").count() == 1)
    window.get_by_role("button", name="Sign in LHS").first.click()
    _until(lambda: not loan.lines.filter(state="on set").exists())


def come_home(walk: Walk, loan: Loan) -> str:
    """All twelve are counted back; one pair of boots without its right half. Gives the number of the boots."""
    window = walk.as_("archivist", f"/loans/{loan.reference}/return/")
    walk.look()
    boots = loan.lines.filter(piece__kind="boots").order_by("piece__number")[0].piece.number
    for number in loan.lines.order_by("order").values_list("piece__number", flat=True):
        walk.go(f"/loans/{loan.reference}/return/?code={number}")
        parts = window.locator("input[name=parts_back]")
        for index in range(parts.count() - (number == boots)):
            parts.nth(index).check()
        if number == boots:
            window.get_by_label("incomplete", exact=True).check()
            window.get_by_label("What changed or is missing").fill("right boot not in the trunk")
            walk.look()
        else:
            window.get_by_label("as sent", exact=True).check()
        walk.press("Count this piece back")
    _until(lambda: not loan.lines.filter(state__in=["out", "on set"]).exists())
    return boots


def put_away(walk: Walk, loan: Loan) -> None:
    window = walk.as_("archivist", f"/loans/{loan.reference}/put-away/")
    walk.look()
    window.locator(".act").click()
    window.wait_for_load_state()
    _until(lambda: loan.lines.filter(state="put away").count() == 12)
    walk.go(f"/loans/{loan.reference}/")
    walk.press("Close this loan")
    _until(lambda: Loan.objects.get(pk=loan.pk).state == "closed")


def _until(done: Callable[[], bool]) -> None:
    """Wait for what the site's own thread is still writing."""
    end = time.monotonic() + 15
    while not done():
        assert time.monotonic() < end, "the site did not get so far"
        time.sleep(0.05)


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_one_call_from_the_question_to_everything_home(
    size: str,
    load_demo_world: Callable[[], DemoWorld],
    open_page: Callable[[str], Any],
    enter: Callable[[Any, Any], None],
    faults: Callable[[Any], list[str]],
) -> None:
    with time_machine.travel(datetime(2026, 7, 27, 9, tzinfo=UTC), tick=True):
        world = load_demo_world()
        walk = Walk(open_page(size), enter, world.cast, faults)
        take_the_call(walk)
        roster_and_plan(walk)
        hold_firm(walk)
        loan = pull_and_send(walk)
        on_set(walk, loan)
        boots = come_home(walk, loan)
    with time_machine.travel(datetime(2026, 8, 11, 9, tzinfo=UTC) + timedelta(days=10), tick=True):
        put_away(walk, loan)
        walk.go(f"/pieces/{boots}/")
        assert "right" in walk.window.locator("body").inner_text()
    assert walk.seen == []
    lines = LoanLine.objects.filter(loan=loan)
    assert {line.piece.standing.state for line in lines.select_related("piece__standing")} == {"in store"}
    assert all(line.piece.standing.place_id == line.piece.standing.home_id for line in lines)
    assert Piece.objects.get(number=boots).parts.filter(missing_since__isnull=False).count() == 1
    assert Call.objects.get(reference="WALK-1").wearers.count() == 2
    assert list(history.faults()) == []
    told = " ".join(
        f"{line.before} {line.after} {line.reason} {line.subject_id}"
        for line in HistoryLine.objects.filter(recorded__gte=datetime(2026, 7, 27, 9, tzinfo=UTC))
    )
    assert [secret for secret in SECRETS if re.search(rf"\b{re.escape(secret)}\b", told)] == []
