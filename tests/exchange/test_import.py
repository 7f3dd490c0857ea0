"""Loading a stranger's tables: what is understood is stored by the rooms, what is not leaves nothing behind."""

import json
from typing import Any

import pytest
from django.apps import apps
from django.db import transaction

from catalog.access.duties import Duty
from catalog.care.models import BatteryPack, ConditionReport, HazardFinding, WearDecision
from catalog.core.errors import BadTable, NotAllowed
from catalog.core.models import HistoryLine
from catalog.exchange.actions import Outcome, import_table
from catalog.fitting.models import EaseBand, ExclusionRule, SizeSheet
from catalog.loans.models import Call, Hold, Loan, LoanLine, Wearer
from catalog.pieces.models import Piece, Production, Slot
from catalog.shipping.models import RuleRow
from catalog.storage.models import Label, MissingFile, Move, Place, Standing
from tests.cast import Cast

PRODUCTIONS = "code,title,year\nZ,Zephyr,1999\n"
ROLES = "production,code,name,sort\nZ,MIL,Miller,background\n"
SLOTS = "role,code,name,kind,match_group\nMIL,smock,smock,coat,\nMIL,clogs,clogs,boots,dye\n"
PLACES = "code,name,kind,parent\nR1-A,shelf A,shelf,R1\nR1,room one,room,\n"
TRUNKS = "code,name,kind,place,state,last_seen\nK1,big trunk,trunk,R1-A,,\nK2,lost trunk,trunk,,not found,2019-03-06\n"


@pytest.fixture
def load(cast: Cast) -> Any:
    """`load("pieces", csv_text)`: as the archivist; stores or raises BadTable."""

    def go(kind: str, text: str | bytes, **options: Any) -> Outcome:
        data = text if isinstance(text, bytes) else text.encode()
        by = options.pop("by", cast.wardrobe_lead if kind == "roster" else cast.archivist)
        return import_table(by=by, kind=kind, data=data, file_name=f"{kind}.csv", **options)

    return go


@pytest.fixture
def house(load: Any) -> Any:
    """A small archive of another world, loaded from tables."""
    for kind, text in (
        ("productions", PRODUCTIONS), ("roles", ROLES), ("slots", SLOTS), ("places", PLACES), ("containers", TRUNKS),
    ):  # fmt: skip
        load(kind, text)
    return load


def row_counts() -> dict[str, int]:
    tables = apps.get_app_config("catalog").get_models(include_auto_created=True)
    return {table._meta.label: table._base_manager.count() for table in tables}


def test_parents_may_come_after_their_children(house: Any) -> None:
    assert Place.objects.get(code="R1-A").parent == Place.objects.get(code="R1")
    assert Place.objects.get(code="K2").state == "not found"


def test_a_piece_brings_all_that_is_known_of_it(house: Any) -> None:
    house(
        "pieces",
        "number,name,production,role,slot,set,materials,weight,sleeve_cb,let_out_sleeve_cb,chest,match:dye,value,currency,"
        "valued_on,grade,wear,repair,repair_days,decided_on,decided_by,hazards,pack_chemistry,pack_energy_wh,place,last_seen,"
        "by,issue_label,parts,look\n"
        "Z-1,smock,Z,MIL,smock,M-1,linen|wool,1.5,82,3,44 in,7b,120,EUR,2019-05-01,3,wear after repair,hem,2,"
        "2024-02-01,keeper,lead=untested,dry,4.5,K1,2024-01-31,old list,yes,hood|cuff:left,wet\n",
    )
    piece = Piece.objects.get(number="Z-1")
    assert (piece.kind, piece.weight_g, piece.set.code, piece.look.name) == ("coat", 1500, "M-1", "wet")
    assert {m.point: (m.value_mm, m.let_out_mm, m.trust) for m in piece.measures.all()} == {
        "sleeve_cb": (820, 30, "listed"),
        "chest": (1118, None, "listed"),
    }
    assert {(m.group, m.value) for m in piece.matches.all()} == {("dye", "7b")}
    assert [(part.letter, part.name, part.side) for part in piece.parts.all()] == [
        ("a", "hood", ""),
        ("b", "cuff", "left"),
    ]
    decision = WearDecision.objects.get(piece=piece)
    assert (decision.decision, decision.repair_days, decision.decided_by_name) == ("wear after repair", 2, "keeper")
    assert HazardFinding.objects.get(piece=piece).state == "untested"
    assert BatteryPack.objects.get(piece=piece).state == "unknown"
    standing = Standing.objects.get(piece=piece)
    assert (standing.place.code, standing.home.code, str(standing.last_seen)) == ("K1", "K1", "2024-01-31")
    assert Label.objects.filter(piece=piece).count() == 1
    assert ConditionReport.objects.get(piece=piece).reported_at.date().isoformat() == "2024-01-31"
    first = HistoryLine.objects.get(subject_id="Z-1", seq=1)
    assert (first.verb, first.by_name, first.reason) == ("recorded", "old list", "from pieces.csv")


