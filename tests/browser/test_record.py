"""A coat out of an open trunk, on a phone, by hand and by scanner; and no page of pieces or care with a barrier."""

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from catalog.access.models import User
from catalog.care import actions as care
from catalog.pieces import actions as pieces
from catalog.pieces.models import Piece, Production
from catalog.storage import actions as storage
from catalog.storage.models import Label
from tests.cast import Cast
from tests.pieces import world

pytestmark = pytest.mark.django_db(transaction=True)
TWO_MINUTES_S = 120
PAGES = (
    "/record/",
    "/record/?kind=coat&production=ABC",
    "/record/?kind=boots&production=ABC",
    "/pieces/ABC-0001/edit/",
    "/pieces/ABC-0001/measures/",
    "/pieces/ABC-0001/pictures/",
    "/pieces/ABC-0001/parts/",
    "/pieces/ABC-0001/matches/",
    "/pieces/ABC-0001/value/",
    "/pieces/productions/",
    "/pieces/productions/ABC/",
    "/care/ABC-0001/report/",
    "/care/ABC-0001/wear/",
    "/care/ABC-0001/hazard/",
    "/care/ABC-0001/pack/",
    "/care/ABC-0001/treatment/",
    "/care/ABC-0001/quarantine/",
    "/care/ABC-0001/alteration/",
    "/care/treatments/",
    "/care/untested/",
)


@pytest.fixture
def blank(cast: Cast) -> Label:
    """The store: a production with a coat slot, a trunk with a label, and a blank to stick on."""
    film = world.production(cast)
    world.slot(cast, world.role(cast, film))
    room = storage.add_place(by=cast.archivist, code="R1", name="Room", kind="room")
    storage.add_place(by=cast.archivist, code="K7", name="Trunk 7", kind="trunk", parent=room, home=room)
    return storage.make_blanks(by=cast.archivist, count=1)[0]


def scan(page: Any, label: str, code: str) -> None:
    """A scanner is a keyboard that ends in Enter."""
    page.get_by_label(label, exact=False).first.click()
    page.keyboard.type(code)
    page.keyboard.press("Enter")


def test_a_coat_in_under_two_minutes(
    cast: Cast, phone: Any, enter: Callable[[Any, User], None], blank: Label, tmp_path: Path
) -> None:
    shot = tmp_path / "shot.jpg"
    shot.write_bytes(world.picture("navy", size=(1200, 1600)))
    enter(phone, cast.archivist)
    started = time.monotonic()
    phone.goto("/")
    phone.get_by_role("link", name="Record a piece").click()
    phone.get_by_role("button", name="Coat, jacket, tunic").tap()
    phone.get_by_label("Picture").set_input_files(shot)
    phone.get_by_label("Name").fill("Pea coat, navy wool")
    assert phone.get_by_label("Number").input_value() == "ABC-0001"
    scan(phone, "Place", "k7")
    assert "kind=coat" in phone.url, "a scan does not send the form"
    scan(phone, "Label", f"HTTPS://ARCHIVE.EXAMPLE/Q/{blank.code}")
    phone.locator("#id_m_chest").fill("104.5")
    phone.locator("#id_m_back_length").fill("38 in")
    phone.get_by_label("Materials").fill("wool, horn buttons")
    phone.get_by_role("button", name="Record this piece").tap()
    phone.wait_for_url("**/pieces/ABC-0001/")
    taken = time.monotonic() - started
    assert "ABC-0001, Pea coat, navy wool, is recorded" in phone.content()
    assert taken < TWO_MINUTES_S
    piece = Piece.objects.get()
    blank.refresh_from_db()
    assert blank.piece == piece
    assert {row.point: row.value_mm for row in piece.measures.all()} == {"chest": 1045, "back_length": 965}
    assert piece.pictures.count() == 1
    assert phone.evaluate("document.querySelector('figure.photo img').naturalWidth") > 0


def test_a_fault_keeps_the_picture_on_a_phone(
    cast: Cast, phone: Any, enter: Callable[[Any, User], None], blank: Label, tmp_path: Path
) -> None:
    shot = tmp_path / "shot.jpg"
    shot.write_bytes(world.picture("navy"))
    enter(phone, cast.archivist)
    phone.goto("/record/?kind=coat&production=ABC")
    phone.get_by_label("Picture").set_input_files(shot)
    phone.get_by_label("Name").fill("Pea coat")
    phone.locator("#id_m_chest").fill("9")
    phone.get_by_role("button", name="Record this piece").tap()
    assert "9 cm cannot be right" in phone.get_by_role("alert").inner_text()
    assert phone.get_by_label("Name").input_value() == "Pea coat"
    phone.locator("#id_m_chest").fill("109")
    phone.get_by_role("button", name="Record this piece").tap()
    phone.wait_for_url("**/pieces/ABC-0001/")
    assert Piece.objects.get().pictures.count() == 1


@pytest.mark.parametrize(("width", "scheme"), [(390, "dark"), (1280, "light")])
def test_no_barrier_and_nothing_runs_over_the_edge(
    cast: Cast,
    page: Any,
    enter: Callable[[Any, User], None],
    faults: Callable[[Any], list[str]],
    blank: Label,
    width: int,
    scheme: str,
) -> None:
    piece = world.piece(cast, Production.objects.get(code="ABC"), materials=["fur felt", "silk"])
    pieces.add_picture(by=cast.archivist, piece=piece, data=world.picture())
    pieces.set_measure(by=cast.archivist, piece=piece, point="chest", value_mm=1000, let_out_mm=10)
    pieces.set_match(by=cast.archivist, piece=piece, group="dye lot", value="B")
    pieces.add_part(by=cast.archivist, piece=piece, letter="a", name="belt")
    care.need_treatment(by=cast.archivist, piece=piece, what="close a seam", days=1)
    care.record_pack(by=cast.archivist, piece=piece, state="damaged")
    enter(page, cast.archivist)
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size({"width": width, "height": 844})
    found = []
    for address in PAGES:
        assert page.goto(address).status == 200
        found += faults(page)
        over = page.evaluate("document.documentElement.scrollWidth") - width
        found += [f"{address} is {over} px too wide at {width}"] if over > 0 else []
    assert found == []
