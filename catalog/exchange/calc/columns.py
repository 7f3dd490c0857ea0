"""Every table that can be loaded: its columns, what they hold, and which of them a row cannot do without.

These are also the words of the page and of README: a column's `help` is written for the person who fills it in.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from catalog.exchange.calc.cells import Type
from catalog.fitting.calc.body import POINT_WORDS as BODY_WORDS
from catalog.fitting.calc.body import POINTS as BODY_POINTS
from catalog.pieces.calc.kinds import KINDS, POINTS
from catalog.shipping.calc.heat_body import WORDS as USED_WORDS
from catalog.shipping.calc.heat_dress import LISTS
from catalog.shipping.calc.heat_dress import WORDS as DRESSES
from catalog.shipping.calc.heat_hours import SKIES
from catalog.shipping.calc.heat_limits import RATE

TEXT, LIST, DATE, YES_NO = Type("text"), Type("list"), Type("date"), Type("yes_no")
CODE, NAME, NOTE = Type("text", most=30), Type("text", most=120), Type("text", most=300)
LENGTH, WEIGHT, COUNT, DAYS = Type("length", "cm"), Type("weight", "kg"), Type("whole", high=10_000), Type("days")


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name in our tables, how its cells are read, and whether every row needs it."""

    name: str
    type: Type = TEXT
    required: bool = False
    help: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """One kind of table. `unique` names the columns that no two rows may share; `prefixes` admit columns such as
    match:GROUP, whose name goes on after the colon."""

    kind: str
    words: str
    columns: tuple[Column, ...]
    unique: tuple[str, ...] = ()
    prefixes: tuple[str, ...] = ()
    needs_call: bool = False

    def column(self, name: str) -> Column | None:
        """The column of this name; None when the table has none."""
        for column in self.columns:
            if column.name == name:
                return column
        start, mark, rest = name.partition(":")
        return Column(name, CODE) if mark and rest and start in self.prefixes else None


def _need(name: str, kind: Type = CODE, text: str = "") -> Column:
    return Column(name, kind, True, text)


def _words(*words: str) -> Type:
    return Type("word", words=words)


