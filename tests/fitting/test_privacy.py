"""Bodies and names: production reads none on page, table or JSON; after the day of deletion no table holds any."""

import json
import re
from collections.abc import Callable, Iterator
from datetime import date
from io import StringIO
from typing import Any

from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.urls import reverse

from catalog.core.models import HistoryLine
from catalog.core.units import bare_length, show_length, show_weight
from catalog.fitting import actions
from catalog.fitting.models import Exclusion, SizeSheet, SizeValue
from catalog.fitting.queries import dry_run
from catalog.loans.models import Wearer
from catalog.pieces.models import Piece
from tests.demo_world import DemoWorld

SignIn = Callable[[Any], Client]
CALL = "/fitting/calls/RS-2026-01/"


def cells() -> Iterator[tuple[str, str]]:
    """Every cell of every table of the database, as text, with the table's name."""
    tables = connection.introspection.table_names()
    assert len(tables) > 40
    for table in tables:
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            for row in cursor.fetchall():
                for value in row:
                    if value is not None:
                        yield table, str(value)


def bodies() -> dict[str, list[str]]:
    """Per performer every size that can stand in a text, written as pages and tables write it."""
    found: dict[str, list[str]] = {}
    for sheet in SizeSheet.objects.select_related("wearer").prefetch_related("values"):
        lengths = [value.value_mm for value in sheet.values.all()] + ([sheet.height_mm] if sheet.height_mm else [])
        words = [form for mm in lengths for form in (show_length(mm), show_length(mm, "in"), f"{mm} mm")]
        if sheet.weight_g:
            words += [show_weight(sheet.weight_g), show_weight(sheet.weight_g, "lb"), f"{sheet.weight_g} g"]
        found.setdefault(sheet.wearer.number, []).extend(words)
    return found


def names() -> set[str]:
    return set(Wearer.objects.exclude(name="").values_list("name", flat=True))


def test_afterwards_no_table_holds_a_name_or_a_size(demo_world: DemoWorld, as_user: SignIn) -> None:
    lead = as_user(demo_world.cast.wardrobe_lead)
    # Live with the sizes first: read, plan, lock, correct and look, so that whatever could keep them would.
    run = dry_run(demo_world.call)
    plan = actions.store_plan(by=demo_world.cast.wardrobe_lead, run=run)
    number = run.plan.assignments[0].wearer
    actions.lock_performer(by=demo_world.cast.wardrobe_lead, plan=plan, number=number, locked=True)
    for address in ("sizes/", f"sizes/{number}/", "dry-run/", "plan/"):
        assert lead.get(CALL + address).status_code == 200
    lead.post("/fitting/quick/", {"role": "DIV", "height": "181.7", "weight": "83.3"})
    people, sizes = names(), bodies()
    assert len(people) == len(sizes) == 24

    early, out = StringIO(), StringIO()
    call_command("forget_sizes", today="2026-12-27", stdout=early)
    assert "No size sheet is due" in early.getvalue()
    assert SizeSheet.objects.count() == 48
    call_command("forget_sizes", today="2026-12-28", stdout=out)
    assert out.getvalue().strip() == "RS-2026-01: 48 size sheets deleted."

    for table in (SizeSheet, SizeValue, Exclusion):
        assert not table.objects.exists()
    parts = {part for name in people for part in name.split()}
    words = people | parts | {size for of_one in sizes.values() for size in of_one}
    found = {(table, word) for table, cell in cells() for word in words if word in cell}
    assert found == set()
    # The plan stands on, by number alone.
    assert plan.lines.filter(wearer__number=number).exists()
    assert {wearer.number for wearer in demo_world.call.wearers.all()} == set(sizes)


def test_history_never_held_a_name_or_a_size(demo_world: DemoWorld) -> None:
    lead = demo_world.cast.wardrobe_lead
    wearer = demo_world.call.wearers.get(number="E03")
    actions.add_sheet(
        by=lead, wearer=wearer, layer="fitted", height_mm=1641, weight_g=59_500, values={"chest": 837}, consent=True
    )
    actions.set_exclusions(by=lead, wearer=wearer, codes=["no_wool_contact"])
    lines = [
        json.dumps([line.verb, line.before, line.after, line.reason, line.by_name])
        for line in HistoryLine.objects.filter(subject_kind="call")
    ]
    assert len(lines) > 24
    words = names() | {"1641", "59500", "837", "no_wool_contact", "no wool"}
    assert [(word, line) for line in lines for word in words if word in line] == []
    everywhere = " ".join(
        json.dumps([line.verb, line.before, line.after, line.reason]) for line in HistoryLine.objects.all()
    )
    assert [name for name in names() if name in everywhere] == []


def test_one_call_is_forgotten_and_a_name_without_sheets_goes_on_the_houses_day(demo_world: DemoWorld) -> None:
    wearer = demo_world.call.wearers.get(number="E05")
    other = demo_world.call.wearers.get(number="E06")
    wearer.sheets.all().delete()
    other.sheets.update(delete_on=date(2026, 8, 1))
    actions.forget_sizes(today=date(2026, 8, 1))
    wearer.refresh_from_db()
    other.refresh_from_db()
    # The call still runs: who was not taped yet keeps the name, whose day had come does not.
    assert (wearer.name, other.name) == ("Priya Lindqvale", "")
    assert not other.exclusions.exists()
    actions.forget_sizes(today=date(2026, 12, 28))
    wearer.refresh_from_db()
    assert wearer.name == ""


