"""Pest work and quarantine stop the pull and the sending; travel that says stays is named before anything is taken."""

import json
from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from catalog.care import actions as care
from catalog.care.models import Treatment
from catalog.core.errors import WrongState
from catalog.loans import actions, loan_queries
from catalog.loans.models import Loan
from catalog.pieces.models import Material, Piece
from catalog.storage import actions as storage
from catalog.storage.models import Standing
from tests.cast import Cast
from tests.loans.world import Stage

As = Callable[[Any], Client]
DAY = date(2031, 6, 1)


def freeze(cast: Cast, piece: Piece) -> Treatment:
    work = care.need_treatment(by=cast.archivist, piece=piece, what="freeze", days=14, day_kind="calendar")
    return care.start_treatment(by=cast.archivist, treatment=work, started_on=DAY)


def quarantine(cast: Cast, piece: Piece) -> None:
    care.open_quarantine(by=cast.archivist, piece=piece, opened_on=DAY, due_on=date(2031, 6, 20), reason="moth seen")


def pull(cast: Cast, loan: Loan, number: str) -> None:
    actions.pull_piece(by=cast.archivist, loan=loan, code_or_number=number)


def test_a_piece_under_pest_work_is_not_pulled_until_it_is_done(
    cast: Cast, stage: Stage, loan: Loan, clock: Any
) -> None:
    work = freeze(cast, stage.coat)
    said = (
        r"MOOR-0001 may not be pulled: the pest work “freeze” is under way, due 15 Jun 2031\. Finish that work or call"
    )
    with pytest.raises(WrongState, match=said):
        pull(cast, loan, "MOOR-0001")
    assert [row.kept[:27] for row in loan_queries.pull_list(loan) if row.kept] == ["MOOR-0001 may not be pulled"]
    clock.move_to("2031-06-15 08:00Z")
    care.finish_treatment(by=cast.archivist, treatment=work, done_on=date(2031, 6, 15))
    pull(cast, loan, "MOOR-0001")


def test_a_piece_in_quarantine_is_not_pulled_until_it_is_released(cast: Cast, stage: Stage, loan: Loan) -> None:
    quarantine(cast, stage.coat)
    with pytest.raises(
        WrongState, match=r"it is in quarantine until 20 Jun 2031 \(moth seen\)\. Check it and release it"
    ):
        pull(cast, loan, "MOOR-0001")
    care.release_quarantine(by=cast.archivist, piece=stage.coat, released_on=date(2031, 6, 7), findings="none")
    pull(cast, loan, "MOOR-0001")


@pytest.mark.parametrize("keep", [freeze, quarantine])
def test_what_is_found_after_the_pull_is_not_sent(keep: Any, cast: Cast, stage: Stage, loan: Loan) -> None:
    for line in loan.lines.select_related("piece"):
        pull(cast, loan, line.piece.number)
    keep(cast, stage.coat)
    with pytest.raises(WrongState, match="MOOR-0001 may not be sent out"):
        actions.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver")
    loan.refresh_from_db()
    assert loan.state == "pulling"
    assert not Standing.objects.filter(state="out").exists(), "nothing left with it"
    actions.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver", leave_behind=["MOOR-0001"], reason="moth")
    assert Standing.objects.get(piece=stage.coat).state == "in store"


def test_nothing_under_pest_work_leaves_by_any_other_way(cast: Cast, stage: Stage, loan: Loan) -> None:
    freeze(cast, stage.coats[2])
    with pytest.raises(WrongState, match="MOOR-0003 may not be sent out"):
        storage.send_out(by=cast.archivist, piece=stage.coats[2], to=None, reason="by hand")
    with pytest.raises(WrongState, match="MOOR-0003 may not be pulled"):
        actions.pull_piece(
            by=cast.archivist,
            loan=loan,
            code_or_number="MOOR-0003",
            substitute_for=stage.coat,
            reason="the other is torn",
        )
    assert not loan.lines.filter(piece=stage.coats[2]).exists()


def test_the_pull_page_names_what_stays_before_it_is_taken_and_when_scanned(
    cast: Cast, stage: Stage, loan: Loan, as_user: As
) -> None:
    """The house names it; only pest work and quarantine are refused."""
    for piece in stage.coats:
        piece.materials.add(Material.objects.get_or_create(name="wool", defaults={"family": "cloth"})[0])
    client, url = as_user(cast.archivist), f"/loans/{loan.reference}/pull/"
    care.find_hazard(
        by=cast.archivist,
        piece=stage.coat,
        hazard="radium",
        state="suspected",
        note="",
        found_on=DAY,
        found_by_name="Bo",
    )
    rows = {row.line.piece.number: row for row in client.get(url).context["rows"]}
    # No rule of the house is loaded, so what is dangerous or not known is never a yes.
    assert "It stays by the travel rules until more is known." in rows["MOOR-0001"].travel
    assert rows["MOOR-0002"].travel == ""
    assert "For &#x27;radium&#x27; no rule speaks" in client.get(url).content.decode()
    taken = client.post(url, {"code": "MOOR-0001"}, follow=True).content.decode()
    assert "MOOR-0001 coat: taken." in taken
    assert "MOOR-0001: It stays by the travel rules" in taken
    clean = client.post(url, {"code": "MOOR-0002"}, follow=True).content.decode()
    assert "MOOR-0002: It stays" not in clean
    act = {"client_id": str(uuid4()), "code": "MOOR-0051"}
    sent = client.post(f"{url}send/", json.dumps({"acts": [act]}), content_type="application/json").json()["answers"][0]
    assert "It stays by the travel rules" in sent["lift"], "boots without materials are not known"


def test_the_refusal_of_a_scan_stands_on_the_page(cast: Cast, stage: Stage, loan: Loan, as_user: As) -> None:
    freeze(cast, stage.coat)
    client, url = as_user(cast.set_costumer), f"/loans/{loan.reference}/pull/"
    assert "kept apart" in client.get(url).content.decode()
    fault = client.post(url, {"code": "MOOR-0001"})
    assert fault.status_code == 422
    assert "MOOR-0001 may not be pulled" in fault.context["refused"]