def test_what_is_not_written_stays_unknown(house: Any) -> None:
    house("pieces", "number,name,production,kind\nZ-9,thing,Z,other\n")
    piece = Piece.objects.get(number="Z-9")
    assert not WearDecision.objects.filter(piece=piece).exists()
    assert not piece.valuations.exists()
    assert not Standing.objects.filter(piece=piece).exists()


def test_a_piece_in_a_lost_trunk_is_not_found_with_it(house: Any) -> None:
    house("pieces", "number,name,production,kind,container,state\nZ-8,hat,Z,hat,K2,not found\n")
    standing = Standing.objects.get(piece__number="Z-8")
    assert (standing.state, standing.place.code) == ("not found", "K2")


PIECE = "number,name,production,kind,{}\nZ-1,smock,Z,coat,{}\nZ-2,smock,Z,coat,{}\n"
BAD = [
    pytest.param("pieces", "number,name\nZ-1,smock\n", "The column “production” is missing", id="missing column"),
    pytest.param("pieces", PIECE.format("weight", "1.2", "heavy"), "Row 3, weight: “heavy” is no weight", id="number"),
    pytest.param(
        "pieces", "number,name,production,kind\nZ-1,a,Z,coat\nz-1,b,Z,coat\n", "Row 3, number: z-1 stands in row 2",
        id="duplicate in the table",
    ),
    pytest.param("pieces", PIECE.format("place", "R1-A", "R9"), "Row 3, place: there is no place “R9”", id="place"),
    pytest.param("pieces", PIECE.format("chest", "104", "9"), "Row 3, chest: Chest, all round: 9 cm", id="chest 9 cm"),
    pytest.param("pieces", PIECE.format("note", "a", "=1+1"), "Row 3, note: the cell is a formula", id="formula"),
    pytest.param("pieces", PIECE.format("note", "a", "é").encode("latin-1"), "not written in UTF-8", id="encoding"),
    pytest.param("pieces", PIECE.format("slot", "", "smock"), "Row 3", id="slot without role"),
    pytest.param("pieces", PIECE.format("value", "", "10"), "a value needs its currency", id="value without currency"),
    pytest.param("pieces", PIECE.format("let_out_waist", "", "2"), "a reserve needs the measure", id="reserve alone"),
    pytest.param("pieces", PIECE.format("wear", "wear", "wear after repair"), "Row 3", id="repair without what"),
    pytest.param("pieces", PIECE.format("hazards", "", "lead"), "says no state; write hazard=state", id="no state"),
    pytest.param("pieces", PIECE.format("state", "", "in store"), "Row 3: Say where Z-2 is", id="in store nowhere"),
    pytest.param("pieces", PIECE.format("parts", "", "cuff:top"), "“top” is no side", id="no side"),
    pytest.param("places", "code,name,kind,parent\nQ,q,room,NOWHERE\n", "no place “NOWHERE”", id="unknown parent"),
    pytest.param("places", "code,name,kind,parent\nQ,q,room,P\nP,p,room,Q\n", "there is no place", id="ring"),
    pytest.param("places", "code,name,kind\nr1,again,room\n", "Row 2, code: r1 is there", id="code taken"),
    pytest.param("containers", "code,name,kind,place\nK3,k,trunk,\n", "say where it stands", id="trunk nowhere"),
    pytest.param("roles", "production,code,name\nY,X,x\n", "there is no production “Y”", id="unknown production"),
    pytest.param("slots", "role,code,name,kind\nMIL,smock,s,coat\n", "Row 2, code: smock is", id="slot twice"),
    pytest.param("lead_times", "role,slot,days\nMIL,hat,3\n", "Miller has no slot “hat”", id="unknown slot"),
    pytest.param("moves", "what,date,to\nK9,2020-01-01,R1\n", "neither a container nor a piece “K9”", id="no thing"),
    pytest.param(
        "bands", "kind,body_point,garment_point,min_ease\ncoat,girth,chest,1\n", "“girth” is not known", id="body point"
    ),
    pytest.param("bands", "body_point,garment_point,min_ease\nchest,chest,1\n", "for a slot of a role", id="no slot"),
    pytest.param("exclusion_rules", "code,words,kinds\nno_x,no x,spoon\n", "“spoon” is no kind", id="unknown kind"),
    pytest.param(
        "calls",
        "reference,title,production,received_on,where,first_day,last_day,load_on,back_on\n"
        "C1,t,Z,2026-01-01,here,2026-02-05,2026-02-01,2026-02-01,2026-02-09\n",
        "The last day comes on or after the first day",
        id="days out of order",
    ),
    pytest.param(
        "holds",
        "reference,for_whom,use_from,use_to,strength,pieces\nH1,x,2026-02-05,2026-02-01,pencil,Z-404\n",
        "there is no piece Z-404",
        id="hold of nothing",
    ),
    pytest.param("spoons", "a\n1\n", "“spoons” is no kind of table", id="unknown kind of table"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "text", "part"), BAD)
