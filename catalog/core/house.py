"""House settings with their starting values. An archive edits them; the program reads them through `value`."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from catalog.core.house_texts import LOAN_TERMS, WORN_TERMS
from catalog.core.models import HouseSetting


@dataclass(frozen=True, slots=True)
class Setting:
    """A setting's starting value and the sentence that explains it."""

    start: Any
    words: str
    low: int | None = None
    high: int | None = None
    label: str = ""
    long: bool = False


SETTINGS: dict[str, Setting] = {
    "house.name": Setting(
        "Wrapkeep archive", "The archive's name on pages, labels and papers.", label="Name of the archive"
    ),
    "house.found_phone": Setting(
        "", "Telephone number shown to a stranger who scans a label.", label="Telephone for found property"
    ),
    "house.currency": Setting("EUR", "Currency of new values.", label="Currency"),
    "value.stale_years": Setting(
        5, "A value older than this many years is stale (house judgement).", 1, 50, "Years until a value is stale"
    ),
    "house.closed_days": Setting(
        [],
        "Public holidays and days the house is shut, a day on each line, or from one day to another. They are no "
        "working days. Until one is entered here, a public holiday counts as a working day.",
        label="Closed days",
    ),
    "hold.days_before": Setting(0, "Days held before first use, for prep.", 0, 90, "Days held before"),
    "hold.days_after": Setting(
        14, "Days held after the return, for quarantine (house judgement).", 0, 180, "Days held after"
    ),
    "hold.pencil_days": Setting(
        14, "A pencil hold lapses after this many days unless made firm.", 1, 180, "Days until a pencil lapses"
    ),
    "sizes.keep_days": Setting(
        90, "Size sheets are deleted this many days after the last return.", 1, 400, "Days that sizes are kept"
    ),
    "stand.not_seen_years": Setting(
        2, "A piece not seen for this many years counts as long unseen.", 1, 30, "Years until long unseen"
    ),
    "stocktake.high_value": Setting(
        2000,
        "A stocktake by sample counts every piece worth this much or more, in the currency above (house judgement).",
        0,
        10_000_000,
        "Value from which all are counted",
    ),
    "stocktake.sample": Setting(
        59,
        "How many of the other pieces a stocktake draws at random, to begin with. None missing of 59 says that less "
        "than 5 % of a large store is missing, at 95 % confidence.",
        0,
        100_000,
        "Pieces drawn at random",
    ),
    "lift.one_person_g": Setting(
        23_000,
        "Above this weight a lift mark asks for two people; local rules decide.",
        1000,
        50000,
        "Lift mark from (g)",
    ),
    "alter.stays_in_seam_mm": Setting(
        10,
        "How much cloth stays in a seam that is let out (common practice, no source): the let-out reserve is the spare "
        "cloth less this.",
        0,
        50,
        "Cloth that stays in a seam (mm)",
    ),
    "inspect.battery_months": Setting(
        6, "What holds a battery is looked at this often (house judgement).", 1, 120, "Months between looks: batteries"
    ),
    "inspect.foam_months": Setting(
        12,
        "Foam latex, polyurethane foam and soles, soft PVC and rubber are looked at this often (house judgement).",
        1,
        120,
        "Months between looks: foam, rubber, PVC",
    ),
    "inspect.pest_months": Setting(
        6,
        "Fur, hair, wool and silk are looked through for pests this often, usually 3 to 6 months (house judgement).",
        1,
        120,
        "Months between looks: fur and wool",
    ),
    "inspect.other_months": Setting(
        48,
        "All others are looked at this often, usually 3 to 5 years (house judgement).",
        1,
        240,
        "Months between looks: all others",
    ),
    "lift.two_person_g": Setting(
        30_000,
        "Above this weight a crate is not lifted by hand. Two people lift about two thirds of what both could lift "
        "alone (HSE L23, from memory); local rules decide.",
        1000,
        80000,
        "Two people lift up to (g)",
    ),
    "pack.fill_percent": Setting(
        80,
        "How full a crate gets: things are wrapped and leave gaps (house judgement).",
        40,
        100,
        "A crate is filled to (%)",
    ),
    "room.hanging_mm": Setting(
        80,
        "Room that one hanging garment takes on a rail, for what is free on it (house judgement).",
        10,
        500,
        "Room for one hanging garment (mm)",
    ),
    "receive.quarantine_days": Setting(
        14,
        "What comes in with a received trunk is kept apart for this many days and until it is checked (house "
        "judgement). 0: no quarantine.",
        0,
        180,
        "Days of quarantine on arrival",
    ),
    "receive.letters": Setting("T", "Letters before the number that a received trunk is given.", label="Trunk letters"),
    "travel.questions": Setting({}, "What to ask, and whom, when a fact for a travel rule is missing."),
    "travel.usual_longest_mm": Setting({}, "Longest side of a kind as usually packed, where a piece was not measured."),
    "loan.terms": Setting(
        LOAN_TERMS,
        "The house's own text for loan agreements: one term a line, its name, a colon, its words. The starting text "
        "is no legal advice: have it checked by somebody who knows the law where you are.",
        label="Terms of a loan",
        long=True,
    ),
    "loan.terms_worn": Setting(
        WORN_TERMS,
        "Added to an agreement when the pieces will be worn. One term a line, as above.",
        label="Terms where pieces are worn",
        long=True,
    ),
    "number.digits": Setting(4, "Digits in a new piece number.", 3, 7, "Digits in a number"),
}


def closed_days() -> frozenset[date]:
    """The days on which nobody works, beside Saturdays and Sundays; only those that the house has entered."""
    return frozenset(date.fromisoformat(day) for day in value("house.closed_days"))


def value(key: str) -> Any:
    """The archive's own value of a setting, else its starting value. Raises KeyError for a key nobody declared."""
    row = HouseSetting.objects.filter(key=key).first()
    return SETTINGS[key].start if row is None else row.value
