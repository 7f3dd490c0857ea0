"""The demo world's pieces get their verdicts from materials, packs, lengths and findings, never from verdict words.

The check values are those of the demo's own story: the damaged pack and the radium stay, the sound packs go by road or
under the equipment rule, old fur and felt wait for their test. The demo world is invented: no outside source here.
"""

import csv
import re
from collections import Counter
from dataclasses import replace

import pytest

from catalog.shipping.calc.facts import Mode, Pack, PieceFacts, Trip
from catalog.shipping.calc.travel import judge_all, summary
from catalog.shipping.calc.verdicts import Summary, Verdict
from tests.shipping.calc.shipped import BOOK, ROOT

DEMO = ROOT / "fixtures" / "demo"
VERDICT_WORDS = ("hold_do_not_ship",)


def table(name: str) -> list[dict[str, str]]:
    with (DEMO / name).open(encoding="utf-8-sig", newline="") as rows:
        return list(csv.DictReader(rows))


MADE = {row["code"]: int(row["year"]) for row in table("productions.csv")}
ROWS = {row["no"]: row for row in table("pieces.csv")}


def packs_of(row: dict[str, str], words: set[str]) -> tuple[Pack, ...]:
    """The table says of a pack that it is lithium ion, whether it is damaged, and in one note its energy."""
    if not words & {"lithium_ion", "lithium_ion_damaged"}:
        return ()
    energy = re.search(r"(\d+) Wh", row["note"])
    state = "damaged" if "lithium_ion_damaged" in words else "sound"
    return (Pack("lithium_ion", float(energy[1]) if energy else None, state, "fitted"),)


def facts(number: str) -> PieceFacts:
    row = ROWS[number]
    words = set(row["hazards"].split("|")) - set(VERDICT_WORDS)
    long = [word for word in words if word.startswith("long_")]
    return PieceFacts(
        number=number,
        kind=row["slot"],
        materials=frozenset(filter(None, row["materials"].split("|"))),
        made_year=MADE[row["production"]],
        packs=packs_of(row, words),
        wear_decision=row["wear"] or None,
        longest_mm=round(float(long[0][5:-1]) * 1000) if long else None,
        weight_g=round(float(row["weight_kg"]) * 1000),
        is_prop_weapon=True if "prop_weapon" in words else None,
    )


RESHOOT = Trip(to_be_worn=True, crosses_border=True, year=2026)
SHOW = replace(RESHOOT, to_be_worn=False)
# road, sea, passenger aircraft, cargo aircraft, crew baggage
m, c, s, u, x = Verdict.MAY, Verdict.CONDITIONS, Verdict.SPECIALIST, Verdict.UNKNOWN, Verdict.STAYS
EXPECTED: list[tuple[str, Trip, list[Verdict], Summary]] = [
    ("LHS-0001", RESHOOT, [m, m, m, m, m], Summary.MAY_FLY),  # a wool jumper
    ("LHS-0114", RESHOOT, [m, c, m, m, m], Summary.MAY_FLY),  # a wool coat lined with silk: damp at sea
    ("LHS-0041", RESHOOT, [c, c, c, c, c], Summary.MAY_FLY),  # lead
    ("LHS-0012", RESHOOT, [c, c, c, c, c], Summary.MAY_FLY),  # waxed canvas, natural rubber
    ("LHS-0108", RESHOOT, [c, c, c, c, c], Summary.MAY_FLY),  # sound pack of 48 Wh
    ("LHS-0109", RESHOOT, [u, u, u, u, u], Summary.STAYS),  # electrics: is there a battery in it?
    ("LHS-0111", SHOW, [x, x, x, x, x], Summary.STAYS),  # swollen pack
    ("LHS-0152", SHOW, [x, x, x, x, x], Summary.STAYS),  # radium
    ("LHS-0153", SHOW, [x, x, x, x, x], Summary.STAYS),
    ("LHS-0155", SHOW, [s, s, u, u, u], Summary.STAYS),  # foam latex body, reference only; nobody measured its length
    ("LHS-0155", RESHOOT, [x, x, x, x, x], Summary.STAYS),
    ("TTR-0001", SHOW, [x, x, x, x, x], Summary.STAYS),  # old fur
    ("TTR-0002", SHOW, [x, x, x, x, x], Summary.STAYS),
    ("TTR-0014", RESHOOT, [m, c, m, m, m], Summary.MAY_FLY),  # rabbit fur of 2009: damp at sea
    ("TTR-0029", RESHOOT, [c, c, s, c, x], Summary.MAY_FLY),  # halberd, 2.1 m, a prop weapon
    ("NBR-0029", RESHOOT, [u, u, u, u, u], Summary.STAYS),  # felt, mercury untested
    ("NBR-0033", RESHOOT, [c, u, u, u, x], Summary.ROAD_ONLY),  # pole, 2.4 m, sound pack whose energy nobody noted
    ("LHS-0158", RESHOOT, [x, x, x, x, x], Summary.STAYS),  # a scale model without a wear decision
]


