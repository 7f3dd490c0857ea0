"""Wearers and their sizes, turned into what the calculations take. Only this room reads a size."""

from collections.abc import Iterable
from datetime import date

from django.db.models import Prefetch

from catalog.fitting.calc.body import Body, Layer, Measure, Person, Shape, body_of, card_only
from catalog.fitting.models import Exclusion, SizeSheet
from catalog.loans.models import Call, Wearer

_LAYERS = {"card": Layer.CARD, "measured": Layer.TAPED, "fitted": Layer.FITTED}
MINOR_AGE = 17


def wearers_of(call: Call) -> list[Wearer]:
    """The call's wearers with their days, sheets and exclusions, in a fixed number of queries."""
    return list(
        call.wearers.prefetch_related(
            "free_days",
            Prefetch("sheets", SizeSheet.objects.prefetch_related("values")),
            Prefetch("exclusions", Exclusion.objects.select_related("rule")),
        )
    )


def person_of(wearer: Wearer, *, sizes: str = "best") -> Person:
    """A wearer's measures of every layer. `sizes="card"` leaves out what was taped or fitted.

    A minor is given an age below 18, so that nothing is predicted for them.
    """
    measures: list[Measure] = []
    shape = Shape.EITHER
    for sheet in wearer.sheets.all():
        layer = _LAYERS[sheet.layer]
        measures += [Measure(point, value, layer) for point, value in values_of(sheet).items()]
        if sheet.reference_shape != SizeSheet.Shape.EITHER:
            shape = Shape(sheet.reference_shape)
    person = Person(
        tuple(measures),
        shape,
        MINOR_AGE if wearer.minor else None,
        frozenset(exclusion.rule.code for exclusion in wearer.exclusions.all()),
    )
    return card_only(person) if sizes == "card" else person


def values_of(sheet: SizeSheet) -> dict[str, int]:
    """All sizes of a sheet by body point: mm, and g for the weight."""
    values = {value.point: value.value_mm for value in sheet.values.all()}
    if sheet.height_mm is not None:
        values["height"] = sheet.height_mm
    if sheet.weight_g is not None:
        values["weight"] = sheet.weight_g
    return values


def bodies_of(wearers: Iterable[Wearer], *, sizes: str = "best") -> dict[str, Body]:
    """Each wearer's body by number, as the fit takes it."""
    return {wearer.number: body_of(person_of(wearer, sizes=sizes)) for wearer in wearers}


def free_on_all(wearer: Wearer, days: Iterable[date]) -> bool:
    """Whether the wearer is free on every one of the days."""
    return set(days) <= {free.day for free in wearer.free_days.all()}
