"""The stage of the loans' tests, with two kinds of crates and everything weighed and measured."""

from dataclasses import dataclass

import pytest

from catalog.loans import actions
from catalog.loans.models import Loan
from catalog.shipping.pack_actions import keep_crate_kind
from catalog.shipping.pack_models import CrateSpec
from tests.cast import Cast
from tests.loans.conftest import call, clock, loan, stage, store  # noqa: F401 - fixtures
from tests.loans.world import Stage


def make_kind(cast: Cast, code: str = "trunk", **changes: object) -> CrateSpec:
    sides = {f"inner_{side}_mm": mm for side, mm in (("length", 900), ("width", 500), ("height", 400))}
    sides |= {f"outer_{side}_mm": mm for side, mm in (("length", 950), ("width", 550), ("height", 450))}
    facts: dict[str, object] = {**sides, "tare_g": 8_000, "max_gross_g": 40_000, "by_hand": True, "name": f"{code} one"}
    return keep_crate_kind(by=cast.archivist, code=code, **(facts | changes))


@dataclass(frozen=True, slots=True)
class Ready:
    """A loan of two coats and a pair of boots, all pulled, and a kind of crate."""

    loan: Loan
    stage: Stage
    kind: CrateSpec


@pytest.fixture
def ready(cast: Cast, stage: Stage, loan: Loan) -> Ready:  # noqa: F811 - the fixtures above
    for piece, grams in ((stage.coats[0], 3_000), (stage.coats[1], 3_100), (stage.boots[0], 2_100)):
        piece.weight_g, piece.packed_length_mm, piece.packed_width_mm, piece.packed_height_mm = grams, 400, 300, 100
        piece.save()
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number=piece.number)
    return Ready(loan, stage, make_kind(cast))
