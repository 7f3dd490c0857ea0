"""What comes home and is on no list: ours from another loan, ours that never left, and what is not ours at all."""

from collections.abc import Callable
from datetime import date
from io import BytesIO
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from PIL import Image

from catalog.core.errors import NotAllowed, Refused, WrongState
from catalog.core.history import lines_of
from catalog.core.history_words import told
from catalog.loans import actions
from catalog.loans.loan_queries import open_sentence
from catalog.loans.models import Loan, Unlisted
from catalog.loans.unlisted_queries import line_elsewhere
from tests.cast import Cast
from tests.loans.world import Stage, make_firm
from tests.reading import text_of

As = Callable[[Any], Client]


@pytest.fixture
def other(cast: Cast, stage: Stage, out: Loan) -> Loan:
    """A second loan that is out with the third coat."""
    held = make_firm(cast.production, [stage.coats[2]], reference="JOB-2")
    loan = actions.start_loan(by=cast.archivist, hold=held)
    actions.pull_piece(by=cast.archivist, loan=loan, code_or_number="MOOR-0003")
    actions.send_loan(by=cast.archivist, loan=loan, taken_by="Second unit")
    loan.refresh_from_db()
    return loan


def url(name: str, loan: Loan, *more: object) -> str:
    return reverse(f"loans:{name}", args=[loan.reference, *more])


def umbrella(cast: Cast, loan: Loan, **more: Any) -> Unlisted:
    facts = {
        "description": "black  umbrella",
        "owner_name": "Perpetua Quillfeather",
        "goes_back_to": "her agent",
    } | more
    return actions.note_not_ours(by=cast.set_costumer, loan=loan, **facts)


def test_a_piece_of_another_loan_gets_its_own_line_and_names_it(
    cast: Cast, out: Loan, other: Loan, as_user: As
) -> None:
    client = as_user(cast.set_costumer)
    for _ in range(2):
        answer = client.post(url("return", out), {"code": "MOOR-0003"}, follow=True)
    said = text_of(answer)
    assert f"MOOR-0003 is of {other.reference}, to Pick-up unit: it has its own line here." in said
    assert f'href="{url("return", other)}?code=MOOR-0003"' in said
    row = out.unlisted.get()
    assert row.from_line == other.lines.get()
    line = lines_of(out.subject)[0]
    assert told(line) == f"Came with it, not on its list: thing MOOR-0003 of {other.reference}."
    actions.return_piece(by=cast.archivist, loan=other, code_or_number="MOOR-0003", result="as sent")
    assert "Count it back there" not in text_of(client.get(url("return", out)))
    assert "MOOR-0003" not in open_sentence(out), "it keeps only its own loan open"


def test_it_is_only_found_elsewhere_when_it_is_out_elsewhere(cast: Cast, out: Loan, other: Loan) -> None:
    assert line_elsewhere(out, "moor-0003") == other.lines.get()
    assert line_elsewhere(out, "MOOR-0001") is None, "it is on this loan"
    assert line_elsewhere(out, "MOOR-0052") is None, "it never left"
    assert line_elsewhere(out, "no such thing") is None


def test_what_never_left_is_refused_and_told_where_it_should_be(
    cast: Cast, stage: Stage, out: Loan, as_user: As
) -> None:
    with pytest.raises(Refused, match=r"no loan has it; by its record it never left: it should be at .*TR-1"):
        actions.return_piece(by=cast.archivist, loan=out, code_or_number="MOOR-0052", result="as sent")
    answer = as_user(cast.set_costumer).post(url("return", out), {"code": "MOOR-0052"})
    assert answer.status_code == 422
    assert "by its record it never left: it should be at" in text_of(answer)
    assert not Unlisted.objects.exists()


def test_returning_twice_is_one_sentence(cast: Cast, out: Loan, as_user: As) -> None:
    actions.return_piece(by=cast.archivist, loan=out, code_or_number="MOOR-0001", result="as sent")
    answer = as_user(cast.set_costumer).post(url("return", out), {"code": "MOOR-0001"})
    assert answer.status_code == 422
    assert "MOOR-0001 is back already: in quarantine." in text_of(answer)


def test_what_is_not_ours_keeps_the_loan_open_until_it_is_handed_over(cast: Cast, out: Loan, clock: Any) -> None:
    thing = umbrella(cast, out)
    assert thing.description == "black umbrella"
    for number, parts in (("MOOR-0001", None), ("MOOR-0002", None), ("MOOR-0051", ["L", "R"])):
        actions.return_piece(by=cast.archivist, loan=out, code_or_number=number, result="as sent", parts_back=parts)
    clock.move_to("2031-06-28 08:00Z")
    for line in out.lines.all():
        actions.release_line(by=cast.archivist, line=line)
        actions.put_away(by=cast.archivist, line=line)
    with pytest.raises(WrongState, match="cannot close: black umbrella is not ours and not handed over"):
        actions.close_loan(by=cast.archivist, loan=out)
    actions.hand_over(by=cast.set_costumer, thing=thing, handed_over_to="the agent", handed_over_on=date(2031, 6, 28))
    with pytest.raises(WrongState, match="“black umbrella” was handed over on 28 Jun 2031"):
        actions.hand_over(by=cast.set_costumer, thing=thing, handed_over_to="x", handed_over_on=date(2031, 6, 28))
    assert actions.close_loan(by=cast.archivist, loan=out).state == Loan.State.CLOSED
    with pytest.raises(WrongState, match="is closed: nothing can come home with it"):
        umbrella(cast, out)


