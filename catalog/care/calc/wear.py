"""Whether a piece may be worn: the decision somebody took, and what overrides it. Pure; values in, reasons out."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from catalog.care.calc.hazards import CLEARED, CONFIRMED

# Hazards that reach whoever has the piece on: an open question about one of them beats a decision to wear. Lead weights
# under leather are handled with gloves and worn; lead is therefore not among them (local rules decide).
# Sources for old dressings of fur and felt: see catalog/care/calc/hazards.py; the rest is common practice, no source.
REACHES_WEARER: Mapping[str, str] = {
    "mercury": "mercury in the felt",
    "old_poison": "poison in the old fur, feather or skin",
    "asbestos": "asbestos",
    "radium": "radium paint",
}
UNDECIDED = "Nobody has decided yet whether it may be worn."
NO_MATERIALS = "Its materials are not recorded, so nobody can tell what is in it."


class Wear(StrEnum):
    """What may be done with a piece, worked out; "no" is also the answer while nobody has decided."""

    YES = "yes"
    LIMITS = "limits"
    REPAIR = "repair"
    NO = "no"


_OF_DECISION = {
    "wear": Wear.YES,
    "wear with limits": Wear.LIMITS,
    "wear after repair": Wear.REPAIR,
    "reference only": Wear.NO,
    "not wearable": Wear.NO,
}


@dataclass(frozen=True, slots=True)
class Decision:
    """The decision that counts at present."""

    decision: str
    limits: str = ""
    minutes_limit: int | None = None
    rest_minutes: int | None = None
    no_close_up: bool = False
    repair: str = ""
    repair_days: int | None = None
    repair_day_kind: str = "working"
    decided_on: date | None = None
    questioned_on: date | None = None
    questioned_why: str = ""

    @property
    def question(self) -> str:
        """Why it does not count until somebody has looked and decided anew; empty while nothing speaks against it."""
        if self.questioned_on is None:
            return ""
        return f"On {self.questioned_on:%-d %b %Y} it {self.questioned_why.rstrip('.')}. Look at it and decide anew."


@dataclass(frozen=True, slots=True)
class Report:
    """The newest condition report: its grade (1 to 5), stability, completeness and day."""

    grade: int
    stability: str
    completeness: str
    day: date

    def unsettles(self, decision: Decision) -> bool:
        """Whether it says something that the decision cannot have known, so that wear must be decided anew."""
        if decision.decided_on is None or self.day < decision.decided_on:
            return False
        grave = self.grade == 5 or self.stability == "active" or self.completeness == "fragment"
        return grave or (self.grade == 4 and self.day > decision.decided_on)


@dataclass(frozen=True, slots=True)
class WearState:
    """May it be worn, and why. `why` are sentences against it; with any of them `wear` is NO whatever was decided."""

    wear: Wear
    decision: Decision | None
    why: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()

    @property
    def may_be_worn(self) -> bool:
        """Today, as it is: with or without limits."""
        return self.wear in {Wear.YES, Wear.LIMITS}

    @property
    def may_be_worn_once_repaired(self) -> bool:
        """Today, or after the repair that the decision names."""
        return self.wear is not Wear.NO

    @property
    def repair_days(self) -> int | None:
        """Days the repair takes; None when none is needed."""
        return self.decision.repair_days if self.decision and self.wear is Wear.REPAIR else None

    @property
    def repair_day_kind(self) -> str:
        return self.decision.repair_day_kind if self.decision else "working"


def wear_of(
    decision: Decision | None,
    hazards: Mapping[str, str],
    *,
    materials_known: bool,
    damaged_pack: bool = False,
    report: Report | None = None,
) -> WearState:
    """Judge one piece. `hazards` is code to state as resolved_hazards gives it.

    No decision is a no. A hazard that reaches the wearer and is not cleared is a no. Unrecorded materials are a no,
    because nobody can tell what is in the piece. A decision in question, and one with a grave report made since, is a
    no until somebody decides again.
    """
    why = (*_unsettled(decision, report), *_blockers(decision, hazards, materials_known, damaged_pack))
    if decision is None or why:
        return WearState(Wear.NO, decision, why)
    return WearState(_OF_DECISION[decision.decision], decision, (), tuple(_conditions(decision)))


def _unsettled(decision: Decision | None, report: Report | None) -> Iterable[str]:
    if decision is not None and decision.question:
        yield decision.question
    if decision is None or report is None or decision.decision in {"reference only", "not wearable"}:
        return
    if report.unsettles(decision):
        said = [f"grade {report.grade}"]
        said += [report.stability] if report.stability != "stable" else []
        said += [report.completeness] if report.completeness != "complete" else []
        yield f"The report of {report.day:%-d %b %Y} says {', '.join(said)}: decide again whether it may be worn."


def _blockers(
    decision: Decision | None, hazards: Mapping[str, str], materials_known: bool, damaged_pack: bool
) -> Iterable[str]:
    if decision is None:
        yield UNDECIDED
    elif decision.decision == "reference only":
        yield "It was decided to keep it for reference only."
    elif decision.decision == "not wearable":
        yield "It was decided that it is not wearable."
    for code, words in REACHES_WEARER.items():
        state = hazards.get(code, CLEARED)
        if state == CONFIRMED:
            yield f"There is {words}: confirmed."
        elif state != CLEARED:
            yield f"There may be {words}: {state}. It is not worn until a test has cleared it."
    if damaged_pack:
        yield "Its power pack is swollen, leaking or damaged: isolate it first."
    if not materials_known:
        yield NO_MATERIALS


def _conditions(decision: Decision) -> Iterable[str]:
    if decision.decision == "wear with limits":
        yield f"Limits: {decision.limits}."
    if decision.minutes_limit is not None:
        rest = f", then {decision.rest_minutes} minutes off" if decision.rest_minutes is not None else ""
        yield f"At most {decision.minutes_limit} minutes at a time{rest}."
    if decision.no_close_up:
        yield "Not for close-up."
    if decision.decision == "wear after repair":
        days = "day" if decision.repair_days == 1 else "days"
        yield f"After repair: {decision.repair} ({decision.repair_days} {decision.repair_day_kind} {days})."
