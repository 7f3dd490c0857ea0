"""What must not lie together: each row fires, what is not meant does not, and a piece is no neighbour of itself."""

import pytest

from catalog.storage.calc.neighbours import APART, IN_A_CABINET, SWOLLEN_IN_CABINET, Lying, groups_of, troubles

# One material for each group, as an archive would write it.
SAMPLE = {
    "rubber or latex": "rubber-coated canvas",
    "soft PVC": "PVC tubing",
    "polyurethane": "polyurethane foam",
    "celluloid": "celluloid collar",
    "cellulose acetate": "cellulose acetate sheet",
    "silver, copper or brass": "brass buttons",
    "lead": "lead weights",
    "oak": "oak haft",
    "silk": "silk ribbon",
    "metal": "steel chain",
    "cloth": "wool serge",
    "leather": "leather",
    "paper": "card",
}


@pytest.mark.parametrize("rule", APART, ids=lambda rule: f"{rule.one}+{rule.other}")
def test_each_row_fires_between_two_pieces_and_not_within_one_or_across_places(rule) -> None:
    one, other = SAMPLE[rule.one], SAMPLE[rule.other]
    found = troubles([Lying("A", "S1", False, (one,)), Lying("B", "S1", False, (other,))])
    mine = [trouble for trouble in found if trouble.what == f"{rule.one} beside {rule.other}"]
    assert [(t.numbers, t.others, t.source) for t in mine] == [(("A",), ("B",), rule.source)]
    assert rule.source
    assert rule.because
    assert troubles([Lying("A", "S1", False, (one, other))]) == []
    assert troubles([Lying("A", "S1", False, (one,)), Lying("B", "S2", False, (other,))]) == []


@pytest.mark.parametrize(
    ("material", "group"),
    [
        ("silicone rubber", "rubber or latex"),
        ("rigid PVC", "soft PVC"),
        ("silver paint", "silver, copper or brass"),
        ("lead-free solder", "lead"),
        ("leaded glass", "lead"),
        ("cloaking cloth", "oak"),
        ("acetate lining", "cellulose acetate"),
    ],
)
def test_what_is_only_called_alike_is_in_no_group(material: str, group: str) -> None:
    assert group not in groups_of([material])


def test_a_piece_made_of_both_is_named_beside_others_only() -> None:
    both, plain = Lying("A", "S1", False, ("rubber", "brass")), Lying("B", "S1", False, ("rubber",))
    (found,) = troubles([both, plain])
    assert (found.numbers, found.others) == (("A", "B"), ("A",))


@pytest.mark.parametrize("code", IN_A_CABINET)
def test_each_hazard_outside_its_cabinet_is_named_with_its_state(code: str) -> None:
    for state, said in (("confirmed", "A"), ("suspected", "A (suspected)"), ("untested", "A (untested)")):
        (found,) = troubles([Lying("A", "S1", False, (), {code: state})])
        assert (found.what, found.numbers) == (IN_A_CABINET[code], (said,))
    assert troubles([Lying("A", "S1", False, (), {code: "cleared"})]) == []
    assert troubles([Lying("A", "S1", True, (), {code: "confirmed"})]) == []


def test_a_damaged_pack_belongs_outside_the_cabinet() -> None:
    (found,) = troubles([Lying("A", "S1", True, (), {"battery": "confirmed"}, damaged_pack=True)])
    assert found.what == SWOLLEN_IN_CABINET
    assert troubles([Lying("A", "OUTSIDE", False, (), {"battery": "confirmed"}, damaged_pack=True)]) == []
