"""Finding pieces: words, filters, places with everything under them, and the table of exactly what is shown."""

import csv
import io
from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

import pytest
from django.test import Client

from catalog.access.duties import Duty
from catalog.care.report_actions import MarkSeen, report_condition
from catalog.finding.queries import matching
from catalog.pieces.actions import record_piece
from catalog.pieces.models import Piece, Production
from catalog.storage.actions import add_place, move_piece
from catalog.storage.models import Place
from catalog.storage.queries import pieces_under
from tests.demo_world import FOLDER, DemoWorld

As = Callable[[Any], Client]


def numbers(client: Client, query: str) -> list[str]:
    """The numbers of the table under a query, in order."""
    answer = client.get(f"/find/table.csv?{query}")
    assert answer.status_code == 200, answer.content
    rows = csv.DictReader(io.StringIO(b"".join(answer.streaming_content).decode()))  # type: ignore[attr-defined]
    return [row["number"] for row in rows]


def test_words_and_filters_agree_with_plain_sql(demo_world: DemoWorld, as_user: As) -> None:
    client = as_user(demo_world.cast.archivist)
    helmets = set(Piece.objects.filter(kind="helmet").values_list("number", flat=True))
    assert set(numbers(client, "kind=helmet")) == helmets
    wool = set(Piece.objects.filter(materials__name="wool").values_list("number", flat=True))
    assert set(numbers(client, "material=wool")) == wool
    both = set(Piece.objects.filter(materials__name="wool", role__code="CUS").values_list("number", flat=True))
    assert set(numbers(client, "material=wool&role=CUS")) == both
    assert len(numbers(client, "")) == Piece.objects.count() == 263


def test_every_word_must_stand_somewhere(demo_world: DemoWorld) -> None:
    found = set(matching(Piece.objects.all(), "oilskin  COAT").values_list("name", flat=True))
    assert found == {"oilskin coat"}
    assert not matching(Piece.objects.all(), "oilskin zeppelin").exists()
    assert matching(Piece.objects.all(), "LHS-0035").get().number == "LHS-0035"


@pytest.mark.parametrize("text", ["o'brien", "-gold", "50%", "title:", '"', "_", "\\", "élan"])
def test_awkward_words_are_only_words(text: str, demo_world: DemoWorld, as_user: As) -> None:
    assert as_user(demo_world.cast.visitor).get("/find/", {"text": text}).status_code == 200


def test_a_place_is_searched_with_everything_under_it(demo_world: DemoWorld, as_user: As) -> None:
    client = as_user(demo_world.cast.archivist)
    room = demo_world.place("TB")
    inside: list[int] = []
    level = [room.pk]
    while level:
        inside += level
        level = list(Place.objects.filter(parent__in=level).values_list("pk", flat=True))
    expected = set(Piece.objects.filter(standing__place__in=inside).values_list("number", flat=True))
    assert expected
    assert set(numbers(client, "place=TB")) == expected
    assert set(numbers(client, "place=t12")) == set(
        Piece.objects.filter(standing__place__code="T12").values_list("number", flat=True)
    )


def test_wear_state_grade_and_unseen(demo_world: DemoWorld, as_user: As) -> None:
    client = as_user(demo_world.cast.archivist)
    assert len(numbers(client, "wear=none")) == 8
    assert len(numbers(client, "wear=not+wearable")) == 5
    assert len(numbers(client, "grade=5")) == 3
    assert len(numbers(client, "state=not+found")) == 7
    assert set(numbers(client, "unseen=2020-01-01")) == set(numbers(client, "state=not+found"))


def test_sorting_never_loses_or_doubles_a_piece_over_the_pages(demo_world: DemoWorld, as_user: As) -> None:
    client = as_user(demo_world.cast.archivist)
    for sort in ("number", "name", "seen", "-seen", "place"):
        seen = [
            piece.number
            for number in range(1, 7)
            for piece in client.get("/find/", {"sort": sort, "page": number}).context["page"]
        ]
        assert len(seen) == len(set(seen)) == 263, sort


@pytest.mark.parametrize(
    ("query", "sentence"),
    [
        ("place=ZZ-9", "There is no place"),
        ("production=QQQ", "none of the answers"),
        ("unseen=yesterday", "that is no day"),
        ("place=P00042Z", "check character"),
    ],
)
def test_a_wrong_filter_is_told_and_nothing_is_searched(
    query: str, sentence: str, demo_world: DemoWorld, as_user: As
) -> None:
    client = as_user(demo_world.cast.archivist)
    page = client.get(f"/find/?{query}")
    assert sentence in page.content.decode()
    assert list(page.context["page"]) == []
    assert client.get(f"/find/table.csv?{query}").status_code == 400


