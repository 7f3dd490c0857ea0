"""The body model: predictions, layers, shapes, warnings, draws.

The expected numbers of the case 176 cm, 81 kg were worked out apart from this code, by conditioning the published
survey's own covariance (ANSUR II, Gordon et al. 2014).
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.fitting.calc.body import (
    POINTS,
    BodyModelError,
    Layer,
    Measure,
    Person,
    Shape,
    UnderAgeError,
    best_measures,
    body_of,
    card_only,
    predict,
)


def person(
    height: int = 1760, weight: int = 81_000, layer: Layer = Layer.TAPED, shape: Shape = Shape.M, **more: int
) -> Person:
    taped = tuple(Measure(point, value, Layer.TAPED) for point, value in more.items())
    return Person((Measure("height", height, layer), Measure("weight", weight, layer), *taped), shape)


@pytest.mark.parametrize(
    ("layer", "inflation", "point", "mean", "low", "high"),
    [
        (Layer.TAPED, 1.0, "chest", 1032, 993, 1072),
        (Layer.TAPED, 1.0, "waist_navel", 905, 852, 961),
        (Layer.TAPED, 1.0, "waist_natural", 876, 818, 938),
        (Layer.TAPED, 1.0, "hip", 997, 966, 1030),
        (Layer.TAPED, 1.0, "inside_leg", 849, 819, 880),
        (Layer.TAPED, 1.0, "head", 573, 555, 590),
        (Layer.TAPED, 1.0, "foot_length", 271, 260, 282),
        (Layer.TAPED, 1.3, "chest", 1032, 982, 1085),
        (Layer.TAPED, 1.3, "waist_navel", 905, 837, 978),
        (Layer.TAPED, 1.3, "foot_length", 271, 256, 286),
        (Layer.CARD, 1.0, "chest", 1034, 989, 1080),
        (Layer.CARD, 1.0, "waist_navel", 907, 847, 971),
        (Layer.CARD, 1.0, "inside_leg", 848, 814, 884),
    ],
)
def test_a_known_case(layer: Layer, inflation: float, point: str, mean: int, low: int, high: int) -> None:
    found = predict(person(layer=layer), sd_inflation=inflation).estimates[point]
    assert (found.mean, found.low, found.high) == pytest.approx((mean, low, high), abs=1)
    assert not found.known


def test_age_and_tapes_move_the_prediction() -> None:
    aged = Person(person().measures, Shape.M, 50)
    assert predict(aged, sd_inflation=1.0).estimates["waist_navel"].mean == pytest.approx(940, abs=1)
    taped = predict(person(chest=1040, waist_navel=920, inside_leg=830), sd_inflation=1.0).estimates
    assert (taped["hip"].low, taped["hip"].mean, taped["hip"].high) == pytest.approx((969, 998, 1029), abs=1)
    assert (taped["chest"].low, taped["chest"].high, taped["chest"].known) == (1040, 1040, True)


def test_a_taped_natural_waist_narrows_the_chest() -> None:
    def width(found: Person) -> int:
        chest = predict(found).estimates["chest"]
        return chest.high - chest.low

    assert width(person(waist_natural=876)) < width(person())


def test_the_surest_layer_wins() -> None:
    sizes = (
        Measure("chest", 1000, Layer.TAPED),
        Measure("chest", 1100, Layer.CARD),
        Measure("chest", 1010, Layer.FITTED),
    )
    assert best_measures(sizes)["chest"].value == 1010
    assert [m.value for m in card_only(Person(sizes)).measures] == [1100]


def test_nobody_under_18_is_predicted() -> None:
    minor = Person((*person().measures, Measure("chest", 800, Layer.TAPED)), Shape.EITHER, 17)
    with pytest.raises(UnderAgeError, match="Nobody under 18"):
        predict(minor)
    assert issubclass(UnderAgeError, BodyModelError)
    body = body_of(minor)
    assert body.known["chest"] == 800
    assert not body.draws
    predict(Person(person().measures, Shape.EITHER, 18))


@pytest.mark.parametrize(
    ("height", "weight", "warned"), [(1760, 81_000, 0), (2100, 95_000, 1), (1760, 150_000, 2), (1760, 45_000, 2)]
)
def test_outside_the_survey_it_warns(height: int, weight: int, warned: int) -> None:
    warnings = predict(person(height, weight)).warnings
    assert len(warnings) == warned
    assert not any(str(height) in line or str(weight) in line for line in warnings)


def test_with_nothing_known_it_gives_the_whole_survey_and_says_so() -> None:
    found = predict(Person())
    assert found.shape_m == pytest.approx(0.5)
    assert any("not known" in line for line in found.warnings)
    chest = found.estimates["chest"]
    assert chest.high - chest.low > 200


def test_either_lies_between_the_two_references() -> None:
    means = {shape: predict(person(1700, 68_000, shape=shape)).estimates["hip"].mean for shape in Shape}
    assert min(means[Shape.M], means[Shape.F]) <= means[Shape.EITHER] <= max(means[Shape.M], means[Shape.F])


def test_hair_only_adds() -> None:
    body = body_of(person(head=570))
    assert body.draws["head_over_hair"].min() >= 570
    assert body.draws["head_over_hair"].mean() == pytest.approx(582, abs=1.5)


def test_draws_agree_with_the_stated_ranges() -> None:
    found, body = predict(person(layer=Layer.CARD)), body_of(person(layer=Layer.CARD))
    for point in POINTS:
        low, high = np.quantile(body.draws[point], [0.1, 0.9])
        estimate = found.estimates[point]
        slack = 0.12 * (estimate.high - estimate.low) + 2
        assert low == pytest.approx(estimate.low, abs=slack)
        assert high == pytest.approx(estimate.high, abs=slack)


@given(
    height=st.integers(1450, 2050),
    weight=st.integers(42_000, 140_000),
    shape=st.sampled_from(Shape),
    layer=st.sampled_from([Layer.CARD, Layer.TAPED]),
    chest=st.none() | st.integers(750, 1300),
)
@settings(max_examples=60)
def test_every_point_has_an_ordered_positive_range(
    height: int, weight: int, shape: Shape, layer: Layer, chest: int | None
) -> None:
    more = {} if chest is None else {"chest": chest}
    found = predict(person(height, weight, layer, shape, **more))
    assert set(found.estimates) == set(POINTS)
    for estimate in found.estimates.values():
        assert 0 < estimate.low <= estimate.mean <= estimate.high


@given(chest=st.integers(850, 1250), layer=st.sampled_from([Layer.CARD, Layer.TAPED]))
@settings(max_examples=30)
def test_another_tape_never_widens_a_range(chest: int, layer: Layer) -> None:
    for point in ("waist_navel", "hip", "neck"):
        before = predict(person(layer=layer)).estimates[point]
        after = predict(person(layer=layer, chest=chest)).estimates[point]
        rounding = 4 * 0.5 / before.low  # four ends in whole mm
        assert np.log(after.high / after.low) <= np.log(before.high / before.low) + rounding
