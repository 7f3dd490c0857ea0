"""The planner against plain enumeration, against a second program written another way, and its promises."""

from collections import defaultdict
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, seed, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from catalog.fitting.calc.fit import Fit, Reason, Verdict
from catalog.fitting.calc.plan import plan
from catalog.fitting.calc.plan_types import Group, Lock, Plan, PlanError, PlanPiece, PlanWearer, Problem, Role
from tests.fitting.calc.plan_worlds import outfits
from tests.fitting.calc.test_demo_call import assert_valid

NO = Fit(Verdict.NO, 0.0, 0, Reason.SIZE, ("chest: piece too small by 1.0 cm",))
Values = tuple[int, int, int, int]


def yes(score: int = 50) -> Fit:
    return Fit(Verdict.YES, 1.0, score)


def reached(answer: Plan) -> Values:
    """Dressed, made, whole, fit."""
    found = {aim.name: aim.value for aim in answer.aims}
    return found["people dressed"], found["pieces made"], found["in one whole set"], found["fit"]


# --- plain enumeration -----------------------------------------------------------------------------------------------
def enumerate_best(problem: Problem) -> Values:
    """Try every outfit of every wearer in turn; slow and obvious."""
    options = [list(outfits(problem, wearer)) for wearer in problem.wearers]
    pieces = {piece.code: piece for piece in problem.pieces}
    need = {role.code: role.need for role in problem.roles}
    best = (0, 0, 0, 0)

    def walk(index: int, used: frozenset[str], filled: dict[str, int], so_far: Values) -> None:
        nonlocal best
        if index == len(options):
            best = max(best, so_far)
            return
        walk(index + 1, used, filled, so_far)
        for role, outfit in options[index]:
            chosen = [code for code in outfit if code is not None]
            if filled[role] >= need[role] or used & set(chosen):
                continue
            sets = {pieces[code].set_code if code is not None else None for code in outfit}
            score = sum(problem.fits[problem.wearers[index].code, code].score for code in chosen)
            gain = (1, -outfit.count(None), int(len(sets) == 1 and None not in sets), score)
            total = tuple(a + b for a, b in zip(so_far, gain, strict=True))
            walk(index + 1, used | set(chosen), {**filled, role: filled[role] + 1}, total)  # type: ignore[arg-type]

    walk(0, frozenset(), dict.fromkeys(need, 0), (0, 0, 0, 0))
    return best[0], -best[1], best[2], best[3]


def small_problem(number: int) -> Problem:
    """Up to 4 wearers, 2 roles, 3 slots, 7 pieces a role, 0 to 2 match groups; dense enough for every rule to bite."""
    rng = np.random.default_rng(number)
    roles = []
    for code in ("P", "Q")[: 1 + int(rng.random() < 0.4)]:
        slots = ("top", "low", "hat")[: int(rng.integers(2, 4))]
        groups = [
            Group(name, tuple(str(slot) for slot in rng.choice(slots, size=2, replace=False)))
            for name in ("g", "h")[: int(rng.integers(0, 3))]
        ]
        roles.append(Role(code, int(rng.integers(1, 4)), slots, tuple(groups)))
    pieces = []
    for role in roles:
        for count in range(int(rng.integers(3, 8))):
            values = {group.name: str(rng.choice(["A", "B"])) for group in role.groups}
            slot = role.slots[count % len(role.slots)]
            owner = str(rng.choice(["", "1", "2"]))
            pieces.append(
                PlanPiece(f"{role.code}{count}", role.code, slot, role.code + owner if owner else None, values)
            )
    wearers = []
    for count in range(int(rng.integers(2, 5))):
        open_to = None if rng.random() < 0.7 else frozenset({str(rng.choice(["P", "Q"]))})
        wearers.append(PlanWearer(f"W{count}", open_to, bool(rng.random() < 0.9)))
    kinds = [NO, yes(10), yes(11), yes(90)]
    fits = {(w.code, p.code): kinds[int(rng.integers(0, 4))] for w in wearers for p in pieces}
    keys = [(w.code, role.code, slot) for w in wearers for role in roles for slot in role.slots]
    makeable = frozenset(key for key in keys if rng.random() < 0.4)
    return Problem(tuple(roles), tuple(wearers), tuple(pieces), fits, (), bool(rng.random() < 0.5), makeable)


