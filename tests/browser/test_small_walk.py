"""A whole call in a small archive of other names, so that nothing leans on the demo: a group that must match, a wrong
piece, a lost boot, a quarantine that must be served; and what the history keeps of it: everything but names and sizes.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

import pytest
import time_machine
from playwright.sync_api import expect

from catalog.care import actions as care
from catalog.core import history
from catalog.core.models import HistoryLine
from catalog.fitting import actions as fitting
from catalog.loans import actions as loans
from catalog.loans.models import Loan
from catalog.pieces import actions as pieces
from catalog.pieces.models import Piece
from catalog.storage import actions as storage
from catalog.storage.models import Standing
from tests.cast import Cast

pytestmark = pytest.mark.django_db(transaction=True)
TODAY, LOAD, FIRST, LAST, BACK = (date(2031, 5, 5), *(date(2031, 6, day) for day in (9, 10, 11, 12)))
# Two hoods and two pairs of mitts of each dye would dress four; one of a dye that nothing matches dresses nobody.
SMOCKS_MM = {"FEN-0001": 1000, "FEN-0002": 1060, "FEN-0003": 1120}
DYES = {
    "FEN-0011": "moss",
    "FEN-0012": "moss",
    "FEN-0013": "rust",
    "FEN-0021": "moss",
    "FEN-0022": "rust",
    "FEN-0023": "rust",
}
BOOTS = ("FEN-0031", "FEN-0032", "FEN-0033")
ROSTER = """number,name,card_height,card_weight,chest,consent
1,Hesper Quillon,173.3,71.7,93.3,yes
2,Barnaby Ostrakan,177.7,77.3,99.7,yes
3,Wilhelmina Drax,181.3,83.7,105.3,yes
"""
SECRETS = (
    "Hesper",
    "Quillon",
    "Barnaby",
    "Ostrakan",
    "Wilhelmina",
    "Drax",
    "93.3",
    "933",
    "99.7",
    "997",
    "105.3",
    "1053",
    "173.3",
    "1733",
    "71.7",
    "71700",
)
# What the page of a pair of boots tells of it, the oldest first.
TOLD = (
    "Recorded", "Received", "Condition reported", "Wear decided", "Held", "Pulled", "Sent out", "Went out",
    "Signed out", "Signed in", "Wear questioned", "Part missing", "Brought back", "Quarantined", "Came back",
    "Released from quarantine", "Moved", "Put away",
)  # fmt: skip
Enter = Callable[[Any, Any], None]


@dataclass
class People:
    """One window in which one person after another works."""

    window: Any
    enter: Enter
    cast: Cast

    def go(self, duty: str, address: str) -> Any:
        self.window.context.clear_cookies()
        self.enter(self.window, getattr(self.cast, duty))
        answer = self.window.goto(address)
        assert answer.status == 200, f"{duty} at {address}: {answer.status}"
        return self.window

    def press(self, name: str) -> None:
        with self.window.expect_navigation():
            self.window.get_by_role("button", name=name).first.click()

    def act(self) -> None:
        with self.window.expect_navigation():
            self.window.locator(".act").click()

    def answer(self) -> str:
        return " ".join(self.window.locator("h1").inner_text().split())


def make_archive(cast: Cast) -> None:
    """One role of four slots, three performers' worth by count, two by what matches; a call for three."""
    by = cast.archivist
    film = pieces.add_production(by=by, code="FEN", title="The Eel Catchers", year=1998)
    role = pieces.add_role(by=by, production=film, code="EEL", name="Eel catcher")
    room = storage.add_place(by=by, code="LOFT", name="Loft", kind="room")
    storage.add_place(by=by, code="CAGE", name="Quarantine cage", kind="quarantine")
    shelves = [
        storage.add_place(by=by, code=code, name=f"shelf {code}", kind="level", parent=room, order=order)
        for order, code in enumerate(("S1", "S2", "S3", "S4"))
    ]
    smock = pieces.add_slot(by=by, role=role, code="smock", name="smock", kind="shirt")
    fitting.add_band(by=by, slot=smock, body_point="chest", garment_point="chest", min_ease=40, max_ease=200)
    hood, mitts, boots = (
        pieces.add_slot(
            by=by, role=role, code=code, name=code, kind=kind, order=order, fits_anybody=True, match_group=group
        )
        for order, (code, kind, group) in enumerate(
            (("hood", "hat", "dye"), ("mitts", "gloves", "dye"), ("boots", "boots", "")), 1
        )
    )
    rows = [(number, smock, shelves[0]) for number in SMOCKS_MM]
    rows += [(number, hood if number < "FEN-0020" else mitts, shelves[1 + (number > "FEN-0020")]) for number in DYES]
    rows += [(number, boots, shelves[3]) for number in BOOTS]
    for number, slot, shelf in rows:
        piece = pieces.record_piece(
            by=by, number=number, name=slot.name, kind=slot.kind, production=film, role=role, slot=slot,
            materials=("linen",), weight_g=900,
        )  # fmt: skip
        if number in SMOCKS_MM:
            pieces.set_measure(by=by, piece=piece, point="chest", value_mm=SMOCKS_MM[number])
        if number in DYES:
            pieces.set_match(by=by, piece=piece, group="dye", value=DYES[number])
        storage.receive_piece(by=by, piece=piece, home=shelf)
        care.report_condition(by=by, piece=piece, grade=2)
        care.decide_wear(by=by, piece=piece, decision="wear", decided_on=TODAY, decided_by_name="keeper")
    call = loans.take_call(
        by=cast.production, reference="FEN-1", title="eels again", production=film, where="a weir", first_day=FIRST,
        last_day=LAST, load_on=LOAD, back_on=BACK, received_on=TODAY,
    )  # fmt: skip
    loans.set_need(by=cast.production, call=call, role=role, count=3)


