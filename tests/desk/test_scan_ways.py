"""The ways of scanning as plain pages, what a device asks for, deciding on kept scans, the page without signal."""

import io
import json
import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
import qrcode
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from PIL import Image

from catalog.access.duties import Duty
from catalog.core import clock
from catalog.core.history import lines_of
from catalog.desk import scan_camera
from catalog.desk.calc.scan_ways import EMERGENCY, MANY, PUT, after, after_refusal, next_slot
from catalog.desk.scan_device_views import SCAN_PAGE
from catalog.loans.models import Loan, LoanLine
from catalog.pieces.models import Piece
from catalog.storage import actions
from catalog.storage.models import Move, Standing
from catalog.storage.scan_actions import Scan
from catalog.storage.scan_models import KeptScan
from tests.cast import Cast
from tests.storage.world import Store, make_store

MAY_MOVE = {Duty.ARCHIVIST, Duty.WARDROBE_LEAD, Duty.SET_COSTUMER}


@pytest.fixture
def store(cast: Cast) -> Store:
    cache.clear()
    return make_store(cast)


def at(number: str) -> str:
    return str(Standing.objects.get(piece__number=number).place)


def step(client: Client, address: str, code: str, **more: str) -> Any:
    """One scan without a program in the page: what stands in the page's own fields is sent with the code."""
    page = client.get(address).content.decode()
    put = page.split('class="scan scan-put"')[1].split("</form>")[0]
    hidden = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', put))
    return client.post(reverse("desk:scan_put"), {**hidden, "code": code, **more})


def sends(client: Client, *scans: dict[str, Any], **facts: Any) -> list[dict[str, Any]]:
    body = {"sent_at": clock.now().isoformat(), "acts": list(scans), **facts}
    answer = client.post(reverse("desk:scan_send"), json.dumps(body), content_type="application/json")
    assert answer.status_code == 200, answer.content
    return answer.json()["answers"]  # type: ignore[no-any-return]


# --- the order of things ---------------------------------------------------------------------------------------------
def test_what_is_asked_for_next_and_what_stays() -> None:
    assert [next_slot(PUT, {}), next_slot(PUT, {"thing": "a"}), next_slot(PUT, {"thing": "a", "to": "b"})] == [
        "thing", "to", None,
    ]  # fmt: skip
    assert next_slot(MANY, {}) == "to"
    full = {"thing": "a", "to": "b", "from": "c"}
    assert (after(PUT, full), after(MANY, full), after(EMERGENCY, full)) == ({}, {"to": "b"}, {"from": "c", "to": "b"})
    assert after_refusal(PUT, full, "to") == {"thing": "a"}
    assert after_refusal(PUT, full, "thing") == {}


# --- plain pages -----------------------------------------------------------------------------------------------------
def test_thing_then_place(store: Store, as_user: Callable[[Any], Client]) -> None:
    client = as_user(store.cast.set_costumer)
    first = step(client, "/scan/?way=put", "m0003")
    assert first["Location"] == "/scan/?way=put&thing=M-0003"
    page = client.get(first["Location"]).content.decode()
    assert "Scan where it goes." in page
    wrong = step(client, first["Location"], "M-0001").content.decode()
    assert "M-0001 is a piece, not a place" in wrong
    assert 'name="thing" value="M-0003"' in wrong
    done = step(client, first["Location"], "bench")
    assert (done["Location"], at("M-0003")) == ("/scan/?way=put", "BENCH")
    page = client.get(done["Location"]).content.decode()
    assert "M-0003 is now at BENCH. It was at MAIN-10-1." in page
    undo = re.search(r'name="undoes" value="([^"]+)"', page)
    assert undo is not None
    client.post(reverse("desk:scan_undo"), {"way": "put", "undoes": undo[1]})
    assert at("M-0003") == "MAIN-10-1"
    assert "taken back" in client.get("/scan/?way=put").content.decode()
    assert client.post(reverse("desk:scan_undo"), {"undoes": "x"}).status_code == 302


def test_place_then_many_things(store: Store, as_user: Callable[[Any], Client]) -> None:
    client = as_user(store.cast.archivist)
    here = step(client, "/scan/?way=many", "BENCH")["Location"]
    for thing in ("M-0003", "BOX1"):
        assert step(client, here, thing)["Location"] == here
    said = step(client, here, "M-0O01").content.decode()
    assert "No piece, place or label is called “M-0O01”." in said
    assert re.search(r'name="code" value="M-0001"', said), "the swapped or misread number is offered to be pressed"
    assert (at("M-0003"), str(store["BOX1"].parent)) == ("BENCH", "BENCH")