def test_the_chips_take_one_filter_off(demo_world: DemoWorld, as_user: As) -> None:
    page = as_user(demo_world.cast.archivist).get("/find/?kind=helmet&state=in+store")
    chips = {chip["word"]: chip["remove_url"] for chip in page.context["chips"]}
    assert chips["State: in store"] == "/find/?kind=helmet"


@pytest.mark.parametrize(
    "query", ["look=storm", "slot=boots", "kind=boots&look=storm&wear=wear", "role=DIV&material=wool"]
)
def test_every_filter_shows_its_chip_on_the_page(query: str, demo_world: DemoWorld, as_user: As) -> None:
    page = as_user(demo_world.cast.visitor).get(f"/find/?{query}")
    assert page.status_code == 200
    assert len(page.context["chips"]) == query.count("=")
    assert page.context["page"].paginator.count > 0


def test_a_piece_without_a_place_is_listed_as_never_seen(demo_world: DemoWorld, as_user: As) -> None:
    record_piece(
        by=demo_world.cast.archivist,
        number="NBR-0900",
        name="shirt nobody has put away",
        kind="shirt",
        production=demo_world.piece("NBR-0001").production,
    )
    for query in ("text=NBR-0900", "sort=seen", "unseen=2026-01-01&text=shirt+nobody", "wear=none"):
        page = as_user(demo_world.cast.archivist).get(f"/find/?{query}")
        assert page.status_code == 200
        assert "NBR-0900" in page.content.decode()
    assert "never" in as_user(demo_world.cast.archivist).get("/find/?text=NBR-0900").content.decode()


def test_empty_says_why(demo_world: DemoWorld, as_user: As) -> None:
    page = as_user(demo_world.cast.archivist).get("/find/?text=zeppelin").content.decode()
    assert "No piece matches" in page
    assert "Nothing is recorded yet" not in page


@pytest.mark.parametrize("who", [Duty.ARCHIVIST, Duty.VISITOR])
def test_a_page_takes_a_fixed_number_of_queries(
    who: Duty, demo_world: DemoWorld, as_user: As, django_assert_max_num_queries: Any
) -> None:
    client = as_user(demo_world.cast.of(who))
    with django_assert_max_num_queries(22) as small:
        client.get("/find/?place=T12")
    with django_assert_max_num_queries(22) as large:
        client.get("/find/")
    assert abs(len(large) - len(small)) <= 2


def test_visitors_see_no_closed_production_and_take_no_table(demo_world: DemoWorld, as_user: As) -> None:
    closed = Piece.objects.filter(production__code="TTR").count()
    assert closed
    demo_world.piece("TTR-0001").production.__class__.objects.filter(code="TTR").update(closed=True)
    visitor, staff = as_user(demo_world.cast.visitor), as_user(demo_world.cast.set_costumer)
    assert visitor.get("/find/").context["page"].paginator.count == 263 - closed
    assert visitor.get("/find/table.csv").status_code == 403
    assert visitor.get("/pieces/TTR-0001/").status_code == 404
    assert staff.get("/find/").context["page"].paginator.count == 263


def test_a_formula_in_a_name_is_defused_in_the_table(demo_world: DemoWorld, as_user: As) -> None:
    Piece.objects.filter(number="LHS-0001").update(name="=HYPERLINK(1)")
    answer = as_user(demo_world.cast.archivist).get("/find/table.csv?text=LHS-0001")
    assert "'=HYPERLINK(1)" in b"".join(answer.streaming_content).decode()  # type: ignore[attr-defined]


@pytest.mark.parametrize("typed", ["lhs0035", "LHS 0035", "lhs-0035", "LHS0035"])
def test_a_number_is_found_however_it_is_typed(typed: str, demo_world: DemoWorld, as_user: As) -> None:
    assert "LHS-0035" in numbers(as_user(demo_world.cast.archivist), urlencode({"text": typed}))
    assert numbers(as_user(demo_world.cast.archivist), urlencode({"text": "lhs0035"})) == ["LHS-0035"]


@pytest.mark.parametrize("typed", ["t14", "T 14", "T-14", "trunk 14", "Trunk 014", "14"])
def test_a_trunk_stands_at_the_top_however_it_is_typed(typed: str, demo_world: DemoWorld, as_user: As) -> None:
    page = as_user(demo_world.cast.archivist).get("/find/", {"text": typed})
    assert [(thing["cut"], thing["number"], thing["state"]) for thing in page.context["things"]] == [
        ("trunk", "T14", "not found")
    ]
    assert 'href="/storage/T14/"' in page.content.decode()


