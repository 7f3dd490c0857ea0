"""How a full crate is lifted: by one, by two, or not by hand. It warns and allows nothing; local rules decide.

Sources. HSE leaflet INDG143 (rev. 4, 2020) and guidance L23: a filter by height and reach; 25 kg and 16 kg at the waist
found in secondary pages, the other figures from memory. That two people carry about two thirds of what both could
carry alone: L23, from memory. The revised NIOSH lifting equation: Applications Manual, DHHS (NIOSH) 94-110.
"""

from collections.abc import Mapping
from dataclasses import dataclass

# Zone: men at arm's length, men close, women at arm's length, women close; kilograms.
HSE_FILTER: Mapping[str, tuple[int, int, int, int]] = {
    "head": (5, 10, 3, 7),
    "shoulder": (10, 20, 7, 13),
    "waist": (15, 25, 10, 16),
    "knuckle": (10, 20, 7, 13),
    "floor": (5, 10, 3, 7),
}
CAUTIONS = (
    "From weight alone: grip, height, twisting, stairs, heat and the person count too. Local rules decide.",
    "From the floor HSE's filter is only 10 kg (men) and 7 kg (women), close to the body; from a table 25 and 16 kg. "
    "Bring the crate to waist height: a trolley, a tail lift, a bench.",
    "Two people lift less than twice as much (about two thirds of both, HSE L23, from memory): one gives the word.",
)
SOURCE = "HSE INDG143 and L23; NIOSH 94-110 starts from 23 kg and only goes down."


@dataclass(frozen=True, slots=True)
class CrateLift:
    """The mark on the crate, in how many hands, and the sentence beside it."""

    mark: str
    people: int
    sentence: str


def crate_lift(gross_g: int, one_g: int, two_g: int) -> CrateLift:
    """The mark of a crate of known gross weight, by the house's limits for one and for two people."""
    kg = f"{gross_g / 1000:.1f} kg"
    if gross_g <= one_g:
        return CrateLift("one person", 1, f"{kg}: within the house limit of {one_g / 1000:g} kg for one.")
    if gross_g <= two_g:
        return CrateLift(
            "two people", 2, f"{kg}: over {one_g / 1000:g} kg for one, within {two_g / 1000:g} kg for two."
        )
    return CrateLift("not by hand", 0, f"{kg}: over {two_g / 1000:g} kg for two. Trolley, tail lift or hoist.")


@dataclass(frozen=True, slots=True)
class Task:
    """One lift as the NIOSH equation sees it: reach, height of the hands, way, twist in degrees; frequency and grip."""

    load_kg: float
    reach_cm: float
    hands_cm: float
    way_cm: float
    twist_deg: float = 0.0
    frequency: float = 1.0
    grip: float = 1.0


def recommended_kg(task: Task) -> float:
    """The recommended weight limit of the revised NIOSH equation; 0 where the lift is beyond its range."""
    beyond = task.reach_cm > 63 or not 0 <= task.hands_cm <= 175 or task.way_cm > 175 or task.twist_deg > 135
    if beyond:
        return 0.0
    reach = 25 / max(task.reach_cm, 25)
    height = 1 - 0.003 * abs(task.hands_cm - 75)
    way = 0.82 + 4.5 / max(task.way_cm, 25)
    twist = 1 - 0.0032 * task.twist_deg
    return 23 * reach * height * way * twist * task.frequency * task.grip


def lifting_index(task: Task) -> float | None:
    """Load by recommended limit; above 1 the lift wants help. None where the equation does not reach."""
    limit = recommended_kg(task)
    return task.load_kg / limit if limit else None