def test_a_page_sent_twice_moves_once(store: Store, as_user: Callable[[Any], Client]) -> None:
    client = as_user(store.cast.archivist)
    sent = {"way": "put", "thing": "M-0003", "code": "BENCH", "client_id": str(uuid4())}
    for _ in range(2):
        assert client.post(reverse("desk:scan_put"), sent).status_code == 302
    assert Move.objects.filter(piece__number="M-0003", to_place__code="BENCH").count() == 1


def test_everything_from_here_to_there_for_one_reason(store: Store, as_user: Callable[[Any], Client]) -> None:
    client = as_user(store.cast.archivist)
    page = client.get("/scan/?way=emergency").content.decode()
    assert "Nobody alone in a cold or wet room" in page
    assert "Say why first" in step(client, "/scan/?way=emergency", "MAIN").content.decode()
    here = "/scan/?way=emergency"
    for place in ("MAIN", "BENCH"):
        here = step(client, here, place, reason="roof leak")["Location"]
    assert here == "/scan/?way=emergency&from=MAIN&to=BENCH&reason=roof+leak"
    assert "3 things are left in MAIN by the record." in client.get(here).content.decode()
    step(client, here, "BOX1", reason="roof leak")
    step(client, here, "M-0003", reason="roof leak")
    assert "1 thing is left in MAIN by the record." in client.get(here).content.decode()
    assert set(Move.objects.filter(to_place__code="BENCH").values_list("reason", flat=True)) == {"roof leak"}


@pytest.mark.parametrize("who", [*Duty, None], ids=lambda d: d.value if d else "stranger")
def test_who_may_move_by_scanning(store: Store, as_user: Callable[[Any], Client], who: Duty | None) -> None:
    client = as_user(store.cast.of(who) if who else None)
    scan = {"client_id": str(uuid4()), "thing": "M-0003", "to": "BENCH"}
    body = json.dumps({"acts": [scan]})
    answer = client.post(reverse("desk:scan_send"), body, content_type="application/json")
    plain = client.post(reverse("desk:scan_put"), {"way": "put", "thing": "M-0003", "code": "BENCH"})
    if who in MAY_MOVE:
        assert (answer.status_code, plain.status_code, at("M-0003")) == (200, 302, "BENCH")
        assert "Put many" in client.get("/scan/").content.decode()
        return
    refused = 302 if who is None else 403
    assert (answer.status_code, plain.status_code, at("M-0003")) == (refused, refused, "MAIN-10-1")
    if who is not None:
        page = client.get("/scan/?way=put").content.decode()
        assert "Put many" not in page
        assert "scan-page.js" not in page


# --- what a device sends ---------------------------------------------------------------------------------------------
def test_each_scan_has_its_own_answer_and_a_repeat_the_same(store: Store, as_user: Callable[[Any], Client]) -> None:
    client = as_user(store.cast.archivist)
    good, bad = str(uuid4()), str(uuid4())
    scans = [
        {"client_id": good, "thing": "M-0003", "to": "BENCH", "from": "MAIN", "reason": "leak"},
        {"client_id": bad, "thing": "M-0003", "to": "MUSEUM"},
        {"client_id": "rubbish", "thing": "M-0003"},
        "rubbish",
        {"client_id": str(uuid4()), "undoes": good},
    ]
    answers = sends(client, *scans)
    assert [one["result"] for one in answers] == ["done", "refused", "refused", "refused", "done"]
    assert answers[0]["left"] == "2 things are left in MAIN by the record."
    before = Move.objects.count()
    again = sends(client, *scans)
    assert [one["sentence"] for one in again] == [one["sentence"] for one in answers]
    assert Move.objects.count() == before
    for wrong in ("{", "[]", '{"acts": 3}'):
        assert client.post(reverse("desk:scan_send"), wrong, content_type="application/json").status_code == 400
    many = json.dumps({"acts": [{}] * 51})
    assert client.post(reverse("desk:scan_send"), many, content_type="application/json").status_code == 400


