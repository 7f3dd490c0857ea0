"""What pieces are worth, by their newest valuation. Unknown values are counted by themselves, never as 0."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import Count, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import ExtractYear

from catalog.core import house
from catalog.pieces.calc.values import money_words, newest_stale, sums
from catalog.pieces.models import Piece, Valuation


def stale_years() -> int:
    """The age at which this house calls a value stale."""
    return int(house.value("value.stale_years"))


def newest_values(pieces: QuerySet[Piece]) -> QuerySet[Valuation]:
    """The newest valuation of each of the pieces; a piece that was never valued has none."""
    newest = Valuation.objects.filter(piece=OuterRef("piece")).order_by("-valued_on", "-id").values("pk")[:1]
    return Valuation.objects.filter(pk=Subquery(newest), piece__in=pieces)


def not_valued(pieces: QuerySet[Piece]) -> QuerySet[Piece]:
    """Those of the pieces that nobody has valued."""
    return pieces.filter(valuations__isnull=True).order_by("number")


@dataclass(slots=True)
class Worth:
    """What some pieces are worth, currency by currency, and how much of it is stale."""

    word: str
    key: str = ""
    pieces: int = 0
    stale_pieces: int = 0
    amounts: dict[str, Decimal] = field(default_factory=dict)
    stale_amounts: dict[str, Decimal] = field(default_factory=dict)

    @property
    def words(self) -> str:
        """ "EUR 1,250"."""
        return money_words(self.amounts)

    @property
    def stale_words(self) -> str:
        """The same of what is stale."""
        return money_words(self.stale_amounts)

    def add(self, row: dict[str, Any]) -> None:
        """Add one group of rows of one currency."""
        self.pieces += row["n"]
        self.stale_pieces += row["stale_n"]
        self.amounts = sums([*self.amounts.items(), (row["currency"], row["total"])])
        if row["stale_n"]:
            self.stale_amounts = sums([*self.stale_amounts.items(), (row["currency"], row["stale"])])


@dataclass(frozen=True, slots=True)
class StoreWorth:
    """All of it, and the same split in three ways."""

    total: Worth
    productions: list[Worth]
    bases: list[Worth]
    years: list[Worth]


def worth_of(pieces: QuerySet[Piece], today: date, years: int | None = None) -> StoreWorth:
    """What the pieces are worth, in all and by production, basis and year of valuation. One query if given the years.

    `years`: the age at which a value is stale; None: the house's own.
    """
    old = Q(valued_on__lte=newest_stale(today, stale_years() if years is None else years))
    groups = (
        newest_values(pieces)
        .order_by()
        .values("piece__production__code", "piece__production__title", "basis", "currency")
        .annotate(year=ExtractYear("valued_on"))
        .annotate(n=Count("id"), total=Sum("amount"), stale_n=Count("id", filter=old), stale=Sum("amount", filter=old))
    )
    rows: list[dict[str, Any]] = [dict(row) for row in groups]
    bases = dict(Valuation.Basis.choices)
    total = Worth("in all")
    for row in rows:
        total.add(row)
    return StoreWorth(
        total,
        _split(rows, lambda row: (row["piece__production__code"], row["piece__production__title"])),
        _split(rows, lambda row: (row["basis"], bases[row["basis"]])),
        _split(rows, lambda row: (str(row["year"]), f"valued in {row['year']}")),
    )


def _split(rows: Iterable[dict[str, Any]], name: Callable[[dict[str, Any]], tuple[str, str]]) -> list[Worth]:
    found: dict[str, Worth] = {}
    for row in rows:
        key, word = name(row)
        found.setdefault(key, Worth(word, key)).add(row)
    return [found[key] for key in sorted(found)]


def stale_values(pieces: QuerySet[Piece], today: date, years: int) -> QuerySet[Valuation]:
    """The newest values that are stale at an age of so many years, the oldest first."""
    old = newest_values(pieces).filter(valued_on__lte=newest_stale(today, years))
    return old.select_related("piece__production", "valued_by").order_by("valued_on", "piece__number")
