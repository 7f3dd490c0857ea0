"""Joint likelihoods over common draws: cases, laws that hold for any ranges, calibration on the model's own people."""

from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.fitting.calc.bands import Band, Garment, Span, Wearable
from catalog.fitting.calc.body import DRAWS, Body, Layer, Measure, Person, Shape, body_of
from catalog.fitting.calc.chance import CLASSES, Chance, chance_of
from catalog.fitting.calc.draws import everybody, ordered, share
from catalog.fitting.calc.exclusions import Makeup
from catalog.fitting.calc.fit import Candidate, Verdict, fit, fit_set
from catalog.fitting.calc.joint import rack_of, set_shares, shares, shares_of
from catalog.fitting.calc.survey import survey

POINTS = ("chest", "waist_natural", "hip", "neck", "foot_length")
PLAIN = Makeup("coat", frozenset())
Ranges = Mapping[str, tuple[int | None, int | None]]


def wears(ranges: Ranges, *, missing: tuple[str, ...] = ()) -> Wearable:
    return Wearable(tuple(Span(point, "size", low, high) for point, (low, high) in ranges.items()), missing)


def somebody(layer: Layer = Layer.CARD, shape: Shape = Shape.M, age: int | None = None, **taped: int) -> Person:
    sizes = {"height": 1760, "weight": 81_000}
    tapes = tuple(Measure(point, value, Layer.TAPED) for point, value in taped.items())
    return Person((*(Measure(p, v, layer) for p, v in sizes.items()), *tapes), shape, age)


def candidate(code: str, ranges: Ranges) -> Candidate:
    """A piece that allows exactly these body values: a measure of 0 with the ease turned round."""
    bands = tuple(
        Band(point, point, None if high is None else -high, None if low is None else -low)
        for point, (low, high) in ranges.items()
    )
    return Candidate(code, bands, Garment(dict.fromkeys(ranges, 0)), PLAIN)


span = st.tuples(st.integers(-120, 60), st.integers(-20, 160)).map(sorted)


@st.composite
def ranges(draw: st.DrawFn) -> dict[str, tuple[int | None, int | None]]:
    """Ranges round the middle of the man of 176 cm and 81 kg, some of them empty, some open at one end."""
    body = BODY
    found: dict[str, tuple[int | None, int | None]] = {}
    for point in draw(st.sets(st.sampled_from(POINTS), max_size=4)):
        low, high = draw(span)
        middle = int(body.ordered(point).median)
        open_end = draw(st.sampled_from(["", "", "low", "high"]))
        found[point] = (None if open_end == "low" else middle + low, None if open_end == "high" else middle + high)
    return found


BODY = body_of(somebody())
TAPED = body_of(somebody(chest=1040, hip=1000))
EITHER = body_of(somebody(shape=Shape.EITHER))


def plain_share(body: Body, asked: Ranges) -> float:
    """Counted draw by draw, without any bits."""
    inside = np.ones(DRAWS, dtype=bool)
    for point, (low, high) in asked.items():
        values = np.full(DRAWS, body.known[point]) if point in body.known else body.draws[point]
        inside &= (values >= (low if low is not None else -1)) & (values <= (high if high is not None else 10**7))
    return float(inside.mean())


@given(st.lists(ranges(), min_size=1, max_size=5), st.sampled_from([BODY, TAPED, EITHER]))
@settings(max_examples=60)
def test_bits_count_the_same_bodies_as_counting_one_by_one(pieces: list[Ranges], body: Body) -> None:
    found = shares_of(body, rack_of([wears(piece) for piece in pieces]))
    assert found.share.tolist() == [plain_share(body, piece) for piece in pieces]
    for piece, number in zip(pieces, found.share, strict=True):
        alone = fit(body, candidate("P", piece))
        assert alone.probability == number


@given(ranges(), st.sampled_from(POINTS), st.integers(0, 80), st.integers(0, 80))
@settings(max_examples=60)
def test_a_wider_range_never_fits_fewer(
    piece: dict[str, tuple[int | None, int | None]], point: str, a: int, b: int
) -> None:
    low, high = piece.get(point, (None, None))
    wider = piece | {point: (None if low is None else low - a, None if high is None else high + b)}
    before, after = shares_of(BODY, rack_of([wears(piece), wears(wider)])).share
    assert after >= before


@given(st.lists(ranges(), min_size=1, max_size=4), st.sampled_from([BODY, TAPED, EITHER]))
@settings(max_examples=60)
def test_a_set_is_never_likelier_than_its_least_likely_piece(pieces: list[Ranges], body: Body) -> None:
    rack = rack_of([wears(piece) for piece in pieces])
    alone = shares_of(body, rack)
    (together,) = set_shares(body, rack, [range(len(pieces))])
    assert together <= alone.share.min()
    assert (alone.share <= alone.bound).all()
    judged = fit_set(body, [candidate(str(n), piece) for n, piece in enumerate(pieces)])
    assert judged.probability == together
    # Never below what they would be if misfits never met either (Boole's inequality).
    assert together >= 1 - (1 - alone.share).sum() - 1e-12