def small_problems() -> st.SearchStrategy[Problem]:
    return st.integers(0, 1_000_000).map(small_problem)


def test_the_small_problems_bite() -> None:
    """The enumeration proves something only if groups, sets, making and competition change the answer at times."""
    changed = dict.fromkeys(("groups", "making", "whole", "dressed"), 0)
    for number in range(120):
        problem = small_problem(number)
        best = enumerate_best(problem)
        loose = replace(problem, roles=tuple(replace(role, groups=()) for role in problem.roles))
        changed["groups"] += enumerate_best(loose) != best
        changed["making"] += best[1] > 0
        changed["whole"] += best[2] > 0
        changed["dressed"] += 0 < best[0] < min(len(problem.wearers), sum(role.need for role in problem.roles))
    assert min(changed.values()) >= 15, changed


@given(problem=small_problems())
@seed(2003)
@settings(max_examples=250)
def test_the_plan_is_the_best_of_all_plans(problem: Problem) -> None:
    answer = plan(problem)
    assert reached(answer) == enumerate_best(problem)
    assert answer.gap == 0
    assert_valid(problem, answer)


@given(problem=small_problems(), data=st.data())
@seed(2009)
@settings(max_examples=80)
def test_another_piece_never_dresses_fewer(problem: Problem, data: st.DataObject) -> None:
    role = data.draw(st.sampled_from(problem.roles))
    slot = data.draw(st.sampled_from(role.slots))
    values = {group.name: data.draw(st.sampled_from("AB")) for group in role.groups}
    extra = PlanPiece("extra", role.code, slot, None, values)
    fits = {(w.code, "extra"): data.draw(st.sampled_from([NO, yes()])) for w in problem.wearers}
    more = replace(problem, pieces=(*problem.pieces, extra), fits={**problem.fits, **fits})
    before, after = plan(problem), plan(more)
    assert after.total >= before.total
    assert after.total > before.total or len(after.make) <= len(before.make)


# --- a second archive, solved by a program written another way -------------------------------------------------------
SEEDS = (100, 101, 302, 103)  # one archive per number of match groups, each solved by the other program in seconds


def second_archive(number: int, groups: int, *, with_making: bool) -> Problem:
    """40 performers, 2 roles, other slots than the demo's, hats and gloves in inches; seeded."""
    rng = np.random.default_rng(number)
    layout = {"singer": ("tunic", "hose", "cowl", "gloves"), "herald": ("tabard", "cap", "shoes")}
    joined = [("tunic", "hose"), ("cowl", "gloves"), ("hose", "cowl")][:groups]
    roles = (
        Role("singer", 14, layout["singer"], tuple(Group(f"dye{i}", pair) for i, pair in enumerate(joined))),
        Role("herald", 9, layout["herald"]),
    )
    girths = rng.normal(38.0, 3.0, size=(40, 7))  # inches
    wearers = tuple(PlanWearer(f"v{i}", None, bool(rng.random() > 0.08)) for i in range(40))
    pieces, fits = [], {}
    for role in roles:
        for place, slot in enumerate(role.slots):
            for count in range(int(rng.integers(9, 15))):
                code = f"{role.code}/{slot}/{count}"
                values = {group.name: str(rng.choice(["red", "blue"])) for group in role.groups_of(slot)}
                pieces.append(PlanPiece(code, role.code, slot, f"{role.code}{count}", values))
                size = rng.normal(38.5, 3.0)
                for i, wearer in enumerate(wearers):
                    ease = size - girths[i, place]
                    fits[wearer.code, code] = yes(int(5 - abs(ease - 1) * 2)) if -0.5 <= ease <= 2.5 else NO
    keys = [(w.code, r.code, s) for w in wearers for r in roles for s in r.slots]
    makeable = frozenset(key for key in keys if rng.random() > 0.15)
    return Problem(roles, wearers, tuple(pieces), fits, (), with_making, makeable)