def plan_and_hold(people: People) -> None:
    window = people.go("wardrobe_lead", "/tables/roster/FEN-1/")
    window.get_by_label("Or pasted rows").fill(ROSTER)
    people.press("Look at it first")
    people.press("Load 3 rows")
    people.go("wardrobe_lead", "/fitting/calls/FEN-1/dry-run/")
    # Three of everything by count, but only two hoods have mitts of their dye.
    assert people.answer() == "2 of 3 can be dressed as recorded."
    assert "dye" in window.locator(".counts").inner_text()
    people.press("Keep this plan")
    window = people.go("production", "/calls/FEN-1/hold/")
    assert len(window.get_by_label("Pieces", exact=True).input_value().split()) == 8
    window.get_by_label("Reference").fill("FEN-H")
    window.get_by_label("firm", exact=True).check()
    window.get_by_label("Authorised by").fill("line producer")
    people.act()
    people.go("production", "/calls/FEN-1/travel/")
    assert "8 pieces" in people.answer()
    people.press("Keep these answers")


def pull_and_send(people: People) -> Loan:
    window = people.go("archivist", "/holds/FEN-H/")
    people.press("Start the pull")
    loan = Loan.objects.get()
    window = people.go("archivist", f"/loans/{loan.reference}/pull/")
    wanted = list(loan.lines.order_by("order").values_list("piece__number", flat=True))
    wrong = next(number for number in DYES if number not in wanted and number < "FEN-0020")
    asked = [number for number in wanted if number in DYES and number < "FEN-0020"]
    window.locator("[data-joined]").wait_for(state="attached")
    scan(window, wrong)
    expect(window.locator(".queue-sign")).to_contain_text(f"This is {wrong}, hood")
    told = window.locator(".queue-sign").inner_text()
    assert all(number in told for number in asked), "the right ones are named"
    assert not loan.lines.filter(state="pulled").exists()
    for left, number in zip(range(len(wanted) - 1, -1, -1), wanted, strict=True):
        scan(window, number)
        window.locator("h1", has_text=f"{left} piece" if left else "Everything is pulled.").wait_for()
    with window.expect_navigation():
        window.get_by_role("link", name="Send these pieces").click()
    window.get_by_label("Taken by").fill("B. Driver")
    people.act()
    assert people.answer().startswith("8 of 8 pieces are out")
    return loan


def scan(window: Any, code: str) -> None:
    expect(window.locator("input:focus")).to_have_count(1)
    window.keyboard.type(code)
    window.keyboard.press("Enter")