KIND = _words(*KINDS)
STATES = _words("in store", "out", "at treatment", "not found")
_POINT_TYPES = {"eu_shoe": Type("length", "eu"), "glove_inch": Type("length", "in"), "length": LENGTH}
_POINT_COLUMNS = tuple(
    Column(p.key, _POINT_TYPES[p.shown], help=f"{p.word}: {p.how}") for p in POINTS.values()
) + tuple(Column(f"let_out_{p.key}", LENGTH, help=f"spare cloth for {p.word}") for p in POINTS.values() if p.let_out)
_PIECE = (
    _need("number", CODE, "its own number; never reused"),
    _need("name", Type("text", most=160)),
    _need("production", CODE, "the production's code"),
    Column("kind", KIND, help="may stay empty when the slot says it"),
    Column("role", CODE),
    Column("slot", CODE),
    Column("set", CODE, help="pieces of one code were worn together"),
    Column("multiple", _words("hero", "stunt", "double", "background", "understudy", "rain", "clean")),
    Column("origin", _words("original", "replica", "reference")),
    Column("reference_piece", CODE, help="number of the piece a replica was copied from; earlier in the table"),
    Column("made_year", Type("whole", low=1500, high=2200)),
    Column("owner", _words("ours", "hired in", "performer's own")),
    Column("owner_name", NAME),
    Column("materials", LIST, help="names, parted by |"),
    Column("weight", WEIGHT),
    Column("packed_length", LENGTH),
    Column("packed_width", LENGTH),
    Column("packed_height", LENGTH),
    Column("look", Type("text", most=60)),
    Column("size_mark", Type("text", most=20)),
    Column("note", TEXT),
    Column("parts", LIST, help="what can get lost alone, parted by |; a side goes after a colon: boot:left|boot:right"),
    *_POINT_COLUMNS,
    Column("measure_trust", _words("measured", "marked", "listed"), help="how far the measures can be trusted"),
    Column("value", Type("number", high=9_999_999), help="empty: not valued"),
    Column("currency", Type("text", most=3)),
    Column("value_basis", _words("remake", "agreed", "market", "listed")),
    Column("valued_on", DATE),
    Column("grade", Type("whole", low=1, high=5), help="1 ready to 5 beyond use"),
    Column("stability", _words("stable", "watch", "active")),
    Column("completeness", _words("complete", "incomplete", "fragment")),
    Column("condition_note", TEXT),
    Column("wear", _words("wear", "wear with limits", "wear after repair", "reference only", "not wearable")),
    Column("limits", Type("text", most=200)),
    Column("minutes_limit", Type("whole", low=1, high=1440)),
    Column("rest_minutes", Type("whole", low=1, high=1440)),
    Column("no_close_up", YES_NO),
    Column("repair", Type("text", most=200)),
    Column("repair_days", Type("whole", high=1000)),
    Column("repair_day_kind", _words("working", "calendar")),
    Column("decided_on", DATE),
    Column("decided_by", NAME),
    Column("breakdown", _words("keep", "none"), help="dirt that was on screen; empty: nobody has said"),
    Column("breakdown_where", Type("text", most=160)),
    Column("hazards", LIST, help="hazard=state parted by |; states: suspected, confirmed, cleared, untested"),
    Column("pack_chemistry", _words("lithium_ion", "lithium_metal", "dry", "unknown"), help="a battery pack"),
    Column("pack_state", _words("sound", "damaged", "unknown")),
    Column("pack_energy_wh", Type("number", high=100_000)),
    Column("pack_placed", _words("fitted", "packed_with", "alone", "unknown")),
    Column("state", STATES),
    Column("place", CODE, help="code of the shelf or container it stands in; for a piece that is out, where it is"),
    Column("container", CODE, help="code of the container it lies in; beats place"),
    Column("home", CODE, help="where it belongs; empty: where it stands now"),
    Column("last_seen", DATE),
    Column("last_seen_by", NAME),
    Column("by", NAME, help="who wrote the list this row comes from"),
    Column("issue_label", YES_NO),
)
_WRAP = (
    Column("number", CODE, help="its own number; empty: the next one of its production"),
    _need("name", Type("text", most=160)),
    Column("kind", KIND, help="what is kept needs one"),
    _need("production", CODE, "the production's code"),
    Column("owner", _words("ours", "hired in", "performer's own"), help="what is kept needs one"),
    Column("owner_name", NAME, help="who owns it, where it is not ours"),
    _need("fate", _words("keep", "return", "performer's own", "dispose"), "only what is kept becomes a piece"),
    Column("container", CODE, help="code of the trunk it is packed in; it counts as seen there when it is unpacked"),
    Column("note", NOTE),
)
_CALL = (
    _need("reference"),
    _need("title", Type("text", most=160)),
    _need("production"),
    Column("purpose", _words("reshoot", "stills", "exhibition", "study")),
    Column("asked_by", Type("text", most=160)),
    _need("received_on", DATE),
    _need("where", Type("text", most=200)),
    Column("look", Type("text", most=60)),
    _need("first_day", DATE),
    _need("last_day", DATE),
    Column("cover_day", DATE, help="weather cover"),
    Column("fittings_from", DATE),
    Column("fittings_to", DATE),
    _need("load_on", DATE),
    _need("back_on", DATE),
    Column("close_up", YES_NO),
    Column("wet_or_dusty", YES_NO),
    Column("note"),
)
_BODY_COLUMNS = tuple(
    Column(point, LENGTH, help=f"{BODY_WORDS[point]}, by tape") for point in BODY_POINTS if point not in {"weight"}
)
_ROSTER = (
    _need("number", Type("text", most=20), "the performer's number in this call"),
    Column("name", NAME, help="forgotten on delete_on"),
    Column("days", DAYS, help="all, first day, or dates parted by |; empty: all"),
    Column("minor", YES_NO, help="under 18: never predicted"),
    Column("guardian_consent", Type("text", most=160), help="for a minor: who agreed and when"),
    Column("exclusions", LIST, help="codes of what must not be worn, parted by |; no reason is asked"),
    Column("shape", _words("m", "f", "either"), help="which survey the estimates lean on"),
    Column("card_height", LENGTH, help="as casting wrote it"),
    Column("card_weight", WEIGHT),
    Column("card_date", DATE),
    *_BODY_COLUMNS,
    Column("weight", WEIGHT, help="on the scales"),
    Column("taped_on", DATE),
    Column("taped_by", NAME),
    _need("consent", YES_NO, "the performer agreed to the sizes being kept until delete_on"),
    Column("delete_on", DATE, help="empty: as many days after the return as the house keeps sizes"),
)
_HOLD = (
    _need("reference"),
    _need("for_whom", Type("text", most=160)),
    _need("use_from", DATE),
    _need("use_to", DATE),
    _need("strength", _words("pencil", "firm")),
    Column("purpose", _words("reshoot", "stills", "exhibition", "study"), help="empty: as its call"),
    Column("pieces", LIST, help="numbers, parted by |"),
    Column("sets", LIST, help="set codes, parted by |: all pieces of the set"),
    Column("call", CODE),
    Column("days_before", Type("whole", high=365)),
    Column("days_after", Type("whole", high=365)),
    Column("confirmed_by", NAME, help="a firm hold needs the name of who authorised it"),
    Column("lapses_on", DATE),
    Column("notice_days", Type("whole", high=365), help="notice for an early release"),
    Column("note", NOTE),
    Column("out", YES_NO, help="yes: the pieces have left already, on a loan"),
    Column("out_on", DATE),
    Column("taken_by", NAME),
)
_PLACE = (
    _need("code"),
    _need("name", Type("text", most=160)),
    _need(
        "kind",
        _words(
            "site", "room", "rack", "bay", "level", "shelf", "rail", "cabinet", "bench", "dock", "quarantine",
            "freezer", "away",
        ),
    ),
    Column("parent", CODE, help="code of the place it is part of"),
    Column("order", COUNT, help="walking order among its neighbours; empty: the order of the table"),
    Column("target_c", Type("number", high=40), help="degrees Celsius"),
    Column("target_rh", Type("whole", high=100), help="relative humidity, per cent"),
    Column("width", LENGTH),
    Column("measured_by", _words("hanging length", "shelf length"), help="by what its width is filled"),
    Column("takes_count", Type("whole", high=100_000), help="how many things it takes"),
    Column("needs_steps", YES_NO),
    Column("note", NOTE),
    Column("issue_label", YES_NO),
)  # fmt: skip
_CONTAINER = (
    _need("code"),
    _need("name", Type("text", most=160)),
    _need("kind", _words("trunk", "crate", "box", "moving rail")),
    Column("home", CODE),
    Column("place", CODE, help="where it stands now"),
    Column("state", STATES),
    Column("tare", WEIGHT, help="weight when empty"),
    Column("last_seen", DATE),
    Column("last_seen_by", NAME),
    Column("note", NOTE),
    Column("issue_label", YES_NO),
)
_BAND = (
    Column("role", CODE),
    Column("slot", CODE, help="a band is for a slot of a role, or for a kind"),
    Column("kind", KIND),
    _need("body_point", _words(*BODY_POINTS)),
    _need("garment_point", _words(*POINTS)),
    Column("min_ease", Type("ease", "cm"), help="garment minus body, at least"),
    Column("max_ease", Type("ease", "cm"), help="garment minus body, at most"),
    Column("min_sizes", Type("whole", low=-20, high=20), help="instead of min_ease: whole EU shoe sizes"),
    Column("max_sizes", Type("whole", low=-20, high=20)),
    Column("good_min", Type("ease", "cm"), help="sits well from here; inside the range above"),
    Column("good_max", Type("ease", "cm"), help="sits well up to here; give both or neither"),
    Column("uses_let_out", YES_NO),
    Column("source", Type("text", most=200)),
)
_SLOT = (
    _need("role"),
    _need("code"),
    _need("name", Type("text", most=160)),
    _need("kind", KIND),
    Column("order", COUNT),
    Column("required", YES_NO, help="empty: yes"),
    Column("match_group", CODE, help="slots of one group must agree in its value"),
    Column("fits_anybody", YES_NO, help="yes: a hand prop; no size is asked"),
    Column("materials", LIST),
    Column("weight", WEIGHT),
    Column("make_days", Type("whole", high=1000), help="working days to make one"),
)

