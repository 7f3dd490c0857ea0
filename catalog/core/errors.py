"""Every error a user can meet, each with one sentence for the page.

CatalogError
├── NotAllowed        this person may not do this
├── Refused           the thing itself cannot be done now (wrong state, clash, impossible value)
│   ├── AlreadyHeld   another hold has the piece on one of the days
│   ├── WrongState    the step does not follow from where the thing is
│   │   └── Overtaken what is told now happened before something that is known already
│   └── WrongValues   values that cannot be stored; names every field
├── BadTable          a table to import has faults; carries every row's sentence
└── BackupError       a backup cannot be made or brought back
"""

from collections.abc import Mapping, Sequence


class CatalogError(Exception):
    """Base of all errors with a sentence for the user; `field` names the form field it belongs to, if any."""

    def __init__(self, sentence: str, *, field: str | None = None) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.field = field

    def __str__(self) -> str:
        return self.sentence


class NotAllowed(CatalogError):
    """The signed-in person's duties do not include this act."""


class Refused(CatalogError):
    """The act is not possible as things stand."""


class AlreadyHeld(Refused):
    """Another firm hold has the piece on at least one of the days."""


class WrongState(Refused):
    """The step does not follow from the present state."""


class Overtaken(WrongState):
    """What is told now happened before something newer that is known already: somebody has to decide."""


class WrongValues(Refused):
    """Values that cannot be stored. `faults` has the sentences of each field; "" is the thing as a whole."""

    def __init__(self, faults: Mapping[str, Sequence[str]]) -> None:
        self.faults = {field: tuple(sentences) for field, sentences in faults.items()}
        first = next((field for field in self.faults if field), None)
        super().__init__(" ".join(line for lines in self.faults.values() for line in lines), field=first)


class BadTable(CatalogError):
    """A table could not be read as it stands; `faults` has one sentence a fault, nothing was stored."""

    def __init__(self, sentence: str, faults: Sequence[str] = ()) -> None:
        super().__init__(sentence)
        self.faults = tuple(faults)


class BackupError(CatalogError):
    """The copy cannot be made or brought back; the sentence says why and what to do."""