def test_places_stand_there_by_code_and_by_name(demo_world: DemoWorld, as_user: As) -> None:
    client = as_user(demo_world.cast.visitor)
    for typed, code in (("tbh12", "TB-H1-2"), ("trunk bay", "TB"), ("TB-H1-2", "TB-H1-2")):
        assert [thing["number"] for thing in client.get("/find/", {"text": typed}).context["things"]] == [code]
    assert client.get("/find/", {"text": "oilskin"}).context["things"] == []
    assert client.get("/find/").context["things"] == []


def test_in_a_trunk_looks_there_with_what_lies_deeper(demo_world: DemoWorld, as_user: As) -> None:
    by, client = demo_world.cast.archivist, as_user(demo_world.cast.archivist)
    box = add_place(by=by, code="BX9", name="box", kind="box", parent=demo_world.place("T12"))
    move_piece(by=by, piece=demo_world.piece("LHS-0001"), to=box)
    inside = {row.number for row in pieces_under(demo_world.place("T12"))}
    assert "LHS-0001" in inside
    for typed in ("in trunk 12", "in T12", "IN t 12"):
        assert set(numbers(client, urlencode({"text": typed}))) == inside, typed
    belts = {row.number for row in pieces_under(demo_world.place("T12")).filter(kind="belt")}
    assert set(numbers(client, urlencode({"text": "belt in trunk 12"}))) == belts != set()
    assert set(numbers(client, urlencode({"place": "trunk 12"}))) == inside
    # Words that name no place stay words.
    assert set(numbers(client, urlencode({"text": "knife in sheath"}))) == set(
        matching(Piece.objects.all(), "knife in sheath").values_list("number", flat=True)
    )


def test_what_may_be_several_places_is_asked(demo_world: DemoWorld, as_user: As) -> None:
    add_place(by=demo_world.cast.archivist, code="TR-12", name="other trunk", kind="trunk")
    page = as_user(demo_world.cast.archivist).get("/find/?place=trunk+12").content.decode()
    assert "“trunk 12” may be TR-12, T12. Type one of these codes." in page


def test_a_visitor_is_led_to_no_piece_of_a_closed_production(demo_world: DemoWorld, as_user: As) -> None:
    Production.objects.filter(code="TTR").update(closed=True)
    for typed in ("TTR-0001", "ttr0001"):
        assert as_user(demo_world.cast.visitor).get("/find/", {"text": typed}).context["things"] == []
        assert numbers(as_user(demo_world.cast.archivist), urlencode({"text": typed})) == ["TTR-0001"]


def test_which_die_first_is_answered_by_material_and_condition(demo_world: DemoWorld, as_user: As) -> None:
    with (FOLDER / "pieces.csv").open(encoding="utf-8", newline="") as lines:
        rows = {row["no"]: row for row in csv.DictReader(lines)}
    doomed = {n for n, row in rows.items() if "polyurethane" in row["materials"] or "foam latex" in row["materials"]}
    client = as_user(demo_world.cast.archivist)
    found = numbers(client, "ask=short-lived&sort=grade")
    assert set(found) == doomed
    # The two with crumbled soles and torn foam come first: the worst grade.
    worst = [number for number in found if rows[number]["grade"] == "5"]
    assert found[: len(worst)] == worst
    assert "LHS-0057" in worst
    page = client.get("/find/?ask=short-lived&sort=grade").content.decode()
    assert "Question: Which will die first?" in page
    assert "nobody recorded" in page


def test_what_must_not_be_washed_is_what_was_on_screen(demo_world: DemoWorld, as_user: As) -> None:
    client, by = as_user(demo_world.cast.archivist), demo_world.cast.archivist
    kept = set(Piece.objects.filter(look__name="storm").values_list("number", flat=True))
    assert "LHS-0144" not in kept
    assert set(numbers(client, "ask=keep-the-look")) == kept
    seen = MarkSeen(zone="front hem", word="salt", on_screen=True)
    stain = MarkSeen(zone="collar", word="stain")
    report_condition(by=by, piece=demo_world.piece("LHS-0144"), grade=2, marks=[seen])
    report_condition(by=by, piece=demo_world.piece("LHS-0145"), grade=2, marks=[stain])
    assert set(numbers(client, "ask=keep-the-look")) == {*kept, "LHS-0144"}
    assert "not washable for that" in client.get("/find/?ask=keep-the-look").content.decode()
