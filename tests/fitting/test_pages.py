"""Pages of the fitting room on the demo's rows: who may, what they say, what they refuse."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from catalog.core.models import HistoryLine
from catalog.fitting.models import EaseBand, ExclusionRule, Plan, SizeSheet
from catalog.fitting.queries import dry_run
from catalog.pieces.models import Production
from tests.demo_world import DemoWorld

SignIn = Callable[[Any], Client]
CALL = "/fitting/calls/RS-2026-01/"


def text_of(answer: Any) -> str:
    """The page's words with single blanks."""
    return " ".join(answer.content.decode().split())


# --- sets ------------------------------------------------------------------------------------------------------------
def test_sets_counts_every_role_in_a_fixed_number_of_queries(
    demo_world: DemoWorld, as_user: SignIn, django_assert_max_num_queries: Any
) -> None:
    with django_assert_max_num_queries(40):
        page = as_user(demo_world.cast.archivist).get("/fitting/sets/")
    assert page.status_code == 200
    found = {row.role.code: row for row in page.context["found"]}
    assert (found["DIV"].counts.whole, found["DIV"].counts.mixed, found["DIV"].limit) == (2, 6, "gauntlets")
    assert len(found) == 12
    assert page.context["mixed"] == sum(row.counts.mixed for row in found.values())


def test_sets_for_a_day_counts_only_what_is_mended_by_then(demo_world: DemoWorld, as_user: SignIn) -> None:
    client = as_user(demo_world.cast.wardrobe_lead)
    early = client.get("/fitting/sets/", {"role": "KEE", "day": "2026-07-28"})
    late = client.get("/fitting/sets/", {"role": "KEE", "day": "2026-09-14"})
    usable = [page.context["one"].counts.per_slot["gansey"] for page in (early, late)]
    assert usable == [5, 6]
    assert "5 of 6 Lamp Keeper sets" in text_of(late)


def test_a_filter_that_is_not_right_is_said_and_stays(demo_world: DemoWorld, as_user: SignIn) -> None:
    page = as_user(demo_world.cast.archivist).get("/fitting/sets/", {"day": "tomorrow", "role": "NIX"})
    words = text_of(page)
    assert "Nothing was counted" in words
    assert 'value="tomorrow"' in words
    assert set(page.context["form"].errors) == {"day", "role"}


def test_a_closed_production_is_hidden_from_visitors(demo_world: DemoWorld, as_user: SignIn) -> None:
    Production.objects.filter(code="TTR").update(closed=True)
    visitor, staff = as_user(demo_world.cast.visitor), as_user(demo_world.cast.set_costumer)
    assert "Hall Guard" not in text_of(visitor.get("/fitting/sets/"))
    assert visitor.get("/fitting/sets/GUA/").status_code == 404
    assert staff.get("/fitting/sets/GUA/").status_code == 200
    assert visitor.get("/fitting/sets/DIV/").status_code == 200


def test_is_a_set_whole_slot_by_slot(
    demo_world: DemoWorld, as_user: SignIn, django_assert_max_num_queries: Any
) -> None:
    with django_assert_max_num_queries(40):
        page = as_user(demo_world.cast.archivist).get("/fitting/sets/div/")
    columns = {column.code: column for column in page.context["columns"]}
    five = columns["DIV-05"]
    assert not five.whole
    assert "helmet missing" in five.in_the_way
    cells = {cell.slot.code: cell for cell in five.cells}
    assert cells["helmet"].rows[0].piece.number == "LHS-0035"
    assert cells["jumper"].cell == "mended first"
    assert "freeze" in cells["jumper"].rows[0].work
    words = text_of(page)
    assert "<u>gauntlets</u>" in words
    assert "Not found, last seen" in words


def test_a_visitor_reads_no_reason_that_names_a_holder(demo_world: DemoWorld, as_user: SignIn) -> None:
    visitor = text_of(as_user(demo_world.cast.visitor).get("/fitting/sets/CUS/"))
    staff = text_of(as_user(demo_world.cast.production).get("/fitting/sets/CUS/"))
    assert "Harbour Life Museum" in staff
    assert "Harbour Life Museum" not in visitor