def test_a_phone_with_a_wrong_clock(store: Store, as_user: Callable[[Any], Client]) -> None:
    """It runs two hours ahead: the scan of ten minutes ago is recorded ten minutes ago."""
    Move.objects.update(happened=clock.now() - timedelta(days=2))
    Standing.objects.update(since=clock.now() - timedelta(days=2))
    ahead = clock.now() + timedelta(hours=2)
    scan = {
        "client_id": str(uuid4()), "thing": "M-0003", "to": "BENCH", "waited": True,
        "at": (ahead - timedelta(minutes=10)).isoformat(),
    }  # fmt: skip
    assert sends(as_user(store.cast.archivist), scan, sent_at=ahead.isoformat())[0]["result"] == "done"
    line = lines_of(Piece.objects.get(number="M-0003").subject)[0]
    assert timedelta(minutes=9, seconds=50) < line.recorded - line.happened < timedelta(minutes=10, seconds=10)
    page = as_user(store.cast.archivist).get(reverse("desk:piece", args=["M-0003"])).content.decode()
    assert re.search(r"scanned \d\d:\d\d, recorded \d\d:\d\d", page)


def test_a_code_is_told_for_its_slot(store: Store, as_user: Callable[[Any], Client]) -> None:
    client = as_user(store.cast.archivist)
    look = lambda code, slot: client.post(reverse("desk:scan_look"), {"code": code, "slot": slot}).json()  # noqa: E731
    seen = look("BOX1", "thing")
    assert (seen["number"], seen["cut"], seen["where"]) == ("BOX1", "trunk", "at MAIN-2-1")
    assert "unknown" not in seen["lift"]
    assert "not a place" in look("M-0001", "to")["problem"]
    assert [one["number"] for one in look("M-0O01", "thing")["near"]] == ["M-0001"]
    assert look("M-0O01", "to")["near"] == [], "a piece is no place, so it is not offered as one"
    ready = client.get(reverse("desk:scan_ready"))
    assert (ready.json()["user"], ready.json()["kept"]) == ("archivist", 0)
    assert "no-store" in ready["Cache-Control"]


def test_a_late_scan_yields_to_the_pile_of_a_loan(store: Store, as_user: Callable[[Any], Client]) -> None:
    """It waits for a decision; with a signal the hand is there, so it is done and the pile is named."""
    loan = Loan.objects.create(reference="L-7", to_whom="A. Producer", due_on=clock.today())
    LoanLine.objects.create(loan=loan, piece=Piece.objects.get(number="M-0003"), state="pulled")
    client = as_user(store.cast.set_costumer)
    scan = {"client_id": str(uuid4()), "thing": "M-0003", "to": "BENCH", "at": clock.now().isoformat()}
    late = sends(client, {**scan, "waited": True})[0]
    assert (late["result"], at("M-0003")) == ("kept", "MAIN-10-1")
    assert "M-0003 is pulled for loan L-7" in late["sentence"]
    live = sends(client, {**scan, "client_id": str(uuid4())})[0]
    assert (live["result"], at("M-0003")) == ("done", "BENCH")
    assert live["lift"] == "M-0003 is pulled for loan L-7: put it back on that list first."


# --- deciding --------------------------------------------------------------------------------------------------------
@pytest.fixture
def kept(store: Store) -> KeptScan:
    scan = Scan(uuid4(), "M-0003", "MUSEUM", "van", clock.now(), waited=True)
    found = actions.put_scanned(by=store.cast.set_costumer, scan=scan).kept
    assert found is not None
    return found


def test_a_kept_scan_is_shown_until_somebody_decides(
    store: Store, kept: KeptScan, as_user: Callable[[Any], Client]
) -> None:
    client, address = as_user(store.cast.archivist), reverse("desk:scan_decide", args=[kept.pk])
    assert "1 late scan waits for a decision." in client.get("/").content.decode()
    assert "M-0003 to MUSEUM" in client.get(reverse("desk:scan_kept")).content.decode()
    assert "away from the store" in client.get(address).content.decode()
    assert "What is true" in client.post(address, {"why": ""}).content.decode().split("There is a problem")[1]
    assert "Say why the scan is dropped." in client.post(address, {"decision": "dropped"}).content.decode()
    past = client.post(address, {"decision": "past"}).content.decode()
    assert "has not been moved since" in past
    same = client.post(address, {"decision": "put", "thing": "M-0003", "to": "MUSEUM"}).content.decode()
    assert "away from the store" in same
    assert client.post(address, {"decision": "put", "thing": "M-0003", "to": "BENCH"}).status_code == 302
    kept.refresh_from_db()
    assert (kept.decision, at("M-0003")) == ("put", "BENCH")
    assert client.get(address).status_code == 404
    assert "No scan waits" in client.get(reverse("desk:scan_kept")).content.decode()


