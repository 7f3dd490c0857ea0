"""Which pieces need the long report: those whose harm is not seen in one look from the front. Common practice, no
source; the list is the archive's own judgement.
"""

from collections.abc import Iterable

_BY_FAMILY = {
    "finish": "painted",
    "electric": "electric",
    "foam rubber": "foam or rubber",
    "hard plastic": "stiff",
}
_STIFF_KINDS = frozenset({"stiff", "helmet"})


def why_long(kind: str, multiple: str, families: Iterable[str]) -> tuple[str, ...]:
    """The words that say why; empty when a picture and "no change" will do."""
    there = set(families)
    words = ["hero"] if multiple == "hero" else []
    words += ["stiff"] if kind in _STIFF_KINDS else []
    words += [word for family, word in _BY_FAMILY.items() if family in there]
    return tuple(dict.fromkeys(words))
