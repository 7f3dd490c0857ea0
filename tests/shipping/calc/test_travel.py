"""The travel check as a whole: flips, open questions, and the properties it may never lose."""

from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.care.calc.hazards import BY_KIND, BY_MATERIAL
from catalog.care.calc.wild import GROUPS, LISTINGS
from catalog.shipping.calc.facts import (
    CHEMISTRIES,
    PLACEMENTS,
    Mode,
    Pack,
    PieceFacts,
    Trip,
    WildPart,
)
from catalog.shipping.calc.routes import WOOD, Route, trip_along
from catalog.shipping.calc.rules import RuleBook, rule_from_json
from catalog.shipping.calc.travel import CAUTION, judge, judge_all, summary
from catalog.shipping.calc.verdicts import Summary, Verdict, worst
from tests.shipping.calc.shipped import BOOK, RAW, RESHOOT, check, piece, with_hazard, with_pack

SEEN_ONLY = RuleBook(tuple(r for r in BOOK.rules if not r.from_memory), BOOK.questions, BOOK.usual_longest_mm)
NONE_SEEN = RuleBook(tuple(replace(r, confidence="M") for r in BOOK.rules), BOOK.questions, BOOK.usual_longest_mm)


# --- the order
def test_worst_wins_in_the_stated_order() -> None:
    order = [Verdict.MAY, Verdict.CONDITIONS, Verdict.SPECIALIST, Verdict.UNKNOWN, Verdict.STAYS]
    assert sorted(Verdict, key=lambda verdict: verdict.rank) == order
    for better, worse in combinations(order, 2):
        assert worst(better, worse) is worst(worse, better) is worse
    assert worst() is Verdict.MAY
    assert [verdict for verdict in Verdict if verdict.is_yes] == [Verdict.MAY, Verdict.CONDITIONS]


# --- one fact flips it, both ways
@pytest.mark.parametrize("mode", list(Mode))
def test_a_pack_that_swells_stays_and_a_sound_one_goes(mode: Mode) -> None:
    assert check(with_pack(), mode).verdict is Verdict.CONDITIONS
    assert check(with_pack(state="damaged"), mode).verdict is Verdict.STAYS
    assert check(with_pack(), mode).verdict is Verdict.CONDITIONS


@pytest.mark.parametrize("mode", list(Mode))
def test_a_fur_that_is_tested_and_named_goes(mode: Mode) -> None:
    old = piece("silk velvet", "old fur")
    assert check(old, mode).verdict is Verdict.STAYS
    tested = replace(old, hazards=(("old_poison", "cleared"),))
    assert check(tested, mode).verdict is Verdict.UNKNOWN  # the species is still not named and there is a border
    named = replace(old, hazards=(("old_poison", "cleared"), ("protected_species", "cleared")))
    assert check(named, mode).verdict is (Verdict.CONDITIONS if mode is Mode.SEA else Verdict.MAY)  # damp at sea
    assert check(replace(named, hazards=(("old_poison", "confirmed"),)), mode).verdict is Verdict.STAYS


def test_a_felt_hat_waits_for_its_test() -> None:
    hat = piece("fur felt", kind="hat")
    said = check(hat)
    assert said.verdict is Verdict.UNKNOWN
    assert [(q.fact, q.text) for q in said.questions] == [("hazard.mercury", "Does the felt hold mercury?")]
    assert "conservator" in said.questions[0].who
    assert check(replace(hat, hazards=(("mercury", "cleared"),))).verdict is Verdict.MAY
    assert check(replace(hat, hazards=(("mercury", "confirmed"),))).verdict is Verdict.STAYS


def test_electrics_ask_for_a_battery_and_the_answer_settles_it() -> None:
    lamp = piece("brass", "electrics", kind="lamp")
    assert check(lamp).verdict is Verdict.UNKNOWN
    assert [q.fact for q in check(lamp).questions] == ["hazard.battery"]
    assert check(replace(lamp, hazards=(("battery", "cleared"),))).verdict is Verdict.MAY
    found = replace(lamp, hazards=(("battery", "confirmed"),))
    assert {q.fact for q in check(found).questions} == {"pack.chemistry", "pack.state"}
    assert check(replace(lamp, packs=(Pack("dry", state="sound"),))).verdict is Verdict.CONDITIONS