def test_kept_scans_are_listed_in_a_few_questions(
    store: Store, kept: KeptScan, as_user: Callable[[Any], Client], django_assert_max_num_queries: Any
) -> None:
    for n in range(5):
        actions.put_scanned(by=store.cast.archivist, scan=Scan(uuid4(), f"X-{n}", "BENCH", "", clock.now(), True))
    client = as_user(store.cast.archivist)
    with django_assert_max_num_queries(8):
        assert client.get(reverse("desk:scan_kept")).content.decode().count("X-") >= 5


# --- without signal --------------------------------------------------------------------------------------------------
def test_the_page_without_signal_holds_nothing_of_anybody(store: Store, as_user: Callable[[Any], Client]) -> None:
    client = as_user(store.cast.archivist)
    shell = client.get(reverse("desk:scan_shell"))
    page = shell.content.decode()
    for secret in ("archivist", "M-000", "csrf", "Sign out", "BOX1"):
        assert secret not in page
    assert "No signal" in page
    worker = client.get(reverse("desk:scan_worker"))
    text = worker.content.decode()
    assert worker["Content-Type"].startswith("text/javascript")
    files = json.loads(re.search(r"const FILES = (\[.*?\]);", text)[1])  # type: ignore[index]
    assert len(files) == len(SCAN_PAGE.all_files)
    wanted = set(re.findall(r'(?:src|href)="(/static/[^"]+)"', page))
    assert wanted <= set(files), "whatever the page asks for opens without signal too"
    for file in files:
        answer = client.get(file)
        assert answer.status_code == 200, file
        if file.startswith("/static/catalog/js/"):
            held = b"".join(answer.streaming_content).decode()  # type: ignore[attr-defined]
            needed = {f"/static/catalog/js/{name}" for name in re.findall(r'from "\./([\w-]+\.js)"', held)}
            assert needed <= set(files), f"what {file} imports opens without signal too"
    assert 'KIND = "wrapkeep-scan-"' in text
    assert re.search(r'KIND \+ "[0-9a-f]{12}"', text)
    assert worker["Service-Worker-Allowed"] == "/"
    assert as_user(None).get(reverse("desk:scan_shell")).status_code == 302
    assert "queue-leave.js" in as_user(None).get(reverse("access:sign_in")).content.decode()


# --- the camera ------------------------------------------------------------------------------------------------------
def frame(text: str, *, size: tuple[int, int] = (960, 540)) -> bytes:
    """A JPEG as a camera gives it: the code a little tilted on a grey wall."""
    code = qrcode.make(text, box_size=6).get_image().convert("L").rotate(7, expand=True, fillcolor=255)
    wall = Image.new("L", size, 150)
    wall.paste(code, ((size[0] - code.width) // 2, (size[1] - code.height) // 2))
    held = io.BytesIO()
    wall.save(held, "JPEG", quality=70)
    return held.getvalue()


def test_a_frame_is_read_and_never_stored(
    store: Store, as_user: Callable[[Any], Client], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Made by one library, read by another (zxing-cpp); no upload handler sees a byte of it."""
    client = as_user(store.cast.visitor)
    monkeypatch.setattr("django.core.files.uploadhandler.FileUploadHandler.__init__", lambda *a, **k: 1 / 0)
    send = lambda body, kind="image/jpeg": client.post("/scan/decode/", body, content_type=kind)  # noqa: E731
    text = "HTTPS://LABELS.EXAMPLE/Q/P00042Z"
    assert send(frame(text)).json() == {"text": text}
    assert send(frame("x")[:900]).status_code == 400
    assert send(b"GIF89a").json()["problem"].startswith("The picture could not be read.")
    assert send(frame("x"), "text/plain").status_code == 415
    assert send(b"\xff" * 500_000).status_code == 413
    assert send(frame("x", size=(2400, 1800))).status_code == 400
    blank = io.BytesIO()
    Image.new("L", (300, 200), 128).save(blank, "JPEG")
    assert send(blank.getvalue()).json() == {"text": ""}
    assert as_user(None).post("/scan/decode/", b"x", content_type="image/jpeg").status_code == 302
    monkeypatch.setattr(scan_camera, "FRAMES_A_MINUTE", 3)
    slow = send(frame("x"))
    assert (slow.status_code, slow["Retry-After"]) == (429, "10")
