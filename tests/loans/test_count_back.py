"""The count back: what is still out by performer and piece, and a day that closes only when somebody has taken note."""

from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from catalog.core.errors import NotAllowed, Refused, WrongState
from catalog.core.models import HistoryLine
from catalog.loans import actions
from catalog.loans.models import Loan, SetDay, Wearer
from catalog.loans.set_day_queries import count_back
from tests.cast import Cast
from tests.loans.test_on_set import BASE, eight, give, line_of, seven
from tests.reading import text_of

__all__ = ["eight", "seven"]
DAY = date(2031, 6, 10)
PAGE = f"{BASE}count-back/"


@pytest.fixture
def evening(cast: Cast, out: Loan, seven: Wearer, eight: Wearer, clock: Any) -> Loan:
    """Three went out, one came in: 7 has a coat, 8 a pair of boots."""
    clock.move_to("2031-06-10 08:00Z")
    give(cast, out, "MOOR-0001", seven)
    give(cast, out, "MOOR-0002", seven)
    give(cast, out, "MOOR-0051", eight)
    clock.move_to("2031-06-10 20:00Z")
    actions.sign_in_piece(by=cast.set_costumer, line=line_of(out, "MOOR-0002"))
    return out


def test_what_is_still_out_by_performer_and_piece(
    cast: Cast, evening: Loan, as_user: Any, django_assert_max_num_queries: Any
) -> None:
    with django_assert_max_num_queries(5 + 4):
        count = count_back(evening, DAY)
    assert [(one.performer, one.number) for one in count.open] == [("7", "MOOR-0001"), ("8", "MOOR-0051")]
    assert (count.signed_out, count.came_in, count.closed) == (3, 1, None)
    assert count_back(evening, date(2031, 6, 9)).open == ()
    page = text_of(as_user(cast.set_costumer).get(PAGE))
    assert "2 pieces are still out." in page
    assert "Ottoline Marrowby" in page
    assert "Close the day with 2 pieces open" in page
    assert f'href="{PAGE}"' in text_of(as_user(cast.set_costumer).get("/loans/MOOR-CALL-1-L1/"))


def test_a_day_with_something_open_closes_only_with_a_note(cast: Cast, evening: Loan, as_user: Any, clock: Any) -> None:
    client = as_user(cast.set_costumer)
    bare = client.post(PAGE, {"noted_by": "", "note": "seen in the bus"})
    assert bare.status_code == 422
    assert "2 pieces are still out: MOOR-0001 with performer 7, MOOR-0051 with performer 8." in text_of(bare)
    assert 'value="seen in the bus"' in text_of(bare)
    assert "Say what is known" in text_of(client.post(PAGE, {"noted_by": "key costumer"}))
    told = {"noted_by": "key costumer", "note": "Perpetua Quillfeather rode off in it"}
    assert client.post(PAGE, told).url == f"{PAGE}?day=2031-06-10"
    row = SetDay.objects.get()
    assert (row.noted_by, row.note, row.open.count()) == ("key costumer", "performer 7 rode off in it", 2)
    line = HistoryLine.objects.get(verb="day on set closed")
    assert line.after["pieces"] == ["MOOR-0001 with performer 7", "MOOR-0051 with performer 8"]
    assert "Quillfeather" not in f"{line.after} {line.reason}"
    with pytest.raises(WrongState, match="10 Jun 2031 was closed by set_costumer"):
        actions.close_set_day(by=cast.archivist, loan=evening, day=DAY)
    # What comes in the next morning does not change what was open that night.
    clock.move_to("2031-06-11 07:00Z")
    actions.sign_in_piece(by=cast.set_costumer, line=line_of(evening, "MOOR-0001"))
    page = text_of(client.get(f"{PAGE}?day=2031-06-10"))
    assert "2 pieces were still out when 10 Jun 2031 was closed." in page
    assert "came in later" in page
    assert "key costumer took note: performer 7 rode off in it" in page
    assert [one.number for one in count_back(evening, date(2031, 6, 11)).open] == ["MOOR-0051"]


def test_an_empty_line_closes_at_once(cast: Cast, evening: Loan, as_user: Any) -> None:
    for number in ("MOOR-0001", "MOOR-0051"):
        actions.sign_in_piece(by=cast.set_costumer, line=line_of(evening, number))
    client = as_user(cast.set_costumer)
    assert "Everything is in." in text_of(client.get(PAGE))
    assert "10 Jun 2031 is closed: everything came in." in text_of(client.post(PAGE, follow=True))
    assert SetDay.objects.get().note == ""


@pytest.mark.parametrize(
    ("day", "words"),
    [(date(2031, 6, 11), "still to come"), (date(2031, 6, 6), "was not out on 6 Jun 2031")],
)
def test_other_days_are_refused(day: date, words: str, cast: Cast, evening: Loan) -> None:
    with pytest.raises(WrongState, match=words):
        actions.close_set_day(by=cast.set_costumer, loan=evening, day=day)


def test_who_may_and_what_the_database_refuses(cast: Cast, evening: Loan) -> None:
    with pytest.raises(NotAllowed):
        actions.close_set_day(by=cast.production, loan=evening, day=DAY)
    with pytest.raises(Refused, match="say who takes note"):
        actions.close_set_day(by=cast.archivist, loan=evening, day=DAY)
    now = SetDay(loan=evening, day=DAY, closed_at=line_of(evening, "MOOR-0001").sign_outs.get().out_at)
    now.note = "nobody said so"
    with pytest.raises(IntegrityError), transaction.atomic():
        now.save()
    now.note = ""
    now.save()
    with pytest.raises(IntegrityError), transaction.atomic():
        SetDay.objects.create(loan=evening, day=DAY, closed_at=now.closed_at)
