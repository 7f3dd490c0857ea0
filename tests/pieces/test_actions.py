"""Writing pieces: one transaction, one line, a sentence for every refusal."""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from catalog.core import history
from catalog.core.errors import NotAllowed, Refused, WrongValues
from catalog.core.models import HistoryLine
from catalog.pieces import actions
from catalog.pieces.models import Material, Measure, Part, Piece
from catalog.pieces.queries import next_number, piece_by_number
from tests.cast import Cast
from tests.pieces import world

pytestmark = pytest.mark.django_db


def verbs(piece: Piece) -> list[str]:
    return [line.verb for line in history.lines_of(piece.subject)]


def newest(piece: Piece) -> HistoryLine:
    line = history.lines_of(piece.subject).first()
    assert line is not None
    return line


def test_it_records_a_piece_with_its_line(cast: Cast) -> None:
    film = world.production(cast)
    role = world.role(cast, film)
    slot = world.slot(cast, role)
    outfit = actions.add_set(by=cast.archivist, role=role, code="MIL-01")
    long_ago = datetime(1999, 5, 1, tzinfo=UTC)
    piece = world.piece(
        cast,
        film,
        role=role,
        slot=slot,
        outfit_set=outfit,
        materials=["Linen", "linen", " horn  buttons "],
        weight_g=900,
        packed_mm=(600, 400, 100),
        happened=long_ago,
        by_name="card index",
        source="old list",
    )
    line = newest(piece)
    assert (line.verb, line.happened, line.by_name, line.reason) == ("recorded", long_ago, "card index", "old list")
    assert line.after["slot"] == "coat"
    assert line.after["set"] == "MIL-01"
    assert line.after["materials"] == ["Linen", "horn buttons"]
    assert line.after["packed_mm"] == [600, 400, 100]
    assert sorted(row.name for row in piece.materials.all()) == ["Linen", "horn buttons"]
    assert not list(history.faults())


def test_a_pair_becomes_two_halves(cast: Cast) -> None:
    piece = world.piece(cast, world.production(cast), kind="boots", name="Mill boots")
    assert [(part.letter, part.side) for part in piece.parts.all()] == [("a", "left"), ("b", "right")]
    coat = world.piece(cast, piece.production, number="ABC-0002")
    assert not coat.parts.exists()


@pytest.mark.parametrize("number", ["abc-0001", "ABC-0001", "  Abc-0001 "])
def test_a_number_is_taken_in_any_case(cast: Cast, number: str) -> None:
    film = world.production(cast)
    world.piece(cast, film)
    with pytest.raises(Refused, match="never reused") as refused:
        world.piece(cast, film, number=number)
    assert refused.value.field == "number"
    assert Piece.objects.count() == 1


def test_the_database_too_refuses_a_number_in_another_case(cast: Cast) -> None:
    film = world.production(cast)
    world.piece(cast, film)
    with pytest.raises(IntegrityError), transaction.atomic():
        Piece.objects.create(number="abc-0001", name="x", kind="coat", production=film)


@pytest.mark.parametrize("number", ["", "A/1", "?", "-1", "..", "record"])
def test_a_number_must_stand_in_an_address(cast: Cast, number: str) -> None:
    with pytest.raises(Refused) as refused:
        world.piece(cast, world.production(cast), number=number)
    assert refused.value.field == "number"


def test_the_next_number_is_above_the_highest_and_fills_no_gap(cast: Cast) -> None:
    film, other = world.production(cast), world.production(cast, "AB")
    assert next_number(film) == "ABC-0001"
    assert next_number(film, replica=True) == "ABC-R001"
    for number in ("ABC-0002", "abc-0011", "ABC-R007", "ABC-0003b", "AB-0900", "ABC-12345678901234567890"):
        world.piece(cast, film, number=number)
    assert next_number(film) == "ABC-0012"
    assert next_number(film, replica=True) == "ABC-R008"
    assert next_number(other) == "AB-0901"
    world.piece(cast, film, number="ABC-10000")
    assert next_number(film) == "ABC-10001"