def test_a_bad_table_is_refused_with_row_and_field_and_leaves_nothing(
    house: Any, kind: str, text: str | bytes, part: str
) -> None:
    before = row_counts()
    with pytest.raises(BadTable) as told:
        house(kind, text)
    said = " ".join([told.value.sentence, *told.value.faults])
    assert part in said
    assert row_counts() == before


def test_a_number_that_is_taken_is_named(house: Any) -> None:
    house("pieces", "number,name,production,kind\nZ-1,smock,Z,coat\n")
    before = row_counts()
    with pytest.raises(BadTable) as told:
        house("pieces", "number,name,production,kind\nZ-2,smock,Z,coat\nz-1,smock,Z,coat\n")
    assert told.value.faults == ("Row 3, number: The number Z-1 is taken; numbers are never reused.",)
    assert row_counts() == before


def test_every_fault_is_told_at_once(house: Any) -> None:
    with pytest.raises(BadTable) as told:
        house("pieces", "number,name,production,kind,chest,weight\nZ-1,a,Z,coat,9,x\nZ-2,,Z,coat,,\n")
    assert len(told.value.faults) == 3
    assert told.value.sentence == "pieces.csv was not loaded: 3 faults. Nothing was stored."


def test_a_dry_run_shows_and_stores_nothing(house: Any) -> None:
    before = row_counts()
    outcome = house("pieces", "number,name,production,kind,place\nZ-1,smock,Z,coat,K1\n", dry_run=True)
    assert row_counts() == before
    assert outcome.sentence == "1 piece, 1 piece in store would be stored; nothing was."
    assert outcome.rows == (("Z-1", "smock", "Z", "coat", "K1"),)
    with pytest.raises(BadTable):
        house("pieces", "number,name,production,kind,place\nZ-1,smock,Z,coat,K9\n", dry_run=True)
    assert row_counts() == before


def test_a_dry_run_leaves_the_transaction_around_it_alone(house: Any) -> None:
    with transaction.atomic():
        house("productions", "code,title\nY,Yard\n", dry_run=True)
        house("productions", "code,title\nX,Xylophone\n")
    assert Piece.objects.count() == 0
    assert list(Production.objects.values_list("code", flat=True)) == ["X", "Z"]


