"""Who handled a piece, and the custody statement with the hash of its history, read back from the paper."""

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
import zxingcpp
from django.db import connection
from django.test.utils import CaptureQueriesContext

from catalog.access.duties import Duty
from catalog.core import clock as core_clock
from catalog.core import history
from catalog.core.models import HistoryLine
from catalog.core.triggers import lifted
from catalog.desk.calc.custody import BY_HAND, NOT_SEEN, SEEN, custody_words, is_custody, is_sighting
from catalog.desk.custody_queries import custody_of, handled
from catalog.loans import actions as loans
from catalog.pieces import actions as pieces
from catalog.pieces.models import Piece
from catalog.storage import actions as storage
from catalog.storage.models import Place
from tests.cast import Cast
from tests.loans.world import Stage, make_call, make_firm, make_stage, make_store
from tests.papers import pages_of, words_of
from tests.reading import without_random

A, W, P, S = Duty.ARCHIVIST, Duty.WARDROBE_LEAD, Duty.PRODUCTION, Duty.SET_COSTUMER


@pytest.fixture
def stage(cast: Cast) -> Iterator[Stage]:
    """A boot in a trunk that the set costumer moved, valued, pulled, sent out with a driver and counted back."""
    with time_machine.travel("2031-06-07 08:00Z", tick=False) as clock:
        stage = make_stage()
        store = make_store(cast.archivist, stage)
        boot = stage.boots[0]
        clock.shift(3600)  # an hour later
        storage.move_container(by=cast.set_costumer, container=store.trunk, to=store.high, reason="floor wet")
        clock.shift(3600)
        pieces.value_piece(by=cast.archivist, piece=boot, amount=777, currency="EUR", valued_on=core_clock.today())
        held = make_firm(cast.production, [boot], make_call(cast.production, stage))
        loan = loans.start_loan(by=cast.archivist, hold=held)
        loans.pull_piece(by=cast.wardrobe_lead, loan=loan, code_or_number=boot.number)
        loans.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver")
        yield stage


def boot_of(stage: Stage) -> Piece:
    return Piece.objects.get(pk=stage.boots[0].pk)


def test_every_hand_is_named_and_who_only_wrote_stands_apart(stage: Stage) -> None:
    found = handled(boot_of(stage))
    assert {one.name for one in found.hands} == {"archivist", "wardrobe_lead"}
    assert [(one.name, one.did) for one in found.carriers] == [("set_costumer", ["moved TR-1"])]
    assert [(one.taken_by, one.back_at) for one in found.away] == [("B. Driver", None)]
    assert [one.name for one in found.writers] == ["production"]
    assert found.people == 4
    assert handled(stage.coats[2]).carriers == []


def test_a_trunk_moved_before_the_piece_lay_in_it_counts_for_nothing(cast: Cast, stage: Stage) -> None:
    late = stage.coats[2]
    with time_machine.travel("2031-06-08 08:00Z", tick=False):
        storage.move_piece(by=cast.archivist, piece=late, to=Place.objects.get(code="TR-1"))
    assert handled(late).carriers == []


@pytest.mark.parametrize(
    ("address", "who"), [("handled/", {A, W, P, S}), ("custody.pdf", {A, P}), ("custody.pdf?size=letter", {A, P})]
)
def test_each_address_is_for_its_people(cast: Cast, stage: Stage, as_user: Any, address: str, who: set[Duty]) -> None:
    url = f"/pieces/MOOR-0051/{address}"
    for duty in Duty:
        assert as_user(cast.of(duty)).get(url).status_code == (200 if duty in who else 403), duty
    assert "/sign-in/" in as_user(None).get(url)["Location"]
    page = as_user(cast.set_costumer).get("/pieces/MOOR-0051/").content.decode()
    assert "Who handled it" in page
    assert "Custody statement" not in page


