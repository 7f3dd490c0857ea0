"""The demo tables read straight into the calc's own dataclasses, with the house bands of the invented company."""

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from catalog.fitting.calc.bands import Band, Garment, Scale, eu_to_mm, inch_to_mm
from catalog.fitting.calc.body import Layer, Measure, Person, Shape, body_of, card_only
from catalog.fitting.calc.exclusions import ExclusionRule, Makeup, may_make
from catalog.fitting.calc.fit import Candidate, fit
from catalog.fitting.calc.plan_types import Group, PlanPiece, PlanWearer, Problem, Role

TABLES = Path(__file__).parents[3] / "fixtures" / "demo"
NEED = {"DIV": 10, "KEE": 6, "CUS": 4}
GROUPS = {"DIV": (Group("ring", ("corselet", "helmet")),)}
FOR_WEAR = ("wear", "wear with limits", "wear after repair")


def cm(value: str | float) -> int:
    return round(float(value) * 10)


def eased(body: str, garment: str, low: float | None, high: float | None, *, let_out: bool = False) -> Band:
    """A band from ease in cm."""
    return Band(body, garment, None if low is None else cm(low), None if high is None else cm(high), let_out)


HEIGHT = (eased("height", "height_min", None, 0), eased("height", "height_max", 0, None))
BOOTS = (Band("foot_length", "last", 0, 2, scale=Scale.EU_SHOE),)
INCH_LOW, INCH_HIGH = inch_to_mm(0.3), inch_to_mm(2.2)
BANDS: dict[tuple[str, str], tuple[Band, ...]] = {
    ("DIV", "jumper"): (eased("chest", "chest", -6, 22),),
    ("KEE", "gansey"): (eased("chest", "chest", -6, 14),),
    ("DIV", "suit"): (*HEIGHT, eased("chest", "chest", 14, 38)),
    ("DIV", "corselet"): (eased("chest", "chest", 8, 30),),
    ("DIV", "helmet"): (eased("head_over_hair", "head", 0, None),),
    ("DIV", "belt"): (eased("waist_natural", "waist_min", None, 0), eased("waist_natural", "waist_max", 0, None)),
    ("DIV", "boots"): BOOTS,
    ("KEE", "boots"): BOOTS,
    ("CUS", "boots"): BOOTS,
    ("DIV", "gloves"): (Band("hand_girth", "hand", INCH_LOW, INCH_HIGH),),
    ("KEE", "coat"): (eased("chest", "chest", 14, 42),),
    ("KEE", "trousers"): (*HEIGHT, eased("waist_natural", "waist", 0, None)),
    ("KEE", "souwester"): (eased("head_over_hair", "head", 0, 4),),
    ("KEE", "lamp"): (),
    ("CUS", "coat"): (eased("chest", "chest", 6, 16), eased("sleeve_cb", "sleeve", 0, 5, let_out=True)),
    ("CUS", "waistcoat"): (eased("chest", "chest", 2, 14),),
    ("CUS", "shirt"): (eased("neck", "collar", 0.5, 4),),
    ("CUS", "trousers"): (
        eased("waist_natural", "waist", -4, 8),
        eased("inside_leg", "inseam", -3, -3 + 8, let_out=True),
    ),
    ("CUS", "cap"): (eased("head_over_hair", "head", -0.5, None), eased("head", "head", None, 2.5)),
}
RULES = (
    ExclusionRule("no_closed_helmet", "no closed helmet", kinds=frozenset({"helmet"})),
    ExclusionRule(
        "no_latex_contact",
        "no latex contact",
        materials=frozenset({"natural rubber", "foam latex"}),
        traits=frozenset({"latex_contact"}),
    ),
    ExclusionRule("no_wool_contact", "no wool contact", materials=frozenset({"wool"}), except_kinds=frozenset({"cap"})),
    ExclusionRule("no_fur_contact", "no fur contact", materials=frozenset({"old fur", "rabbit fur", "fur felt"})),
)
POINTS = ("chest", "hip", "neck", "sleeve_cb", "inside_leg", "head", "head_over_hair", "hand_girth", "foot_length")
GARMENT = {"chest": "chest", "waist": "waist", "inseam": "inseam", "sleeve": "sleeve", "hmin": "height_min"}
GARMENT |= {"hmax": "height_max", "wmin": "waist_min", "wmax": "waist_max", "head": "head", "collar": "collar"}
LET_OUT = {"coat": "sleeve", "trousers": "inseam"}


