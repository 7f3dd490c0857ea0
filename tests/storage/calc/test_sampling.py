"""What a sample buys, against scipy, the rule of three and the auditors' table; a draw that can be repeated."""

import hashlib
from collections import Counter

import pytest
from scipy import stats

from catalog.storage.calc.sampling import bought, chance_of_so_few, draw, least_sample, most_missing, share_of_any


@pytest.mark.parametrize("of", [1, 7, 40, 263])
def test_the_limit_is_the_largest_number_that_the_hypergeometric_count_allows(of: int) -> None:
    """scipy.stats.hypergeom is the reference: above the limit, seeing so few has at most 5 % chance."""
    for drawn in {0, 1, of // 3, of // 2, of - 1, of}:
        for missing in {0, 1, 2, drawn} & set(range(drawn + 1)):
            limit = most_missing(missing, drawn, of)
            assert stats.hypergeom(of, limit, drawn).cdf(missing) > 0.05
            assert limit == of - drawn + missing or stats.hypergeom(of, limit + 1, drawn).cdf(missing) <= 0.05 + 1e-12
            reference = stats.hypergeom(of, limit, drawn).cdf(missing)
            assert chance_of_so_few(missing, drawn, of, limit) == pytest.approx(reference, abs=1e-9)


def test_without_end_it_is_the_exact_binomial_limit() -> None:
    """The upper limit of Clopper and Pearson for none seen, from scipy; a huge store comes near to it."""
    for drawn in (10, 30, 59, 300):
        exact = stats.binomtest(0, drawn).proportion_ci(confidence_level=0.90, method="exact").high
        assert share_of_any(drawn) == pytest.approx(exact, rel=1e-9)
        assert most_missing(0, drawn, 200_000) / 200_000 == pytest.approx(exact, abs=0.002)


@pytest.mark.parametrize("drawn", [30, 59, 100, 500])
def test_the_rule_of_three(drawn: int) -> None:
    """None of n seen: at most about 3/n. Eypasch and others, BMJ 311:619 (1995), for n above 30."""
    assert share_of_any(drawn) < 3 / drawn < 1.06 * share_of_any(drawn)


@pytest.mark.parametrize(
    ("percent", "size"),
    [(2, 149), (3, 99), (4, 74), (5, 59), (6, 49), (7, 42), (8, 36), (9, 32), (10, 29), (15, 19), (20, 14)],
)
def test_the_auditors_table(percent: int, size: int) -> None:
    """AICPA Audit Guide, Audit Sampling, table A-1: 5 % risk of overreliance, no deviation expected (from memory)."""
    assert least_sample(percent / 100) == size


def test_a_small_store_needs_fewer() -> None:
    assert least_sample(0.05, 100) == 45
    assert stats.hypergeom(100, 5, 45).pmf(0) <= 0.05 < stats.hypergeom(100, 5, 44).pmf(0)
    assert least_sample(0.05, 20) == 19
    assert least_sample(0.05, 1_000_000) in (58, 59)


def test_words_say_the_limit_in_whole_pieces() -> None:
    assert bought(0, 59, 200) == "at most 8 of the 200 (4 %) are missing, at 95 % confidence"
    assert bought(0, 12, 12) == "all 12 were drawn, so that is all"
    assert bought(0, 0, 0) == "there was nothing to draw from"
    assert "40 of the 40 (100 %)" in bought(0, 0, 40)


def test_counts_that_cannot_be_are_refused() -> None:
    for counts in ((2, 1, 5), (-1, 3, 5), (0, 6, 5)):
        with pytest.raises(ValueError, match="cannot be"):
            most_missing(*counts)
    with pytest.raises(ValueError, match="share"):
        least_sample(0)


def test_a_draw_is_repeated_from_its_seed_by_anybody() -> None:
    numbers = [f"N-{n:04d}" for n in range(40)]
    drawn = draw(numbers, 5, "a seed")
    assert drawn == draw(reversed(numbers), 5, "a seed")
    assert drawn == sorted(numbers, key=lambda one: hashlib.sha256(f"a seed {one}".encode()).hexdigest())[:5]
    assert drawn != draw(numbers, 5, "another")
    assert draw(numbers, 99, "a seed") == draw(numbers, 40, "a seed")


def test_every_piece_has_the_same_chance() -> None:
    """A chi-square test of 2,000 draws of 5 in 20, at one in a thousand; the seeds are fixed, so it never wavers."""
    numbers = [f"N-{n:04d}" for n in range(20)]
    times = Counter(one for seed in range(2000) for one in draw(numbers, 5, str(seed)))
    # Drawn without putting back, counts vary less than a chi-square of free counts, by (20 - 5) / (20 - 1).
    assert stats.chisquare([times[one] for one in numbers]).statistic * 19 / 15 < stats.chi2(19).ppf(0.999)
