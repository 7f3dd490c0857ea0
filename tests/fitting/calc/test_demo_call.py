"""The invented company's call, worked out on its tables: counts and validity, never names of equal plans."""

import time
from collections import Counter
from typing import Any

import pytest

from catalog.fitting.calc.card_range import card_range
from catalog.fitting.calc.counts import set_counts
from catalog.fitting.calc.fit import Reason, Verdict, public_reason
from catalog.fitting.calc.plan import plan
from catalog.fitting.calc.plan_types import Plan, Problem
from tests.fitting.calc.demo_world import people, problem, roles

FOUND: dict[str, Any] = {"found": ("T14",)}
RELEASED: dict[str, Any] = {**FOUND, "released": ("H-02",)}


def assert_valid(asked: Problem, answer: Plan) -> None:
    """Every rule of a plan, checked anew from the assignments alone."""
    pieces = {piece.code: piece for piece in asked.pieces}
    given = [line.piece for line in answer.assignments if line.piece is not None]
    assert len(given) == len(set(given))
    outfits: dict[str, list[Any]] = {}
    for line in answer.assignments:
        outfits.setdefault(line.wearer, []).append(line)
    free = {wearer.code for wearer in asked.wearers if wearer.available}
    whole: Counter[str] = Counter()
    for wearer, lines in outfits.items():
        role = next(role for role in asked.roles if role.code == lines[0].role)
        assert wearer in free
        assert {line.role for line in lines} == {role.code}
        assert sorted(line.slot for line in lines) == sorted(role.slots)
        for line in lines:
            if line.piece is None:
                assert asked.may_make(wearer, role.code, line.slot)
            else:
                assert (pieces[line.piece].role, pieces[line.piece].slot) == (role.code, line.slot)
                assert asked.fits[wearer, line.piece].verdict is Verdict.YES
        for group in role.groups:
            joined = [pieces[line.piece] for line in lines if line.piece is not None and line.slot in group.slots]
            assert len({piece.values[group.name] for piece in joined}) <= 1
        sets = {pieces[line.piece].set_code if line.piece is not None else None for line in lines}
        whole[role.code] += len(sets) == 1 and None not in sets
    worn = Counter(lines[0].role for lines in outfits.values())
    assert answer.dressed == {role.code: worn[role.code] for role in asked.roles}
    assert all(answer.dressed[role.code] <= role.need for role in asked.roles)
    assert answer.whole_sets == {role.code: whole[role.code] for role in asked.roles}
    assert answer.total == len(outfits)
    assert len(answer.make) == sum(line.piece is None for line in answer.assignments)
    assert {left.wearer for left in answer.left_out} == {w.code for w in asked.wearers} - set(outfits)


@pytest.mark.parametrize(
    ("state", "dressed"),
    [
        ({}, {"DIV": 6, "KEE": 5, "CUS": 2}),
        (FOUND, {"DIV": 8, "KEE": 5, "CUS": 2}),
        (RELEASED, {"DIV": 8, "KEE": 5, "CUS": 4}),
    ],
)
def test_dressed_from_what_there_is(state: dict[str, Any], dressed: dict[str, int]) -> None:
    asked = problem(**state)
    answer = plan(asked)
    assert answer.dressed == dressed
    assert answer.total == sum(dressed.values())
    assert answer.gap == 0
    assert_valid(asked, answer)


@pytest.mark.parametrize(("state", "made"), [(RELEASED, 6), (FOUND, 10), ({}, 16)])
def test_with_making_everyone_asked_for_is_dressed(state: dict[str, Any], made: int) -> None:
    asked = problem(**state, with_making=True)
    answer = plan(asked)
    assert answer.total == 20
    assert len(answer.make) == made
    assert answer.gap == 0
    assert_valid(asked, answer)


def test_what_is_made_and_how_many_wear_one_whole_set() -> None:
    asked = problem(**RELEASED, with_making=True)
    answer = plan(asked)
    wanted = ["boots", "corselet", "gloves", "helmet", "lamp", "suit"]
    assert sorted(line.slot for line in answer.make) == wanted
    # The note beside the tables says 8; with every slot from one set counted, 11 is reached and proven best.
    assert sum(answer.whole_sets.values()) >= 8
    assert next(aim for aim in answer.aims if aim.name == "in one whole set").gap == 0


def test_who_is_left_out_today_and_why() -> None:
    asked = problem()
    left = {line.wearer: line for line in plan(asked).left_out}
    assert left["E11"].reason is Reason.SIZE
    assert [block.slot for block in left["E11"].roles[0].blocks if not block.passing] == ["boots"]
    assert "1 EU size" in left["E11"].sentence
    assert left["E14"].reason is Reason.EXCLUSION
    assert {role.role for role in left["E14"].roles} == {"DIV", "KEE", "CUS"}
    for role in left["E14"].roles:
        assert any(block.reason is Reason.EXCLUSION for block in role.blocks), role
    assert left["E23"].reason is Reason.DATES
    assert {public_reason(line.reason) for line in left.values()} <= {"size", "dates", "piece missing", "not needed"}


def test_no_sentence_holds_a_size_of_the_body() -> None:
    said = {line.wearer: line.sentence for line in plan(problem()).left_out}
    for wearer, sentence in said.items():
        for measure in people()[wearer].measures:
            assert f"{measure.value / 10:.1f}" not in sentence
            assert f" {measure.value}" not in sentence


def test_complete_divers_by_count() -> None:
    diver = roles()[0]
    today = set_counts(diver, problem().pieces)
    assert (today.mixed, today.limit.kind, today.limit.name) == (6, "slot", "gloves")
    assert today.per_slot["helmet"] == 7
    later = set_counts(diver, problem(**FOUND).pieces)
    assert (later.mixed, later.limit.kind, later.limit.name) == (8, "group", "ring")
    assert "A 4 + B 4" in later.limit.sentence
    assert min(later.per_slot.values()) == 9


def test_the_plan_names_the_same_limits() -> None:
    limits = plan(problem()).limits
    assert (limits["DIV"].kind, limits["DIV"].name, limits["DIV"].count) == ("slot", "gloves", 6)
    limits = plan(problem(**FOUND)).limits
    assert (limits["DIV"].kind, limits["DIV"].name, limits["DIV"].count) == ("group", "ring", 8)


def test_from_cards_alone_the_answer_is_a_range() -> None:
    answer = card_range(problem(**RELEASED, card=True))
    assert answer.low.total <= answer.high.total
    assert answer.high.total > 0
    assert answer.deciding
    assert all(slot.sure < slot.possible for slot in answer.deciding)
    assert plan(problem(**RELEASED, card=True)).total == 0  # a guess is never a yes


def test_the_plan_is_quick() -> None:
    asked = problem(**RELEASED, with_making=True)
    started = time.process_time()
    plan(asked)
    assert time.process_time() - started < 2
