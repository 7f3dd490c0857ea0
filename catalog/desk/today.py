"""What needs attention today, for each duty: one sentence, a count, and the page where it is done."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db.models import Count, Q
from django.urls import reverse

from catalog.access.duties import Duty, duties_of
from catalog.care.apart_queries import as_pest_works, open_pest_work
from catalog.care.models import Alteration, BatteryPack, Quarantine, Treatment
from catalog.care.queries import untested_pieces
from catalog.core import house
from catalog.core.lanes import kept_acts
from catalog.desk.wrong_place import how_many
from catalog.fitting.models import SizeSheet
from catalog.loans.home_queries import to_look_at
from catalog.loans.models import Call, Hold, Loan, LoanLine
from catalog.pieces.models import Piece
from catalog.pieces.value_queries import stale_values, stale_years
from catalog.storage.models import MissingFile, Standing, Stocktake, StocktakeLine
from catalog.storage.receiving_queries import waiting
from catalog.storage.scan_models import KeptScan

SOON = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Matter:
    """One thing to see to: a mark (no, conditions, unknown, may), a sentence, where to go."""

    mark: str
    text: str
    url: str
    source: str = ""


def matters(user: AbstractBaseUser | AnonymousUser, today: date) -> list[Matter]:
    """All that needs this person today, gravest first."""
    found = [matter for duty in sorted(duties_of(user)) for ask in _ASK[duty] for matter in ask(today)]
    gravity = {"stays": 0, "no": 0, "unknown": 1, "conditions": 2, "may": 3}
    return sorted(dict.fromkeys(found), key=lambda matter: gravity[matter.mark])


def _many(number: int, one: str, more: str) -> str:
    return f"{number} {one if number == 1 else more}"


def _damaged_packs(today: date) -> Iterator[Matter]:
    for pack in BatteryPack.objects.filter(state="damaged", removed_on=None).select_related("piece")[:20]:
        yield Matter(
            "stays",
            f"{pack.piece.number} has a damaged battery pack: keep it apart from other packs, do not charge it.",
            reverse("desk:piece", args=[pack.piece.number]),
            "fire risk; local fire rules decide",
        )


def _missing(today: date) -> Iterator[Matter]:
    trunks = MissingFile.objects.filter(closed_on=None, container__isnull=False).select_related("container")
    for missing in trunks[:10]:
        seen = f"last seen {missing.last_seen:%-d %b %Y}" if missing.last_seen else "never seen since it was listed"
        yield Matter(
            "no", f"{missing.container} is not found, {seen}.", reverse("storage:missing_file", args=[missing.pk])
        )
    number = Standing.objects.filter(state="not found").count()
    if number:
        words = _many(number, "piece is", "pieces are")
        yield Matter("no", f"{words} not found.", f"{reverse('finding:find')}?state=not+found")


def _kept_scans(today: date) -> Iterator[Matter]:
    scans, acts = KeptScan.objects.filter(decision="").values("pk"), kept_acts().values("pk")
    number = scans.order_by().union(acts.order_by(), all=True).count()
    if number:
        words = _many(number, "late scan waits", "late scans wait")
        yield Matter("conditions", f"{words} for a decision.", reverse("desk:scan_kept"))


def _came_home(today: date) -> Iterator[Matter]:
    number = to_look_at().count()
    if number:
        words = _many(number, "piece came home changed: look at it", "pieces came home changed: look at them")
        url = f"{reverse('finding:find')}?ask=came-home-changed"
        yield Matter("no", f"{words} and decide anew on wear.", url)


def _quarantine(today: date) -> Iterator[Matter]:
    due = Quarantine.objects.filter(released_on=None, due_on__lte=today).count()
    if due:
        words = _many(due, "piece has", "pieces have")
        yield Matter("conditions", f"{words} served quarantine: check and put away.", reverse("loans:loans"))


def _received(today: date) -> Iterator[Matter]:
    """Trunks whose content nobody has listed; the link unpacks the oldest."""
    number, oldest = waiting()
    if oldest is not None:
        days = (today - oldest.received_on).days
        waits = _many(days, "day", "days") if days > 0 else "since today"
        which = f"{oldest.container} {waits}" if number == 1 else f"the oldest, {oldest.container}, {waits}"
        words = f"{_many(number, 'trunk', 'trunks')} received and not listed: {which}."
        yield Matter("conditions", words, reverse("storage:unpack", args=[oldest.container.code]))


def _pest_work(today: date) -> Iterator[Matter]:
    """Each piece of pest work with its day due: until it is done or called off its piece goes nowhere."""
    rows = list(open_pest_work().select_related("piece")[:20])
    for row, work in zip(rows, as_pest_works(rows), strict=True):
        late = work.due is not None and work.due <= today
        words = f"{row.piece.number}: {work.words}{': look it over and say that it is done' if late else ''}."
        yield Matter("no" if late else "conditions", words, reverse("care:treatment", args=[row.piece.number]))


def _treatments(today: date) -> Iterator[Matter]:
    number = Treatment.objects.filter(state__in=Treatment.OPEN).count()
    if number:
        yield Matter(
            "conditions", f"{_many(number, 'treatment is', 'treatments are')} open.", reverse("care:treatments")
        )


def _mending(today: date) -> Iterator[Matter]:
    """For whoever is told of each pest work by itself: what else is open."""
    number = Treatment.objects.filter(state__in=Treatment.OPEN, against_pests=False).count()
    if number:
        words = _many(number, "piece of mending is", "pieces of mending are")
        yield Matter("conditions", f"{words} open.", reverse("care:treatments"))


def _unplaced(today: date) -> Iterator[Matter]:
    number = Piece.objects.filter(Q(standing__isnull=True)).count()
    if number:
        words = _many(number, "piece has", "pieces have")
        yield Matter("unknown", f"{words} no place yet.", f"{reverse('finding:find')}?sort=seen")


def _untested(today: date) -> Iterator[Matter]:
    number = len(untested_pieces(Piece.objects.select_related("production")))
    if number:
        words = _many(number, "piece waits", "pieces wait")
        yield Matter("unknown", f"{words} for a test of poison, mercury or species.", reverse("care:untested"))


def _long_unseen(today: date) -> Iterator[Matter]:
    years = house.value("stand.not_seen_years")
    since = today.replace(day=1, year=today.year - years)
    number = Standing.objects.filter(state="in store").filter(Q(last_seen__lt=since) | Q(last_seen=None)).count()
    if number:
        words = _many(number, "piece in store was", "pieces in store were")
        yield Matter("unknown", f"{words} not seen for {years} years.", f"{reverse('finding:find')}?unseen={since}")


def _wrong_place(today: date) -> Iterator[Matter]:
    number = how_many()
    if number:
        yield Matter(
            "conditions", f"{_many(number, 'thing is', 'things are')} in the wrong place.", reverse("desk:wrong_place")
        )


def _stocktakes(today: date) -> Iterator[Matter]:
    rows = Stocktake.objects.filter(closed_at=None).select_related("place")
    for row in rows.annotate(stops_left=Count("stops", filter=Q(stops__counted_at=None)))[:5]:
        left = _many(row.stops_left, "place", "places") + " to go" if row.stops_left else "every place is counted"
        words = f"Stocktake {row.reference} of {row.place.name}: {left}."
        yield Matter("conditions", words, reverse("stocktake:stocktake", args=[row.reference]))


def _stocktake_lines(today: date) -> Iterator[Matter]:
    waiting = StocktakeLine.objects.filter(resolved_at=None).order_by().values_list("stocktake__reference")
    for reference, number in waiting.annotate(n=Count("id")).order_by("stocktake__reference")[:5]:
        words = f"{_many(number, 'difference', 'differences')} of stocktake {reference} to settle."
        yield Matter("conditions", words, reverse("stocktake:stocktake", args=[reference]))


def _stale_values(today: date) -> Iterator[Matter]:
    years = stale_years()
    number = stale_values(Piece.objects.all(), today, years).count()
    if number:
        words = _many(number, "value is", "values are")
        yield Matter("conditions", f"{words} {years} years old or older.", reverse("desk:values"))


def _alterations(today: date) -> Iterator[Matter]:
    number = Alteration.objects.filter(undone_on=None, undo_by__lte=today + SOON).count()
    if number:
        words = _many(number, "alteration is", "alterations are")
        yield Matter("conditions", f"{words} to be undone by {today + SOON:%-d %b %Y}.", reverse("care:treatments"))


def _calls(today: date) -> Iterator[Matter]:
    for call in Call.objects.filter(state="open").order_by("load_on")[:10]:
        days = (call.load_on - today).days
        when = f"loads {call.load_on:%-d %b %Y}, in {days} days" if days >= 0 else f"loaded {call.load_on:%-d %b %Y}"
        yield Matter(
            "conditions", f"{call.reference}, {call.title}: {when}.", reverse("desk:call", args=[call.reference])
        )


def _pencils(today: date) -> Iterator[Matter]:
    lapsing = Hold.objects.filter(state="active", strength="pencil", lapses_on__lte=today + SOON).order_by("lapses_on")
    for hold in lapsing[:10]:
        yield Matter(
            "conditions",
            f"Pencil hold {hold.reference} for {hold.for_whom} lapses {hold.lapses_on:%-d %b %Y}.",
            reverse("loans:hold", args=[hold.reference]),
        )


def _loans_due(today: date) -> Iterator[Matter]:
    for loan in Loan.objects.filter(state__in=["out", "home"], due_on__lte=today + SOON).order_by("due_on")[:10]:
        late = loan.due_on < today
        words = f"Loan {loan.reference} to {loan.to_whom} {'was' if late else 'is'} due {loan.due_on:%-d %b %Y}."
        yield Matter("no" if late else "conditions", words, reverse("loans:loan", args=[loan.reference]))


def _to_pull(today: date) -> Iterator[Matter]:
    pulling = Loan.objects.filter(state="pulling").annotate(left=Count("lines", filter=Q(lines__state="to pull")))
    for loan in pulling[:10]:
        words = f"Loan {loan.reference}: {_many(loan.left, 'piece', 'pieces')} still to pull."
        yield Matter("conditions", words, reverse("loans:pull", args=[loan.reference]))


def _on_set(today: date) -> Iterator[Matter]:
    number = LoanLine.objects.filter(state="on set").count()
    if number:
        loan = Loan.objects.filter(lines__state="on set").first()
        words = _many(number, "piece is", "pieces are")
        if loan is not None:
            yield Matter(
                "conditions", f"{words} signed out to performers.", reverse("loans:on_set", args=[loan.reference])
            )


def _sheets(today: date) -> Iterator[Matter]:
    due = SizeSheet.objects.filter(delete_on__lte=today).count()
    if due:
        words = _many(due, "size sheet is", "size sheets are")
        yield Matter("no", f"{words} past the day of deletion.", reverse("fitting:sheets_kept"))


_Ask = Callable[[date], Iterator[Matter]]
_ASK: dict[Duty, tuple[_Ask, ...]] = {
    Duty.ARCHIVIST: (
        _damaged_packs, _missing, _kept_scans, _came_home, _loans_due, _to_pull, _received, _pest_work, _quarantine,
        _mending, _alterations, _unplaced, _untested, _wrong_place, _stocktakes, _stocktake_lines, _long_unseen,
        _stale_values, _calls, _pencils,
    ),
    Duty.WARDROBE_LEAD: (_sheets, _calls, _treatments, _alterations, _pencils),
    Duty.PRODUCTION: (_calls, _pencils, _loans_due, _stale_values),
    Duty.SET_COSTUMER: (_damaged_packs, _to_pull, _on_set, _loans_due, _stocktakes, _wrong_place),
    Duty.VISITOR: (),
}  # fmt: skip