def test_a_named_pack_nobody_described_is_unknown_everywhere() -> None:
    said = judge_all(piece("brass", "lithium-ion pack", kind="lamp"), RESHOOT, BOOK)
    assert {assessment.verdict for assessment in said.values()} == {Verdict.UNKNOWN}
    assert [q.fact for q in said[Mode.ROAD].questions] == ["pack.state"]
    assert {q.fact for q in said[Mode.CARGO_AIR].questions} >= {"pack.state", "pack.energy_wh", "pack.placed"}


def test_energy_not_read_goes_by_road_and_is_unknown_in_the_air() -> None:
    said = judge_all(with_pack(energy_wh=None), RESHOOT, BOOK)
    assert said[Mode.ROAD].verdict is Verdict.CONDITIONS
    assert said[Mode.PASSENGER_AIR].verdict is said[Mode.CARGO_AIR].verdict is Verdict.UNKNOWN
    assert [q.fact for q in said[Mode.PASSENGER_AIR].questions] == ["pack.energy_wh"]
    assert summary(said) is Summary.ROAD_ONLY
    assert summary(judge_all(with_pack(energy_wh=48), RESHOOT, BOOK)) is Summary.MAY_FLY


def test_one_bad_pack_among_good_ones_decides() -> None:
    good = Pack("lithium_ion", 48, "sound", "fitted")
    assert check(piece(packs=(good, good))).verdict is Verdict.CONDITIONS
    assert check(piece(packs=(good, replace(good, state="damaged")))).verdict is Verdict.STAYS
    assert check(piece(packs=(good, replace(good, state="unknown")))).verdict is Verdict.UNKNOWN


# --- default is no
@pytest.mark.parametrize("mode", list(Mode))
def test_a_hazard_no_rule_speaks_of_is_unknown(mode: Mode) -> None:
    said = check(with_hazard("ectoplasm"), mode)
    assert said.verdict is Verdict.UNKNOWN
    assert "For 'ectoplasm' no rule speaks" in said.reasons[0].text
    assert check(with_hazard("ectoplasm", "cleared"), mode).verdict is Verdict.MAY


def test_without_materials_nothing_is_a_yes() -> None:
    bare = piece()
    for mode in Mode:
        said = check(replace(bare, materials=frozenset()), mode)
        assert said.verdict is Verdict.UNKNOWN
        assert "material" in {q.fact for q in said.questions}
    assert judge(replace(bare, materials=frozenset()), Mode.ROAD, Trip(), RuleBook(())).verdict is Verdict.UNKNOWN


def test_a_trip_nobody_described_is_asked_about_only_where_it_matters() -> None:
    assert check(piece(), trip=Trip(year=2026)).verdict is Verdict.MAY
    said = check(piece(wear_decision="wear with limits"), trip=Trip(year=2026))
    assert (said.verdict, [q.fact for q in said.questions]) == (Verdict.UNKNOWN, ["trip.to_be_worn"])


def test_an_assumed_length_is_shown_as_assumed() -> None:
    said = check(piece(), "passenger_air")
    assert [reason.text for reason in said.reasons] == [
        "Its packed length was not measured; for 'coat' the house reckons with 900 mm."
    ]
    assert check(piece(longest_mm=800), "passenger_air").reasons == ()
    assert check(piece(kind="ladder"), "passenger_air").verdict is Verdict.UNKNOWN


# --- rows from memory
ROW: dict[str, Any] = RAW["rules"][0] | {"code": "T", "trigger": {"hazard.ectoplasm": "confirmed"}, "modes": ["road"]}


