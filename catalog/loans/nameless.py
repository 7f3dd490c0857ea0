"""Words typed at the set stay for ever: where a performer's name stands in them, the number takes its place."""

import re

from catalog.loans.models import Loan

_WORD = re.compile(r"[^\W\d_]+(?:['’-][^\W\d_]+)*")
_SHORTEST = 3


def without_names(loan: Loan, text: str) -> str:
    """The text with each performer of the loan's call told by number alone. One query."""
    numbers: dict[str, str] = {}
    for number, name in loan.call.wearers.exclude(name="").values_list("number", "name") if loan.call else ():
        for part in _WORD.findall(name):
            if len(part) >= _SHORTEST:
                numbers.setdefault(part.casefold(), number)

    def told(word: re.Match[str]) -> str:
        bare = re.sub(r"['’]s?$", "", word[0])
        number = numbers.get(bare.casefold())
        return f"performer {number}{word[0][len(bare) :]}" if number else word[0]

    said = _WORD.sub(told, text)
    # First name and surname are one performer.
    return re.sub(r"\b(performer \S+?)(?: \1)+\b", r"\1", said)