# --- quick fit -------------------------------------------------------------------------------------------------------
def test_quick_fit_ranks_free_sets_and_stores_nothing(demo_world: DemoWorld, as_user: SignIn) -> None:
    before = HistoryLine.objects.count(), SizeSheet.objects.count()
    page = as_user(demo_world.cast.production).post(
        "/fitting/quick/", {"role": "DIV", "height": "5 ft 10", "weight": "12st 3"}
    )
    assert page.status_code == 200
    outfits = page.context["found"].outfits
    told = [outfit.in_hundred for outfit in outfits if outfit.in_hundred is not None]
    assert told == sorted(told, reverse=True)
    assert "mixed" in {outfit.name for outfit in outfits}
    assert len(outfits) >= 3
    assert "in 100" in text_of(page)
    # A measure is the wardrobe lead's: production reads how likely, not how large.
    assert "Sizes expected" not in text_of(page)
    assert "no-store" in page["Cache-Control"]
    assert (HistoryLine.objects.count(), SizeSheet.objects.count()) == before


def test_quick_fit_with_every_tape_says_yes_or_no_by_tape(demo_world: DemoWorld, as_user: SignIn) -> None:
    """Somebody whom the plan dresses, typed anew as a stranger."""
    dressed = dry_run(demo_world.call).plan.assignments[-1]
    sheet = SizeSheet.objects.get(wearer__number=dressed.wearer, wearer__call=demo_world.call, layer="measured")
    sizes = {f"tape_{value.point}": f"{value.value_mm} mm" for value in sheet.values.all()}
    typed = {"role": dressed.role, "height": f"{sheet.height_mm} mm", "weight": f"{sheet.weight_g} g", **sizes}
    lead = as_user(demo_world.cast.wardrobe_lead)
    page = lead.post("/fitting/quick/", typed)
    best = page.context["found"].outfits[0]
    assert best.fit.verdict == "yes"
    assert "fits by tape" in text_of(page)
    assert "Sizes expected" in text_of(page)
    no_wool = lead.post("/fitting/quick/", typed | {"exclusions": "no_wool_contact"})
    assert no_wool.context["found"].outfits[0].fit.verdict == "no"
    assert f"No: no free {dressed_role_name(demo_world, dressed.role)} set fits" in text_of(no_wool)


def dressed_role_name(demo_world: DemoWorld, code: str) -> str:
    return demo_world.call.needs.get(role__code=code).role.name


def test_quick_fit_refuses_with_a_sentence_and_keeps_what_was_typed(demo_world: DemoWorld, as_user: SignIn) -> None:
    client = as_user(demo_world.cast.archivist)

    def told(**typed: str) -> Any:
        page = client.post("/fitting/quick/", {"role": "DIV", **typed})
        assert page.status_code == 422
        return page

    minor = told(height="165", weight="55", age="16")
    assert "Nobody under 18 is predicted. Take the sizes by tape" in text_of(minor)
    assert 'value="165"' in text_of(minor)
    assert "height" in told(height="tall", weight="70").context["form"].errors
    assert "height" in told(height="17", weight="70").context["form"].errors
    assert "weight" in told(height="170", weight="700").context["form"].errors
    assert "height" in told().context["form"].errors
    assert "last" in told(height="170", weight="70", first="2026-09-10", last="2026-09-01").context["form"].errors
    assert "tape_chest" in told(height="170", weight="70", tape_chest="900").context["form"].errors
    assert "role" in client.post("/fitting/quick/", {"role": "NIX", "height": "170"}).context["form"].errors


def test_quick_fit_judges_a_minor_on_tapes_alone(demo_world: DemoWorld, as_user: SignIn) -> None:
    page = as_user(demo_world.cast.wardrobe_lead).post(
        "/fitting/quick/", {"role": "DIV", "height": "165", "weight": "55", "age": "16", "tape_chest": "90"}
    )
    assert page.status_code == 200
    assert "Nobody under 18 is predicted" in text_of(page)
    assert page.context["expected"] == []
    assert page.context["found"].outfits[0].in_hundred in (None, 0)


def test_quick_fit_warns_outside_the_survey(demo_world: DemoWorld, as_user: SignIn) -> None:
    page = as_user(demo_world.cast.wardrobe_lead).post(
        "/fitting/quick/", {"role": "DIV", "height": "215", "weight": "70", "adult": "yes"}
    )
    assert "trust the ranges less" in text_of(page)


def test_quick_fit_takes_no_role_that_nobody_chose(demo_world: DemoWorld, as_user: SignIn) -> None:
    lead = as_user(demo_world.cast.wardrobe_lead)
    assert '<option value="" selected>choose a role' in text_of(lead.get("/fitting/quick/"))
    page = lead.post("/fitting/quick/", {"role": "", "height": "176", "weight": "76"})
    assert page.status_code == 422
    assert "Choose a role, or any role to have all of them ranked." in text_of(page)