@given(st.permutations(range(5)), st.lists(ranges(), min_size=5, max_size=5))
@settings(max_examples=40)
def test_the_order_of_pieces_and_points_means_nothing(order: list[int], pieces: list[Ranges]) -> None:
    turned = [dict(reversed(pieces[place].items())) for place in order]
    straight = shares_of(TAPED, rack_of([wears(piece) for piece in pieces]))
    mixed = shares_of(TAPED, rack_of([wears(piece) for piece in turned]))
    assert mixed.share.tolist() == [straight.share[place] for place in order]
    assert mixed.bound.tolist() == [straight.bound[place] for place in order]
    one = set_shares(TAPED, rack_of([wears(p) for p in pieces]), [(0, 1, 2), (2, 1, 0), (1, 2, 0)])
    assert len(set(one.tolist())) == 1


def test_the_same_question_has_the_same_answer_every_time() -> None:
    again = body_of(somebody())
    assert all((BODY.draws[point] == again.draws[point]).all() for point in BODY.draws)
    rack = rack_of([wears({"chest": (980, 1040), "hip": (960, 1040)})])
    found = shares_of(BODY, rack).share
    assert found == shares_of(again, rack).share
    # Pinned on the day it was written: other draws would move it by about 0.01.
    assert found[0] == pytest.approx(162 / DRAWS, abs=2 / DRAWS)


@pytest.mark.parametrize(
    ("asked", "missing", "share_is", "limiting"),
    [
        ({"chest": (1000, 1100)}, (), 1.0, None),  # taped, inside
        ({"chest": (1050, 1100)}, (), 0.0, "chest"),  # taped, outside
        ({"chest": (1050, 1100)}, ("back",), 0.0, "chest"),  # a known miss needs no other measure
        ({"chest": (1000, 1100)}, ("back",), None, None),
        ({}, (), 1.0, None),  # fits anybody
        ({}, ("back",), None, None),
        ({"chest": (1000, 1100), "eyebrows": (1, 2)}, (), None, None),  # a point nobody draws
        ({"neck": (0, 100), "eyebrows": (1, 2)}, (), None, "neck"),
    ],
)
def test_what_is_not_measured_never_counts_as_fitting(
    asked: Ranges, missing: tuple[str, ...], share_is: float | None, limiting: str | None
) -> None:
    rack = rack_of([wears(asked, missing=missing), wears({"neck": (0, 10_000)})])
    found = shares_of(TAPED, rack)
    assert (None if np.isnan(found.share[0]) else found.share[0]) == share_is
    place = int(found.limiting[0])
    assert (rack.points[place] if place >= 0 else None) == limiting


def test_a_piece_without_a_rule_is_unknown_and_so_is_its_outfit() -> None:
    rack = rack_of([None, wears({}), wears({"chest": (0, 1)})])
    assert np.isnan(shares_of(TAPED, rack).share[0])
    untold, told, refused, nothing = set_shares(TAPED, rack, [(0, 1), (1,), (0, 2), ()])
    assert np.isnan([untold, nothing]).all()
    assert (told, refused) == (1.0, 0.0)


def test_a_minor_is_judged_by_tape_alone() -> None:
    minor = body_of(somebody(age=16, chest=900))
    rack = rack_of([wears({"chest": (850, 950)}), wears({"chest": (0, 10)}), wears({"hip": (0, 9000)})])
    fits, no, unknown = shares_of(minor, rack).share
    assert (fits, no) == (1.0, 0.0)
    assert np.isnan(unknown)


def test_the_missing_measure_is_named_and_the_likelihood_still_bounded() -> None:
    bands = (Band("chest", "chest", 0, 60), Band("hip", "seat", 0, 60))
    piece = Candidate("P", bands, Garment({"chest": 1060}), PLAIN)
    found = fit(BODY, piece)
    assert (found.verdict, found.probability, found.chance) == (Verdict.UNKNOWN, None, Chance.NOT_MEASURED)
    assert "seat of the piece not measured" in found.reasons
    assert found.limiting == "chest"
    assert found.at_most == plain_share(BODY, {"chest": (1000, 1060)})
    outfit = fit_set(BODY, (piece, candidate("Q", {"chest": (1030, None)})))
    assert (outfit.probability, outfit.chance) == (None, Chance.NOT_MEASURED)
    assert outfit.at_most == plain_share(BODY, {"chest": (1030, 1060)})


def test_the_limiting_point_is_the_one_that_fewest_pass() -> None:
    middle = int(BODY.ordered("hip").median)
    found = fit(BODY, candidate("P", {"chest": (900, 1200), "hip": (middle, None), "neck": (350, 430)}))
    assert found.limiting == "hip"
    assert found.probability is not None
    assert found.probability <= found.at_most < 0.55