CALL = (
    "reference,title,production,received_on,where,look,first_day,last_day,load_on,back_on\n"
    "C-1,again,Z,2026-01-05,the mill,wet,2026-02-02,2026-02-04,2026-01-30,2026-02-06\n"
)
ROSTER = (
    "number,name,days,card_height,card_weight,height,chest,foot_length,exclusions,consent,delete_on\n"
    "P1,Ann Other,first day,5 ft 9,150 lb,176,38 in,25,,yes,2026-05-07\n"
    "P2,Bo Body,2026-02-03|2026-02-04,180,80,,,,no_wool,no,2026-05-07\n"
)


def test_a_roster_brings_cards_tapes_days_and_exclusions(house: Any, cast: Cast) -> None:
    house("calls", CALL)
    house("exclusion_rules", "code,words,materials\nno_wool,no wool,wool\n")
    house("roster", ROSTER, call="C-1")
    first, second = Wearer.objects.order_by("number")
    assert [str(free.day) for free in first.free_days.all()] == ["2026-02-02"]
    assert [str(free.day) for free in second.free_days.all()] == ["2026-02-03", "2026-02-04"]
    card, taped = SizeSheet.objects.filter(wearer=first).order_by("layer")
    assert (card.layer, card.height_mm, card.weight_g) == ("card", 1753, 68039)
    assert (taped.height_mm, {v.point: v.value_mm for v in taped.values.all()}) == (
        1760,
        {"chest": 965, "foot_length": 250},
    )
    assert [rule.rule.code for rule in second.exclusions.all()] == ["no_wool"]
    lines = json.dumps(list(HistoryLine.objects.values_list("before", "after", "reason", "by_name")))
    assert "Other" not in lines
    assert "1753" not in lines


@pytest.mark.parametrize(
    ("change", "part"),
    [
        ((",yes,", ",no,"), "Ask the performer first"),
        (("first day", "2026-03-01"), "1 Mar 2026 is no day of C-1"),
        (("no_wool,no", "no_such,no"), "no exclusion “no_such”"),
        (("P2,", "p1,"), "Row 3, number: p1 stands in row 2 already"),
    ],
)
def test_a_bad_roster_stores_nobody(house: Any, change: tuple[str, str], part: str) -> None:
    house("calls", CALL)
    house("exclusion_rules", "code,words,materials\nno_wool,no wool,wool\n")
    with pytest.raises(BadTable) as told:
        house("roster", ROSTER.replace(*change), call="C-1")
    assert part in " ".join(told.value.faults)
    assert not Wearer.objects.exists()
    assert not SizeSheet.objects.exists()


def test_a_roster_needs_its_call_and_a_reader_of_sizes(house: Any, cast: Cast) -> None:
    with pytest.raises(BadTable, match="which call"):
        house("roster", ROSTER)
    with pytest.raises(BadTable, match="no call “C-9”"):
        house("roster", ROSTER, call="C-9")
    house("calls", CALL)
    with pytest.raises(NotAllowed):
        house("roster", ROSTER, call="C-1", by=cast.archivist)


@pytest.mark.parametrize("duty", [duty for duty in Duty if duty is not Duty.ARCHIVIST])
def test_tables_are_the_archivists(load: Any, cast: Cast, duty: Duty) -> None:
    with pytest.raises(NotAllowed):
        load("productions", PRODUCTIONS, by=cast.of(duty))


def test_what_left_before_is_a_loan_out_with_its_parts(house: Any) -> None:
    house("places", "code,name,kind\nAWAY,elsewhere,away\n")
    house(
        "pieces",
        "number,name,production,role,slot,place,state,grade\nZ-1,clogs,Z,MIL,clogs,AWAY,out,2\nZ-2,clogs,Z,MIL,clogs,R1-A,,\n",
    )
    table = (
        "reference,for_whom,use_from,use_to,strength,pieces,confirmed_by,out,out_on,taken_by\n"
        "H-1,museum,2026-01-01,2026-06-01,firm,{},registrar,yes,2026-01-01,registrar\n"
    )
    with pytest.raises(BadTable, match="not loaded"):
        house("holds", table.format("Z-1|Z-2"))
    assert not Hold.objects.exists()
    house("holds", table.format("Z-1"))
    line = LoanLine.objects.get()
    assert (line.piece.number, line.state, line.out_grade, line.loan.state) == ("Z-1", "out", 2, Loan.State.OUT)
    assert sorted(counted.part.side for counted in line.parts.all()) == ["left", "right"]
    assert Hold.objects.get().days.count() > 100