def test_quick_fit_ranks_every_role(demo_world: DemoWorld, as_user: SignIn, django_assert_max_num_queries: Any) -> None:
    lead = as_user(demo_world.cast.wardrobe_lead)
    with django_assert_max_num_queries(40):
        page = lead.post("/fitting/quick/", {"role": "any", "height": "176", "weight": "76"})
    ranked = page.context["ranked"]
    assert len(ranked) > 5
    told = [outfit.in_hundred for _, outfit in ranked if outfit.in_hundred is not None]
    assert told == sorted(told, reverse=True)
    assert page.context["role"] == ranked[0][0]
    alone = lead.post("/fitting/quick/", {"role": ranked[0][0].code, "height": "176", "weight": "76"})
    assert alone.context["outfits"][0].in_hundred == ranked[0][1].in_hundred


def test_quick_fit_says_that_an_exclusion_decides(demo_world: DemoWorld, as_user: SignIn) -> None:
    typed = {"role": "DIV", "height": "176", "weight": "76", "exclusions": "no_wool_contact"}
    lead = text_of(as_user(demo_world.cast.wardrobe_lead).post("/fitting/quick/", typed))
    assert "No: no free Harbour Diver set fits." in lead
    assert "excluded: no wool contact: the piece has wool" in lead
    page = as_user(demo_world.cast.production).post("/fitting/quick/", typed)
    assert "excluded:" not in text_of(page)
    assert page.context["decides"].startswith("jumper LHS-")
    assert "chest" not in page.context["decides"]


@pytest.mark.parametrize(
    "typed",
    [
        {"height": "118", "weight": "22"},
        {"height": "149", "weight": "50"},
        {"height": "165", "weight": "200"},
        {"weight": "25"},
        {"tape_chest": "58"},
    ],
    ids=["a child's size", "small", "weight outside", "a child's weight", "a child's chest"],
)
def test_quick_fit_asks_whether_somebody_is_18(demo_world: DemoWorld, as_user: SignIn, typed: dict[str, str]) -> None:
    lead = as_user(demo_world.cast.wardrobe_lead)
    asked = lead.post("/fitting/quick/", {"role": "DIV", **typed})
    assert asked.status_code == 422
    assert "Is this person 18 or over?" in text_of(asked)
    assert asked.context["found"] is None
    grown = lead.post("/fitting/quick/", {"role": "DIV", **typed, "adult": "yes"})
    assert grown.status_code == 200
    assert "trust the ranges less" in text_of(grown) or typed.get("height") == "149"
    assert lead.post("/fitting/quick/", {"role": "DIV", **typed, "age": "30"}).status_code == 200
    young = lead.post("/fitting/quick/", {"role": "DIV", **typed, "adult": "no"})
    assert "Nobody under 18 is predicted" in text_of(young)
    assert young.context["expected"] == []
    crossed = lead.post("/fitting/quick/", {"role": "DIV", **typed, "adult": "yes", "age": "12"})
    assert "This does not agree with the age." in text_of(crossed)


# --- dry run and plan ------------------------------------------------------------------------------------------------
def test_the_dry_run_answers_first(demo_world: DemoWorld, as_user: SignIn, django_assert_max_num_queries: Any) -> None:
    client = as_user(demo_world.cast.production)
    with django_assert_max_num_queries(60):
        page = client.get(f"{CALL}dry-run/")
    words = text_of(page)
    assert "13 of 20 can be dressed as recorded." in words
    assert "Hold these 13" in words
    assert "E11 Davor Nkemelu: size" in words
    assert "E14 Sibel Thorncroft: size" in words
    assert "E23 Levi Tamaro: dates" in words
    # The true sentences are the wardrobe lead's.
    assert "wool" not in words.lower()
    assert "too small" not in words
    lead = text_of(as_user(demo_world.cast.wardrobe_lead).get(f"{CALL}dry-run/"))
    assert "too small by" in lead
    assert "Keep this plan" in lead


def test_the_dry_run_supposes_and_makes(demo_world: DemoWorld, as_user: SignIn) -> None:
    client = as_user(demo_world.cast.archivist)
    page = client.get(f"{CALL}dry-run/", {"found": "T14", "released": "H-02", "making": "yes"})
    words = text_of(page)
    assert "If T14 is found, H-02 is released and what is short is made: 20 of 20 can be dressed, 6 pieces" in words
    assert "Mon 24 Aug 2026" in words.replace("\xa0", " ")
    # A supposition cannot be held or kept.
    assert "Hold these" not in words