def test_whose_it_is_stays_out_of_the_history(cast: Cast, out: Loan) -> None:
    thing = umbrella(cast, out)
    actions.hand_over(by=cast.set_costumer, thing=thing, handed_over_to="Perpetua", handed_over_on=date(2031, 6, 7))
    lines = lines_of(out.subject)
    assert told(lines[1]) == "Came with it, not ours: thing black umbrella."
    assert told(lines[0]) == "Given back: thing black umbrella; handed over on 7 Jun 2031."
    assert "Perpetua" not in " ".join(f"{line.after} {line.before} {line.reason}" for line in lines)


@pytest.mark.parametrize(("to", "on", "words"), [("", date(2031, 6, 7), "to whom"), ("x", date(2031, 6, 8), "to come")])
def test_a_faulty_hand_over_is_a_sentence(cast: Cast, out: Loan, to: str, on: date, words: str) -> None:
    with pytest.raises(Refused, match=words):
        actions.hand_over(by=cast.archivist, thing=umbrella(cast, out), handed_over_to=to, handed_over_on=on)


def test_only_who_counts_back_may_note_and_hand_over(cast: Cast, out: Loan, other: Loan) -> None:
    thing = umbrella(cast, out)
    with pytest.raises(NotAllowed):
        actions.note_not_ours(by=cast.production, loan=out, description="hat")
    with pytest.raises(NotAllowed):
        actions.hand_over(by=cast.visitor, thing=thing, handed_over_to="x", handed_over_on=date(2031, 6, 7))
    with pytest.raises(NotAllowed):
        actions.note_elsewhere(by=cast.visitor, loan=out, line=other.lines.get())


@pytest.mark.parametrize(
    "wrong",
    [
        {"description": ""},
        {"description": "hat", "handed_over_to": "x"},
        {"description": "hat", "handed_over_on": date(2031, 6, 7)},
    ],
)
def test_the_database_refuses_what_cannot_be(out: Loan, wrong: dict[str, Any]) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Unlisted.objects.create(loan=out, **wrong)


def png() -> bytes:
    stream = BytesIO()
    Image.new("RGB", (60, 40), (30, 30, 30)).save(stream, "PNG")
    return stream.getvalue()


def test_the_pages_note_show_and_hand_over(cast: Cast, out: Loan, as_user: As) -> None:
    client = as_user(cast.set_costumer)
    assert client.post(url("not_ours", out), {"description": ""}).status_code == 422
    sent = {"description": "umbrella", "picture": SimpleUploadedFile("u.png", png(), "image/png")}
    said = text_of(client.post(url("not_ours", out), sent, follow=True))
    assert "umbrella" in said
    assert "not known" in said
    thing = out.unlisted.get()
    assert client.get(url("unlisted_picture", out, thing.pk))["Content-Type"] == "image/jpeg"
    faulty = client.post(url("hand_over", out, thing.pk), {"handed_over_to": "", "handed_over_on": "2031-06-07"})
    assert faulty.status_code == 422
    client.post(url("hand_over", out, thing.pk), {"handed_over_to": "agent", "handed_over_on": "2031-06-07"})
    thing.refresh_from_db()
    assert thing.handed_over_to == "agent"
    assert "handed over" in text_of(client.get(url("return", out)))


@pytest.mark.parametrize("name", ["hand_over", "unlisted_picture"])
def test_the_wrong_role_and_the_stranger_are_kept_out(cast: Cast, out: Loan, as_user: As, name: str) -> None:
    address = url(name, out, umbrella(cast, out, picture=png()).pk)
    for person, status in zip(cast.everyone(), (200, 200, 403, 200, 403), strict=True):
        assert as_user(person).get(address).status_code == status, person
    assert as_user(None).get(address).status_code == 302
    assert as_user(cast.archivist).get(url(name, out, 99999)).status_code == 404


def test_the_return_page_asks_the_same_however_much_came(
    cast: Cast, stage: Stage, out: Loan, as_user: As, django_assert_max_num_queries: Any
) -> None:
    for n in range(20):
        umbrella(cast, out, description=f"umbrella {n}")
    client = as_user(cast.archivist)
    with django_assert_max_num_queries(13):
        client.get(url("return", out))
