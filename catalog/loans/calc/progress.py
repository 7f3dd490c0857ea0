"""How far the pieces of a call have come: pencilled, held, pulled, out, home. Pure; rows in, counts out."""

from collections.abc import Iterable, Set
from dataclasses import dataclass

_GROUP = {
    "pulled": "pulled",
    "out": "out",
    "on set": "out",
    "back": "home",
    "quarantined": "home",
    "put away": "home",
    "went back": "home",
    "not back": "not_back",
}


@dataclass(frozen=True, slots=True)
class Line:
    """A piece on one loan of the call; `closed`: that loan's book is shut."""

    piece: int
    state: str
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Progress:
    """Each piece counts once. `listed` of the held ones stand on a pull list already."""

    pencilled: int = 0
    held: int = 0
    listed: int = 0
    pulled: int = 0
    out: int = 0
    home: int = 0
    not_back: int = 0

    @property
    def left(self) -> int:
        """Held, and on no pull list: what a further loan would take."""
        return self.held - self.listed

    @property
    def under_way(self) -> bool:
        """Whether anything was ever taken from its shelf for the call."""
        return bool(self.pulled or self.out or self.home or self.not_back)

    @property
    def sentence(self) -> str:
        """ "60 pieces are out, 12 are pulled and 40 are held." Empty when there is nothing to count."""
        counts = (
            (self.out, "out"),
            (self.pulled, "pulled"),
            (self.held, "held"),
            (self.pencilled, "pencilled"),
            (self.home, "home"),
        )
        parts = [f"{number} {'is' if number == 1 else 'are'} {word}" for number, word in counts if number]
        if self.not_back:
            parts.append(f"{self.not_back} did not come back")
        if not parts:
            return ""
        number, rest = parts[0].split(" ", 1)
        parts[0] = f"{number} {'piece' if number == '1' else 'pieces'} {rest}"
        return f"{', '.join(parts[:-1])} and {parts[-1]}." if len(parts) > 1 else f"{parts[0]}."


def progress_of(firm: Set[int], pencilled: Set[int], lines: Iterable[Line]) -> Progress:
    """Count each piece where it is now. `lines` in the order of the loans: a later line of a piece counts.

    A piece that is home from a closed loan and firmly held again is held.
    """
    where: dict[int, str] = {}
    listed: set[int] = set()
    for line in lines:
        group = _GROUP.get(line.state)
        if group and not (line.closed and group == "home" and line.piece in firm):
            where[line.piece] = group
        elif line.state == "to pull":
            listed.add(line.piece)
    counted = {name: sum(group == name for group in where.values()) for name in ("pulled", "out", "home", "not_back")}
    held = firm - where.keys()
    only_pencilled = pencilled - firm - where.keys()
    return Progress(pencilled=len(only_pencilled), held=len(held), listed=len(listed & held), **counted)
