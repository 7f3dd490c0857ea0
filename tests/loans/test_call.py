"""Taking a call: what is refused, and that performers' days follow the dates."""

from datetime import date

import pytest

from catalog.core.errors import NotAllowed, Refused, WrongState, WrongValues
from catalog.core.history import lines_of
from catalog.loans import actions, queries
from catalog.pieces.models import Look, Production, Role
from tests.cast import Cast
from tests.loans.world import Stage, make_call, make_stage


@pytest.fixture
def stage(db: None) -> Stage:
    return make_stage()


@pytest.mark.parametrize(
    ("changes", "field", "sentence"),
    [
        ({"last_day": date(2031, 6, 9)}, "", "The last day comes on or after the first day."),
        ({"load_on": date(2031, 6, 11)}, "", "The truck loads on or before the first day."),
        ({"back_on": date(2031, 6, 11)}, "", "The pieces are back on or after the last day."),
        (
            {"fittings_from": date(2031, 6, 2), "fittings_to": date(2031, 6, 1)},
            "",
            "Fittings end on or after the day they start.",
        ),
        ({"title": " "}, "title", "Title is missing."),
        ({"purpose": "party"}, "purpose", "“party” is no known word for purpose."),
    ],
)
def test_a_call_that_cannot_be(cast: Cast, stage: Stage, changes: dict[str, object], field: str, sentence: str) -> None:
    with pytest.raises(WrongValues) as told:
        make_call(cast.production, stage, **changes)
    assert sentence in told.value.faults[field]


@pytest.mark.parametrize("reference", ["", "two words", "a/b", "-x", "?q"])
def test_a_reference_that_no_address_can_hold(cast: Cast, stage: Stage, reference: str) -> None:
    with pytest.raises(Refused, match="letters, digits, dots and dashes") as told:
        make_call(cast.production, stage, reference=reference)
    assert told.value.field == "reference"


def test_a_reference_is_used_once_in_any_case(cast: Cast, stage: Stage) -> None:
    make_call(cast.production, stage)
    with pytest.raises(WrongValues, match="There is a call of this reference"):
        make_call(cast.production, stage, reference="moor-call-1")
    assert queries.call_by_reference("moor-Call-1") is not None


def test_roles_and_looks_of_others_are_refused(cast: Cast, stage: Stage) -> None:
    other = Production.objects.create(code="SEA", title="The Sea")
    with pytest.raises(Refused, match="is no look of"):
        make_call(cast.production, stage, look=Look.objects.create(production=other, name="wet"))
    call = make_call(cast.production, stage)
    with pytest.raises(Refused, match="is no role of"):
        actions.set_need(
            by=cast.production, call=call, role=Role.objects.create(production=other, code="S", name="S"), count=1
        )


def test_a_need_is_set_changed_and_taken_off(cast: Cast, stage: Stage) -> None:
    call = make_call(cast.production, stage)
    assert actions.set_need(by=cast.production, call=call, role=stage.piper, count=4).count == 4
    assert actions.set_need(by=cast.production, call=call, role=stage.piper, count=6).count == 6
    line = lines_of(call.subject)[0]
    assert (line.before, line.after) == ({"role": "Piper", "count": 4}, {"role": "Piper", "count": 6})
    assert actions.set_need(by=cast.production, call=call, role=stage.piper, count=0) is None
    assert not call.needs.exists()


def test_free_days_follow_the_dates(cast: Cast, stage: Stage) -> None:
    call = make_call(cast.production, stage, cover_day=date(2031, 6, 13))
    every = actions.add_wearer(by=cast.production, call=call, number="1", name="A")
    one = actions.add_wearer(by=cast.production, call=call, number="2", name="B", days=[date(2031, 6, 10)])
    none = actions.add_wearer(by=cast.production, call=call, number="3", name="C", days=[])
    assert [free.day.day for free in every.free_days.all()] == [10, 11, 12, 13]
    with pytest.raises(Refused, match="9 Jun 2031 is no day of MOOR-CALL-1"):
        actions.edit_wearer(by=cast.production, wearer=one, days=[date(2031, 6, 9)])
    actions.edit_call(by=cast.production, call=call, first_day=date(2031, 6, 9), last_day=date(2031, 6, 11))
    assert [free.day.day for free in every.free_days.all()] == [9, 10, 11, 13]
    assert [free.day.day for free in one.free_days.all()] == [10]
    assert not none.free_days.exists()
    actions.remove_wearer(by=cast.production, wearer=none)
    with pytest.raises(WrongValues, match="The call has this number"):
        actions.add_wearer(by=cast.production, call=call, number="1", name="again")


def test_a_closed_call_is_not_changed(cast: Cast, stage: Stage) -> None:
    call = make_call(cast.production, stage)
    actions.close_call(by=cast.production, call=call)
    with pytest.raises(WrongState, match="is closed"):
        actions.edit_call(by=cast.production, call=call, title="x")


@pytest.mark.parametrize("duty", ["set_costumer", "visitor"])
def test_who_may_not_take_a_call(cast: Cast, stage: Stage, duty: str) -> None:
    with pytest.raises(NotAllowed):
        make_call(getattr(cast, duty), stage)


@pytest.mark.parametrize("number", ["a/b", ".", "..", "a?b", "", "7 8"])
def test_a_performers_number_can_stand_in_an_address(number: str, cast: Cast) -> None:
    call = make_call(cast.production, make_stage())
    with pytest.raises(Refused, match="number"):
        actions.add_wearer(by=cast.production, call=call, number=number, name="")
    assert not call.wearers.exists()
