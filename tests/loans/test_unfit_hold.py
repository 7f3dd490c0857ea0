"""A firm hold of what is lost or decided against is refused with the way out; a pencil of it is told plainly."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.test import Client

from catalog.core.errors import Refused
from catalog.core.history import lines_of
from catalog.loans import actions, hold_queries
from catalog.loans.models import Call, Hold
from catalog.pieces.models import Piece
from catalog.storage import actions as storage
from tests.cast import Cast
from tests.loans.world import Stage, Store, decide, make_call, make_firm
from tests.reading import text_of

AsUser = Callable[[Any], Client]
FACTS = {"for_whom": "Museum", "use_from": date(2031, 6, 10), "use_to": date(2031, 6, 12)}
FIRM = {"strength": "firm", "confirmed_by": "A. Producer"}


def hold(cast: Cast, pieces: list[Piece], reference: str = "H-1", **more: Any) -> Hold:
    return actions.hold(
        by=cast.production, reference=reference, pieces=pieces, **{**FACTS, "strength": "pencil", **more}
    )


@pytest.fixture
def coats(cast: Cast, stage: Stage, store: Store) -> list[Piece]:
    """The first is lost, the second is kept for reference, the third may be worn."""
    storage.mark_missing(by=cast.archivist, piece=stage.coats[0], note="not on its hanger")
    decide(cast.archivist, stage.coats[1], "reference only")
    decide(cast.archivist, stage.coats[2])
    return stage.coats


@pytest.mark.parametrize(("which", "reason"), [(0, "it is missing, last seen 7 Jun 2031"), (1, "for reference only")])
def test_a_firm_hold_is_refused_with_the_reason_and_what_is_free(
    which: int, reason: str, cast: Cast, coats: list[Piece]
) -> None:
    with pytest.raises(Refused) as told:
        hold(cast, [coats[which]], **FIRM)
    assert told.value.field == "pieces"
    assert f"{coats[which].number} cannot be held firmly: " in told.value.sentence
    assert reason in told.value.sentence
    assert "Free on these days instead: MOOR-0003." in told.value.sentence
    assert not Hold.objects.exists()
    assert hold(cast, [coats[2]], **FIRM).strength == "firm"


def test_a_pencil_becomes_firm_only_when_the_piece_is_there(cast: Cast, coats: list[Piece], store: Store) -> None:
    pencil = hold(cast, coats[:1])
    with pytest.raises(Refused, match="MOOR-0001 cannot be held firmly: it is missing"):
        actions.firm_up(by=cast.production, hold=pencil, confirmed_by="A. Producer")
    storage.mark_found(by=cast.archivist, piece=coats[0], at=store.high, note="behind the rail")
    assert actions.firm_up(by=cast.production, hold=pencil, confirmed_by="A. Producer").strength == "firm"


def test_what_is_not_worn_may_be_shown_and_what_is_lost_may_not(cast: Cast, coats: list[Piece], stage: Stage) -> None:
    show = hold(cast, [coats[1]], purpose="exhibition", **FIRM)
    assert lines_of(show.subject)[0].after["purpose"] == "exhibition"
    with pytest.raises(Refused, match="it is missing"):
        hold(cast, [coats[0]], "H-2", purpose="study", **FIRM)
    call = make_call(cast.production, stage, purpose="exhibition")
    actions.release_hold(by=cast.production, hold=show, reason="moved")
    assert hold(cast, [coats[1]], "H-3", call=call, **FIRM).call == call


def test_an_exhibition_call_that_dresses_somebody_is_no_show(cast: Cast, coats: list[Piece], stage: Stage) -> None:
    call = make_call(cast.production, stage, purpose="exhibition")
    actions.set_need(by=cast.production, call=call, role=stage.piper, count=1)
    with pytest.raises(Refused, match="for reference only"):
        hold(cast, [coats[1]], call=call, **FIRM)


def test_ways_out_name_only_what_is_there_and_may_be_worn(cast: Cast, stage: Stage, store: Store) -> None:
    """Of three coats one is held; of the others one is for reference, one nobody decided on."""
    decide(cast.archivist, stage.coats[1], "reference only")
    make_firm(cast.production, [stage.coats[0]])

    def ways(worn: bool = True) -> str:
        first, last = date(2031, 6, 10), date(2031, 6, 12)
        found = hold_queries.overlaps([stage.coats[0].pk], first, last, worn=worn)
        return " ".join(way for one in found for way in one.ways_out)

    assert "Take another" not in ways()
    assert "Take another of the kind that is free on all these days: MOOR-0003." in ways(worn=False)
    decide(cast.archivist, stage.coats[2])
    assert "Take another of the kind that is free on all these days: MOOR-0003." in ways()
    storage.mark_missing(by=cast.archivist, piece=stage.coats[2], note="gone")
    assert "Take another" not in ways()
    assert "Take another" not in ways(worn=False)


# --- pages -----------------------------------------------------------------------------------------------------------
FORM = {
    "for_whom": "Museum", "reference": "M-1", "use_from": "2031-06-10", "use_to": "2031-06-12", "days_before": "0",
    "days_after": "14", "strength": "pencil", "purpose": "",
}  # fmt: skip


def test_a_pencil_on_a_missing_piece_says_so_after_and_in_the_list(
    cast: Cast, coats: list[Piece], as_user: AsUser
) -> None:
    client = as_user(cast.production)
    page = text_of(client.post("/hold-pieces/", FORM | {"pieces": "MOOR-0001 MOOR-0003"}, follow=True))
    assert "2 pieces are pencilled; the pencil lapses by itself on 21 Jun 2031." in page
    assert "2 pieces are pencilled for Museum. 1 of them is missing." in page
    assert "MOOR-0001 is missing, last seen 7 Jun 2031. It cannot be pulled before it is found." in page
    assert "1 piece is missing" in text_of(client.get("/holds/"))
    for address in ("/holds/", "/holds/M-1/"):
        assert " held" not in text_of(client.get(address)).split("<main")[1].split("History</h2>")[0]


def test_a_refused_hold_keeps_what_was_typed_and_a_show_goes_through(
    cast: Cast, coats: list[Piece], as_user: AsUser
) -> None:
    client = as_user(cast.production)
    firm = FORM | {"pieces": "MOOR-0002", "strength": "firm", "confirmed_by": "A. Producer"}
    answer = client.post("/hold-pieces/", firm)
    assert answer.status_code == 422
    assert "MOOR-0002 cannot be held firmly: it was decided to keep it for reference only." in text_of(answer)
    assert 'value="Museum"' in text_of(answer)
    page = text_of(client.post("/hold-pieces/", firm | {"purpose": "exhibition"}, follow=True))
    assert "1 piece is held: nobody else can have it on these days." in page
    assert "MOOR-0002 is to be shown or studied, not worn" in page


def test_a_pencil_is_pencilled_in_every_word(cast: Cast, coats: list[Piece], call: Call) -> None:
    pencil = hold(cast, [coats[2]], call=call)
    told = lines_of(coats[2].subject)[0]
    assert (told.verb, set(told.after)) == ("pencilled", {"hold", "strength", "pencilled_from", "pencilled_to"})
    assert lines_of(pencil.subject)[0].verb == "pencilled"
    with pytest.raises(Refused, match="MOOR-0001 is not pencilled by H-1"):
        actions.release_hold(by=cast.production, hold=pencil, pieces=[coats[0]], reason="x")
    actions.release_hold(by=cast.production, hold=pencil, reason="fell through")
    told = lines_of(coats[2].subject)[0]
    assert (told.verb, told.after["pencilled_to"]) == ("released from a pencil", "2031-06-09")


# --- a call's own pencil ---------------------------------------------------------------------------------------------
def test_a_firm_hold_takes_the_place_of_its_calls_pencil(
    cast: Cast, stage: Stage, coats: list[Piece], call: Call
) -> None:
    other = make_call(cast.production, stage, reference="OTHER")
    mine = hold(cast, coats[1:], "P-MINE", call=call)
    theirs = hold(cast, coats[2:], "P-THEIRS", call=other)
    firm = hold(cast, coats[2:], "F-MINE", call=call, **FIRM)
    mine.refresh_from_db()
    theirs.refresh_from_db()
    assert [row.piece for row in mine.pieces.filter(released_on=None)] == [coats[1]]
    assert (mine.state, theirs.state) == ("active", "active")
    assert [one.hold for one in hold_queries.overlaps_of(firm, hold_queries.pieces_in(firm))] == ["P-THEIRS"]


def test_a_calls_own_pencil_of_other_days_stays_and_is_no_clash(cast: Cast, coats: list[Piece], call: Call) -> None:
    long = hold(cast, coats[2:], "P-LONG", call=call, use_to=date(2031, 8, 1))
    firm = hold(cast, coats[2:], "F-MINE", call=call, **FIRM)
    assert long.pieces.filter(released_on=None).count() == 1
    assert hold_queries.overlaps_of(firm, hold_queries.pieces_in(firm)) == []
    assert hold_queries.clashes_among([long, firm]) == {}
    stranger = hold(cast, coats[2:], "P-STRANGER")
    assert set(hold_queries.clashes_among([long, firm, stranger])[stranger.pk]) == {"P-LONG", "F-MINE"}
