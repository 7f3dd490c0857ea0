"""Why not: for every performer and every piece of the call all that is in the way, and granting it is enough."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from django.test import Client

from catalog.core.models import HistoryLine
from catalog.fitting import actions
from catalog.fitting.calc.body import Body
from catalog.fitting.calc.exclusions import ExclusionRule
from catalog.fitting.calc.fit import Candidate, Verdict, fit
from catalog.fitting.calc.why_not import Kind, Obstacle, obstacles
from catalog.fitting.kept_queries import kept_today
from catalog.fitting.models import SizeSheet
from catalog.fitting.problem_queries import candidate
from catalog.fitting.queries import Ground, dry_run, ground_of, problem_of
from catalog.fitting.stock_queries import StockPiece, question_of, stock_of
from catalog.fitting.why_queries import pair_of
from tests.demo_world import DemoWorld
from tests.reading import text_of

SignIn = Callable[[Any], Client]
CALL = "/fitting/calls/RS-2026-01/"
WHY = f"{CALL}why-not/"


def granted(body: Body, piece: Candidate, found: tuple[Obstacle, ...]) -> tuple[Body, Candidate]:
    """The pair after every named thing has changed: the exclusion gone, the piece made to take that size."""
    gone = {one.code for one in found if one.kind in (Kind.EXCLUSION, Kind.UNCLEAR)}
    spans = {(one.point, one.span.garment_point) for one in found if one.span is not None}
    unmeasured = {one.code for one in found if one.kind is Kind.NOT_MEASURED}
    if piece.bands is None:
        bands = () if any(one.kind is Kind.NO_RULE for one in found) else None
    else:
        bands = tuple(
            band
            for band in piece.bands
            if (band.body_point, band.garment_point) not in spans and band.garment_point not in unmeasured
        )
    return replace(body, exclusions=body.exclusions - gone), replace(piece, bands=bands)


def check_pair(body: Body, piece: Candidate, rules: list[ExclusionRule]) -> tuple[Obstacle, ...]:
    """Granting all makes it fit; granting all but one does not."""
    found, judged = obstacles(body, piece, rules), fit(body, piece, rules)
    assert (judged.verdict is Verdict.YES) == (not found)
    assert (judged.verdict is Verdict.NO) == any(one.is_no for one in found)
    assert fit(*granted(body, piece, found), rules).verdict is Verdict.YES
    for number, one in enumerate(found):
        rest = tuple(x for x in found[:number] + found[number + 1 :] if _key(x) != _key(one))
        assert fit(*granted(body, piece, rest), rules).verdict is not Verdict.YES, one
    return found


def _key(one: Obstacle) -> tuple[str, str, str]:
    return one.point, one.code, one.span.garment_point if one.span else ""


@pytest.mark.parametrize("layer", ["taped", "cards alone"])
def test_granting_every_reason_makes_each_pair_of_the_demo_fit(demo_world: DemoWorld, layer: str) -> None:
    if layer == "cards alone":
        SizeSheet.objects.exclude(layer=SizeSheet.Layer.CARD).delete()
    ground = ground_of(demo_world.call)
    stock = stock_of(list(ground.roles.values()), question_of(demo_world.call))
    candidates = [candidate(row.piece, ground.bands) for row in stock]
    kinds = {
        one.kind
        for body in ground.bodies.values()
        for piece in candidates
        for one in check_pair(body, piece, ground.rules)
    }
    assert len(ground.bodies) * len(candidates) > 3000
    assert {Kind.EXCLUSION, Kind.SIZE if layer == "taped" else Kind.NOT_TAPED} <= kinds


def test_a_pair_without_reason_is_one_the_planner_may_use(demo_world: DemoWorld) -> None:
    """No more and no less: the call's facts (days, state, match) are among the reasons too."""
    ground = ground_of(demo_world.call)
    stock = stock_of(list(ground.roles.values()), question_of(demo_world.call))
    problem = problem_of(ground, stock)
    roles = {role.code: role for role in problem.roles}
    free = {wearer.code for wearer in problem.wearers if wearer.available}
    planned = {
        (wearer, piece.code)
        for piece in problem.pieces
        for wearer in free
        if piece.matchable(roles[piece.role]) and problem.fits[wearer, piece.code].verdict is Verdict.YES
    }
    silent = {
        (wearer.number, row.piece.number)
        for wearer in ground.wearers.values()
        for row in stock
        if pair_of(ground, wearer, row, {}).verdict is Verdict.YES
    }
    assert silent == planned
    assert len(silent) > 300


def some_pair(demo_world: DemoWorld, wanted: Callable[[Any], bool]) -> Any:
    ground = ground_of(demo_world.call)
    stock: list[StockPiece] = stock_of(list(ground.roles.values()), question_of(demo_world.call))
    return next(pair for pair in _pairs(ground, stock) if wanted(pair))


def _pairs(ground: Ground, stock: list[StockPiece]) -> Any:
    return (pair_of(ground, wearer, row, {}) for wearer in ground.wearers.values() for row in stock)


