"""How old a value is, and how money is said. Values in, dates and words out; currencies are never added together."""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal


def stale_from(valued_on: date, years: int) -> date:
    """The day from which a value counts as stale: so many years after its own; 29 Feb becomes 1 Mar."""
    try:
        return valued_on.replace(year=valued_on.year + years)
    except ValueError:
        return date(valued_on.year + years, 3, 1)


def newest_stale(today: date, years: int) -> date:
    """The newest day of valuation that is stale today: `valued_on <= newest_stale` is `stale_from <= today`."""
    try:
        return today.replace(year=today.year - years)
    except ValueError:
        return date(today.year - years, 2, 28)


def money(currency: str, amount: Decimal) -> str:
    """ "EUR 1,250", never broken over two lines; with cents only where there are any."""
    return f"{currency}\u00a0{bare_amount(amount)}"


def bare_amount(amount: Decimal) -> str:
    """ "1,250" or "600.50"."""
    return f"{amount:,.{0 if amount == amount.to_integral_value() else 2}f}"


def sums(rows: Iterable[tuple[str, Decimal]]) -> dict[str, Decimal]:
    """Amounts added up currency by currency."""
    found: dict[str, Decimal] = {}
    for currency, amount in rows:
        found[currency] = found.get(currency, Decimal(0)) + amount
    return dict(sorted(found.items()))


def money_words(amounts: Mapping[str, Decimal]) -> str:
    """ "EUR 1,250 and USD 90"; no value at all is said in words, never as 0."""
    return " and ".join(money(currency, amount) for currency, amount in amounts.items()) or "no value"