@pytest.mark.parametrize("verdict", list(Verdict))
def test_a_row_from_memory_never_answers_for_a_hazard(verdict: Verdict) -> None:
    row = ROW | {"verdict": verdict, "condition": "Ask."}
    remembered = RuleBook((rule_from_json(row | {"confidence": "M"}),))
    read = RuleBook((rule_from_json(row | {"confidence": "F"}),))
    assert check(with_hazard("ectoplasm"), book=read).verdict is verdict
    said = check(with_hazard("ectoplasm"), book=remembered)
    assert said.verdict is worst(verdict, Verdict.UNKNOWN)
    assert "from memory" in " ".join(reason.text for reason in said.reasons)


def test_a_row_that_needs_two_hazards_answers_for_neither() -> None:
    both = {"all": [{"hazard.ectoplasm": "confirmed"}, {"hazard.slime": "confirmed"}]}
    book = RuleBook((rule_from_json(ROW | {"trigger": both, "verdict": "conditions", "condition": "Ask."}),))
    facts = piece(hazards=(("ectoplasm", "confirmed"), ("slime", "confirmed")))
    assert check(facts, book=book).verdict is Verdict.UNKNOWN


# --- properties
MATERIALS = [row.phrase for row in BY_MATERIAL] + [
    "wool",
    "leather",
    "wax",
    "PLA",
    "polyurethane foam",
    "lithium-ion pack",
]
KINDS = [row.phrase for row in BY_KIND] + ["coat", "pole", "lamp", ""]
HAZARDS = sorted(
    {code for row in BY_MATERIAL for code, _ in row.hazards} | {"blanks", "fragile", "heat_load", "ectoplasm"}
)
OPEN = st.sampled_from(["untested", "suspected", "confirmed"])


def or_none(values: Any) -> Any:
    return st.none() | values


packs = st.builds(
    Pack,
    chemistry=or_none(st.sampled_from(CHEMISTRIES)),
    energy_wh=or_none(st.sampled_from([2.0, 48.0, 100.0, 130.0, 200.0])),
    state=st.sampled_from(["sound", "damaged", "unknown"]),
    placed=or_none(st.sampled_from(PLACEMENTS)),
    lithium_g=or_none(st.sampled_from([0.5, 2.0, 3.0])),
    charge_pct=or_none(st.sampled_from([20.0, 30.0, 60.0])),
)
wild_parts = st.builds(
    WildPart,
    group=or_none(st.sampled_from(GROUPS)),
    listing=or_none(st.sampled_from(LISTINGS)),
    obtained_year=or_none(st.sampled_from([1930, 1947, 2000])),
    share_pct=or_none(st.sampled_from([3.0, 10.0])),
    wood_g=or_none(st.sampled_from([800, 10_001])),
    farmed=or_none(st.booleans()),
)
countries = st.sampled_from(["GB", "FR", "DE", "US", "CH"])
routes = st.builds(
    Route, countries, countries, st.lists(countries, max_size=1).map(tuple), or_none(st.booleans()),
    or_none(st.sampled_from(WOOD)),
)  # fmt: skip
pieces = st.builds(
    PieceFacts,
    number=st.just("X-1"),
    kind=st.sampled_from(KINDS),
    materials=st.frozensets(st.sampled_from(MATERIALS), max_size=3),
    made_year=or_none(st.sampled_from([1800, 1960, 2010])),
    hazards=st.dictionaries(st.sampled_from(HAZARDS), OPEN | st.just("cleared"), max_size=2).map(
        lambda found: tuple(found.items())
    ),
    packs=st.lists(packs, max_size=2).map(tuple),
    wild=st.lists(wild_parts, max_size=1).map(tuple),
    values=or_none(st.sampled_from([9_000.0, 120_000.0])).map(lambda v: () if v is None else (("GBP", v), ("EUR", v))),
    held_elsewhere=st.booleans(),
    wear_decision=or_none(st.sampled_from(["wear", "wear with limits", "reference only", "not wearable"])),
    longest_mm=or_none(st.sampled_from([500, 1200, 1800, 2400])),
    weight_g=or_none(st.sampled_from([900, 25000, 90000])),
    is_prop_weapon=or_none(st.booleans()),
    magnet_mg_at_2_1m=or_none(st.sampled_from([1.0, 3.0, 20.0])),
    magnet_mg_at_4_6m=or_none(st.sampled_from([0.1, 6.0])),
)
trips = st.builds(trip_along, or_none(routes), to_be_worn=or_none(st.booleans()), year=st.just(2026))
modes = st.sampled_from(list(Mode))


