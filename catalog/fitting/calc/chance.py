"""A likelihood in a word. The number always stands beside it.

The likelihoods are counted on bodies whose spread is widened by 1.3 (see survey.sd_inflation), because outside the
survey the plain model is too sure of itself: then "likely" is kept at least as often as it promises.
"""

from enum import StrEnum


class Chance(StrEnum):
    LIKELY = "likely"
    POSSIBLE = "possible"
    UNLIKELY = "unlikely"
    NOT_MEASURED = "not measured"


# The one table of the words: from which share each begins, the best first. House judgement, no source.
CLASSES: tuple[tuple[Chance, float], ...] = (
    (Chance.LIKELY, 0.8),
    (Chance.POSSIBLE, 0.2),
    (Chance.UNLIKELY, 0.0),
)
LIKELY_FROM = dict(CLASSES)[Chance.LIKELY]
POSSIBLE_FROM = dict(CLASSES)[Chance.POSSIBLE]


def chance_of(probability: float | None) -> Chance:
    """The word for a likelihood; None, which nobody could work out, is not measured and never unlikely or likely."""
    if probability is None:
        return Chance.NOT_MEASURED
    return next(word for word, least in CLASSES if probability >= least)