def test_it_names_every_wrong_field(cast: Cast) -> None:
    with pytest.raises(WrongValues) as wrong:
        world.piece(cast, world.production(cast), name=" ", multiple="odd", weight_g=3_000_000)
    assert set(wrong.value.faults) == {"name", "multiple", ""}
    assert wrong.value.faults["name"] == ("Name is missing.",)
    assert "between 1 g and 2,000 kg" in wrong.value.sentence
    assert Piece.objects.count() == 0
    assert not HistoryLine.objects.filter(subject_kind="piece").exists()


def test_role_slot_set_and_look_belong_together(cast: Cast) -> None:
    film, other = world.production(cast), world.production(cast, "XYZ")
    role, stranger = world.role(cast, film), world.role(cast, other, "SMI")
    slot = world.slot(cast, stranger)
    look = actions.add_look(by=cast.archivist, production=other, name="wet")
    with pytest.raises(WrongValues) as wrong:
        world.piece(cast, film, role=role, slot=slot, look=look)
    assert set(wrong.value.faults) == {"slot", "look"}
    with pytest.raises(WrongValues) as wrong:
        world.piece(cast, film, role=stranger)
    assert set(wrong.value.faults) == {"role"}
    with pytest.raises(WrongValues, match="choose the role too"):
        world.piece(cast, other, slot=slot)


def test_it_keeps_a_performers_name_out_of_the_history(cast: Cast) -> None:
    film = world.production(cast)
    piece = world.piece(cast, film, owner="performer's own", owner_name="Orla Test")
    actions.edit_piece(by=cast.archivist, piece=piece, owner_name="Orla Tester", note="her own scarf")
    assert "Orla" not in "".join(str((line.before, line.after)) for line in history.lines_of(piece.subject))
    hired = world.piece(cast, film, number="ABC-0002", owner="hired in", owner_name="Grey & Sons")
    assert newest(hired).after["owner_name"] == "Grey & Sons"
    with pytest.raises(WrongValues, match="Say who owns it"):
        world.piece(cast, film, number="ABC-0003", owner="hired in")


def test_it_edits_and_the_line_keeps_what_stood_there(cast: Cast) -> None:
    piece = world.piece(cast, world.production(cast), weight_g=900)
    changed = actions.edit_piece(
        by=cast.archivist, piece=piece, name="Miller's coat", weight_g=950, materials=["wool"], kind="coat"
    )
    assert changed.name == "Miller's coat"
    line = newest(piece)
    assert line.before == {"name": "Dust coat", "weight_g": 900, "materials": ["linen"]}
    assert line.after == {"name": "Miller's coat", "weight_g": 950, "materials": ["wool"]}
    count = len(verbs(piece))
    actions.edit_piece(by=cast.archivist, piece=piece, weight_g=950)
    assert len(verbs(piece)) == count, "nothing changed, so nothing is told"


@pytest.mark.parametrize("field", ["number", "recorded_at", "pk"])
def test_some_facts_never_change(cast: Cast, field: str) -> None:
    piece = world.piece(cast, world.production(cast))
    with pytest.raises(Refused, match="cannot be changed"):
        actions.edit_piece(by=cast.archivist, piece=piece, **{field: "9"})


def test_it_measures_and_corrects(cast: Cast) -> None:
    piece = world.piece(cast, world.production(cast))
    taken = {"taken_on": date(2020, 1, 2), "taken_by": "Bo"}
    actions.set_measure(by=cast.archivist, piece=piece, point="chest", value_mm=1040, let_out_mm=20, **taken)
    actions.set_measure(by=cast.archivist, piece=piece, point="chest", value_mm=1050, let_out_mm=20, **taken)
    line = newest(piece)
    assert line.verb == "measure corrected"
    assert line.before["measure"]["value_mm"] == 1040
    assert line.after["measure"]["value_mm"] == 1050
    actions.set_measure(by=cast.archivist, piece=piece, point="chest", not_measured_because="silk is shattered")
    row = piece.measures.get()
    assert (row.value_mm, row.not_measured_because) == (None, "silk is shattered")