@dataclass(frozen=True)
class Row:
    piece: PlanPiece
    candidate: Candidate


def rows(name: str) -> list[dict[str, str]]:
    with (TABLES / f"{name}.csv").open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


def words(text: str) -> frozenset[str]:
    return frozenset(text.split("|")) if text else frozenset()


@lru_cache
def roles() -> tuple[Role, ...]:
    required = [row for row in rows("slots") if row["required"] == "1"]
    return tuple(
        Role(code, need, tuple(r["slot"] for r in required if r["role"] == code), GROUPS.get(code, ()))
        for code, need in NEED.items()
    )


def garment(row: dict[str, str]) -> Garment:
    values = {ours: cm(row[theirs]) for theirs, ours in GARMENT.items() if row[theirs]}
    if row["eu"]:
        values["last"] = eu_to_mm(float(row["eu"]))
    if row["inch"]:
        values["hand"] = inch_to_mm(float(row["inch"]))
    return Garment(values, {LET_OUT[row["slot"]]: cm(row["reserve"])} if row["reserve"] else {})


def stock(*, found: Iterable[str] = (), released: Iterable[str] = ()) -> list[Row]:
    """Pieces that are present, not held by another job and for wear."""
    chosen = []
    for row in rows("pieces"):
        present = row["status"] == "in store" or row["container"] in found or row["hold"] in released
        held = row["hold"] and row["hold"] not in released
        if row["role"] in NEED and present and not held and row["wear"] in FOR_WEAR:
            values = {"ring": row["ring"]} if row["ring"] else {}
            piece = PlanPiece(row["no"], row["role"], row["slot"], row["set"] or None, values)
            makeup = Makeup(row["slot"], words(row["materials"]) or None, words(row["hazards"]))
            bands = BANDS.get((row["role"], row["slot"]))
            chosen.append(Row(piece, Candidate(row["no"], bands, garment(row), makeup)))
    return chosen


@lru_cache
def people() -> dict[str, Person]:
    found = {}
    for row in rows("extras"):
        sizes = {point: cm(row[point]) for point in POINTS}
        sizes |= {"waist_natural": cm(row["waist"]), "height": cm(row["height"])}
        sizes["weight"] = round(float(row["weight"]) * 1000)
        measures = [Measure(point, value, Layer.TAPED) for point, value in sizes.items()]
        measures.append(Measure("height", cm(row["card_height"]), Layer.CARD))
        measures.append(Measure("weight", round(float(row["card_weight"]) * 1000), Layer.CARD))
        found[row["id"]] = Person(tuple(measures), Shape.EITHER, None, words(row["exclusions"]))
    return found


def problem(
    *, found: Iterable[str] = (), released: Iterable[str] = (), with_making: bool = False, card: bool = False
) -> Problem:
    chosen = stock(found=found, released=released)
    persons = {code: card_only(person) if card else person for code, person in people().items()}
    bodies = {code: body_of(person) for code, person in persons.items()}
    fits = {(who, row.piece.code): fit(body, row.candidate, RULES) for who, body in bodies.items() for row in chosen}
    slots = {
        (r["role"], r["slot"]): Makeup(r["slot"], words(r["materials"]), words(r["hazards"])) for r in rows("slots")
    }
    makeable = frozenset(
        (who, role.code, slot)
        for who, person in persons.items()
        for role in roles()
        for slot in role.slots
        if may_make(person.exclusions, slots[role.code, slot], RULES)
    )
    free = {row["id"]: row["available"] == "both" for row in rows("extras")}
    wearers = tuple(PlanWearer(code, None, free[code]) for code in persons)
    return Problem(roles(), wearers, tuple(row.piece for row in chosen), fits, (), with_making, makeable)