def test_production_reads_no_size_anywhere(demo_world: DemoWorld, as_user: SignIn) -> None:
    run = dry_run(demo_world.call, with_making=True)
    actions.store_plan(by=demo_world.cast.wardrobe_lead, run=run)
    production = as_user(demo_world.cast.production)
    pages = ("dry-run/", "dry-run/?making=yes&found=T14", "side-by-side/", "plan/", "plan.csv", "plan.json")
    answers = {address: production.get(CALL + address) for address in pages}
    texts = {address: body_of(answer) for address, answer in answers.items()}
    for name in ("desk:call", "loans:wearers"):
        texts[name] = body_of(production.get(reverse(name, args=["RS-2026-01"])))
    out = StringIO()
    call_command("plan", "RS-2026-01", "--json", stdout=out)
    texts["command"] = out.getvalue()
    sizes = {size for of_one in bodies().values() for size in of_one}
    # A bare number of a tape with its decimal, as a table would write it; whole numbers are too common to mean a body.
    bare = {bare_length(mm) for mm in SizeValue.objects.values_list("value_mm", flat=True)}
    for address, text in texts.items():
        assert [size for size in sizes if size in text] == [], address
        numbers = set(re.findall(r"\d+\.\d", text))
        assert not bare & numbers, address
        for word in ("chest", "hip", "inside leg", "too small", "too big", "wool", "latex", "no closed helmet"):
            assert word not in without_piece_words(text), (address, word)
    assert production.get(CALL + "sizes/").status_code == 403
    assert production.get("/fitting/kept/").status_code == 403


def body_of(answer: Any) -> str:
    assert answer.status_code == 200
    content = b"".join(answer.streaming_content) if answer.streaming else answer.content
    # The paths of drawn icons and moments to the microsecond are full of numbers that mean no body; a class is no word.
    drawn_or_moment = r"<svg.*?</svg>|\d{4}-\d\d-\d\dt[\d:.]+|class=\"[^\"]*\""
    return re.sub(drawn_or_moment, "", content.decode().lower(), flags=re.DOTALL)


def without_piece_words(text: str) -> str:
    """The text without names of pieces (a jumper may be of wool, that says nothing about a body) and secret tokens."""
    text = re.sub(r"[a-z0-9]{32,}", "", text)
    for name in set(Piece.objects.values_list("name", flat=True)):
        text = text.replace(name.lower(), "")
    return text


def test_the_plan_as_csv_and_json_names_pieces_and_days_to_order(demo_world: DemoWorld, as_user: SignIn) -> None:
    run = dry_run(demo_world.call, with_making=True)
    actions.store_plan(by=demo_world.cast.wardrobe_lead, run=run)
    costumer = as_user(demo_world.cast.set_costumer)
    kept = costumer.get(CALL + "plan.json").json()
    assert set(kept) == {
        "call", "made_at", "asked", "dressed", "whole_sets", "with_making", "gap", "lines", "make", "left_out",
        "mend_first",
    }  # fmt: skip
    assert (kept["asked"], kept["dressed"], len(kept["make"])) == (20, 20, 16)
    assert sum(line["piece"] is None for line in kept["lines"]) == 16
    suit = next(make for make in kept["make"] if make["slot"] == "suit")
    assert (suit["order_by"], suit["working_days"]) == ("2026-08-24", 15)
    table = body_of(costumer.get(CALL + "plan.csv")).splitlines()
    assert table[0] == "performer,name,role,slot,piece,to be made by,set,locked,first"
    assert len(table) == 1 + len(kept["lines"])


def test_production_reads_who_is_dressed_and_never_in_what(demo_world: DemoWorld, as_user: SignIn) -> None:
    """A piece tells what it takes, so who wears it tells a body: that stays with the wardrobe."""
    run = dry_run(demo_world.call, with_making=True)
    actions.store_plan(by=demo_world.cast.wardrobe_lead, run=run)
    production = as_user(demo_world.cast.production)
    kept = production.get(CALL + "plan.json").json()
    assert {tuple(line) for line in kept["lines"]} == {("performer", "name", "role")}
    assert {tuple(make) for make in kept["make"]} == {("role", "slot", "order_by", "working_days")}
    table = body_of(production.get(CALL + "plan.csv")).splitlines()
    assert (table[0], len(table)) == ("performer,name,role,dressed", 21)
    page = body_of(production.get(CALL + "plan/"))
    worn = {line.piece.lower() for line in run.plan.assignments if line.piece} - {
        row.piece.number.lower() for row in run.work
    }
    assert [number for number in worn if number in page] == []
    assert "which piece is whose stays with the wardrobe" in " ".join(page.split())


def test_by_cards_alone_is_the_wardrobe_leads_question(demo_world: DemoWorld, as_user: SignIn) -> None:
    production = as_user(demo_world.cast.production)
    told = [body_of(production.get(CALL + "dry-run/", asked)) for asked in ({}, {"sizes": "card"})]
    assert "13 of 20 can be dressed as recorded" in " ".join(told[1].split())
    assert told[0].count("piece missing") == told[1].count("piece missing")


def test_a_lock_that_cannot_hold_is_told_to_production_without_a_name(demo_world: DemoWorld, as_user: SignIn) -> None:
    lead = demo_world.cast.wardrobe_lead
    plan = actions.store_plan(by=lead, run=dry_run(demo_world.call))
    actions.lock_performer(by=lead, plan=plan, number="E01", locked=True)
    line = plan.lines.filter(wearer__number="E01", piece__isnull=False).first()
    assert line is not None
    SizeValue.objects.filter(sheet__wearer__number="E01").update(value_mm=400)
    page = as_user(demo_world.cast.production).get(CALL + "dry-run/")
    assert page.status_code == 409
    words = page.content.decode()
    assert "The wardrobe lead opens it on the plan." in words
    assert "E01" not in words
    assert "E01" in as_user(lead).get(CALL + "dry-run/").content.decode()
