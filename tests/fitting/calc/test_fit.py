"""Bands, exclusions and fits: tables of cases, and the rule that an unknown is never a yes."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.fitting.calc.bands import Band, Garment, Scale, body_eu, eu_to_mm, inch_to_mm, mm_to_eu, wearable
from catalog.fitting.calc.body import Body, Layer, Measure, Person, Shape, body_of
from catalog.fitting.calc.chance import Chance, chance_of
from catalog.fitting.calc.exclusions import ExclusionRule, Makeup, check, may_make
from catalog.fitting.calc.fit import Candidate, Reason, Verdict, fit, fit_set, public_reason

PLAIN = Makeup("coat", frozenset({"cotton"}))
CHEST = Band("chest", "chest", 60, 160)
SLEEVE = Band("sleeve_cb", "sleeve", 0, 50, uses_let_out=True)
HEIGHT = (Band("height", "height_min", None, 0), Band("height", "height_max", 0, None))
SHOE = Band("foot_length", "last", 0, 2, scale=Scale.EU_SHOE)
WOOL = ExclusionRule(
    "wool", "no wool", materials=frozenset({"wool"}), traits=frozenset({"itch"}), except_kinds=frozenset({"cap"})
)
CLOSED = ExclusionRule("closed", "nothing closed", kinds=frozenset({"hood"}))


def taped(**sizes: int) -> Person:
    return Person(tuple(Measure(point, value, Layer.TAPED) for point, value in sizes.items()))


def piece(bands: tuple[Band, ...] | None, makeup: Makeup = PLAIN, **values: int) -> Candidate:
    return Candidate("P", bands, Garment(values), makeup)


@pytest.mark.parametrize(
    ("chest", "garment", "verdict", "said"),
    [
        (1000, 1060, Verdict.YES, ()),
        (1000, 1160, Verdict.YES, ()),
        (1000, 1059, Verdict.NO, ("chest: piece too small by 0.1 cm",)),
        (1000, 1161, Verdict.NO, ("chest: piece too big by 0.1 cm",)),
        (1000, 1030, Verdict.NO, ("chest: piece too small by 3.0 cm",)),
    ],
)
def test_ease_edges(chest: int, garment: int, verdict: Verdict, said: tuple[str, ...]) -> None:
    found = fit(body_of(taped(chest=chest)), piece((CHEST,), chest=garment))
    assert (found.verdict, found.reasons) == (verdict, said)


def test_letting_out_counts_only_where_the_band_says_so() -> None:
    body = body_of(taped(sleeve_cb=860, chest=1000))
    short = Candidate("P", (SLEEVE,), Garment({"sleeve": 840}, {"sleeve": 20}), PLAIN)
    shorter = Candidate("P", (SLEEVE,), Garment({"sleeve": 839}, {"sleeve": 20}), PLAIN)
    tight = Candidate("P", (CHEST,), Garment({"chest": 1050}, {"chest": 30}), PLAIN)
    assert [fit(body, one).verdict for one in (short, shorter, tight)] == [Verdict.YES, Verdict.NO, Verdict.NO]


def test_a_range_of_the_piece_is_two_bands() -> None:
    ranges = wearable(HEIGHT, Garment({"height_min": 1680, "height_max": 1790}))
    assert ranges.by_point() == {"height": (1680, 1790)}
    for height, yes in ((1679, False), (1680, True), (1790, True), (1791, False)):
        found = fit(body_of(taped(height=height)), piece(HEIGHT, height_min=1680, height_max=1790))
        assert (found.verdict is Verdict.YES) == yes


@pytest.mark.parametrize("half", range(60, 100))
def test_shoe_sizes_come_back_from_last_lengths(half: int) -> None:
    assert mm_to_eu(eu_to_mm(half / 2)) == half / 2


@pytest.mark.parametrize(("foot", "size"), [(241, 38), (254, 40), (255, 41), (298, 47), (264, 42), (284, 45)])
def test_the_size_a_foot_asks_for(foot: int, size: int) -> None:
    assert body_eu(foot) == size


@given(foot=st.integers(200, 330), half=st.integers(60, 100), low=st.integers(-1, 1), high=st.integers(1, 3))
def test_shoe_spans_agree_with_sizes(foot: int, half: int, low: int, high: int) -> None:
    band = Band("foot_length", "last", low, high, scale=Scale.EU_SHOE)
    (span,) = wearable((band,), Garment({"last": eu_to_mm(half / 2)})).spans
    assert span.holds(foot) == (low <= half / 2 - body_eu(foot) <= high)


def test_inches_are_stored_to_the_millimetre() -> None:
    assert [inch_to_mm(size) for size in (8, 9, 10, 11, 0.3, 2.2)] == [203, 229, 254, 279, 8, 56]


def test_a_boot_one_size_short_says_so() -> None:
    found = fit(body_of(taped(foot_length=298)), piece((SHOE,), last=eu_to_mm(46)))
    assert found.reasons == ("foot length: piece too small by 1 EU size",)
    assert fit(body_of(taped(foot_length=298)), piece((SHOE,), last=eu_to_mm(47))).verdict is Verdict.YES


@pytest.mark.parametrize(
    ("codes", "makeup", "blocked", "unclear"),
    [
        ({"wool"}, Makeup("coat", frozenset({"wool"})), 1, 0),
        ({"wool"}, Makeup("cap", frozenset({"wool"})), 0, 0),
        ({"wool"}, Makeup("coat", frozenset({"silk"})), 0, 0),
        ({"wool"}, Makeup("coat", frozenset({"silk"}), frozenset({"itch"})), 1, 0),
        ({"wool"}, Makeup("coat", None), 0, 1),
        ({"wool"}, Makeup("cap", None), 0, 0),
        ({"closed"}, Makeup("hood", frozenset()), 1, 0),
        ({"closed"}, Makeup("hood", None), 1, 0),
        ({"closed"}, Makeup("coat", None), 0, 0),
        ({"never heard of"}, PLAIN, 0, 1),
        (set(), Makeup("coat", None), 0, 0),
    ],
)
def test_exclusions(codes: set[str], makeup: Makeup, blocked: int, unclear: int) -> None:
    found = check(frozenset(codes), makeup, (WOOL, CLOSED))
    assert (len(found.blocked), len(found.unclear)) == (blocked, unclear)
    assert may_make(frozenset(codes), makeup, (WOOL, CLOSED)) == (not blocked and not unclear)


def test_an_exclusion_is_a_hard_no_that_production_reads_as_size() -> None:
    body = body_of(Person(taped(chest=1000).measures, exclusions=frozenset({"wool"})))
    found = fit(body, piece((CHEST,), Makeup("coat", frozenset({"wool"})), chest=1100), (WOOL,))
    assert (found.verdict, found.reason, found.probability) == (Verdict.NO, Reason.EXCLUSION, 0.0)
    assert public_reason(Reason.EXCLUSION) == public_reason(Reason.UNKNOWN) == "size"
    assert public_reason(Reason.DATES) == "dates"


@pytest.mark.parametrize(
    ("bands", "values", "said"),
    [
        ((CHEST,), {}, "chest of the piece not measured"),
        (None, {"chest": 1100}, "the house has no rule"),
        ((SLEEVE,), {"sleeve": 880}, "sleeve from centre back not taped"),
    ],
)
def test_an_unknown_is_never_a_yes(bands: tuple[Band, ...] | None, values: dict[str, int], said: str) -> None:
    found = fit(body_of(taped(chest=1000, height=1760, weight=80_000)), piece(bands, **values))
    assert found.verdict is Verdict.UNKNOWN
    assert any(said in line for line in found.reasons)


def test_anybody_is_not_the_same_as_no_rule() -> None:
    assert fit(body_of(Person()), piece(())).verdict is Verdict.YES
    assert fit(body_of(Person()), piece(None)).verdict is Verdict.UNKNOWN


def test_a_minor_is_fitted_by_tape_and_never_guessed() -> None:
    minor = Person((Measure("chest", 1000, Layer.TAPED), Measure("height", 1600, Layer.CARD)), Shape.EITHER, 16)
    assert fit(body_of(minor), piece((CHEST,), chest=1100)).verdict is Verdict.YES
    found = fit(body_of(minor), piece((SLEEVE,), sleeve=800))
    assert (found.verdict, found.probability) == (Verdict.UNKNOWN, None)


SPANS = st.tuples(st.integers(700, 1300), st.integers(-200, 200), st.integers(0, 250))


@given(parts=st.lists(SPANS, min_size=1, max_size=4), chest=st.integers(750, 1300), wool=st.booleans())
def test_granting_every_reason_makes_the_pair_fit(parts: list[tuple[int, int, int]], chest: int, wool: bool) -> None:
    """A no is taken at its word: move each measure by what its sentence says, lift the exclusion, and it fits."""
    bands = tuple(Band("chest", f"m{i}", low, low + width) for i, (_, low, width) in enumerate(parts))
    values = {f"m{i}": garment for i, (garment, _, _) in enumerate(parts)}
    body = body_of(Person(taped(chest=chest).measures, exclusions=frozenset({"wool"} if wool else ())))
    makeup = Makeup("coat", frozenset({"wool"}))
    found = fit(body, Candidate("P", bands, Garment(values), makeup), (WOOL,))
    assert (found.verdict is Verdict.YES) == (not found.reasons)
    for band in bands:
        single = fit(body_of(taped(chest=chest)), Candidate("P", (band,), Garment(values), makeup))
        if single.reasons:
            (said,) = single.reasons
            assert said in found.reasons
            change = round(float(said.split(" by ")[1].split()[0]) * 10)
            values[band.garment_point] += change if "small" in said else -change
    assert fit(body_of(taped(chest=chest)), Candidate("P", bands, Garment(values), makeup)).verdict is Verdict.YES


@given(known=st.sets(st.sampled_from(["chest", "sleeve_cb", "height"])), measured=st.sets(st.sampled_from("abc")))
@settings(max_examples=40)
def test_a_yes_needs_every_tape_and_every_measure(known: set[str], measured: set[str]) -> None:
    sizes = {"chest": 1000, "sleeve_cb": 860, "height": 1760}
    points = {"chest": "a", "sleeve_cb": "b", "height": "c"}
    bands = tuple(Band(body, garment, -500, 500) for body, garment in points.items())
    person = Person(tuple(Measure(p, v, Layer.TAPED if p in known else Layer.CARD) for p, v in sizes.items()))
    values = {garment: sizes[body] for body, garment in points.items() if garment in measured}
    found = fit(body_of(person), Candidate("P", bands, Garment(values), PLAIN))
    assert (found.verdict is Verdict.YES) == (known == set(sizes) and measured == {"a", "b", "c"})


def test_a_set_is_judged_on_the_same_bodies_not_by_multiplying() -> None:
    body = body_of(Person((Measure("height", 1760, Layer.CARD), Measure("weight", 81_000, Layer.CARD)), Shape.M))
    coat = Candidate("coat", (Band("chest", "chest", 0, 60),), Garment({"chest": 1060}), PLAIN)
    again = Candidate("vest", (Band("chest", "chest", 0, 60),), Garment({"chest": 1060}), PLAIN)
    alone, both = fit(body, coat), fit_set(body, (coat, again))
    assert alone.probability is not None
    assert both.probability == alone.probability
    assert both.verdict is Verdict.UNKNOWN
    assert both.limiting == "chest"


def test_a_set_with_one_no_is_a_no_and_names_the_piece() -> None:
    body = body_of(taped(chest=1000))
    good = Candidate("good", (CHEST,), Garment({"chest": 1100}), PLAIN)
    bad = Candidate("bad", (CHEST,), Garment({"chest": 1000}), PLAIN)
    found = fit_set(body, (good, bad))
    assert (found.verdict, found.probability, found.limiting_piece) == (Verdict.NO, 0.0, "bad")
    assert fit_set(body, (good,)).verdict is Verdict.YES
    assert fit_set(body, ()).verdict is Verdict.UNKNOWN


@pytest.mark.parametrize(
    ("share", "chance"), [(1.0, Chance.LIKELY), (0.8, Chance.LIKELY), (0.5, Chance.POSSIBLE), (0.1, Chance.UNLIKELY)]
)
def test_chances(share: float, chance: Chance) -> None:
    assert chance_of(share) is chance


def test_a_body_in_the_good_range_scores_full_and_falls_to_its_ends() -> None:
    band = Band("chest", "chest", 60, 200, False, Scale.MM, 80, 120)
    piece = Candidate("c", (band,), Garment({"chest": 1100}), PLAIN)

    def score(chest: int) -> int:
        return fit(Body({"chest": chest}, {}), piece).score

    assert [score(chest) for chest in (1020, 1000, 980)] == [100, 100, 100]
    assert score(1030) == 50
    assert score(1040) == 0
    assert score(940) == 50
    assert score(900) == 0
    plain = Candidate("p", (Band("chest", "chest", 60, 200),), Garment({"chest": 1100}), PLAIN)
    assert fit(Body({"chest": 970}, {}), plain).score == 100