def test_two_firm_holds_of_a_piece_cannot_be_loaded(house: Any) -> None:
    house("pieces", "number,name,production,kind,place\nZ-1,a,Z,coat,R1-A\n")
    with pytest.raises(BadTable) as told:
        house(
            "holds",
            "reference,for_whom,use_from,use_to,strength,pieces,confirmed_by\n"
            "H-1,one,2026-01-01,2026-01-05,firm,Z-1,a\nH-2,two,2026-01-05,2026-01-09,firm,Z-1,b\n",
        )
    assert "H-1" in told.value.faults[0]
    assert not Hold.objects.exists()


def test_old_moves_add_to_the_past_only(house: Any) -> None:
    house(
        "moves",
        "what,date,to,missing,by,reason\nK2,2003-01-05,R1-A,,old hand,shelved\nK2,2019-03-06,,,old hand,leak\n"
        "K2,2020-01-10,,yes,auditor,not there\n",
    )
    trunk = Place.objects.get(code="K2")
    assert (trunk.state, trunk.parent) == ("not found", None)
    file = MissingFile.objects.get(container=trunk)
    assert (file.last_place.code, str(file.opened_on)) == ("R1-A", "2020-01-10")
    assert Move.objects.filter(container=trunk).count() == 2


def test_bands_count_in_lengths_or_in_sizes(house: Any) -> None:
    house(
        "bands",
        "role,slot,kind,body_point,garment_point,min_ease,max_ease,min_sizes,max_sizes\n"
        "MIL,smock,,chest,chest,-6,2 in,,\n,,boots,foot_length,shoe_eu,,,0,2\n",
    )
    smock, boots = EaseBand.objects.get(slot__code="smock"), EaseBand.objects.get(kind="boots")
    assert (smock.min_ease, smock.max_ease, smock.slot.code) == (-60, 51, "smock")
    assert (boots.min_ease, boots.max_ease, boots.scale, boots.kind) == (0, 2, "eu_shoe", "boots")
    with pytest.raises(BadTable, match="not loaded"):
        house("bands", "kind,body_point,garment_point,min_ease,min_sizes\nboots,foot_length,shoe_eu,1,1\n")


def test_lead_times_go_to_their_slots(house: Any) -> None:
    house("lead_times", "role,slot,days\nMIL,smock,15\n")
    assert Slot.objects.get(code="smock").make_days == 15


def test_a_rule_book_is_kept_whole_or_not_at_all(load: Any) -> None:
    rule = {
        "code": "R-1", "version": 1, "trigger": {"hazard.lead": "confirmed"}, "modes": ["road"], "verdict": "may",
        "reason": "r", "condition": "", "papers": [], "source": "s", "edition": "e", "jurisdiction": "j",
        "confidence": "H", "checked_on": None,
    }  # fmt: skip
    book = {"rules": [rule], "questions": {}, "usual_longest_mm": {}}
    with pytest.raises(BadTable) as told:
        load("travel_rules", json.dumps(book | {"rules": [rule, rule | {"code": "R-2", "verdict": "perhaps"}]}))
    assert "R-2" in told.value.sentence
    assert not RuleRow.objects.exists()
    with pytest.raises(BadTable, match="no rule book"):
        load("travel_rules", "[]")


def test_dates_move_with_the_shift_and_constants_too(house: Any) -> None:
    rules = {"columns": {"delete_on": {"value": "2026-05-07"}}}
    house("calls", CALL, shift_days=7)
    house("roster", "number,consent,card_height\nP1,yes,170\n", call="C-1", mapping=rules, shift_days=7)
    assert str(Call.objects.get().first_day) == "2026-02-09"
    assert str(SizeSheet.objects.get().delete_on) == "2026-05-14"
    assert ExclusionRule.objects.count() == 0