@settings(max_examples=300)
@given(pieces, modes, trips, st.sampled_from(HAZARDS), OPEN)
def test_one_more_hazard_never_betters_a_verdict(
    facts: PieceFacts, mode: Mode, trip: Trip, code: str, state: str
) -> None:
    if code in facts.hazard_states() or (code == "battery" and facts.known_packs()):
        return  # that would be an answer to an open question, not a further hazard
    more = replace(facts, hazards=(*facts.hazards, (code, state)))
    assert check(more, mode, trip).verdict.rank >= check(facts, mode, trip).verdict.rank


@settings(max_examples=200)
@given(pieces, modes, trips, packs)
def test_one_more_pack_never_betters_a_verdict(facts: PieceFacts, mode: Mode, trip: Trip, pack: Pack) -> None:
    if not facts.packs and (facts.known_packs() or "battery" in facts.hazard_states()):
        return  # the pack would answer the open question whether there is one
    more = replace(facts, packs=(*facts.packs, pack))
    assert check(more, mode, trip).verdict.rank >= check(facts, mode, trip).verdict.rank


@settings(max_examples=200)
@given(pieces, modes, trips, st.sampled_from(MATERIALS))
def test_one_more_material_never_betters_a_known_verdict(
    facts: PieceFacts, mode: Mode, trip: Trip, material: str
) -> None:
    if not facts.materials:
        return  # naming the first material answers the question what it is made of
    more = replace(facts, materials=facts.materials | {material})
    assert check(more, mode, trip).verdict.rank >= check(facts, mode, trip).verdict.rank


@settings(max_examples=200)
@given(pieces, modes, trips, wild_parts)
def test_one_more_part_of_an_animal_or_plant_never_betters_a_verdict(
    facts: PieceFacts, mode: Mode, trip: Trip, part: WildPart
) -> None:
    if not facts.wild and "protected_species" in facts.hazard_states():
        return  # the part would answer the open question which species it is
    more = replace(facts, wild=(*facts.wild, part))
    assert check(more, mode, trip).verdict.rank >= check(facts, mode, trip).verdict.rank


FORGET_PIECE = ("made_year", "longest_mm", "weight_g", "magnet_mg_at_2_1m", "magnet_mg_at_4_6m", "wear_decision")
FORGET_PACK = {"chemistry": None, "energy_wh": None, "state": "unknown", "placed": None, "lithium_g": None}


def forget(facts: PieceFacts, trip: Trip, what: str) -> tuple[PieceFacts, Trip]:
    """The same piece and trip with one thing no longer known."""
    scope, _, name = what.partition(".")
    if scope == "trip":
        return facts, replace(trip, **{name: None})
    if scope == "wild":
        return replace(facts, wild=tuple(replace(part, **{name: None}) for part in facts.wild)), trip
    if what == "values":
        return replace(facts, values=()), trip
    if scope == "pack":
        gap: dict[str, Any] = {name: FORGET_PACK[name]}
        return replace(facts, packs=tuple(replace(pack, **gap) for pack in facts.packs)), trip
    if what == "materials":
        return replace(facts, materials=frozenset()), trip
    return replace(facts, **{what: None}), trip  # type: ignore[arg-type]


FORGET_TRIP = ("to_be_worn", "crosses_border", "leaves", "enters", "passes", "year")
FORGET_WILD = ("group", "listing", "obtained_year", "share_pct", "wood_g", "farmed")
GAPS = [
    *FORGET_PIECE,
    *("materials", "values"),
    *(f"trip.{name}" for name in FORGET_TRIP),
    *(f"pack.{name}" for name in FORGET_PACK),
    *(f"wild.{name}" for name in FORGET_WILD),
]