@pytest.mark.parametrize(
    ("point", "value"), [("chest", 90), ("chest", 9000), ("shoe_eu", 20), ("head", 2000), ("palm", 10)]
)
def test_an_impossible_measure_is_refused_by_the_action_and_by_the_database(cast: Cast, point: str, value: int) -> None:
    piece = world.piece(cast, world.production(cast))
    with pytest.raises(Refused, match="cannot be right") as refused:
        actions.set_measure(by=cast.archivist, piece=piece, point=point, value_mm=value)
    assert refused.value.field == "value_mm"
    with pytest.raises(IntegrityError), transaction.atomic():
        Measure.objects.create(piece=piece, point=point, value_mm=value)
    with pytest.raises(IntegrityError), transaction.atomic():
        Measure.objects.bulk_create([Measure(piece=piece, point=point, value_mm=value)])
    assert verbs(piece) == ["recorded"]


def test_no_point_no_value_no_reason(cast: Cast) -> None:
    piece = world.piece(cast, world.production(cast))
    with pytest.raises(Refused, match="no point we measure"):
        actions.set_measure(by=cast.archivist, piece=piece, point="ear", value_mm=60)
    with pytest.raises(IntegrityError), transaction.atomic():
        Measure.objects.create(piece=piece, point="ear", value_mm=60)
    with pytest.raises(WrongValues, match="or why it was not measured"):
        actions.set_measure(by=cast.archivist, piece=piece, point="chest")
    with pytest.raises(WrongValues, match="let-out reserve"):
        actions.set_measure(by=cast.archivist, piece=piece, point="chest", value_mm=1000, let_out_mm=900)


def test_several_measures_are_kept_all_or_none(cast: Cast) -> None:
    piece = world.piece(cast, world.production(cast))
    rows = [{"point": "chest", "value_mm": 1000}, {"point": "waist", "value_mm": 9}, {"point": "hem", "value_mm": 9}]
    with pytest.raises(WrongValues) as wrong:
        actions.set_measures(by=cast.archivist, piece=piece, rows=rows)
    assert set(wrong.value.faults) == {"m_waist", "m_hem"}
    assert not piece.measures.exists()
    assert verbs(piece) == ["recorded"]


def test_parts_and_matches(cast: Cast) -> None:
    piece = world.piece(cast, world.production(cast))
    actions.add_part(by=cast.archivist, piece=piece, letter="a", name="belt")
    with pytest.raises(WrongValues, match="part of this letter"):
        actions.add_part(by=cast.archivist, piece=piece, letter="A", name="badge")
    assert Part.objects.count() == 1
    actions.set_match(by=cast.archivist, piece=piece, group="ring", value="A")
    actions.set_match(by=cast.archivist, piece=piece, group="Ring", value="B")
    assert [(row.group, row.value) for row in piece.matches.all()] == [("ring", "B")]
    assert newest(piece).before == {"match": {"ring": "A"}}
    actions.set_match(by=cast.archivist, piece=piece, group="ring", value="B")
    assert verbs(piece) == ["match set", "match set", "part added", "recorded"]


