"""What a loan costs: noted, added up currency by currency, struck out with a reason, for archivist and production."""

import csv
from collections.abc import Callable
from decimal import Decimal
from io import StringIO
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from catalog.access.duties import Duty
from catalog.core.errors import NotAllowed, Refused, WrongState
from catalog.core.models import HistoryLine
from catalog.loans import actions
from catalog.loans.cost_queries import cost_words, costs_of
from catalog.loans.models import Loan, LoanCost
from catalog.pieces.calc.values import sums
from tests.cast import Cast
from tests.papers import words_of
from tests.reading import text_of

As = Callable[[Any], Client]
COSTS = "/loans/MOOR-CALL-1-L1/costs/"
BILL = {"what": "carrier", "amount": "600.50", "currency": "eur", "paid_by": "borrower"}


def test_costs_add_up_by_payer_and_currency(cast: Cast, loan: Loan, as_user: As) -> None:
    client = as_user(cast.production)
    for change in ({}, {"amount": "0.10", "what": "tape"}, {"currency": "USD"}, {"paid_by": "lender", "amount": "12"}):
        assert client.post(COSTS, BILL | change).status_code == 302
    found = costs_of(loan)
    assert found.total == {"EUR": Decimal("612.60"), "USD": Decimal("600.50")}
    assert cost_words(found) == "the archive EUR\u00a012; the borrower EUR\u00a0600.60 and USD\u00a0600.50"
    page = text_of(client.get(COSTS))
    assert "MOOR-CALL-1-L1 costs EUR 612.60 and USD 600.50." in page
    rows = list(csv.DictReader(StringIO(b"".join(client.get(f"{COSTS}table.csv")).decode())))
    by_hand = sum(Decimal(row["amount"]) for row in rows if row["currency"] == "EUR")
    assert by_hand == found.total["EUR"]
    said = " ".join(words_of(client.get("/loans/MOOR-CALL-1-L1/agreement.pdf").content).split())
    assert "Costs the archive EUR 12; the borrower EUR 600.60 and USD 600.50" in said


def test_a_wrong_entry_is_struck_out_and_stays(cast: Cast, loan: Loan, as_user: As) -> None:
    cost = actions.note_cost(by=cast.archivist, loan=loan, **BILL | {"amount": Decimal(9)})
    url = f"{COSTS}{cost.pk}/strike-out/"
    client = as_user(cast.archivist)
    assert "Strike out “carrier”" in text_of(client.get(url))
    assert client.post(url, {"reason": " "}).status_code == 422
    assert client.post(url, {"reason": "was for another loan"}).status_code == 302
    assert costs_of(loan).total == {}
    page = text_of(client.get(COSTS))
    assert "No cost of MOOR-CALL-1-L1 is noted yet." in page
    assert "was for another loan" in page
    with pytest.raises(WrongState, match="struck out already"):
        actions.strike_cost(by=cast.archivist, cost=cost, reason="again")
    verbs = HistoryLine.objects.filter(subject_kind="loan").order_by("seq").values_list("verb", flat=True)
    assert list(verbs)[-2:] == ["cost noted", "cost struck out"]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"amount": "0"}, "Amount: a cost is more than nothing."),
        ({"amount": "-5"}, "Amount: give at least 0."),
        ({"amount": "five"}, "Amount: that is no number."),
        ({"currency": "E1"}, "Currency: at least 3 characters."),
        ({"currency": "12€"}, "Type the currency as its three letters"),
        ({"what": " "}, "Say what it is for."),
        ({"paid_by": "nobody"}, "Paid by: that is none of the answers."),
    ],
)
def test_bad_input_is_one_sentence_and_what_was_typed_stays(
    cast: Cast, loan: Loan, as_user: As, change: dict[str, str], said: str
) -> None:
    answer = as_user(cast.archivist).post(COSTS, BILL | {"what": "boat hire"} | change)
    assert answer.status_code == 422
    assert said in text_of(answer)
    assert 'value="boat hire"' in text_of(answer) or "what" in change
    assert not LoanCost.objects.exists()


def test_the_action_and_the_database_refuse_it_too(cast: Cast, loan: Loan) -> None:
    facts: dict[str, Any] = BILL | {"amount": Decimal(1)}
    for person in (cast.wardrobe_lead, cast.set_costumer, cast.visitor):
        with pytest.raises(NotAllowed):
            actions.note_cost(by=person, loan=loan, **facts)
    with pytest.raises(Refused):
        actions.note_cost(by=cast.archivist, loan=loan, **facts | {"amount": Decimal(0)})
    row = actions.note_cost(by=cast.archivist, loan=loan, **facts)
    for wrong in ({"amount": 0}, {"paid_by": "me"}, {"what": ""}, {"struck_reason": "x"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            LoanCost.objects.filter(pk=row.pk).update(**wrong)


def test_who_may_not_see_costs_sees_none(cast: Cast, loan: Loan, as_user: As) -> None:
    cost = actions.note_cost(by=cast.archivist, loan=loan, **BILL | {"amount": Decimal("7654.32")})
    may = {Duty.ARCHIVIST, Duty.PRODUCTION}
    for duty in Duty:
        client = as_user(cast.of(duty))
        for url in (COSTS, f"{COSTS}table.csv", f"{COSTS}{cost.pk}/strike-out/"):
            assert client.get(url).status_code == (200 if duty in may else 403), (duty, url)
        if duty not in may and duty is not Duty.VISITOR:
            for page in ("", "papers/", "list/"):
                assert "7,654" not in text_of(client.get(f"/loans/MOOR-CALL-1-L1/{page}"))
    assert as_user(None).get(COSTS).status_code == 302


@given(st.lists(st.tuples(st.sampled_from(["EUR", "USD"]), st.decimals("0.01", "9999999999.99", places=2))))
def test_sums_lose_no_cent(rows: list[tuple[str, Decimal]]) -> None:
    """Against whole cents, which Python's integers add without any rounding."""
    for currency, total in sums(rows).items():
        assert int(total * 100) == sum(int(amount * 100) for code, amount in rows if code == currency)
