"""House settings with their starting values. An archive edits them; the program reads them through `value`."""

from dataclasses import dataclass
from typing import Any

from catalog.core.models import HouseSetting


@dataclass(frozen=True, slots=True)
class Setting:
    """A setting's starting value and the sentence that explains it."""

    start: Any
    words: str


SETTINGS: dict[str, Setting] = {
    "house.name": Setting("Wrapkeep archive", "The archive's name on pages, labels and papers."),
    "house.found_phone": Setting("", "Telephone number shown to a stranger who scans a label."),
    "house.currency": Setting("EUR", "Currency of new values."),
    "value.stale_years": Setting(5, "A value older than this many years is stale (house judgement)."),
    "hold.days_before": Setting(0, "Days held before first use, for prep."),
    "hold.days_after": Setting(14, "Days held after the return, for quarantine (house judgement)."),
    "hold.pencil_days": Setting(14, "A pencil hold lapses after this many days unless made firm."),
    "sizes.keep_days": Setting(90, "Size sheets are deleted this many days after the last return."),
    "stand.not_seen_years": Setting(2, "A piece not seen for this many years counts as long unseen."),
    "lift.one_person_g": Setting(23_000, "Above this weight a lift mark asks for two people; local rules decide."),
    "travel.questions": Setting({}, "What to ask, and whom, when a fact for a travel rule is missing."),
    "travel.usual_longest_mm": Setting({}, "Longest side of a kind as usually packed, where a piece was not measured."),
    "number.digits": Setting(4, "Digits in a new piece number."),
}


def value(key: str) -> Any:
    """The archive's own value of a setting, else its starting value. Raises KeyError for a key nobody declared."""
    row = HouseSetting.objects.filter(key=key).first()
    return SETTINGS[key].start if row is None else row.value