def test_the_page_says_who(cast: Cast, stage: Stage, as_user: Any) -> None:
    page = as_user(cast.production).get("/pieces/MOOR-0051/handled/").content.decode()
    assert "4 people have handled MOOR-0051, as far as recorded." in " ".join(page.split())
    assert "B. Driver" in page
    fresh = Piece.objects.create(number="MOOR-0900", name="hat", kind="hat", production=stage.production)
    assert "Nobody is recorded" in as_user(cast.production).get(f"/pieces/{fresh.number}/handled/").content.decode()
    assert as_user(cast.production).get("/pieces/NOTHING/handled/").status_code == 404


def test_the_statement_has_the_sightings_and_the_head_of_the_chain(cast: Cast, stage: Stage, as_user: Any) -> None:
    boot = boot_of(stage)
    label = storage.issue_label(by=cast.archivist, piece=boot)
    answer = as_user(cast.archivist).get("/pieces/MOOR-0051/custody.pdf")
    words = words_of(answer.content)
    tight = " ".join(words.split())
    assert "MOOR-0051 was last seen on 7 Jun 2031 by archivist." in tight
    assert all(said in tight for said in ("Received", "Pulled", "Went out"))
    assert "777" not in without_random(words)
    assert "Held" not in words
    assert history.head_hash(boot.subject) in "".join(words.split())
    assert "Confidential: for the insurer" in words
    assert "1 of 1" in words
    (page,) = pages_of(answer.content, 300)
    assert [one.text[-7:] for one in zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode)] == [
        label.code
    ]


def test_a_broken_chain_is_said_on_the_paper(cast: Cast, stage: Stage, as_user: Any) -> None:
    boot = boot_of(stage)
    assert custody_of(boot).broken is None
    with lifted(connection):
        HistoryLine.objects.filter(subject_id=boot.number, seq=2).update(reason="nothing happened")
    assert custody_of(boot).broken == 2
    words = " ".join(words_of(as_user(cast.archivist).get("/pieces/MOOR-0051/custody.pdf").content).split())
    assert "The chain is broken at line 2" in words
    assert "and holds" not in words


def test_a_piece_that_nobody_saw_and_a_strange_paper(cast: Cast, stage: Stage, as_user: Any) -> None:
    Piece.objects.create(number="MOOR-0900", name="hat", kind="hat", production=stage.production)
    words = words_of(as_user(cast.archivist).get("/pieces/MOOR-0900/custody.pdf").content)
    assert "no sighting is recorded" in words
    assert history.GENESIS in "".join(words.split())
    answer = as_user(cast.archivist).get("/pieces/MOOR-0051/custody.pdf?size=a0")
    assert "There is no paper “a0”" in answer.content.decode()
    assert as_user(cast.archivist).get("/pieces/NOTHING/custody.pdf").status_code == 404


def test_more_history_asks_no_more(cast: Cast, stage: Stage) -> None:
    boot = boot_of(stage)
    counts = []
    for _ in range(2):
        with CaptureQueriesContext(connection) as seen:
            handled(boot)
            custody_of(boot)
        counts.append(len(seen))
        for place in ("R1-A", "TR-1", "R1-B"):
            storage.move_piece(by=cast.archivist, piece=stage.coats[1], to=Place.objects.get(code=place))
            storage.issue_label(by=cast.archivist, piece=boot)
            storage.replace_label(by=cast.archivist, piece=boot)
    assert counts[0] == counts[1] == 5


def test_only_what_is_listed_is_a_sighting() -> None:
    assert not SEEN & NOT_SEEN
    assert is_sighting("moved")
    assert not is_sighting("held")
    assert not is_sighting("received", {"state": "not found"})
    assert not is_sighting("measured"), "a list of measures may be typed in years later"
    assert SEEN < BY_HAND
    assert is_custody("not found")
    assert not is_custody("valued")
    assert custody_words("moved", {"place": "R1-A", "value": "777"}) == "Moved: place R1-A"