def weighted(problem: Problem) -> Values:  # noqa: PLR0912 - one program, written in one piece to be read beside ours
    """The whole problem as one program: a column per (wearer, piece), mismatched pairs forbidden, one weighted sum.

    Each weight is larger than all that the lesser aims together can add, so the best sum is the best in order.
    """
    fit_most = 5 * len(problem.pieces)
    whole_weight = fit_most + 1
    made_weight = whole_weight * (len(problem.wearers) + 1)
    slots_most = sum(role.need * len(role.slots) for role in problem.roles)
    dress_weight = made_weight * (slots_most + 1)
    cost: list[float] = []
    lines: list[tuple[dict[int, float], float, float]] = []

    def new(price: float) -> int:
        cost.append(price)
        return len(cost) - 1

    by_piece: dict[str, list[int]] = defaultdict(list)
    by_role: dict[str, list[int]] = defaultdict(list)
    kinds: dict[str, list[int]] = defaultdict(list)
    for wearer in problem.wearers:
        once = []
        for role in problem.roles:
            if not wearer.may_play(role):
                continue
            on = new(dress_weight)
            once.append(on)
            by_role[role.code].append(on)
            kinds["dressed"].append(on)
            mine: dict[str, dict[str, int]] = {slot: {} for slot in role.slots}
            for piece in problem.pieces:
                fit = problem.fits[wearer.code, piece.code]
                if piece.role == role.code and fit.verdict is Verdict.YES:
                    column = new(fit.score)
                    mine[piece.slot][piece.code] = column
                    by_piece[piece.code].append(column)
                    kinds["worn"].append(column)
            known = {piece.code: piece for piece in problem.pieces}
            for slot in role.slots:
                total = dict.fromkeys(mine[slot].values(), 1.0)
                if problem.may_make(wearer.code, role.code, slot):
                    made = new(-made_weight)
                    kinds["made"].append(made)
                    total[made] = 1.0
                lines.append(({**total, on: -1.0}, 0, 0))
            for group in role.groups:
                first, second = group.slots
                for code, column in mine[first].items():
                    other = [
                        c
                        for q, c in mine[second].items()
                        if known[q].values[group.name] != known[code].values[group.name]
                    ]
                    if other:  # this piece and any that does not match it: at most one of them
                        lines.append(({column: 1.0, **dict.fromkeys(other, 1.0)}, 0, 1))
            owners = {known[code].set_code for found in mine.values() for code in found}
            for owner in sorted(str(o) for o in owners):
                own = [c for found in mine.values() for code, c in found.items() if known[code].set_code == owner]
                if len(own) == len(role.slots):
                    whole = new(whole_weight)
                    kinds["whole"].append(whole)
                    lines.append(({whole: float(len(own)), **dict.fromkeys(own, -1.0)}, -np.inf, 0))
        if once:
            lines.append((dict.fromkeys(once, 1.0), 0, 1))
    for columns in by_piece.values():
        lines.append((dict.fromkeys(columns, 1.0), 0, 1))
    for role in problem.roles:
        lines.append((dict.fromkeys(by_role[role.code], 1.0), 0, role.need))
    matrix = lil_array((len(lines), len(cost)))
    for row, (terms, _, _) in enumerate(lines):
        for column, factor in terms.items():
            matrix[row, column] = factor
    rows = LinearConstraint(matrix.tocsr(), [line[1] for line in lines], [line[2] for line in lines])
    prices = np.array(cost)
    found = milp(
        -prices, integrality=np.ones(len(cost)), bounds=Bounds(0, 1), constraints=rows, options={"mip_rel_gap": 0}
    )
    assert found.success
    chosen = np.rint(found.x)
    count = {kind: int(chosen[columns].sum()) for kind, columns in kinds.items()}
    fit_sum = int(prices[kinds["worn"]] @ chosen[kinds["worn"]])
    return count["dressed"], count.get("made", 0), count.get("whole", 0), fit_sum


@pytest.mark.parametrize("groups", [0, 1, 2, 3])
@pytest.mark.parametrize("with_making", [False, True])
def test_a_second_archive_agrees_with_another_program(groups: int, with_making: bool) -> None:
    problem = second_archive(SEEDS[groups], groups, with_making=with_making)
    answer = plan(problem)
    assert reached(answer) == weighted(problem)
    assert answer.gap == 0
    assert_valid(problem, answer)


