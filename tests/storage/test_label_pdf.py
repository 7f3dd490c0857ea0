"""Labels as PDF, measured and read back on the page as rendered at 300 dpi; and the pages that print them."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import zxingcpp
from django.test import Client, override_settings
from django.urls import reverse
from PIL import Image

from catalog.access.duties import Duty
from catalog.core.codes import make_code
from catalog.core.errors import Refused
from catalog.storage import actions
from catalog.storage.label_pdf import labels_pdf
from catalog.storage.labels import PAPERS, SHEETS, SIDES, SIZES, Print, dealt, prints_of
from catalog.storage.models import Label
from tests.papers import pages_of, words_of
from tests.storage.world import Store

DPI = 300
A, W, P, S = Duty.ARCHIVIST, Duty.WARDROBE_LEAD, Duty.PRODUCTION, Duty.SET_COSTUMER


def some(count: int, first: int = 1) -> list[Print]:
    return [Print(make_code("P", n), f"MOOR-{n:04d}", "Łódź gauntlets") for n in range(first, first + count)]


def read(page: Image.Image) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Each code on the page and the box of its dark modules in millimetres from the top left."""
    found = []
    for one in zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode):
        corners = [one.position.top_left, one.position.top_right, one.position.bottom_right, one.position.bottom_left]
        xs, ys = [c.x for c in corners], [c.y for c in corners]
        found.append((one.text, tuple(v / DPI * 25.4 for v in (min(xs), min(ys), max(xs), max(ys)))))
    return found


@pytest.mark.parametrize("key", SHEETS)
def test_each_label_lies_in_its_cell_and_says_its_code(key: str) -> None:
    """Cells as the layouts of such sheets give them (see labels.py); 2 mm of each label stay free for drift."""
    sheet = SHEETS[key]
    prints = some(sheet.on_one - 2)
    (page,) = pages_of(labels_pdf(prints, key, start=3, house="Moor Archive"), DPI)
    assert [side / DPI * 25.4 for side in page.size] == pytest.approx([sheet.width, sheet.height], abs=0.15)
    places = dict(read(page))
    assert set(places) == {one.address for one in prints}
    for number, one in enumerate(prints, 2):
        left, top = sheet.corner(number)
        x0, y0, x1, y1 = places[one.address]
        assert left + 2 < x0 < x1 < left + sheet.label_width - 2
        assert top + 2 < y0 < y1 < top + sheet.label_height - 2
    ink = np.array(page) < 128
    for number in range(2):  # the begun part of the sheet stays bare
        left, top = (round(v / 25.4 * DPI) for v in sheet.corner(number))
        wide, high = (round(v / 25.4 * DPI) for v in (sheet.label_width, sheet.label_height))
        assert not ink[top : top + high, left : left + wide].any()


def test_published_layouts_add_up() -> None:
    """Borders and labels fill the page, the same left and right, top and bottom.

    A layout page of such sheets gives 21 of 63.5 x 38.1 mm, left 7.2, top 15.15, gap 2.5; arithmetic on the published
    size gives 30 of 2.625 x 1 inch, side 0.1875, top 0.5, pitch 2.75 x 1 inch. From memory: 14 of 99.1 x 38.1 mm, left
    4.65, top 15.15, gap 2.5; 14 of 4 x 1 1/3 inch, left 5/32, top 5/6, gap 3/16.
    """
    for key, sheet in SHEETS.items():
        right = sheet.left + (sheet.columns - 1) * sheet.pitch_x + sheet.label_width
        bottom = sheet.top + (sheet.rows - 1) * sheet.pitch_y + sheet.label_height
        assert sheet.width - right == pytest.approx(sheet.left, abs=0.25), key
        assert sheet.height - bottom == pytest.approx(sheet.top, abs=0.25), key
    assert SHEETS["a4-21"].corner(20) == pytest.approx((7.2 + 2 * 66.0, 15.15 + 6 * 38.1))
    assert SHEETS["letter-30"].corner(29) == pytest.approx((0.1875 * 25.4 + 2 * 2.75 * 25.4, 9.5 * 25.4))