def out_and_in(people: People, loan: Loan) -> None:
    """Each of the two performers' pieces out by scan, and all in again by scan."""
    window = people.go("set_costumer", f"/loans/{loan.reference}/on-set/")
    window.locator("[data-joined]").wait_for(state="attached")
    planned = {line.piece.number: line.wearer.number for line in loan.lines.select_related("piece", "wearer")}
    for name in (None, "nobody: it comes in"):
        for number, performer in planned.items():
            window.get_by_label("Piece").fill(number)
            listed = window.get_by_label("Out to")
            words = name or next(one for one in listed.locator("option").all_inner_texts() if one.startswith(performer))
            listed.select_option(label=words)
            window.locator(".act").click()
        expected = "All 8 pieces are in." if name else "8 pieces are still on someone."
        expect(window.locator("h1")).to_have_text(expected)


def come_home(people: People, loan: Loan) -> str:
    """One by one: all as sent but a pair of boots without its right half; gives the number of the boots."""
    window = people.go("archivist", f"/loans/{loan.reference}/return/")
    numbers = list(loan.lines.order_by("order").values_list("piece__number", flat=True))
    lame = next(number for number in numbers if number in BOOTS)
    for left, number in zip(range(len(numbers) - 1, -1, -1), numbers, strict=True):
        with window.expect_navigation():
            scan(window, number)
        parts = window.get_by_role("group", name="Tick each part that is here").get_by_role("checkbox")
        for index in range(parts.count() - (number == lame)):
            parts.nth(index).check()
        if number == lame:
            window.get_by_label("incomplete", exact=True).check()
            window.get_by_label("What changed or is missing").fill("the right one stayed in the mud")
        else:
            window.get_by_label("as sent", exact=True).check()
        people.act()
        assert people.answer().startswith(f"{left} piece" if left else "Everything is counted.")
    return lame


def put_away(people: People, loan: Loan) -> None:
    """Nothing closes and nothing is free while quarantine runs; one piece goes early, with a word of what was found."""
    window = people.go("archivist", f"/loans/{loan.reference}/put-away/")
    assert people.answer() == "8 pieces wait to be put away."
    assert window.get_by_role("button", name="Close this loan").count() == 0
    first = window.locator("section.card").first
    first.get_by_label("Looked at and found").fill("clean, no moth")
    with window.expect_navigation():
        first.get_by_role("button", name="Release and put away").click()
    assert people.answer() == "7 pieces wait to be put away."
    with time_machine.travel(datetime(2031, 7, 10, 9, tzinfo=UTC), tick=True):
        people.go("archivist", f"/loans/{loan.reference}/put-away/")
        people.press("Release and put away these 7")
        people.press("Close this loan")
        assert "closed" in people.answer()
        people.go("production", "/calls/FEN-1/")
        people.press("Close this call")


@pytest.mark.parametrize("size", [pytest.param("phone", marks=pytest.mark.walk), "desk"])
def test_a_call_in_an_archive_of_other_names(
    size: str, cast: Cast, open_page: Callable[[str], Any], enter: Enter
) -> None:
    people = People(open_page(size), enter, cast)
    with time_machine.travel(datetime(2031, 5, 5, 9, tzinfo=UTC), tick=True):
        make_archive(cast)
        plan_and_hold(people)
    with time_machine.travel(datetime(2031, 6, 9, 9, tzinfo=UTC), tick=True):
        loan = pull_and_send(people)
    with time_machine.travel(datetime(2031, 6, 10, 9, tzinfo=UTC), tick=True):
        out_and_in(people, loan)
    with time_machine.travel(datetime(2031, 6, 12, 9, tzinfo=UTC), tick=True):
        lame = come_home(people, loan)
        put_away(people, loan)
        window = people.go("archivist", f"/pieces/{lame}/")
    shown = [" ".join(line.split()) for line in window.locator(".history").last.locator("li").all_inner_texts()]
    assert len(shown) == len(TOLD), shown
    assert [word for word, line in zip(TOLD, reversed(shown), strict=True) if f" {word}" not in line] == []
    assert "the right one stayed in the mud" in shown[3]
    assert set(Standing.objects.filter(piece__loan_lines__loan=loan).values_list("state", flat=True)) == {"in store"}
    assert Piece.objects.get(number=lame).parts.filter(missing_since__isnull=False).count() == 1
    assert list(history.faults()) == []
    lines = HistoryLine.objects.all()
    told = " ".join(f"{line.verb} {line.before} {line.after} {line.reason} {line.by_name}" for line in lines)
    assert [secret for secret in SECRETS if re.search(rf"\b{re.escape(secret)}\b", told)] == []
