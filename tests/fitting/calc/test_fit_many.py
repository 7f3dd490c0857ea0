"""Many pieces at once give exactly what each gives alone, whatever is known, missing or excluded."""

from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.fitting.calc.bands import Band, Garment, Scale
from catalog.fitting.calc.body import Body, Layer, Measure, Person, Shape, body_of
from catalog.fitting.calc.exclusions import ExclusionRule, Makeup
from catalog.fitting.calc.fit import Candidate, fit
from catalog.fitting.calc.fit_many import fit_many, rail_of

PLAIN = Makeup("coat", frozenset())
WOOL = ExclusionRule("wool", "no wool", materials=frozenset({"wool"}))
SIZES = {"height": 1760, "weight": 81_000, "chest": 1030, "hip": 1000, "foot_length": 270}


def body(taped: frozenset[str], exclusions: frozenset[str] = frozenset(), age: int | None = None) -> Body:
    layers = {point: Layer.TAPED if point in taped else Layer.CARD for point in SIZES}
    measures = tuple(Measure(point, value, layers[point]) for point, value in SIZES.items())
    return body_of(Person(measures, Shape.M, age, exclusions))


BODIES = [
    body(frozenset()),
    body(frozenset({"chest"})),
    body(frozenset(SIZES)),
    body(frozenset({"hip"}), frozenset({"wool"})),
    body(frozenset({"chest", "hip"}), age=16),
]
ease = st.none() | st.integers(-80, 120)


@st.composite
def pieces(draw: st.DrawFn) -> list[Candidate]:
    found = []
    for number in range(draw(st.integers(0, 6))):
        bands, values = [], {}
        for point in draw(st.lists(st.sampled_from(["chest", "hip", "waist_natural", "foot_length"]), max_size=4)):
            shoe = point == "foot_length" and draw(st.booleans())
            scale = Scale.EU_SHOE if shoe else Scale.MM
            low, high = (0, 2) if shoe else (draw(ease), draw(ease))
            good = (None, None)
            if low is not None and high is not None and low < high and draw(st.booleans()):
                good = tuple(sorted((draw(st.integers(low, high)), draw(st.integers(low, high)))))
            bands.append(Band(point, f"on {point}", low, high, False, scale, *good))
            if draw(st.integers(0, 9)):
                values[f"on {point}"] = SIZES.get(point, 880) + draw(st.integers(-60, 160))
        wool = frozenset({draw(st.sampled_from(["wool", "silk"]))})
        known = draw(st.sampled_from([wool, None]))
        rule = None if draw(st.integers(0, 7)) == 0 else tuple(bands)
        found.append(Candidate(f"P{number}", rule, Garment(values), Makeup("coat", known)))
    return found


@given(pieces(), st.sampled_from(BODIES))
@settings(max_examples=300)
def test_many_are_as_each_alone(stock: list[Candidate], somebody: Body) -> None:
    assert fit_many(somebody, rail_of(stock), [WOOL]) == [fit(somebody, piece, [WOOL]) for piece in stock]


def test_a_crowd_that_is_kept_does_not_keep_what_was_sorted() -> None:
    somebody = body(frozenset())
    fit_many(somebody, rail_of([Candidate("P", (Band("chest", "chest", 0, 60),), Garment({"chest": 1060}), PLAIN)]))
    assert not somebody._ordered


def test_an_empty_rail_has_no_answers() -> None:
    assert fit_many(BODIES[0], rail_of([])) == []