@pytest.mark.parametrize("key", SIZES)
def test_the_quiet_zone_on_the_printed_page_is_four_modules(key: str) -> None:
    """ISO/IEC 18004: four modules free on every side. And a module of 0.4 mm at least (common practice, no source)."""
    (page,) = pages_of(labels_pdf(some(1), key, house="Moor Archive"), DPI)
    assert [side / DPI * 25.4 for side in page.size] == pytest.approx([SIZES[key].width, SIZES[key].height], abs=0.1)
    ((_, (x0, y0, x1, y1)),) = read(page)
    module = (x1 - x0) / 25  # version 2 has 25 modules a side
    assert module >= 0.4
    ink = np.array(page) < 128
    dots = DPI / 25.4
    # A tenth of a module is what rendering to whole dots may take away.
    clear = 3.9 * module
    left, top, right, bottom = (round(v * dots) for v in (x0, y0, x1, y1))
    assert x0 >= clear
    assert y0 >= clear
    wide = round(clear * dots)
    assert not ink[:, left - wide : left - 1].any()
    assert not ink[top - wide : top - 1, left - wide : right + wide].any()
    assert not ink[bottom + 2 : bottom + wide, left - wide : right + wide].any()
    assert not ink[:, right + 2 : right + wide].any()


@pytest.mark.parametrize(
    ("host", "count", "looked_at"),
    [("LABELS.HOUSE.EXAMPLE", 1000, (1, 24, 48)), ("archive.some-studio.example.org:8000", 21, (1,))],
)
def test_of_a_thousand_labels_three_pages_are_read_back_whole(
    host: str, count: int, looked_at: tuple[int, ...]
) -> None:
    with override_settings(LABEL_HOST=host):
        prints = some(count)
        data = labels_pdf(prints, "a4-21", house="Moor Archive")
        pages = dealt(prints, SHEETS["a4-21"], 1)
        assert len(pages) == looked_at[-1]
        for number in looked_at:
            (page,) = pages_of(data, DPI, first=number, last=number)
            assert {text for text, _ in read(page)} == {one.address for one in pages[number - 1] if one}


def test_the_number_is_never_cut_and_the_name_may_be() -> None:
    long = Print(make_code("P", 1), "MOOR-OUTER-YARD-0000001234", "Oilskin coat, long, " * 8)
    for paper in PAPERS:
        words = words_of(labels_pdf([long], paper))
        assert long.number in words, paper
        assert long.stem in words
        assert "…" in words


def test_a_trunk_gets_three_sides_and_a_blank_its_code_in_large(store: Store) -> None:
    trunk = actions.issue_label(by=store.cast.archivist, place=store["BOX1"])
    prints = prints_of([trunk], "trunk")
    assert tuple(one.side for one in prints) == SIDES
    assert [one.side for one in prints_of([trunk], "tag")] == [""]
    words = words_of(labels_pdf(prints, "trunk"))
    assert words.count("\f") == 3
    assert all(side in words for side in SIDES)
    blank = actions.make_blanks(by=store.cast.archivist, count=1)[0]
    assert blank.code[:-1] in words_of(labels_pdf(prints_of([blank], "tape"), "tape"))


@pytest.mark.parametrize(
    ("paper", "start", "said"),
    [
        ("a4-21", 22, "has 21 labels"),
        ("a4-21", 0, "has 21 labels"),
        ("a4-4", 5, "has 4 labels"),
        ("a5", 1, "no label paper"),
    ],
)
def test_what_cannot_be_printed_is_said(paper: str, start: int, said: str) -> None:
    with pytest.raises(Refused, match=said):
        labels_pdf(some(1), paper, start=start)


# --- the pages -------------------------------------------------------------------------------------------------------
@pytest.fixture
def archivist(store: Store, as_user: Callable[[Any], Client]) -> Client:
    return as_user(store.cast.archivist)