# --- locks, limits, shortages ----------------------------------------------------------------------------------------
ONE = Role("R", 2, ("coat", "hat"), (Group("dye", ("coat", "hat")),))


def tiny(**changes: object) -> Problem:
    pieces = tuple(
        PlanPiece(f"{slot}{i}", "R", slot, f"S{i}", {"dye": "AB"[i]}) for slot in ONE.slots for i in range(2)
    )
    wearers = tuple(PlanWearer(f"w{i}") for i in range(3))
    fits = {(w.code, p.code): yes(90 if p.code.endswith("0") else 10) for w in wearers for p in pieces}
    keys = frozenset((w.code, "R", slot) for w in wearers for slot in ONE.slots)
    return replace(Problem((ONE,), wearers, pieces, fits, makeable=keys), **changes)  # type: ignore[arg-type]


def test_a_lock_is_kept_and_brings_its_match() -> None:
    answer = plan(tiny(locks=(Lock("w2", "R", "coat", "coat1"),)))
    assert {(a.slot, a.piece) for a in answer.assignments if a.wearer == "w2"} == {("coat", "coat1"), ("hat", "hat1")}
    assert answer.total == 2


def test_a_lock_comes_before_the_number_dressed() -> None:
    problem = tiny(wearers=tuple(PlanWearer(f"w{i}") for i in range(3)))
    fits = {**problem.fits, ("w0", "hat0"): NO, ("w1", "coat1"): NO, ("w1", "hat1"): NO}
    free = plan(replace(problem, fits=fits))
    kept = plan(replace(problem, fits=fits, locks=(Lock("w1", "R", "coat", "coat0"),)))
    assert free.total == kept.total == 2
    assert any(line.wearer == "w1" and line.piece == "coat0" for line in kept.assignments)


def test_a_made_piece_can_be_locked() -> None:
    answer = plan(tiny(with_making=True, locks=(Lock("w0", "R", "hat", None),)))
    assert [(m.wearer, m.slot) for m in answer.make] == [("w0", "hat")]


@pytest.mark.parametrize(
    "locks",
    [
        (Lock("w0", "R", "coat", "coat0"), Lock("w1", "R", "coat", "coat0")),
        (Lock("w0", "R", "coat", "coat0"), Lock("w0", "R", "coat", "coat1")),
        (Lock("w0", "R", "coat", "hat0"),),
        (Lock("w0", "R", "coat", "gone"),),
        (Lock("w0", "R", "hat", None),),
        (Lock("nobody", "R", "coat", "coat0"),),
        (Lock("w0", "X", "coat", "coat0"),),
    ],
)
def test_locks_that_cannot_be_are_refused_with_a_sentence(locks: tuple[Lock, ...]) -> None:
    with pytest.raises(PlanError, match="The lock of"):
        plan(tiny(locks=locks))


def test_a_lock_on_a_pair_that_is_not_known_to_fit_is_refused() -> None:
    problem = tiny()
    fits = {**problem.fits, ("w0", "coat0"): Fit(Verdict.UNKNOWN, 0.9, 50, Reason.UNKNOWN)}
    with pytest.raises(PlanError, match="not known to fit"):
        plan(replace(problem, fits=fits, locks=(Lock("w0", "R", "coat", "coat0"),)))


def test_a_piece_with_an_unknown_match_is_not_planned() -> None:
    problem = tiny()
    blind = tuple(replace(p, values={}) if p.slot == "hat" else p for p in problem.pieces)
    answer = plan(replace(problem, pieces=blind))
    assert answer.total == 0
    assert {left.reason for left in answer.left_out} == {Reason.UNKNOWN}
    assert "not recorded" in answer.left_out[0].sentence


def test_nothing_asked_nothing_planned() -> None:
    empty = plan(Problem((), (), (), {}))
    assert (empty.total, empty.assignments, empty.gap) == (0, (), 0.0)


def test_who_may_play_nothing_and_who_is_away() -> None:
    wearers = (PlanWearer("a", frozenset()), PlanWearer("b", None, False))
    left = {line.wearer: line.reason for line in plan(tiny(wearers=wearers, fits={})).left_out}
    assert left == {"a": Reason.NOT_NEEDED, "b": Reason.DATES}