def test_the_page_says_every_reason_in_words(
    demo_world: DemoWorld, as_user: SignIn, django_assert_max_num_queries: Any
) -> None:
    lead = as_user(demo_world.cast.wardrobe_lead)
    with django_assert_max_num_queries(60):
        page = lead.get(WHY, {"performer": "e11", "piece": "LHS-0059"})
    words = text_of(page)
    assert "No: 1 thing stands between LHS-0059 and E11." in words
    assert "Foot length: the piece is too small by" in words
    assert "taped 29.8 cm, sure" in words
    wool = text_of(lead.get(WHY, {"performer": "E14", "piece": "LHS-0001"}))
    assert "Excluded: no wool contact: the piece has wool." in wool
    lost = text_of(lead.get(WHY, {"performer": "E23", "piece": "LHS-0035"}))
    assert "E23 is not free on 23 Sep 2026 and 24 Sep 2026." in lost
    assert "Not found, last seen" in lost


def test_a_pair_by_the_card_says_the_expected_range_and_how_sure(demo_world: DemoWorld, as_user: SignIn) -> None:
    SizeSheet.objects.exclude(layer=SizeSheet.Layer.CARD).delete()
    pair = some_pair(demo_world, lambda pair: any(one.kind is Kind.NOT_TAPED for one in pair.obstacles))
    words = text_of(
        as_user(demo_world.cast.wardrobe_lead).get(
            WHY, {"performer": pair.wearer.number, "piece": pair.row.piece.number}
        )
    )
    assert "is not taped: about" in words
    assert "for four in five" in words


def test_all_pieces_for_one_and_all_people_for_one_piece(
    demo_world: DemoWorld, as_user: SignIn, django_assert_max_num_queries: Any
) -> None:
    lead = as_user(demo_world.cast.wardrobe_lead)
    with django_assert_max_num_queries(60):
        page = lead.get(WHY, {"performer": "E14"})
    jumper = next(row for row in page.context["slots"] if row[0] == "Harbour Diver, jumper")
    assert jumper[1] == 0
    assert {pair.word for pair in jumper[2]} >= {"excluded"}
    with django_assert_max_num_queries(60):
        page = lead.get(WHY, {"piece": "LHS-0059"})
    assert len(page.context["pairs"]) == 24
    assert f"LHS-0059 fits {page.context['fitting']} of 24 performers." in text_of(page)
    assert f"{WHY}?piece=" in text_of(lead.get("/fitting/sets/DIV/"))
    assert WHY not in text_of(as_user(demo_world.cast.production).get("/fitting/sets/DIV/"))


def test_another_wearer_has_it(demo_world: DemoWorld, as_user: SignIn) -> None:
    kept = actions.store_plan(by=demo_world.cast.wardrobe_lead, run=dry_run(demo_world.call))
    line = kept.lines.filter(piece__isnull=False).select_related("wearer", "piece")[0]
    assert line.piece is not None
    other = demo_world.call.wearers.exclude(pk=line.wearer_id)[0]
    page = as_user(demo_world.cast.wardrobe_lead).get(WHY, {"performer": other.number, "piece": line.piece.number})
    assert f"{line.wearer.number} {line.wearer.name} wears it in the kept plan." in text_of(page)


def test_wrong_names_are_said_and_reading_is_told(demo_world: DemoWorld, as_user: SignIn) -> None:
    lead = as_user(demo_world.cast.wardrobe_lead)
    page = lead.get(WHY, {"performer": "E99", "piece": "TTR-0001"})
    assert page.status_code == 422
    assert "There is no performer E99 on the list of RS-2026-01." in text_of(page)
    assert "TTR-0001 is no piece of a role that RS-2026-01 asks for." in text_of(page)
    assert not HistoryLine.objects.filter(verb="size sheets read").exists()
    lead.get(WHY, {"performer": "E11", "piece": "LHS-0059"})
    assert HistoryLine.objects.get(verb="size sheets read").after == {"sheets": 1}


def test_who_can_take_over(demo_world: DemoWorld, as_user: SignIn, django_assert_max_num_queries: Any) -> None:
    lead = as_user(demo_world.cast.wardrobe_lead)
    assert "No plan is kept yet." in text_of(lead.get(f"{CALL}take-over/E02/"))
    kept = actions.store_plan(by=demo_world.cast.wardrobe_lead, run=dry_run(demo_world.call))
    today = kept_today(kept)
    number = today.assignments[0].wearer
    address = f"{CALL}take-over/{number}/"
    assert address in text_of(lead.get(f"{CALL}plan/"))
    with django_assert_max_num_queries(60):
        page = lead.get(address)
    own = [line for line in today.assignments if line.wearer == number]
    rows = page.context["rows"]
    assert {row["wearer"].number for row in rows} == {
        w.code for w in today.problem.wearers if w.available and w.code != number
    }
    for row in rows:
        for line in own:
            assert line.piece is not None
            told = row["stand_in"].slots[line.slot]
            assert told is today.problem.fits[row["wearer"].number, line.piece].verdict
    counts = [row["stand_in"].fitting for row in rows]
    assert counts == sorted(counts, reverse=True)
    assert lead.get(f"{CALL}take-over/E99/").status_code == 404
    left = today.left_out[0].wearer
    assert f"{left} wears nothing in the kept plan." in text_of(lead.get(f"{CALL}take-over/{left}/"))


@pytest.mark.parametrize("address", [WHY, f"{WHY}?performer=E14&piece=LHS-0001", f"{CALL}take-over/E02/"])
def test_it_is_the_wardrobe_leads_alone(demo_world: DemoWorld, as_user: SignIn, address: str) -> None:
    cast = demo_world.cast
    for person in (cast.production, cast.archivist, cast.set_costumer, cast.visitor):
        assert as_user(person).get(address).status_code == 403
    assert "/sign-in/" in as_user(None).get(address)["Location"]
