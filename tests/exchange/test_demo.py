"""The demo, loaded through the import that an archive uses for its own tables."""

import csv
import json
from collections import Counter
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.db.models import Q

from catalog.access.duties import Duty
from catalog.care.models import BatteryPack, HazardFinding, WearDecision
from catalog.core import history, house
from catalog.core.errors import BadTable, Refused
from catalog.core.models import HistoryLine
from catalog.exchange.demo_actions import load_demo, mark
from catalog.exchange.drawing_actions import draw_missing
from catalog.fitting.models import EaseBand, Exclusion, SizeSheet
from catalog.fitting.queries import dry_run
from catalog.loans.models import Call, Hold, Loan, LoanLine, Wearer, WearerDay
from catalog.pieces.models import Part, Piece, Valuation
from catalog.storage.models import Label, MissingFile, Move, Place, Standing
from tests.cast import Cast
from tests.demo_world import FOLDER, DemoWorld


def table(name: str) -> list[dict[str, str]]:
    with (FOLDER / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def test_every_piece_stands_where_the_tables_say(demo_world: DemoWorld) -> None:
    assert Piece.objects.count() == 263
    assert Counter(Standing.objects.values_list("state", flat=True)) == {"in store": 252, "not found": 7, "out": 4}
    for row in table("pieces.csv"):
        standing = Standing.objects.select_related("place", "home").get(piece__number=row["no"])
        where = row["container"] or row["location"]
        assert standing.place is not None
        assert standing.place.code == where
        assert str(standing.last_seen) == row["last_seen"]
        assert (standing.home.code if standing.home else None) == (None if row["status"] == "on loan" else where)


def test_every_measure_of_the_table_is_kept_in_millimetres(demo_world: DemoWorld) -> None:
    """Worked out anew from the table: 1 cm = 10 mm, 1 inch = 25.4 mm, a Paris point = 20/3 mm (ISO/TS 19407)."""
    names = {"hmin": "height_min", "hmax": "height_max", "wmin": "waist_min", "wmax": "waist_max"}
    names |= {"inseam": "inside_leg", "sleeve": "sleeve_cb", "eu": "shoe_eu", "inch": "palm"}
    names |= {name: name for name in ("chest", "waist", "head", "collar", "length")}
    factor = {"eu": 20 / 3, "inch": 25.4}
    expected = {
        (row["no"], ours): round(float(row[theirs]) * factor.get(theirs, 10))
        for row in table("pieces.csv")
        for theirs, ours in names.items()
        if row[theirs]
    }
    stored = {
        (m.piece.number, m.point): m.value_mm
        for piece in Piece.objects.prefetch_related("measures")
        for m in piece.measures.all()
    }
    assert expected.items() <= stored.items()
    assert set(stored) - set(expected) == {
        (row["no"], "length") for row in table("pieces.csv") if "long_" in row["hazards"]
    }


def test_facts_are_taken_and_verdicts_are_not(demo_world: DemoWorld) -> None:
    hazards = set(HazardFinding.objects.values_list("hazard", flat=True))
    assert not {one for one in hazards if "ship" in one or "lithium" in one or "long" in one}
    untested = Counter(HazardFinding.objects.filter(state="untested").values_list("hazard", flat=True))
    assert untested == {"mercury": 4, "old_poison": 2, "protected_species": 2}
    packs = {p.piece.number: (p.chemistry, p.state, p.energy_wh) for p in BatteryPack.objects.select_related("piece")}
    listed = {row["no"]: row["hazards"] for row in table("pieces.csv") if "lithium" in row["hazards"]}
    assert set(packs) == set(listed)
    for number, words in listed.items():
        assert packs[number][:2] == ("lithium_ion", "damaged" if "damaged" in words else "sound")
    assert [int(pack[2]) for pack in packs.values() if pack[2] is not None] == [48]


def test_no_decision_is_made_up(demo_world: DemoWorld) -> None:
    decided = {row["no"]: row["wear"] for row in table("pieces.csv") if row["wear"]}
    stored = dict(WearDecision.objects.values_list("piece__number", "decision"))
    assert stored == decided
    assert len(decided) == 255
    assert set(WearDecision.objects.values_list("decided_by_name", flat=True)) == {"archivist, list of 2025"}
    assert Valuation.objects.count() == sum(bool(row["value_eur"]) for row in table("pieces.csv"))
    assert set(Valuation.objects.values_list("basis", flat=True)) == {"listed"}


def test_pairs_have_halves_and_caps_a_badge(demo_world: DemoWorld) -> None:
    sides = Counter(Part.objects.values_list("piece__kind", "side"))
    pairs = Counter(Piece.objects.filter(kind__in=["boots", "gloves"]).values_list("kind", flat=True))
    assert sides == {(kind, side): n for kind, n in pairs.items() for side in ("left", "right")} | {("hat", ""): 5}
    assert set(Part.objects.filter(side="").values_list("name", flat=True)) == {"badge"}


def test_the_lost_trunk_has_its_past_and_its_missing_file(demo_world: DemoWorld) -> None:
    trunk = demo_world.place("T14")
    assert (trunk.state, trunk.parent, str(trunk.last_seen)) == ("not found", None, "2019-03-06")
    told = [
        (str(m.happened.date()), m.to_place.code if m.to_place else "") for m in Move.objects.filter(container=trunk)
    ]
    rows = [
        (row["when"], row["to"]) for row in table("movements.csv") if row["what"] == "T14" and row["to"] != "X-UNKNOWN"
    ]
    assert sorted(told) == sorted(rows)
    file = MissingFile.objects.get()
    assert (file.container, file.last_place, str(file.opened_on)) == (trunk, trunk.home, "2024-10-14")
    assert not Place.objects.filter(code="X-UNKNOWN").exists()


def test_the_museum_has_four_pieces_on_a_firm_hold_and_a_loan(demo_world: DemoWorld) -> None:
    held = demo_world.hold("H-02")
    numbers = {row["no"] for row in table("pieces.csv") if row["hold"]}
    assert (held.strength, held.notice_days, str(held.use_to)) == ("firm", 14, "2026-09-27")
    assert set(held.pieces.values_list("piece__number", flat=True)) == numbers
    loan = Loan.objects.get(hold=held)
    assert (loan.state, loan.due_on) == ("out", held.use_to)
    assert set(loan.lines.values_list("piece__number", "state")) == {(n, LoanLine.State.OUT) for n in numbers}
    stills = demo_world.hold("H-03")
    assert (stills.strength, stills.pieces.count(), stills.days.count()) == ("pencil", 18, 0)
    assert Hold.objects.count() == 2


def test_the_call_and_its_people(demo_world: DemoWorld) -> None:
    call = demo_world.call
    assert {need.role.code: need.count for need in call.needs.all()} == {"DIV": 10, "KEE": 6, "CUS": 4}
    assert Wearer.objects.count() == 24
    assert Counter(SizeSheet.objects.values_list("layer", flat=True)) == {"card": 24, "measured": 24}
    assert set(SizeSheet.objects.values_list("delete_on", flat=True)) == {date(2026, 12, 28)}
    assert Exclusion.objects.count() == sum(bool(row["exclusions"]) for row in table("extras.csv"))
    days = Counter(WearerDay.objects.values_list("wearer__number", flat=True))
    assert {number for number, free in days.items() if free == 1} == {"E23"}
    assert set(days.values()) == {1, 4}


def test_the_tables_answer_the_call(demo_world: DemoWorld) -> None:
    """The worked check values of the invented world, through the real tables."""
    first = dry_run(demo_world.call)
    assert (first.plan.total, first.plan.dressed) == (13, {"DIV": 6, "KEE": 5, "CUS": 2})
    both = dry_run(demo_world.call, found=["T14"], released=["H-02"], with_making=True)
    assert (both.plan.total, len(both.plan.make)) == (20, 6)
    assert EaseBand.objects.filter(slot=None).exists()


def test_no_name_and_no_size_stands_in_the_history(demo_world: DemoWorld) -> None:
    lines = "\n".join(
        json.dumps(line, ensure_ascii=False)
        for line in HistoryLine.objects.values_list("subject_id", "by_name", "verb", "before", "after", "reason")
    )
    words = {word for row in table("extras.csv") for word in [row["name"], *row["name"].split()]}
    assert not [word for word in words if word in lines]
    assert list(history.faults()) == []
    assert HistoryLine.objects.filter(Q(verb="size sheet added")).count() == 48


def test_every_piece_and_trunk_has_a_label(demo_world: DemoWorld) -> None:
    assert Label.objects.filter(piece__isnull=False).values("piece").distinct().count() == 263
    assert Label.objects.filter(place__isnull=False).count() == 24


def test_it_refuses_a_house_that_has_its_own_things(demo_world: DemoWorld) -> None:
    people = {duty: demo_world.cast.of(duty) for duty in Duty}
    loaded = mark()
    assert loaded is not None
    loaded.delete()
    with pytest.raises(Refused, match="263 pieces that are not a demo's"):
        load_demo(folder=FOLDER, people=people, today=demo_world.today)


def small_demo(folder: Path, **changes: Any) -> Path:
    """A world of one production and one call."""
    call = (
        "reference,title,production,received_on,where,first_day,last_day,load_on,back_on\n"
        "C1,t,Z,2026-07-27,here,2026-09-22,2026-09-24,2026-09-14,2026-09-29\n"
    )
    (folder / "p.csv").write_text("code,title\nZ,Zephyr\n", encoding="utf-8")
    (folder / "c.csv").write_text(call, encoding="utf-8")
    tables = [{"kind": "productions", "file": "p.csv"}, {"kind": "calls", "file": "c.csv"}]
    manifest = {"anchor": "2026-07-27", "call": "C1", "settings": {"house.name": "Small"}, "tables": tables} | changes
    (folder / "manifest.json").write_text(json.dumps(manifest), encoding="utf-8")
    return folder


@pytest.mark.parametrize("today", [date(2026, 7, 29), date(2026, 12, 31), date(2031, 3, 2), date(2024, 2, 29)])
def test_dates_move_by_whole_weeks_into_this_one(cast: Cast, tmp_path: Path, today: date) -> None:
    with time_machine.travel(f"{today} 08:00Z", tick=False):
        shift = load_demo(folder=small_demo(tmp_path), people={duty: cast.of(duty) for duty in Duty}, today=today)
    call = Call.objects.get()
    assert shift % 7 == 0
    assert call.received_on.isocalendar()[:2] == today.isocalendar()[:2]
    assert (call.first_day - date(2026, 9, 22), call.first_day.weekday()) == (timedelta(days=shift), 1)
    assert house.value("house.name") == "Small"


def test_a_broken_demo_loads_nothing(cast: Cast, tmp_path: Path) -> None:
    tables = [{"kind": "productions", "file": "p.csv"}, {"kind": "roles", "file": "c.csv"}]
    with pytest.raises(BadTable, match="The column “code” is missing"):
        load_demo(
            folder=small_demo(tmp_path, tables=tables),
            people={duty: cast.of(duty) for duty in Duty},
            today=date(2026, 7, 27),
        )
    assert mark() is None
    assert not Piece.objects.exists()
    assert not HistoryLine.objects.exists()


def test_pieces_are_drawn_once(demo_world: DemoWorld) -> None:
    Piece.objects.exclude(number__in=["LHS-0001", "LHS-0108"]).update(kind="other")

    def two(rows: list[Piece]) -> list[Piece]:
        return [row for row in rows if row.kind != "other"]

    draw_missing(by=demo_world.cast.archivist, each=two)
    pictures = {p.pictures.get().file.sha256 for p in two(list(Piece.objects.all()))}
    assert len(pictures) == 2
    draw_missing(by=demo_world.cast.archivist, each=two)
    assert demo_world.piece("LHS-0001").pictures.count() == 1
