"""Which slot is short, against an enumeration of Hall's condition."""

from itertools import product

import numpy as np
import pytest

from catalog.fitting.calc.fit import Fit, Reason, Verdict
from catalog.fitting.calc.plan_types import PlanPiece, PlanWearer, Problem, Role
from catalog.fitting.calc.shortage import shortages

YES = Fit(Verdict.YES, 1.0, 50)
NO = Fit(Verdict.NO, 0.0, 0, Reason.SIZE, ("chest: piece too small by 1.0 cm",))


@pytest.mark.parametrize("number", range(8))
def test_shortage_is_people_minus_the_largest_matching(number: int) -> None:
    """Against Hall's condition by enumeration: the worst set of people over the pieces they can wear."""
    rng = np.random.default_rng(number)
    role = Role("R", 6, ("coat",))
    wearers = tuple(PlanWearer(f"w{i}") for i in range(6))
    pieces = tuple(PlanPiece(f"p{i}", "R", "coat") for i in range(5))
    fits = {(w.code, p.code): YES if rng.random() < 0.3 else NO for w in wearers for p in pieces}
    worst = 0
    for chosen in product([False, True], repeat=6):
        group = [w for w, take in zip(wearers, chosen, strict=True) if take]
        near = {p.code for p in pieces if any(fits[w.code, p.code].verdict is Verdict.YES for w in group)}
        worst = max(worst, len(group) - len(near))
    (found,) = shortages(Problem((role,), wearers, pieces, fits))
    assert (found.matched, found.short_by) == (6 - worst, worst)