def test_values_are_only_added_and_only_by_who_may(cast: Cast) -> None:
    piece = world.piece(cast, world.production(cast))
    day = date(2020, 3, 4)
    actions.value_piece(by=cast.archivist, piece=piece, amount="560", currency="eur", valued_on=day)
    actions.value_piece(by=cast.archivist, piece=piece, amount=Decimal("600.50"), currency="EUR", valued_on=day)
    assert [row.amount for row in piece.valuations.all()] == [Decimal("600.50"), Decimal(560)]
    assert newest(piece).before["value"] == "560.00"
    for person in (cast.production, cast.wardrobe_lead, cast.visitor):
        with pytest.raises(NotAllowed):
            actions.value_piece(by=person, piece=piece, amount=1, currency="EUR", valued_on=day)
    with pytest.raises(Refused, match="three letters"):
        actions.value_piece(by=cast.archivist, piece=piece, amount=1, currency="E1R", valued_on=day)
    with pytest.raises(WrongValues, match="not below 0"):
        actions.value_piece(by=cast.archivist, piece=piece, amount=-1, currency="EUR", valued_on=day)


def test_only_the_archivist_records(cast: Cast) -> None:
    film = world.production(cast)
    piece = world.piece(cast, film)
    for person in (cast.wardrobe_lead, cast.production, cast.set_costumer, cast.visitor):
        for act in (
            lambda by: actions.record_piece(by=by, number="ABC-0009", name="x", kind="coat", production=film),
            lambda by: actions.edit_piece(by=by, piece=piece, name="x"),
            lambda by: actions.set_measure(by=by, piece=piece, point="chest", value_mm=1000),
            lambda by: actions.add_part(by=by, piece=piece, letter="c", name="x"),
            lambda by: actions.set_match(by=by, piece=piece, group="a", value="b"),
            lambda by: actions.add_picture(by=by, piece=piece, data=world.picture()),
            lambda by: actions.add_production(by=by, code="NEW", title="New"),
            lambda by: actions.add_look(by=by, production=film, name="wet"),
        ):
            with pytest.raises(NotAllowed):
                act(person)
    assert verbs(piece) == ["recorded"]


def test_productions_roles_and_slots_have_lines_of_their_own(cast: Cast) -> None:
    film = world.production(cast, world="A mill, 1890")
    role = world.role(cast, film)
    actions.add_slot(
        by=cast.archivist, role=role, code="hat", name="Hat", kind="hat", usual_materials=["straw"], match_group="dye"
    )
    actions.edit_production(by=cast.archivist, production=film, closed=True, year=None)
    lines = [(line.verb, line.before, line.after) for line in history.lines_of(film.subject)]
    assert lines[0] == ("corrected", {"year": 2001, "closed": False}, {"year": None, "closed": True})
    assert [line.verb for line in history.lines_of(role.subject)] == ["slot added", "added"]
    with pytest.raises(Refused, match="cannot be changed"):
        actions.edit_production(by=cast.archivist, production=film, code="DEF")
    with pytest.raises(Refused, match="cannot be a code"):
        world.production(cast, "A B")
    with pytest.raises(WrongValues, match="production of this code"):
        world.production(cast, "abc")


def test_a_material_is_one_in_any_case_and_knows_its_family(cast: Cast) -> None:
    first = actions.material("Glass fibre")
    assert actions.material(" glass  FIBRE ") == first
    assert first.family == "hard plastic"
    assert Material.objects.count() == 1


def test_a_field_that_is_not_listed_enters_no_line(cast: Cast) -> None:
    piece = world.piece(cast, world.production(cast))
    with transaction.atomic(), pytest.raises(ValueError, match="may not stand in a history line"):
        history.record(cast.archivist, "x", piece.subject, after={"chest_of_performer": 1})


def test_it_finds_by_number_in_any_case(cast: Cast) -> None:
    piece = world.piece(cast, world.production(cast))
    assert piece_by_number(" abc-0001 ") == piece
    assert piece_by_number("ABC-0002") is None


def test_adding_many_materials_takes_few_queries(cast: Cast, django_assert_max_num_queries: Any) -> None:
    film = world.production(cast)
    names = [f"cloth {n}" for n in range(12)]
    world.piece(cast, film, materials=names)
    with django_assert_max_num_queries(26):
        world.piece(cast, film, number="ABC-0002", materials=names)