def test_either_is_a_mixture_of_both_surveys() -> None:
    """Where a body says nothing about itself each survey has half of the draws: the share lies half way between."""
    nobody = {shape: body_of(Person((), shape)) for shape in Shape}
    for low, high in ((800, 950), (900, 1000), (1000, 1100)):
        rack = rack_of([wears({"chest": (low, high), "hip": (900, 1050)})])
        men, women, both = (float(shares_of(nobody[s], rack).share[0]) for s in (Shape.M, Shape.F, Shape.EITHER))
        assert both == pytest.approx((men + women) / 2, abs=0.03)
    tall = body_of(somebody(shape=Shape.EITHER))
    chest = rack_of([wears({"chest": (980, 1080)})])
    assert abs(shares_of(tall, chest).share[0] - shares_of(BODY, chest).share[0]) < 0.05


def test_many_bodies_are_answered_as_each_alone() -> None:
    rack = rack_of([wears({"chest": (980, 1040)}), wears({"hip": (950, 1000), "neck": (370, 400)})])
    found = shares([BODY, TAPED, EITHER], rack)
    for row, body in enumerate((BODY, TAPED, EITHER)):
        alone = shares_of(body, rack)
        assert found.share[row].tolist() == alone.share.tolist()
        assert found.limiting[row].tolist() == alone.limiting.tolist()
    assert shares([], rack).share.shape == (0, 2)


@given(st.lists(st.integers(0, 50), min_size=1, max_size=200), st.integers(-5, 55), st.integers(-5, 55))
def test_bits_of_any_number_of_draws(values: list[int], low: int, high: int) -> None:
    bits, number = ordered(np.array(values)).inside(low, high)
    assert number == sum(low <= value <= high for value in values)
    assert share(bits, len(values)) == number / len(values)
    assert share(everybody(len(values)), len(values)) == 1.0
    assert ordered(np.array(values)).median == np.median(values)


@pytest.mark.parametrize(
    ("number", "word"),
    [(1.0, "likely"), (0.8, "likely"), (0.79, "possible"), (0.2, "possible"), (0.19, "unlikely"), (0.0, "unlikely"),
     (None, "not measured")],
)  # fmt: skip
def test_the_words_stand_in_one_table(number: float | None, word: str) -> None:
    assert chance_of(number).value == word
    assert [least for _, least in CLASSES] == sorted((least for _, least in CLASSES), reverse=True)


def people(shape: str, count: int, seed: int) -> list[dict[str, int]]:
    """True bodies drawn from the survey itself, apart from the code under test: whole mm and g by point."""
    model = survey().shapes[shape]
    logs = np.random.default_rng(seed).multivariate_normal(model.mean, model.cov, count)
    per = [1000 if name == "weight" else 10 for name in model.names]
    values = np.rint(np.exp(logs) * per).astype(int)
    return [dict(zip(model.names, row, strict=True)) for row in values.tolist()]


def predicted_and_observed(inflation: float, points: tuple[str, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Likelihoods from height and weight alone, and whether the true body lay in all ranges; 240 people, 300 pieces."""
    rng = np.random.default_rng(5)
    told, held = [], []
    for sex, seed in (("m", 1), ("f", 2)):
        wearers, owners = people(sex, 120, seed), people(sex, 300, seed + 10)
        widths = rng.integers(40, 130, (len(owners), len(points)))
        made = [
            {p: (owner[p] - int(w) // 2, owner[p] + int(w) // 2) for p, w in zip(points, row, strict=True)}
            for owner, row in zip(owners, widths, strict=True)
        ]
        rack = rack_of([wears(piece) for piece in made])
        for true in wearers:
            noisy = {"height": rng.normal(true["height"], 5), "weight": rng.normal(true["weight"], 500)}
            sizes = tuple(Measure(point, round(value), Layer.TAPED) for point, value in noisy.items())
            body = body_of(Person(sizes, Shape(sex)), sd_inflation=inflation)
            told.append(shares_of(body, rack).share)
            held.append([all(low <= true[p] <= high for p, (low, high) in piece.items()) for piece in made])
    return np.concatenate(told), np.concatenate(held)


def test_what_is_promised_is_kept_on_the_models_own_people() -> None:
    """In every tenth of the scale as many fit as was said, to within what 240 people can show."""
    told, held = predicted_and_observed(1.0, ("chest", "waist_natural", "hip"))
    for low in np.arange(0.0, 1.0, 0.1):
        bin_ = (told >= low) & (told < low + 0.1)
        if bin_.sum() >= 200:
            assert held[bin_].mean() == pytest.approx(told[bin_].mean(), abs=0.06)
    assert abs(told.mean() - held.mean()) < 0.01


def test_with_the_usual_width_likely_is_kept_more_often_than_it_promises() -> None:
    told, held = predicted_and_observed(survey().sd_inflation, ("hip", "inside_leg"))
    words = np.array([chance_of(float(number)).value for number in told])
    kept = {word: held[words == word].mean() for word in ("likely", "possible", "unlikely")}
    assert kept["likely"] > told[words == "likely"].mean() > 0.8
    assert kept["unlikely"] < 0.2 < kept["possible"] < 0.8