@pytest.mark.parametrize(("number", "trip", "verdicts", "short"), EXPECTED)
def test_the_pieces_of_the_story(number: str, trip: Trip, verdicts: list[Verdict], short: Summary) -> None:
    said = judge_all(facts(number), trip, BOOK)
    assert [said[mode].verdict for mode in Mode] == verdicts
    assert summary(said) is short


@pytest.mark.parametrize(
    ("number", "change", "before", "after"),
    [
        ("LHS-0111", {"packs": (Pack("lithium_ion", 48, "sound", "fitted"),)}, Summary.STAYS, Summary.MAY_FLY),
        ("LHS-0108", {"packs": (Pack("lithium_ion", 48, "damaged", "fitted"),)}, Summary.MAY_FLY, Summary.STAYS),
        ("LHS-0109", {"hazards": (("battery", "cleared"),)}, Summary.STAYS, Summary.MAY_FLY),
        ("NBR-0029", {"hazards": (("mercury", "cleared"),)}, Summary.STAYS, Summary.MAY_FLY),
        (
            "TTR-0001",
            {"hazards": (("old_poison", "cleared"), ("protected_species", "cleared"))},
            Summary.STAYS,
            Summary.MAY_FLY,
        ),
        ("NBR-0033", {"packs": (Pack("lithium_ion", 60, "sound", "fitted"),)}, Summary.ROAD_ONLY, Summary.MAY_FLY),
        ("LHS-0001", {"materials": frozenset({"wool", "old fur"})}, Summary.MAY_FLY, Summary.STAYS),
    ],
)
def test_one_fact_flips_it(number: str, change: dict[str, object], before: Summary, after: Summary) -> None:
    piece = facts(number)
    assert summary(judge_all(piece, SHOW, BOOK)) is before
    assert summary(judge_all(replace(piece, **change), SHOW, BOOK)) is after  # type: ignore[arg-type]


def test_the_words_that_are_verdicts_change_nothing() -> None:
    flagged = [number for number, row in ROWS.items() if "hold_do_not_ship" in row["hazards"]]
    assert flagged == ["LHS-0111", "LHS-0152", "LHS-0153"]
    assert all(summary(judge_all(facts(number), SHOW, BOOK)) is Summary.STAYS for number in flagged)


def test_every_piece_has_an_answer_and_every_no_has_a_reason_or_a_question() -> None:
    counts: Counter[Summary] = Counter()
    for number in ROWS:
        said = judge_all(facts(number), RESHOOT, BOOK)
        counts[summary(said)] += 1
        for assessment in said.values():
            assert assessment.verdict.is_yes or assessment.reasons[0].verdict is assessment.verdict
            assert assessment.verdict is not Verdict.UNKNOWN or assessment.questions
    assert sum(counts.values()) == len(ROWS) == 263
    assert set(counts) == set(Summary)