@pytest.mark.parametrize(
    ("name", "query", "who"),
    [
        ("label_pdf", "paper=tag", {A, W, P, S}),
        ("blanks_pdf", "first=1&count=3&paper=a4-21&start=2", {A}),
        ("place_labels", "", {A}),
        ("place_labels_pdf", "what=containers&paper=a4-4&start=2", {A}),
    ],
)
def test_each_address_is_for_its_people_alone(store: Store, as_user, name: str, query: str, who: set[Duty]) -> None:
    actions.make_blanks(by=store.cast.archivist, count=3)
    code = actions.issue_label(by=store.cast.archivist, place=store["BOX1"]).code
    args = {"label_pdf": [code], "blanks_pdf": []}.get(name, ["MAIN"])
    address = f"{reverse(f'storage:{name}', args=args)}?{query}"
    for duty in Duty:
        answer = as_user(store.cast.of(duty)).get(address)
        assert answer.status_code == (200 if duty in who else 403), duty
        if duty in who and name.endswith("_pdf"):
            assert (answer["Content-Type"], answer.content[:5]) == ("application/pdf", b"%PDF-")
    assert as_user(None).get(address)["Location"].startswith(reverse("access:sign_in"))


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("paper=a4-21&start=22", "This sheet has 21 labels"),
        ("paper=a4-21&start=x", "“x” is no number"),
        ("paper=nix", "no label paper “nix”"),
        ("paper=", "no label paper"),
    ],
)
def test_a_wrong_address_gets_a_sentence(store: Store, archivist: Client, query: str, said: str) -> None:
    code = actions.issue_label(by=store.cast.archivist, place=store["BOX1"]).code
    answer = archivist.get(f"{reverse('storage:label_pdf', args=[code])}?{query}")
    assert 400 <= answer.status_code < 500
    assert said in answer.content.decode()


def test_labels_of_a_place_are_issued_once_and_printed(store: Store, archivist: Client) -> None:
    address = reverse("storage:place_labels", args=["MAIN"])
    page = archivist.get(address).content.decode()
    assert "3 pieces in it, 3 without a label" in page
    answer = archivist.post(address, {"what": "pieces", "paper": "a4-21", "start": "20"}, follow=True)
    assert answer["Content-Type"] == "application/pdf"
    words = words_of(answer.content)
    assert words.count("\f") == 2
    assert all(number in words for number in ("M-0001", "M-0002", "M-0003"))
    archivist.post(address, {"what": "pieces", "paper": "a4-21", "start": "1"})
    assert Label.objects.filter(piece__isnull=False).count() == 3
    assert "3 pieces in it</li>" in archivist.get(address).content.decode()


@pytest.mark.parametrize(
    ("place", "posted", "said"),
    [
        ("MAIN", {"what": "pieces", "paper": "a4-21", "start": "22"}, "This sheet has 21 labels."),
        ("CAGE", {"what": "pieces", "paper": "a4-21", "start": "1"}, "CAGE holds none of these."),
        ("MAIN", {"what": "", "paper": "", "start": "0"}, "There is a problem"),
    ],
)
def test_a_wrong_wish_stays_typed(store: Store, archivist: Client, place: str, posted: dict, said: str) -> None:
    answer = archivist.post(reverse("storage:place_labels", args=[place]), posted)
    page = answer.content.decode()
    assert said in page
    assert f'value="{posted["start"]}"' in page
    assert not Label.objects.exists()


def test_a_visitor_may_not_see_the_pieces_of_a_closed_production_labelled(store: Store, as_user) -> None:
    code = actions.issue_label(by=store.cast.archivist, piece=store.production.pieces.get(number="M-0001")).code
    address = f"{reverse('storage:label_pdf', args=[code])}?paper=tag"
    assert as_user(store.cast.visitor).get(address).status_code == 403


def test_printing_does_not_ask_more_for_more_labels(store: Store, archivist: Client, django_assert_num_queries) -> None:
    pieces = [*store.production.pieces.all()]
    actions.issue_labels(by=store.cast.archivist, pieces=pieces)
    address = f"{reverse('storage:place_labels_pdf', args=['MAIN'])}?what=pieces&paper=a4-21"
    archivist.get(address)
    with django_assert_num_queries(6):
        archivist.get(address)
    actions.issue_labels(by=store.cast.archivist, pieces=[store.piece(f"M-1{n:03d}", "MAIN-2-1") for n in range(5)])
    with django_assert_num_queries(6):
        archivist.get(address)