def test_nobody_else_sees_the_dry_run(demo_world: DemoWorld, as_user: SignIn) -> None:
    for person in (demo_world.cast.visitor, demo_world.cast.set_costumer):
        assert as_user(person).get(f"{CALL}dry-run/").status_code == 403
    assert "/sign-in/" in as_user(None).get(f"{CALL}dry-run/")["Location"]
    assert as_user(demo_world.cast.archivist).get("/fitting/calls/NIX/dry-run/").status_code == 404


def test_keeping_a_plan_and_locking_in_it(demo_world: DemoWorld, as_user: SignIn) -> None:
    lead, production = as_user(demo_world.cast.wardrobe_lead), as_user(demo_world.cast.production)
    assert production.post(f"{CALL}plan/keep/").status_code == 403
    refused = lead.post(f"{CALL}plan/keep/", {"found": "T14"}, follow=True)
    assert "This plan supposes T14" in text_of(refused)
    assert not Plan.objects.exists()
    kept = lead.post(f"{CALL}plan/keep/", {"making": "yes"}, follow=True)
    assert "20 of 20 are dressed in the kept plan, 16 pieces to be made." in text_of(kept)
    number = kept.context["dressed"][0][0].wearer.number
    assert lead.post(f"{CALL}plan/lock/{number}/", {"locked": "yes"}).status_code == 302
    page = lead.get(f"{CALL}plan/")
    assert page.context["dressed"][0][0].locked
    assert production.post(f"{CALL}plan/lock/{number}/", {"locked": "no"}).status_code == 403
    assert "dresses no performer E99" in text_of(lead.post(f"{CALL}plan/lock/E99/", {"locked": "yes"}, follow=True))
    # Locked made pieces need making: without it the other locks still hold.
    assert lead.get(f"{CALL}dry-run/", {"making": "yes"}).status_code == 200


def test_a_call_without_a_plan_says_so(demo_world: DemoWorld, as_user: SignIn) -> None:
    client = as_user(demo_world.cast.set_costumer)
    assert "No plan is kept yet" in text_of(client.get(f"{CALL}plan/"))
    assert client.get(f"{CALL}plan.csv").status_code == 404
    assert client.get(f"{CALL}plan.json").status_code == 404


# --- size sheets -----------------------------------------------------------------------------------------------------
def test_size_sheets_show_the_cards_that_were_wrong_and_tell_the_history(
    demo_world: DemoWorld, as_user: SignIn, django_assert_max_num_queries: Any
) -> None:
    lead = as_user(demo_world.cast.wardrobe_lead)
    with django_assert_max_num_queries(30):
        page = lead.get(f"{CALL}sizes/")
    words = text_of(page)
    assert "24 of 24 performers are taped." in words
    assert [row.wearer.number for row in page.context["wrong"]] == ["E09", "E16"]
    assert "card 74.0 kg, tape 88.0 kg" in words
    line = HistoryLine.objects.filter(subject_kind="call", verb="size sheets read").latest("seq")
    assert line.after == {"sheets": 48}
    for person in (demo_world.cast.archivist, demo_world.cast.production, demo_world.cast.visitor):
        assert as_user(person).get(f"{CALL}sizes/").status_code == 403


def test_a_sheet_is_corrected_in_any_unit(demo_world: DemoWorld, as_user: SignIn) -> None:
    lead = as_user(demo_world.cast.wardrobe_lead)
    address = f"{CALL}sizes/E02/"
    page = lead.get(address)
    assert 'value="110.0"' in text_of(page)
    typed = {
        "layer": "measured", "height": "5'11\"", "weight": "180 lb", "reference_shape": "m", "taken_on": "2026-07-27",
        "taken_by_name": "wardrobe", "consent": "on", "delete_on": "2026-12-28", "tape_chest": "43.5 in",
        "exclusions": ["no_fur_contact"],
    }  # fmt: skip
    assert lead.post(address, typed).status_code == 302
    sheet = SizeSheet.objects.get(wearer__number="E02", layer="measured")
    assert (sheet.height_mm, sheet.weight_g) == (1803, 81647)
    assert {value.point: value.value_mm for value in sheet.values.all()} == {"chest": 1105}
    assert [exclusion.rule.code for exclusion in sheet.wearer.exclusions.all()] == ["no_fur_contact"]

    refused = lead.post(address, typed | {"consent": "", "tape_chest": "wide"})
    assert refused.status_code == 422
    assert 'value="wide"' in text_of(refused)
    without = lead.post(address, {key: value for key, value in typed.items() if key != "consent"})
    assert "kept with consent only" in text_of(without)
    demo_world.call.wearers.filter(number="E02").update(minor=True)
    assert "note the guardian" in text_of(lead.post(address, typed))
    assert lead.get(f"{CALL}sizes/E99/").status_code == 404


