"""What comes home changed or incomplete is not worn until somebody has looked and decided anew."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from catalog.care import actions as care
from catalog.care.models import WearDecision
from catalog.care.queries import wear_blockers
from catalog.core import clock as now
from catalog.core.errors import NotAllowed
from catalog.core.history import lines_of
from catalog.core.history_words import told
from catalog.loans import actions
from catalog.loans.home_queries import to_look_at
from catalog.loans.models import Loan
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.loans.world import Stage, decide

TORN = "On 7 Jun 2031 it came home changed: brim torn. Look at it and decide anew."


@pytest.fixture
def decided(cast: Cast, stage: Stage) -> Stage:
    for piece in (*stage.coats, *stage.boots):
        decide(cast.archivist, piece)
    return stage


def come_home(by: Any, loan: Loan, piece: Piece, result: str, note: str = "", parts: list[str] | None = None) -> None:
    back = {"result": result, "note": note, "parts_back": parts}
    actions.return_piece(by=by, loan=loan, code_or_number=piece.number, **back)  # type: ignore[arg-type]


def asked(client: Client, name: str, *args: str, **query: str) -> str:
    return client.get(reverse(name, args=args), query).content.decode()


def test_a_changed_return_questions_the_decision_until_a_new_one(cast: Cast, decided: Stage, out: Loan) -> None:
    coat, other = decided.coats[:2]
    come_home(cast.set_costumer, out, coat, "changed", "brim  torn.")
    come_home(cast.set_costumer, out, other, "as sent")
    assert wear_blockers(coat) == (TORN,)
    assert wear_blockers(other) == ()
    line = next(one for one in lines_of(coat.subject) if one.verb == "wear questioned")
    assert told(line) == "Wear questioned: to be decided anew (was wear)."
    assert line.reason == "came home changed: brim torn."
    assert [piece.number for piece in to_look_at()] == [coat.number]
    care.report_condition(by=cast.archivist, piece=coat, grade=2)
    assert wear_blockers(coat) == (TORN,)
    decide(cast.archivist, coat, decided_on=date(2031, 6, 6))
    assert wear_blockers(coat) == (TORN,), "a decision of an earlier day has not seen it"
    decide(cast.archivist, coat, "wear with limits", limits="not in the rain")
    assert wear_blockers(coat) == ()
    assert not to_look_at().exists()


def test_what_nobody_decided_on_waits_for_a_report(cast: Cast, stage: Stage, out: Loan) -> None:
    WearDecision.objects.filter(piece=stage.coat).delete()  # as before anybody had to decide
    come_home(cast.set_costumer, out, stage.coat, "changed", "cuff torn")
    assert wear_blockers(stage.coat)
    assert [piece.number for piece in to_look_at()] == [stage.coat.number]
    assert not any(line.verb == "wear questioned" for line in lines_of(stage.coat.subject))
    care.report_condition(by=cast.archivist, piece=stage.coat, grade=3)
    assert not to_look_at().exists()


def test_a_refused_return_questions_nothing(cast: Cast, decided: Stage, out: Loan) -> None:
    with pytest.raises(NotAllowed):
        come_home(cast.visitor, out, decided.coat, "changed", "torn")
    with pytest.raises(NotAllowed):
        care.question_wear(by=cast.production, piece=decided.coat, what="it fell", why="", on=now.today())
    assert not WearDecision.objects.exclude(questioned_on=None).exists()


def test_the_table_keeps_no_question_without_its_reason(decided: Stage) -> None:
    for half in ({"questioned_on": date(2031, 6, 7)}, {"questioned_why": "fell"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            WearDecision.objects.filter(piece=decided.coat).update(**half)


def test_every_page_says_so(cast: Cast, decided: Stage, out: Loan, clock: Any) -> None:
    coat, boots = decided.coat, decided.boots[0]
    care.report_condition(by=cast.archivist, piece=boots, grade=2)
    come_home(cast.archivist, out, coat, "changed", "brim torn")
    come_home(cast.archivist, out, boots, "incomplete", "right one left on the quay", ["L"])
    come_home(cast.archivist, out, decided.coats[1], "as sent")
    clock.move_to("2031-09-01 08:00Z")
    for line in out.lines.select_related("piece", "loan"):
        actions.release_line(by=cast.archivist, line=line)
        actions.put_away(by=cast.archivist, line=line)
    client = Client()
    client.force_login(cast.archivist)
    page = asked(client, "desk:piece", coat.number)
    assert "Coat: in store, not for wear." in page
    assert TORN in page
    page = asked(client, "desk:piece", boots.number)
    assert "not for wear" in page
    assert "without right boot (R)" in page
    assert "2 pieces came home changed: look at them and decide anew on wear." in asked(client, "desk:today")
    page = asked(client, "finding:find", ask="came-home-changed")
    assert [number in page for number in ("MOOR-0001", "MOOR-0051", "MOOR-0002")] == [True, True, False]
    assert page.count("to be decided anew") == 2
    assert coat.number not in asked(client, "finding:find", wear="wear")
    decide(cast.archivist, boots)
    page = asked(client, "desk:piece", boots.number)
    assert "in store, may be worn" in page
    assert "without right boot (R)" in page, "what is missing stays missing"


def test_closing_early_says_what_comes_free_and_the_page_offers_one_act(cast: Cast, out: Loan) -> None:
    client = Client()
    client.force_login(cast.archivist)
    for line in out.lines.select_related("piece"):
        come_home(cast.archivist, out, line.piece, "as sent", parts=["L", "R"] if line.piece.parts.exists() else None)
    assert asked(client, "loans:loan", out.reference).count("Put away</a>") == 1
    for line in out.lines.select_related("piece", "loan"):
        actions.release_line(by=cast.archivist, line=line, findings="clean")
        actions.put_away(by=cast.archivist, line=line)
    ends = out.hold.ends + timedelta(days=1)
    page = client.post(reverse("loans:close", args=[out.reference]), follow=True).content.decode()
    assert f"Hold JOB-1 lets go with it: 3 pieces are free from today, not only from {ends:%-d %b %Y}." in page
    assert not out.hold.days.filter(day__gte=now.today()).exists()
