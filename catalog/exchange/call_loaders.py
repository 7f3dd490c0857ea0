"""Loading calls, needs, rosters and holds."""

from datetime import date

from catalog.core.errors import Refused
from catalog.exchange.calc.rows import Row
from catalog.exchange.loading import Loading, only
from catalog.exchange.piece_loaders import look_named
from catalog.fitting import actions as fitting
from catalog.fitting.calc.body import POINTS
from catalog.fitting.models import SizeSheet
from catalog.loans import actions as loans
from catalog.loans.models import Call, Hold, Wearer
from catalog.pieces.models import OutfitSet, Piece

_NOT_ON_TAPE = {"height", "weight"}


def load_call(to: Loading, row: Row) -> None:
    production = to.production(row)
    names = (
        "reference", "title", "purpose", "asked_by", "received_on", "where", "first_day", "last_day", "cover_day",
        "fittings_from", "fittings_to", "load_on", "back_on", "close_up", "wet_or_dusty", "note",
    )  # fmt: skip
    to.refuse_taken(Call, row, "reference")
    made = loans.take_call(
        by=to.by,
        production=production,
        look=look_named(to, production, row.get("look")),
        **only(row.values, **{name: name for name in names}),
    )
    to.keep(made, made.reference)
    to.count("call")


def load_need(to: Loading, row: Row) -> None:
    loans.set_need(by=to.by, call=to.named_call(row), role=to.role(row), count=row.values["count"])
    to.count("need")


def load_performer(to: Loading, row: Row) -> None:
    """A performer with the card and the tape as two sheets, each kept until its day and no longer."""
    call = to.call
    if call is None:
        raise Refused("say which call the roster is for.")
    days = row.get("days", "all")
    chosen: list[date] | None = None if days == "all" else list(days if isinstance(days, tuple) else [call.first_day])
    to.refuse_taken(Wearer, row, "number", call=call)
    wearer = loans.add_wearer(
        by=to.by,
        call=call,
        number=row.values["number"],
        name=row.get("name", ""),
        days=chosen,
        minor=row.get("minor", False),
    )
    to.count("performer")
    card = only(row.values, height_mm="card_height", weight_g="card_weight")
    if card:
        _sheet(to, row, wearer, SizeSheet.Layer.CARD, taken_on=row.get("card_date"), **card)
    taped = {point: row.values[point] for point in POINTS if point in row.values and point not in _NOT_ON_TAPE}
    sizes = only(row.values, height_mm="height", weight_g="weight")
    if taped or sizes:
        who = row.get("taped_by", "")
        _sheet(
            to, row, wearer, SizeSheet.Layer.MEASURED,
            taken_on=row.get("taped_on"), taken_by_name=who, values=taped, **sizes,
        )  # fmt: skip
    if row.get("exclusions"):
        fitting.set_exclusions(by=to.by, wearer=wearer, codes=row.values["exclusions"])
        to.count("exclusion", len(row.values["exclusions"]))


def _sheet(to: Loading, row: Row, wearer: Wearer, layer: str, **facts: object) -> None:
    fitting.add_sheet(
        by=to.by,
        wearer=wearer,
        layer=layer,
        consent=row.values["consent"],
        delete_on=row.values.get("delete_on"),
        reference_shape=row.get("shape", "either"),
        guardian_consent=row.get("guardian_consent", ""),
        **facts,  # type: ignore[arg-type]
    )
    to.count("size sheet")


def load_hold(to: Loading, row: Row) -> None:
    names = (
        "reference", "for_whom", "use_from", "use_to", "strength", "purpose", "days_before", "days_after",
        "confirmed_by", "lapses_on", "notice_days", "note",
    )  # fmt: skip
    to.refuse_taken(Hold, row, "reference")
    held = loans.hold(
        by=to.by,
        pieces=_pieces(to, row),
        call=to.named_call(row) if row.get("call") else None,
        **only(row.values, **{name: name for name in names}),
    )
    to.count("hold")
    if row.get("out"):
        if "out_on" not in row.values or not row.get("taken_by"):
            raise Refused("what is out has the day it left and who took it.", field="out_on")
        loans.take_over_loan(by=to.by, hold=held, taken_by=row.values["taken_by"], out_on=row.values["out_on"])
        to.count("loan out")


def _pieces(to: Loading, row: Row) -> list[Piece]:
    chosen = [to.piece(number, "pieces") for number in row.get("pieces", ())]
    for code in row.get("sets", ()):
        whole = OutfitSet.objects.filter(code__iexact=code).first()
        if whole is None:
            raise Refused(f"there is no set “{code}”.", field="sets")
        chosen += list(whole.pieces.all())
    return chosen
