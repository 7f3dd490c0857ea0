"""What every page of a stocktake begins with."""

from django.http import Http404
from django.urls import reverse

from catalog.storage import stocktake_queries as queries
from catalog.storage.models import Stocktake


def stocktake_or_404(reference: str) -> Stocktake:
    """The stocktake of this reference."""
    found = queries.stocktake_of(reference)
    if found is None:
        raise Http404(f"There is no stocktake {reference[:30]}.")
    return found


def steps_of(row: Stocktake | None, *more: str) -> list[dict[str, str]]:
    """The breadcrumbs, from the list of stocktakes."""
    steps = [{"word": "Stocktake", "url": reverse("stocktake:stocktakes")}]
    if row is not None:
        steps.append({"word": row.reference, "url": reverse("stocktake:stocktake", args=[row.reference])})
    steps += [{"word": word, "url": ""} for word in more]
    return [*steps[:-1], {**steps[-1], "url": ""}]
