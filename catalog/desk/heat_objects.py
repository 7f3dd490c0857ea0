"""Which trunk to open first in the heat: a call's pieces by the container they lie in, and what each bears."""

from dataclasses import dataclass

from catalog.care.queries import findings_of, materials_of
from catalog.desk.travel import pieces_of_call
from catalog.loans.models import Call
from catalog.pieces.models import Piece
from catalog.shipping.calc.heat_objects import Group, bears, in_order
from catalog.shipping.heat_models import WeatherHour
from catalog.storage.models import Place, Standing

LOOSE = "not in a trunk"


@dataclass(frozen=True, slots=True)
class CallObjects:
    """The pieces in the order in which they must come into the cool, and the hottest air that is written."""

    source: str
    groups: list[Group]
    hottest_tenths_c: int | None

    @property
    def first(self) -> Group | None:
        """The trunk to open first; what lies in none stands open anyway. None where no limit of anything is known."""
        known = [group for group in self.groups if group.max_c is not None]
        return next((group for group in known if group.name != LOOSE), known[0] if known else None)

    @property
    def loose(self) -> Group | None:
        """The pieces that lie in no trunk yet."""
        return next((group for group in self.groups if group.name == LOOSE), None)

    @property
    def count(self) -> int:
        """How many pieces."""
        return sum(len(group.things) for group in self.groups)


def call_objects(call: Call) -> CallObjects:
    """Held, planned or tried pieces. Raises PlanError when neither stands and the planner cannot answer."""
    numbers, source = pieces_of_call(call)
    pieces = list(Piece.objects.filter(number__in=numbers).order_by("number"))
    ids = [piece.pk for piece in pieces]
    materials, findings = materials_of(ids), findings_of(ids)
    lying = dict(
        Standing.objects.filter(piece__in=ids, place__kind__in=Place.CONTAINERS).values_list("piece_id", "place__code")
    )
    groups: dict[str, list[Piece]] = {}
    for piece in pieces:
        groups.setdefault(lying.get(piece.pk, LOOSE), []).append(piece)
    found = [
        Group(
            code,
            tuple(
                (
                    piece.number,
                    bears(
                        materials.get(piece.pk, ()),
                        [hazard for hazard, state in findings.get(piece.pk, ()) if state != "cleared"],
                    ),
                )
                for piece in inside
            ),
        )
        for code, inside in groups.items()
    ]
    hours = WeatherHour.objects.filter(call=call, temp_tenths_c__isnull=False).order_by("-temp_tenths_c")
    return CallObjects(source, in_order(found), hours.values_list("temp_tenths_c", flat=True).first())