def test_whose_data_do_we_hold_and_until_when(demo_world: DemoWorld, as_user: SignIn) -> None:
    lead = as_user(demo_world.cast.wardrobe_lead)
    words = text_of(lead.get("/fitting/kept/")).replace("\xa0", " ")
    assert "We hold 48 size sheets of 24 performers, the last until 28 Dec 2026." in words
    assert "Forget what is due" not in words
    assert as_user(demo_world.cast.archivist).post("/fitting/kept/forget/", {"call": "RS-2026-01"}).status_code == 403
    assert "Nothing was due" in text_of(lead.post("/fitting/kept/forget/", follow=True))
    gone = lead.post("/fitting/kept/forget/", {"call": "RS-2026-01"}, follow=True)
    assert "48 size sheets are deleted" in text_of(gone)
    assert "We hold nobody's sizes." in gone.content.decode().replace("&#x27;", "'")
    assert lead.post("/fitting/kept/forget/", {"call": "NIX"}).status_code == 404


# --- house rules -----------------------------------------------------------------------------------------------------
def test_a_band_is_set_replaced_and_taken_off(demo_world: DemoWorld, as_user: SignIn) -> None:
    archivist = as_user(demo_world.cast.archivist)
    band = EaseBand.objects.get(slot__role__code="DIV", slot__code="suit", body_point="chest")
    page = archivist.get("/fitting/bands/", {"band": band.pk})
    assert 'value="14' in text_of(page)
    typed = {
        "slot": band.slot_id, "kind": "", "body_point": "chest", "garment_point": "chest", "scale": "mm",
        "least": "15.5", "most": "38", "source": "wardrobe",
    }  # fmt: skip
    assert archivist.post("/fitting/bands/", typed).status_code == 302
    new = EaseBand.objects.get(slot=band.slot, body_point="chest")
    assert (new.min_ease, new.max_ease, new.source) == (155, 380, "wardrobe")
    both = archivist.post("/fitting/bands/", typed | {"kind": "suit"})
    assert "Choose a slot or a kind" in text_of(both)
    reverse = archivist.post("/fitting/bands/", typed | {"least": "40"})
    assert "upper bound is not below" in text_of(reverse)
    assert "whole sizes" in text_of(archivist.post("/fitting/bands/", typed | {"scale": "eu_shoe"}))
    assert archivist.post(f"/fitting/bands/{new.pk}/take-off/").status_code == 302
    assert not EaseBand.objects.filter(slot=band.slot, body_point="chest").exists()
    assert archivist.post("/fitting/bands/987654/take-off/").status_code == 404
    assert as_user(demo_world.cast.wardrobe_lead).post("/fitting/bands/", typed).status_code == 403
    told = set(HistoryLine.objects.filter(subject_kind="house").values_list("verb", flat=True))
    assert {"ease band set", "ease band taken off"} <= told


def test_an_exclusion_is_set(demo_world: DemoWorld, as_user: SignIn) -> None:
    archivist = as_user(demo_world.cast.archivist)
    typed = {"code": "no_silk_contact", "words": "no silk contact", "materials": ["wool"], "kinds": ["hat"]}
    assert archivist.post("/fitting/exclusions/", typed).status_code == 302
    assert ExclusionRule.objects.get(code="no_silk_contact").materials == ["wool"]
    nothing = archivist.post("/fitting/exclusions/", {"code": "no_x", "words": "no x"})
    assert "Say what it rules out" in text_of(nothing)
    assert "small letters" in text_of(archivist.post("/fitting/exclusions/", typed | {"code": "No Silk!"}))
    assert "no silk contact" in text_of(archivist.get("/fitting/exclusions/"))


@pytest.mark.parametrize("person", ["wardrobe_lead", "production", "visitor", "set_costumer"])
def test_house_bands_are_the_archivists(cast: Any, as_user: SignIn, person: str) -> None:
    assert as_user(getattr(cast, person)).get("/fitting/bands/").status_code == 403
    assert as_user(getattr(cast, person)).get("/fitting/exclusions/").status_code == 403


def test_empty_pages_say_why(cast: Any, as_user: SignIn) -> None:
    assert "No role is recorded yet" in text_of(as_user(cast.archivist).get("/fitting/sets/"))
    assert "No role has slots yet" in text_of(as_user(cast.archivist).get("/fitting/quick/"))
    assert "No size sheet is kept" in text_of(as_user(cast.wardrobe_lead).get("/fitting/kept/"))
    assert "No band is set" in text_of(as_user(cast.archivist).get("/fitting/bands/"))
