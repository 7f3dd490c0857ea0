"""Every reason for a "no" is true: grant all that one role names, and nothing else, and the performer is dressed.

Granted is what `SlotBlock` promises: a day freed, a place when others step down, all that is said of the named piece,
or one more piece for the slot with whatever match is asked. Less is not enough: without one lasting reason he is not.
"""

from dataclasses import replace
from itertools import product
from typing import Any

import pytest

from catalog.fitting.calc.body import body_of
from catalog.fitting.calc.fit import Fit, Reason, Verdict, fit
from catalog.fitting.calc.plan import plan
from catalog.fitting.calc.plan_types import (
    LeftOut,
    Plan,
    PlanPiece,
    PlanWearer,
    Problem,
    Role,
    RoleBlock,
    SlotBlock,
)
from tests.fitting.calc import demo_world
from tests.fitting.calc.plan_worlds import four_by_five, yes
from tests.fitting.calc.test_plan import SEEDS, second_archive, small_problem

STATES: list[dict[str, Any]] = [
    {},
    {"found": ("T14",)},
    {"found": ("T14",), "released": ("H-02",)},
    {"with_making": True},
]


def granted(problem: Problem, answer: Plan, left: LeftOut, role: RoleBlock, blocks: list[SlotBlock]) -> int:
    """How many are dressed when the performer is alone with what others leave, and the blocks are granted."""
    wanted = next(one for one in problem.roles if one.code == role.role)
    worn = {line.piece for line in answer.assignments}
    steps_down = any(block.reason is Reason.NOT_NEEDED for block in blocks)
    stock = list(problem.pieces if steps_down else (piece for piece in problem.pieces if piece.code not in worn))
    fits = dict(problem.fits)
    gifts: list[PlanPiece] = []
    free = next(wearer for wearer in problem.wearers if wearer.code == left.wearer)
    for block in blocks:
        if block.reason is Reason.DATES:
            free = replace(free, available=True)
        elif block.piece is not None:
            fits[left.wearer, block.piece] = yes()
        elif block.slot is not None:
            values = {
                group.name: {piece.values[group.name] for piece in problem.pieces if group.name in piece.values}
                or {"x"}
                for group in wanted.groups_of(block.slot)
            }
            for choice in product(*values.values()):
                gift = f"gift {len(gifts)}"
                gifts.append(PlanPiece(gift, wanted.code, block.slot, None, dict(zip(values, choice, strict=True))))
                fits[left.wearer, gift] = yes()
    return plan(
        replace(
            problem, roles=(replace(wanted, need=1),), wearers=(free,), pieces=(*stock, *gifts), fits=fits, locks=()
        )
    ).total


def assert_every_reason_true(problem: Problem) -> int:
    """Check all left out of the problem's plan; how many reasons were granted."""
    answer = plan(problem)
    count = 0
    for left in answer.left_out:
        for role in left.roles:
            assert role.blocks, left
            blocks = list(role.blocks)
            assert granted(problem, answer, left, role, blocks) == 1, (left.wearer, role)
            for block in blocks:
                fewer = [one for one in blocks if one is not block]
                if not block.passing and not any(one.slot == block.slot for one in fewer):
                    assert granted(problem, answer, left, role, fewer) == 0, (left.wearer, block)
            count += len(blocks)
        if not left.roles:
            assert left.reason in (Reason.NOT_NEEDED, Reason.DATES)
    return count


@pytest.mark.parametrize("state", STATES)
def test_all_left_out_of_the_invented_call(state: dict[str, Any]) -> None:
    assert assert_every_reason_true(demo_world.problem(**state)) > 0


def test_lifting_an_exclusion_for_real_leaves_only_what_was_named_besides() -> None:
    """The exclusions are struck from the person and every fit is worked out anew."""
    asked = demo_world.problem()
    bodies = {code: body_of(person) for code, person in demo_world.people().items()}
    stock = {row.piece.code: row.candidate for row in demo_world.stock()}
    seen = 0
    for left in plan(asked).left_out:
        for role in left.roles:
            for block in role.blocks:
                if block.reason is Reason.EXCLUSION and block.piece is not None:
                    body = bodies[left.wearer]
                    before = fit(body, stock[block.piece], demo_world.RULES)
                    after = fit(replace(body, exclusions=frozenset()), stock[block.piece], demo_world.RULES)
                    assert all(reason in block.sentence for reason in before.reasons)
                    assert after.verdict is Verdict.YES or set(after.reasons) < set(before.reasons)
                    seen += 1
    assert seen > 0


@pytest.mark.parametrize("groups", [0, 1, 2, 3])
@pytest.mark.parametrize("with_making", [False, True])
def test_all_left_out_of_seeded_archives(groups: int, with_making: bool) -> None:
    assert assert_every_reason_true(second_archive(SEEDS[groups], groups, with_making=with_making)) > 0


def test_all_left_out_of_many_small_archives() -> None:
    found = sum(
        assert_every_reason_true(make(number)) for make in (small_problem, four_by_five) for number in range(40)
    )
    assert found > 40


def test_a_piece_that_is_granted_may_still_be_worn_by_another() -> None:
    """Only the one hat is barred for w0, and w1 wears it: lifting the exclusion alone dresses nobody."""
    barred = Fit(Verdict.NO, 0.0, 0, Reason.EXCLUSION, ("no wool contact: the piece has wool",))
    problem = Problem(
        (Role("R", 2, ("hat",)),),
        (PlanWearer("w0"), PlanWearer("w1")),
        (PlanPiece("hat 1", "R", "hat"),),
        {("w0", "hat 1"): barred, ("w1", "hat 1"): yes()},
    )
    (left,) = plan(problem).left_out
    assert [block.reason for block in left.roles[0].blocks] == [Reason.EXCLUSION, Reason.PIECE_MISSING]
    assert [block.passing for block in left.roles[0].blocks] == [False, True]