@settings(max_examples=600)
@given(pieces, modes, trips, st.sampled_from(GAPS))
def test_a_gap_in_what_is_known_never_makes_a_yes_or_a_better_answer(
    facts: PieceFacts, mode: Mode, trip: Trip, what: str
) -> None:
    """Forgetting why a piece stays leaves it unknown, which is still a no; everything else can only get worse.

    A usual length by kind is a house setting that speaks where nothing was measured, so lengths are left to pieces
    of a kind without one.
    """
    if what == "longest_mm" and BOOK.usual_longest(facts.kind) is not None:
        return
    before = check(facts, mode, trip).verdict
    after = check(*_ordered(forget(facts, trip, what), mode)).verdict
    assert after.rank >= min(before.rank, Verdict.UNKNOWN.rank)


def _ordered(known: tuple[PieceFacts, Trip], mode: Mode) -> tuple[PieceFacts, str, Trip]:
    return known[0], mode, known[1]


@settings(max_examples=300)
@given(pieces, modes, trips)
def test_rows_from_memory_never_better_a_verdict(facts: PieceFacts, mode: Mode, trip: Trip) -> None:
    shipped = check(facts, mode, trip).verdict.rank
    assert shipped >= check(facts, mode, trip, SEEN_ONLY).verdict.rank
    assert check(facts, mode, trip, NONE_SEEN).verdict.rank >= shipped


@settings(max_examples=100)
@given(pieces, modes, trips)
def test_facts_kept_beside_a_verdict_judge_the_same_again(facts: PieceFacts, mode: Mode, trip: Trip) -> None:
    again = PieceFacts.from_json(facts.as_json())
    assert again == facts
    assert check(again, mode, trip).as_json() == check(facts, mode, trip).as_json()


@settings(max_examples=100)
@given(pieces, modes, trips)
def test_every_no_says_why(facts: PieceFacts, mode: Mode, trip: Trip) -> None:
    said = check(facts, mode, trip)
    if said.verdict is Verdict.MAY:
        return
    assert said.reasons[0].verdict is said.verdict
    assert said.reasons[0].text.strip()
    assert bool(said.questions) or said.verdict is not Verdict.UNKNOWN


# --- what a page and a command are given
def test_the_plain_values_carry_the_documented_keys() -> None:
    values = check(with_pack(state="damaged")).as_json()
    assert list(values) == [
        "piece",
        "mode",
        "verdict",
        "reasons",
        "conditions",
        "papers",
        "questions",
        "rules",
        "sources",
    ]
    assert values["verdict"] == "stays"
    assert "PACK-DAMAGED-HOUSE@1" in values["rules"]


def test_cautions_stand_where_somebody_can_be_hurt() -> None:
    swollen = " ".join(check(with_pack(state="damaged")).conditions)
    for word in ("Do not charge", "isolate", "fire service", "licensed carrier"):
        assert word in swollen
    lead = " ".join(check(piece("lead")).conditions)
    assert "gloves" in lead
    assert "wash hands" in lead
    assert "trained and licensed" in CAUTION


def test_stored_facts_with_a_strange_field_are_refused() -> None:
    with pytest.raises(ValueError, match="colour"):
        PieceFacts.from_json({"number": "X", "colour": "red"})


@pytest.mark.parametrize(
    ("pack", "says"),
    [
        ({"chemistry": "plutonium"}, "'plutonium' is no chemistry"),
        ({"state": "sulking"}, "'sulking' is no state"),
        ({"placed": "orbit"}, "'orbit' is no placing"),
        ({"energy_wh": -1}, "energy_wh of a pack is -1"),
        ({"charge_pct": float("nan")}, "charge_pct of a pack is nan"),
    ],
)
def test_an_impossible_pack_is_refused(pack: dict[str, Any], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        Pack(**pack)