_WEATHER = (
    Column("day", DATE, help="empty: every day of use and the weather cover"),
    _need("hour", Type("hour"), "the hour that begins then, as 06:00"),
    Column("temp", Type("temperature", "c"), help="air temperature in the shade"),
    Column("rh", Type("whole", high=100), help="relative humidity, per cent"),
    Column("sky", _words(*SKIES), help="what stands above the place"),
    Column("wind", Type("number", high=90), help="metres a second"),
    Column("said_by", NAME, help="who says so: which forecast, which meter"),
)
_HEAT_DRESS = (
    _need("role"),
    _need("list", _words(*LISTS), "iso or acgih; one list a call"),
    _need("dress", _words(*DRESSES), "a row of the list; creature: in no list"),
    Column("hood", YES_NO, help="hood or closed helmet"),
    Column("weight", WEIGHT, help="all that is worn and carried"),
    Column("work", _words(*RATE), help="how hard the work is, without what is carried"),
    Column("used", _words(*USED_WORDS), help="used to the heat; empty: new to it"),
    Column("days_before", Type("whole", high=60), help="days at work in the heat before the first day of use"),
)

_TABLES = (
    Table(
        "productions",
        "productions",
        (
            _need("code", Type("text", most=12)),
            _need("title", Type("text", most=160)),
            Column("year", Type("whole", low=1880, high=2200)),
            Column("world", NOTE),
            Column("closed", YES_NO, help="closed productions are hidden from visitors"),
        ),
        ("code",),
    ),
    Table(
        "roles",
        "roles",
        (
            _need("production"),
            _need("code", Type("text", most=12)),
            _need("name", NAME),
            Column("sort", _words("background", "principal", "creature")),
            Column("sets_made", Type("whole", high=10_000)),
        ),
        ("code",),
    ),
    Table("slots", "slots of roles", _SLOT, ("role", "code")),
    Table("places", "places", _PLACE, ("code",)),
    Table("containers", "trunks, crates, boxes, rails on wheels", _CONTAINER, ("code",)),
    Table("pieces", "pieces", _PIECE, ("number",), ("match",)),
    Table(
        "moves",
        "old moves of pieces and containers, oldest first",
        (
            _need("what", CODE, "code of a container or number of a piece"),
            _need("date", DATE),
            Column("to", CODE, help="empty: written nowhere"),
            Column("missing", YES_NO, help="yes: looked for and not found"),
            Column("by", NAME),
            Column("reason", Type("text", most=200)),
        ),
    ),
    Table("wrap", "a wrap list: what is kept, returned, a performer's own or disposed of", _WRAP, ("number",)),
    Table("calls", "calls", _CALL, ("reference",)),
    Table(
        "needs",
        "how many of each role a call needs",
        (_need("call"), _need("role"), _need("count", Type("whole", low=1, high=10_000))),
        ("call", "role"),
    ),
    Table("roster", "performers of a call with their sizes", _ROSTER, ("number",), needs_call=True),
    Table("weather", "weather by the hour at the place of a call", _WEATHER, needs_call=True),
    Table("heat_dress", "what roles wear in the heat of a call", _HEAT_DRESS, ("role",), needs_call=True),
    Table("holds", "holds", _HOLD, ("reference",)),
    Table("bands", "ease bands", _BAND),
    Table(
        "lead_times",
        "days to make what fills a slot",
        (_need("role"), _need("slot"), _need("days", Type("whole", low=1, high=1000), "working days")),
        ("role", "slot"),
    ),
    Table(
        "exclusion_rules",
        "exclusion rules",
        (
            _need("code", Type("text", most=40)),
            _need("words", Type("text", most=80)),
            Column("materials", LIST),
            Column("hazards", LIST),
            Column("kinds", LIST),
            Column("spared_kinds", LIST),
        ),
        ("code",),
    ),
)
TABLES: Mapping[str, Table] = {table.kind: table for table in _TABLES}
# A table of rules is JSON with its own reader (the shipping room's), so it has no columns here.
TRAVEL_RULES = "travel_rules"
KIND_WORDS: Mapping[str, str] = {**{k: t.words for k, t in TABLES.items()}, TRAVEL_RULES: "travel rules (JSON)"}
