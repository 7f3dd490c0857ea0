"""Loading what the house stands on: productions, roles, slots, places, containers, old moves, bands, rules."""

from catalog.core.errors import Refused
from catalog.exchange.calc.rows import Row
from catalog.exchange.loading import Loading, noon, only
from catalog.fitting import actions as fitting
from catalog.fitting.models import EaseBand
from catalog.pieces import actions as pieces
from catalog.pieces.calc.kinds import KINDS
from catalog.pieces.models import Piece, Production, Role, Slot
from catalog.storage import actions as storage
from catalog.storage.models import Move, Place, State


def load_production(to: Loading, row: Row) -> None:
    facts = only(row.values, code="code", title="title", year="year", world="world", closed="closed")
    to.refuse_taken(Production, row)
    made = pieces.add_production(by=to.by, source=to.source, **facts)
    to.keep(made, made.code)
    to.count("production")


def load_role(to: Loading, row: Row) -> None:
    facts = only(row.values, code="code", name="name", sort="sort", sets_made="sets_made")
    to.refuse_taken(Role, row)
    made = pieces.add_role(by=to.by, production=to.production(row), source=to.source, **facts)
    to.keep(made, made.code)
    to.count("role")


def load_slot(to: Loading, row: Row) -> None:
    role = to.role(row)
    to.refuse_taken(Slot, row, role=role)
    facts = only(
        row.values,
        code="code",
        name="name",
        kind="kind",
        required="required",
        match_group="match_group",
        fits_anybody="fits_anybody",
        usual_materials="materials",
        usual_weight_g="weight",
        make_days="make_days",
    )
    order = row.get("order", role.slots.count() + 1)
    pieces.add_slot(by=to.by, role=role, order=order, source=to.source, **facts)
    to.count("slot")


def load_lead_time(to: Loading, row: Row) -> None:
    pieces.edit_slot(by=to.by, slot=to.slot(row), make_days=row.get("days"), source=to.source)
    to.count("lead time")


def load_place(to: Loading, row: Row) -> None:
    facts = only(
        row.values,
        code="code",
        name="name",
        kind="kind",
        target_rh="target_rh",
        width_mm="width",
        measured_by="measured_by",
        takes_count="takes_count",
        needs_steps="needs_steps",
        note="note",
    )
    if "target_c" in row.values:
        facts["target_c_tenths"] = round(row.values["target_c"] * 10)
    # Counted by tens, so that a place built in between finds room.
    order = row.get("order", row.number * 10)
    to.refuse_taken(Place, row)
    made = storage.add_place(by=to.by, parent=to.place(row, "parent"), order=order, source=to.source, **facts)
    _keep_place(to, row, made)
    to.count("place")


def load_container(to: Loading, row: Row) -> None:
    state = row.get("state", State.IN_STORE)
    place = to.place(row, "place")
    if state == State.IN_STORE and place is None:
        raise Refused("say where it stands, or write not found under state.", field="place")
    facts = only(
        row.values, code="code", name="name", kind="kind", tare_g="tare", last_seen="last_seen", note="note"
    ) | only(row.values, last_seen_by="last_seen_by")
    to.refuse_taken(Place, row)
    made = storage.add_place(
        by=to.by,
        parent=place,
        home=to.place(row, "home"),
        order=row.number * 10,
        state=state,
        source=to.source,
        **facts,
    )
    _keep_place(to, row, made)
    to.count("container")
    if state == State.NOT_FOUND:
        to.count("container not found")


def _keep_place(to: Loading, row: Row, made: Place) -> None:
    to.keep(made, made.code)
    if row.get("issue_label"):
        storage.issue_label(by=to.by, place=made)
        to.count("label")


def load_move(to: Loading, row: Row) -> None:
    """An old move only adds to the past; a search that found nothing opens the missing file."""
    code = row.values["what"]
    container = Place.objects.filter(code__iexact=code).first()
    piece = None if container else Piece.objects.filter(number__iexact=code).first()
    if container is None and piece is None:
        raise Refused(f"there is neither a container nor a piece “{code}”.", field="what")
    when, by_name = noon(row.values["date"]), row.get("by", "")
    reason, place = row.get("reason", ""), to.place(row, "to")
    if row.get("missing"):
        last = Move.objects.filter(container=container, piece=piece, to_place__isnull=False).first()
        storage.mark_missing(
            by=to.by,
            piece=piece,
            container=container,
            note=reason,
            last_place=last.to_place if last else None,
            happened=when,
            by_name=by_name,
        )
        to.count("missing file")
        return
    if container is not None:
        storage.move_container(by=to.by, container=container, to=place, reason=reason, happened=when, by_name=by_name)
    elif piece is not None and place is not None:
        storage.move_piece(by=to.by, piece=piece, to=place, reason=reason, happened=when, by_name=by_name)
    else:
        raise Refused("say where the piece went, or write yes under missing.", field="to")
    to.count("old move")


def load_band(to: Loading, row: Row) -> None:
    """A band counts in lengths or in whole EU shoe sizes, never in both."""
    sizes = "min_sizes" in row.values or "max_sizes" in row.values
    if sizes and ("min_ease" in row.values or "max_ease" in row.values):
        raise Refused("a band counts in lengths or in sizes, not in both.", field="min_sizes")
    names = ("min_sizes", "max_sizes") if sizes else ("min_ease", "max_ease")
    facts = only(
        row.values,
        body_point="body_point",
        garment_point="garment_point",
        min_ease=names[0],
        max_ease=names[1],
        good_min="good_min",
        good_max="good_max",
        uses_let_out="uses_let_out",
        source="source",
    )
    if sizes and ("good_min" in row.values or "good_max" in row.values):
        raise Refused("a good range is given in lengths; a band in sizes has none here.", field="good_min")
    slot = to.slot(row) if row.get("slot") else None
    if (slot is None) == ("kind" not in row.values):
        raise Refused("a band is for a slot of a role, or for a kind.", field="slot")
    scale = EaseBand.Scale.EU_SHOE if sizes else EaseBand.Scale.MM
    fitting.add_band(by=to.by, slot=slot, kind=row.get("kind", ""), scale=scale, **facts)
    to.count("ease band")


def load_exclusion_rule(to: Loading, row: Row) -> None:
    for name in ("kinds", "spared_kinds"):
        for kind in row.get(name, ()):
            if kind not in KINDS:
                raise Refused(f"“{kind}” is no kind; there are {', '.join(KINDS)}.", field=name)
    facts = only(
        row.values,
        code="code",
        words="words",
        materials="materials",
        hazards="hazards",
        kinds="kinds",
        spared_kinds="spared_kinds",
    )
    fitting.add_exclusion_rule(by=to.by, **facts)
    to.count("exclusion rule")
