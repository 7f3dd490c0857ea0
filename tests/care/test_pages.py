"""Pages about care: forms for who may, cautions where the hand is, faults told at their field."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from catalog.care import actions
from catalog.care.queries import wear_blockers
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.pieces import world

pytestmark = pytest.mark.django_db
AsUser = Callable[[Any], Client]
DAY = "2024-05-06"
SIGNED = {"grade": "2", "stability": "stable", "completeness": "complete", "occasion": "entry", "note": ""}


@pytest.fixture
def felt(cast: Cast) -> Piece:
    return world.piece(cast, world.production(cast), kind="hat", name="Felt hat", materials=["fur felt", "silk"])


def url(name: str, piece: Piece) -> str:
    return reverse(f"care:{name}", args=[piece.number])


def marks(*rows: dict[str, str], total: int = 4) -> dict[str, str]:
    sent = {"mark-TOTAL_FORMS": str(total), "mark-INITIAL_FORMS": "0"}
    for n in range(total):
        row = rows[n] if n < len(rows) else {}
        sent |= {f"mark-{n}-{name}": row.get(name, "") for name in ("zone", "word", "size_mm")}
        if row.get("on_screen"):
            sent[f"mark-{n}-origin"] = "yes"
    return sent


@pytest.mark.parametrize(
    ("name", "allowed"),
    [
        ("report", "A"),
        ("decide", "A"),
        ("hazard", "A"),
        ("pack", "A"),
        ("treatment", "A"),
        ("alteration", "AW"),
        ("quarantine", "AWS"),
        ("pest_hold", "A"),
        ("treatments", "AWPS"),
        ("untested", "AWPS"),
    ],
)
def test_who_may_open_what(cast: Cast, as_user: AsUser, felt: Piece, name: str, allowed: str) -> None:
    address = reverse(f"care:{name}") if name in {"treatments", "untested"} else url(name, felt)
    for letter, person in zip("AWPSV", cast.everyone(), strict=True):
        assert as_user(person).get(address).status_code == (200 if letter in allowed else 403), person
    assert as_user(None).get(address).status_code == 302


def test_it_reports_with_marks_in_words(cast: Cast, as_user: AsUser, felt: Piece) -> None:
    client, address = as_user(cast.archivist), url("report", felt)
    page = client.get(address).content.decode()
    assert "shattered silk" in page, "silk is cloth, so its words are offered"
    assert "matted" in page, "and felt is fur"
    assert "red rot" not in page
    assert "no steam" in page, "the caution stands where the hand is"
    rows = marks(
        {"zone": "rim, left", "word": "tear", "size_mm": "2.5"}, {"zone": "crown", "word": "dust", "on_screen": "1"}
    )
    assert client.post(address, SIGNED | rows).status_code == 302
    report = felt.reports.get()
    assert [(m.zone, m.size_mm, m.on_screen) for m in report.marks.all()] == [
        ("rim, left", 25, None),
        ("crown", None, True),
    ]


def test_a_faulty_mark_is_told_and_nothing_is_kept(cast: Cast, as_user: AsUser, felt: Piece) -> None:
    rows = marks({"zone": "", "word": "tear"}, {"zone": "rim", "word": "dent", "size_mm": "big"})
    page = as_user(cast.archivist).post(url("report", felt), SIGNED | rows)
    text = page.content.decode()
    assert "Say where the mark is" in text
    assert "is no length" in text
    assert 'href="#id_mark-0-zone"' in text
    assert "Error:" in text
    assert 'value="big"' in text
    assert page.status_code == 422
    assert not felt.reports.exists()


def test_it_decides_and_says_what_overrides(cast: Cast, as_user: AsUser, felt: Piece) -> None:
    client, address = as_user(cast.archivist), url("decide", felt)
    sent = {"decision": "wear", "repair_day_kind": "working", "decided_on": DAY, "decided_by_name": "Bo"}
    assert client.post(address, sent).status_code == 302
    assert "untested" in wear_blockers(felt)[0]
    page = client.get(address).content.decode()
    assert "There may be mercury in the felt" in page
    for more, sentence in (
        ({"decision": "wear with limits"}, "Say what the limits are"),
        ({"decision": "wear after repair"}, "Say how many days the repair takes"),
        ({"decided_on": "soon"}, "Decided on: that is no day. Give it like 8 Sep 2026"),
        ({"decision": ""}, "Decision: nothing was chosen. Choose one."),
    ):
        fault = client.post(address, sent | more)
        assert fault.status_code == 422
        assert sentence in fault.content.decode()
    assert felt.wear_decisions.count() == 1


def test_it_notes_a_hazard_and_asks_how_it_was_cleared(cast: Cast, as_user: AsUser, felt: Piece) -> None:
    client, address = as_user(cast.archivist), url("hazard", felt)
    assert "is named among the materials" in client.get(address).content.decode()
    sent = {"hazard": "mercury", "state": "cleared", "note": "", "found_on": DAY, "found_by_name": "Lab"}
    fault = client.post(address, sent)
    assert fault.status_code == 422
    assert "Say how it was tested" in fault.content.decode()
    assert client.post(address, sent | {"note": "XRF, clean"}).status_code == 302
    assert felt.hazards.get().state == "cleared"


def test_a_damaged_pack_brings_its_caution(cast: Cast, as_user: AsUser, felt: Piece) -> None:
    client, address = as_user(cast.archivist), url("pack", felt)
    sent = {"chemistry": "lithium_ion", "energy_wh": "28.8", "state": "damaged", "placed": "fitted", "seen_on": DAY}
    answer = client.post(address, sent, follow=True)
    assert "not in the battery cabinet" in answer.content.decode()
    pack = felt.packs.get()
    again = client.post(f"{address}?pack={pack.pk}", sent | {"state": "sound", "charge_percent": "130"})
    assert again.status_code == 422
    assert client.post(f"{address}?pack={pack.pk}", sent | {"state": "sound", "energy_wh": ""}).status_code == 302
    pack.refresh_from_db()
    assert (pack.state, pack.energy_wh) == ("sound", None)
    assert client.get(f"{address}?pack=99999").status_code == 404


def test_work_goes_on_by_buttons(cast: Cast, as_user: AsUser, felt: Piece) -> None:
    client = as_user(cast.archivist)
    assert (
        client.post(url("treatment", felt), {"what": "new band", "days": "2", "day_kind": "working"}).status_code == 302
    )
    work = felt.treatments.get()
    step = reverse("care:move_treatment", args=[felt.number, work.pk])
    assert client.get(step).status_code == 405
    for state in ("started", "done"):
        assert client.post(step).status_code == 302
        work.refresh_from_db()
        assert work.state == state
    assert client.post(step).status_code == 409, "done is done"
    told = {
        "what": "padded",
        "point": "head",
        "change_mm": "1",
        "way": "in",
        "seam": "head band",
        "done_on": DAY,
        "done_by_name": "Bo",
    }
    assert as_user(cast.wardrobe_lead).post(url("alteration", felt), told).status_code == 302
    alteration = felt.alterations.get()
    assert alteration.change_mm == -10
    undo = reverse("care:undo_alteration", args=[felt.number, alteration.pk])
    assert as_user(cast.wardrobe_lead).post(undo).status_code == 302
    alteration.refresh_from_db()
    assert alteration.undone_on is not None


def test_quarantine_by_page(cast: Cast, as_user: AsUser, felt: Piece) -> None:
    costumer, archivist, address = as_user(cast.set_costumer), as_user(cast.archivist), url("quarantine", felt)
    span = {"reason": "moth seen", "opened_on": DAY, "due_on": "2024-05-01"}
    fault = costumer.post(address, span)
    assert fault.status_code == 422
    assert "on or after its first day" in fault.content.decode()
    assert costumer.post(address, span | {"due_on": "2024-05-20"}).status_code == 302
    assert "Release it" not in costumer.get(address).content.decode()
    assert costumer.post(address, {"findings": "none", "released_on": "2024-05-20"}).status_code == 403
    assert archivist.post(address, {"findings": "none", "released_on": "2024-05-20"}).status_code == 302
    assert felt.quarantines.get().findings == "none"


def test_lists_of_open_work(cast: Cast, as_user: AsUser, felt: Piece) -> None:
    client = as_user(cast.archivist)
    lists = [reverse("care:treatments"), reverse("care:untested")]
    assert "No work is open" in client.get(lists[0]).content.decode()
    assert felt.number in client.get(lists[1]).content.decode()

    def fill(piece: Piece) -> None:
        actions.need_treatment(by=cast.archivist, piece=piece, what="mend")
        actions.alter(by=cast.archivist, piece=piece, what="padded", done_on=date(2024, 1, 1), done_by_name="Bo")
        actions.open_quarantine(
            by=cast.archivist, piece=piece, opened_on=date(2024, 1, 1), due_on=date(2024, 1, 9), reason="moth"
        )

    def counts() -> list[int]:
        found = []
        for address in lists:
            with CaptureQueriesContext(connection) as counted:
                assert client.get(address).status_code == 200
            found.append(len(counted))
        return found

    fill(felt)
    before = counts()
    for n in range(2, 6):
        fill(world.piece(cast, felt.production, number=f"ABC-000{n}", kind="hat", materials=["fur felt"]))
    assert counts() == before
    text = client.get(lists[0]).content.decode()
    assert "5 treatments are open, 5 alterations to undo" in " ".join(text.split())
    assert "check now" in text


def test_a_report_is_not_filled_in_for_whoever_looks(cast: Cast, felt: Piece, as_user: AsUser) -> None:
    client, address = as_user(cast.archivist), f"/care/{felt.number}/report/"
    assert "checked" not in client.get(address).content.decode()
    rows = {"mark-TOTAL_FORMS": "0", "mark-INITIAL_FORMS": "0"}
    page = client.post(address, {"grade": "2", **rows})
    assert page.status_code == 422
    assert "Stability: nothing was chosen. Choose one." in page.content.decode()
    assert "Completeness: nothing was chosen. Choose one." in page.content.decode()
    assert not felt.reports.exists()
    lost = client.post(address, {"grade": "2"}).content.decode()
    assert "ManagementForm" not in lost
