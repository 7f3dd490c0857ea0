"""Cards that were wrong: where a card and a tape of one person lie further apart than reporting explains."""

from collections.abc import Mapping
from dataclasses import dataclass

# People misreport height by about 1 to 2 cm and weight by about 2 kg (survey of reported against measured sizes); twice
# that and more is worth a question. Where the line lies is house judgement, no source.
HEIGHT_MM = 30
WEIGHT_G = 5_000
TAPE_MM = 50


@dataclass(frozen=True, slots=True)
class Jump:
    """One point whose card and tape do not agree (mm, weight g); `change` is tape minus card."""

    point: str
    card: int
    tape: int

    @property
    def change(self) -> int:
        return self.tape - self.card


def jumps(card: Mapping[str, int], tape: Mapping[str, int]) -> tuple[Jump, ...]:
    """Every point known from both whose difference reaches the line, the largest share of it first."""
    found = [
        Jump(point, card[point], tape[point])
        for point in card
        if point in tape and abs(tape[point] - card[point]) >= _line(point)
    ]
    return tuple(sorted(found, key=lambda jump: (-abs(jump.change) / _line(jump.point), jump.point)))


def _line(point: str) -> int:
    return {"height": HEIGHT_MM, "weight": WEIGHT_G}.get(point, TAPE_MM)
