"""On-screen breakdown is evidence: no cleaning without a name, and the list of what is not washed."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from catalog.care import actions
from catalog.care.evidence_queries import must_not_be_washed, nobody_has_said, told_of_one
from catalog.care.models import OnScreenBreakdown, Treatment
from catalog.care.report_actions import MarkSeen, report_unchanged, same_again
from catalog.care.unwashed_queries import with_care
from catalog.core import history
from catalog.core.errors import NotAllowed, Refused, WrongState, WrongValues
from catalog.pieces.models import Piece
from tests.cast import Cast
from tests.demo_world import DemoWorld
from tests.pieces import world
from tests.reading import text_of

pytestmark = pytest.mark.django_db
As = Callable[[Any], Client]
DAY = date(2024, 5, 6)
APPROVED = {"approved_by_name": "Ida Brandt", "approved_on": DAY, "approved_how_far": "sand may go, salt line stays"}


@pytest.fixture
def coat(cast: Cast) -> Piece:
    return world.piece(cast, world.production(cast), materials=["wool"])


def say(cast: Cast, piece: Piece, state: str, where: str = "", **more: Any) -> OnScreenBreakdown:
    told = {"said_on": DAY, "said_by_name": "Bo", **more}
    return actions.say_breakdown(by=cast.archivist, piece=piece, state=state, where=where, **told)


def wash(cast: Cast, piece: Piece, what: str = "hand-wash") -> Treatment:
    return actions.need_treatment(by=cast.archivist, piece=piece, what=what, days=1)


@pytest.mark.parametrize("known", ["keep", "", "mark"])
def test_cleaning_what_was_on_screen_or_may_have_been_needs_a_name(cast: Cast, coat: Piece, known: str) -> None:
    if known == "keep":
        say(cast, coat, "keep", "salt line, scene 12")
    if known == "mark":
        seen = MarkSeen("hem", "salt", on_screen=True)
        actions.report_condition(by=cast.archivist, piece=coat, grade=2, marks=[seen])
    work = wash(cast, coat)
    assert (work.cleaning, work.needs_approval) == (True, True)
    with pytest.raises(WrongState, match=r"“hand-wash” may not begin on ABC-0001: .* approved by name"):
        actions.start_treatment(by=cast.archivist, treatment=work, started_on=DAY)
    with pytest.raises(IntegrityError), transaction.atomic():
        Treatment.objects.filter(pk=work.pk).update(state="started", started_on=DAY)
    actions.approve_cleaning(by=cast.archivist, treatment=work, **APPROVED)  # type: ignore[arg-type]
    actions.start_treatment(by=cast.archivist, treatment=work, started_on=DAY)
    work.refresh_from_db()
    assert (work.state, work.approved_by_name) == ("started", "Ida Brandt")
    lines = history.lines_of(coat.subject)
    assert [line.verb for line in lines[:2]] == ["treatment started", "cleaning approved"]
    assert "Ida" not in str([line.after for line in lines]), "names stand in the row, not in the history"


def test_a_piece_without_breakdown_is_cleaned_and_what_is_said_later_still_counts(cast: Cast, coat: Piece) -> None:
    say(cast, coat, "none")
    work = wash(cast, coat)
    assert not work.needs_approval
    say(cast, coat, "keep", "soot")
    with pytest.raises(WrongState, match="soot"):
        actions.start_treatment(by=cast.archivist, treatment=work, started_on=DAY)
    say(cast, coat, "none")
    actions.start_treatment(by=cast.archivist, treatment=work, started_on=DAY)
    assert [row.state for row in coat.breakdowns.filter(current=True)] == ["none"]
    assert coat.breakdowns.count() == 3, "what was said before stays"


def test_a_mark_of_the_look_counts_until_it_is_gone(cast: Cast, coat: Piece) -> None:
    seen = MarkSeen("hem", "salt", on_screen=True)
    first = actions.report_condition(by=cast.archivist, piece=coat, grade=2, marks=[seen])
    again = report_unchanged(by=cast.archivist, last=first, occasion="before a loan")
    assert told_of_one(coat).marks == ("salt at hem",)
    gone = same_again(again.marks.get(), "gone")
    actions.report_condition(by=cast.archivist, piece=coat, grade=2, marks=[gone])
    assert told_of_one(coat).evidence == "unknown", "what is gone is no proof that nothing else was on screen"
    assert coat not in must_not_be_washed(Piece.objects.all())


def test_work_noted_before_anybody_asked_is_told_by_its_words(cast: Cast, coat: Piece) -> None:
    old = Treatment.objects.create(piece=coat, what="Dry cleaning")
    with pytest.raises(WrongState, match="nobody has said"):
        actions.start_treatment(by=cast.archivist, treatment=old, started_on=DAY)
    mend = actions.need_treatment(by=cast.archivist, piece=coat, what="new band")
    actions.start_treatment(by=cast.archivist, treatment=mend, started_on=DAY)
    ticked = actions.need_treatment(by=cast.archivist, piece=coat, what="freshen up", cleaning=True)
    with pytest.raises(WrongState):
        actions.start_treatment(by=cast.archivist, treatment=ticked, started_on=DAY)


def test_bad_input_is_a_sentence(cast: Cast, coat: Piece) -> None:
    work, mend = wash(cast, coat), actions.need_treatment(by=cast.archivist, piece=coat, what="mend")
    for more, words in (
        ({"approved_by_name": " -  "}, "Write the name"),
        ({"approved_how_far": "  "}, "Say what may go"),
        ({"approved_on": date(2999, 1, 1)}, "still to come"),
    ):
        with pytest.raises(Refused, match=words):
            actions.approve_cleaning(by=cast.archivist, treatment=work, **{**APPROVED, **more})  # type: ignore[arg-type]
    with pytest.raises(WrongState, match="takes nothing off"):
        actions.approve_cleaning(by=cast.archivist, treatment=mend, **APPROVED)  # type: ignore[arg-type]
    for state in ("", "perhaps"):
        with pytest.raises(WrongValues):
            say(cast, coat, state)
    with pytest.raises(WrongValues, match="Said by"):
        say(cast, coat, "keep", said_by_name=" ")
    seen = MarkSeen("hem", "salt", on_screen=True)
    actions.report_condition(by=cast.archivist, piece=coat, grade=2, marks=[seen])
    with pytest.raises(Refused, match="has salt at hem as part of the look"):
        say(cast, coat, "none")
    actions.report_condition(by=cast.archivist, piece=coat, grade=2)
    say(cast, coat, "none")
    for person in (cast.wardrobe_lead, cast.production, cast.set_costumer, cast.visitor):
        with pytest.raises(NotAllowed):
            actions.approve_cleaning(by=person, treatment=work, **APPROVED)  # type: ignore[arg-type]
        with pytest.raises(NotAllowed):
            actions.say_breakdown(by=person, piece=coat, state="none", said_on=DAY, said_by_name="me")


def test_the_pages_explain_and_keep_what_was_typed(cast: Cast, coat: Piece, as_user: As) -> None:
    client, number = as_user(cast.archivist), coat.number
    say(cast, coat, "keep", "salt line, scene 12")
    assert client.post(f"/care/{number}/treatment/", {"what": "wash", "day_kind": "working"}).status_code == 302
    page = text_of(client.get(f"/care/{number}/treatment/"))
    assert "On-screen breakdown: keep" in page
    assert "not before an approval" in page
    work = coat.treatments.get()
    refused = client.post(reverse("care:move_treatment", args=[number, work.pk]))
    assert refused.status_code == 409
    assert "may not begin" in text_of(refused)
    address = reverse("care:approve_cleaning", args=[number, work.pk])
    sent = {"approved_by_name": "", "approved_on": "2024-05-06", "approved_how_far": "sand may go"}
    fault = client.post(address, sent)
    assert fault.status_code == 422
    assert "sand may go" in text_of(fault)
    assert client.post(address, sent | {"approved_by_name": "Ida"}).status_code == 302
    assert "approved by Ida" in text_of(client.get(f"/care/{number}/treatment/"))
    assert client.post(reverse("care:move_treatment", args=[number, work.pk])).status_code == 302
    empty = client.post(f"/care/{number}/breakdown/", {"where": "hem", "said_on": "2024-05-06", "said_by_name": "Bo"})
    assert empty.status_code == 422
    assert 'value="hem"' in text_of(empty)
    assert "On-screen breakdown: keep" in text_of(client.get(f"/pieces/{number}/"))


@pytest.mark.parametrize(
    ("name", "allowed"),
    [("breakdown", "A"), ("approve_cleaning", "A"), ("not_washed", "AWPS"), ("not_washed_csv", "AWPS")],
)
def test_who_may_open_what(cast: Cast, as_user: As, coat: Piece, name: str, allowed: str) -> None:
    work = wash(cast, coat)
    args = {"breakdown": [coat.number], "approve_cleaning": [coat.number, work.pk]}.get(name, [])
    address = reverse(f"care:{name}", args=args)
    for letter, person in zip("AWPSV", cast.everyone(), strict=True):
        assert as_user(person).get(address).status_code == (200 if letter in allowed else 403), person
    assert as_user(None).get(address).status_code == 302


def test_the_demo_says_what_must_not_be_washed(demo_world: DemoWorld, as_user: As) -> None:
    """All with on-screen breakdown, and the care that is allowed instead: every storm-stained piece."""
    client = as_user(demo_world.cast.wardrobe_lead)
    kept = Piece.objects.filter(look__name="storm")
    page = text_of(client.get("/care/not-washed/"))
    assert f"{kept.count()} pieces must not be washed." in page
    assert "salt-stained, scene 112" in page
    rows = text_of(client.get("/care/not-washed/table.csv"))
    assert sum(piece.number in rows for piece in kept) == kept.count()
    assert "LHS-0014" not in rows, "the clean suit"
    told = {row.piece.number: row.instead for row in with_care(kept.select_related("production"))}
    assert "against insects: the freezer, bagged" in told["LHS-0005"], "wool"
    assert told["LHS-0021"][-1].endswith("never the freezer"), "waxed canvas with rubber"
    unsaid = nobody_has_said(Piece.objects.all())
    assert f"Of {unsaid.count()} pieces nobody has said" in text_of(client.get("/care/not-washed/?show=unsaid"))
    assert not set(must_not_be_washed(Piece.objects.all())) & set(unsaid)
    assert told_of_one(demo_world.piece("LHS-0014")).evidence == "none"


def test_the_list_asks_a_fixed_number_of_queries(
    demo_world: DemoWorld, as_user: As, django_assert_max_num_queries: Any
) -> None:
    client = as_user(demo_world.cast.archivist)
    for address in ("/care/not-washed/", "/care/not-washed/?page=2", "/care/not-washed/?show=unsaid"):
        with django_assert_max_num_queries(21):
            assert client.get(address).status_code == 200
    rows = Piece.objects.filter(look__name="storm").select_related("production").prefetch_related("materials")
    with django_assert_max_num_queries(6):
        assert len(with_care(rows)) > 100


def test_visitors_productions_that_are_closed_stay_hidden(cast: Cast, coat: Piece, as_user: As) -> None:
    say(cast, coat, "keep")
    coat.production.closed = True
    coat.production.save()
    assert coat.number in text_of(as_user(cast.production).get("/care/not-washed/")), "staff see closed productions"
