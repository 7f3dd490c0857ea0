"""The five answers of the travel check and their order."""

from enum import StrEnum


class Verdict(StrEnum):
    """May this piece go this way? Listed from best to worst; the worst of all that apply is the answer.

    A missing fact ranks worse than a case for a specialist, because nobody can yet say whether a specialist is enough.
    """

    MAY = "may"
    CONDITIONS = "conditions"
    SPECIALIST = "specialist"
    UNKNOWN = "unknown"
    STAYS = "stays"

    @property
    def rank(self) -> int:
        """0 for the best answer, 4 for the worst."""
        return _RANK[self]

    @property
    def is_yes(self) -> bool:
        """True where the piece may be packed now; a specialist, an open question or a no is no yes."""
        return self in {Verdict.MAY, Verdict.CONDITIONS}

    @property
    def label(self) -> str:
        """The words for a page."""
        return _LABEL[self]


_RANK = {verdict: rank for rank, verdict in enumerate(Verdict)}
_LABEL = {
    Verdict.MAY: "may go",
    Verdict.CONDITIONS: "may go with conditions",
    Verdict.SPECIALIST: "a specialist decides",
    Verdict.UNKNOWN: "unknown",
    Verdict.STAYS: "stays",
}


def worst(*verdicts: Verdict) -> Verdict:
    """The worst of the verdicts; may, when there are none."""
    return max(verdicts, key=lambda verdict: verdict.rank, default=Verdict.MAY)


class Summary(StrEnum):
    """The one-line answer for a list: derived from the verdicts by mode, never stored on its own."""

    MAY_FLY = "may fly"
    ROAD_ONLY = "road only"
    STAYS = "stays"
