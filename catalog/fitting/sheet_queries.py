"""Size sheets for the wardrobe lead: card and tape side by side, what is expected where no tape was, what is kept."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Max, Min

from catalog.fitting.body_queries import person_of, values_of, wearers_of
from catalog.fitting.calc.body import POINT_WORDS, Estimate, UnderAgeError, predict
from catalog.fitting.calc.jumps import Jump, jumps
from catalog.fitting.calc.size_systems import Label, labels_of
from catalog.fitting.models import SizeSheet
from catalog.fitting.quick_queries import SHOWN_POINTS
from catalog.loans.models import Call, Wearer

# Columns of the sheet: whole figures first.
COLUMNS = ("height", "weight", *SHOWN_POINTS)


@dataclass(frozen=True, slots=True)
class Size:
    """One size as a page shows it: known from a tape, or expected with a range, or only on the card, or nothing."""

    point: str
    words: str
    tape: int | None
    card: int | None
    estimate: Estimate | None

    @property
    def labels(self) -> tuple[Label, ...]:
        """What shoes, gloves, hats and coats call this size; nothing for a size that is only expected."""
        known = self.tape if self.tape is not None else self.card
        return () if known is None else labels_of(self.point, known)

    @property
    def is_weight(self) -> bool:
        return self.point == "weight"


@dataclass(frozen=True, slots=True)
class BodyRow:
    """A performer with every size, the jumps between card and tape, and the sheets behind them."""

    wearer: Wearer
    sheets: tuple[SizeSheet, ...]
    sizes: tuple[Size, ...]
    jumps: tuple[tuple[str, Jump], ...]
    exclusions: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def taped(self) -> bool:
        return any(sheet.layer != SizeSheet.Layer.CARD for sheet in self.sheets)


def body_rows(call: Call) -> list[BodyRow]:
    """Everybody on the call's list, in a fixed number of queries."""
    return [_row(wearer) for wearer in wearers_of(call)]


def _row(wearer: Wearer) -> BodyRow:
    sheets = tuple(wearer.sheets.all())
    card: dict[str, int] = {}
    tape: dict[str, int] = {}
    # A fitted sheet is the surest: it comes last and stands.
    order = (SizeSheet.Layer.CARD, SizeSheet.Layer.MEASURED, SizeSheet.Layer.FITTED)
    for sheet in sorted(sheets, key=lambda sheet: order.index(SizeSheet.Layer(sheet.layer))):
        (card if sheet.layer == SizeSheet.Layer.CARD else tape).update(values_of(sheet))
    expected, warnings = _expected(wearer) if sheets else ({}, ())
    points = [*COLUMNS, *sorted((set(card) | set(tape)) - set(COLUMNS))]
    sizes = tuple(
        Size(
            point,
            POINT_WORDS.get(point, point),
            tape.get(point),
            card.get(point),
            None if point in tape else expected.get(point),
        )
        for point in points
    )
    wrong = tuple((POINT_WORDS.get(jump.point, jump.point), jump) for jump in jumps(card, tape))
    words = tuple(exclusion.rule.words for exclusion in wearer.exclusions.all())
    return BodyRow(wearer, sheets, sizes, wrong, words, warnings)


def _expected(wearer: Wearer) -> tuple[Mapping[str, Estimate], tuple[str, ...]]:
    try:
        prediction = predict(person_of(wearer))
    except UnderAgeError:
        return {}, ("Under 18: nothing is predicted, the tape alone counts.",)
    return prediction.estimates, prediction.warnings


@dataclass(frozen=True, slots=True)
class KeptSheets:
    """What is held of a call's performers, and until when."""

    call: Call
    sheets: int
    people: int
    first: date
    last: date
    overdue: bool


def kept_sheets(today: date) -> list[KeptSheets]:
    """Every call that still has size sheets, the earliest day of deletion first."""
    rows = list(
        SizeSheet.objects.values("wearer__call")
        .annotate(
            sheets=Count("id"), people=Count("wearer", distinct=True), first=Min("delete_on"), last=Max("delete_on")
        )
        .order_by("first")
    )
    calls = Call.objects.in_bulk([row["wearer__call"] for row in rows])
    return [
        KeptSheets(
            calls[row["wearer__call"]],
            row["sheets"],
            row["people"],
            row["first"],
            row["last"],
            row["first"] <= today,
        )
        for row in rows
    ]
