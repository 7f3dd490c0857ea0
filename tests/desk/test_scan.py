"""One field opens the thing; the address on a label tells a stranger whom to call and nothing else."""

import re

import pytest
from django.urls import reverse

from catalog.access.duties import Duty
from catalog.core.codes import make_code
from catalog.core.models import HouseSetting
from catalog.storage import actions
from tests.cast import Cast
from tests.storage.world import Store, make_store

SCAN = "/scan/"


@pytest.fixture
def store(cast: Cast) -> Store:
    return make_store(cast)


@pytest.fixture
def codes(store: Store) -> dict[str, str]:
    """Codes bound to a piece, a trunk and a shelf; a blank; a sound one of no label; a misread one; no code at all."""
    piece = store.production.pieces.get(number="M-0001")
    bound = actions.issue_label(by=store.cast.archivist, piece=piece).code
    return {
        "piece": bound,
        "trunk": actions.issue_label(by=store.cast.archivist, place=store["BOX1"]).code,
        "shelf": actions.issue_label(by=store.cast.archivist, place=store["MAIN-2-1"]).code,
        "blank": actions.make_blanks(by=store.cast.archivist, count=1)[0].code,
        "unknown": make_code("P", 4711),
        "misread": bound[:5] + ("1" if bound[5] != "1" else "2") + bound[6],
        "nonsense": "hello",
    }


def test_a_code_opens_its_thing(store: Store, codes: dict[str, str], as_user) -> None:
    client = as_user(store.cast.set_costumer)
    for typed, address in (
        (codes["piece"], reverse("desk:piece", args=["M-0001"])),
        (f"HTTPS://127.0.0.1:8000/Q/{codes['trunk']}", reverse("storage:place", args=["BOX1"])),
        (codes["shelf"].lower(), reverse("storage:place", args=["MAIN-2-1"])),
        ("m-0002", reverse("desk:piece", args=["M-0002"])),
        ("bench", reverse("storage:place", args=["BENCH"])),
    ):
        assert client.post(SCAN, {"code": typed})["Location"] == address
    page = client.get(SCAN).content.decode()
    assert "autofocus" in page
    last = re.findall(r"</span>(M-000\d|BOX1|BENCH|MAIN-2-1)</span>", page.split("Last scans")[1])
    assert last == ["BENCH", "M-0002", "MAIN-2-1", "BOX1", "M-0001"]


def test_what_opens_nothing_is_told_with_what_it_may_have_been(store: Store, codes: dict[str, str], as_user) -> None:
    client = as_user(store.cast.archivist)
    page = client.post(SCAN, {"code": codes["misread"]}).content.decode()
    assert "wrong check character" in page
    assert "M-0001" in page.split("Did you mean")[1]
    assert "<title>Error: Scan" in page
    page = client.post(SCAN, {"code": "BOX"}).content.decode()
    assert "No piece, place or label is called “BOX”." in page
    assert "Did you mean" not in page
    assert "Nothing was scanned" in client.post(SCAN, {}).content.decode()
    assert client.get(SCAN).content.decode().count("Last scans") == 0


@pytest.mark.parametrize("typed", ["M0001", "m 0001", " M-00-01 ", "m0001"])
def test_a_number_typed_without_its_dash_opens_its_piece(store: Store, as_user, typed: str) -> None:
    assert as_user(store.cast.set_costumer).post(SCAN, {"code": typed})["Location"] == reverse(
        "desk:piece", args=["M-0001"]
    )


def test_what_may_be_several_things_is_listed_to_choose_from(store: Store, as_user) -> None:
    store.place("M00-01", "box", "BENCH")
    client = as_user(store.cast.archivist)
    page = client.post(SCAN, {"code": "m0001"}).content.decode()
    assert "“m0001” may be M00-01 or M-0001: choose one." in page
    assert reverse("desk:piece", args=["M-0001"]) in page.split("Did you mean")[1]
    assert reverse("storage:place", args=["M00-01"]) in page.split("Did you mean")[1]
    assert client.post(SCAN, {"code": "m-0001"})["Location"] == reverse("desk:piece", args=["M-0001"])


@pytest.mark.parametrize("spot", range(7))
def test_a_label_with_any_one_sign_misread_is_named(store: Store, codes: dict[str, str], as_user, spot: int) -> None:
    code = codes["piece"]
    wrong = code[:spot] + ("O" if code[spot] != "O" else "Q") + code[spot + 1 :]
    page = as_user(store.cast.archivist).post(SCAN, {"code": wrong}).content.decode()
    assert "M-0001" in page.split("Did you mean")[1]


def test_a_blank_is_bound_by_whoever_may(store: Store, codes: dict[str, str], as_user) -> None:
    bind = reverse("storage:bind", args=[codes["blank"]])
    assert as_user(store.cast.archivist).post(SCAN, {"code": codes["blank"]})["Location"] == bind
    assert as_user(store.cast.archivist).get(f"/q/{codes['blank']}/")["Location"] == bind
    page = as_user(store.cast.set_costumer).post(SCAN, {"code": codes["blank"]}).content.decode()
    assert "is a blank that is on nothing yet" in page


@pytest.mark.parametrize("pattern", ["/q/{lower}/", "/q/{lower}", "/Q/{code}", "/Q/{code}/", "/q/{code}", "/Q/{lower}"])
def test_both_cases_resolve_with_and_without_a_slash(store: Store, codes, as_user, pattern: str) -> None:
    address = pattern.format(code=codes["piece"], lower=codes["piece"].lower())
    assert as_user(store.cast.production).get(address)["Location"] == reverse("desk:piece", args=["M-0001"])


@pytest.mark.parametrize("duty", list(Duty))
def test_whoever_is_signed_in_gets_to_the_thing(store: Store, codes: dict[str, str], as_user, duty: Duty) -> None:
    client = as_user(store.cast.of(duty))
    assert client.get(f"/q/{codes['trunk']}/")["Location"] == reverse("storage:place", args=["BOX1"])
    assert client.get(SCAN).status_code == 200
    for which in ("unknown", "misread", "nonsense"):
        assert client.get(f"/q/{codes[which]}/").status_code == 404


def test_a_visitor_does_not_learn_of_a_closed_production(store: Store, codes: dict[str, str], as_user) -> None:
    store.production.closed = True
    store.production.save()
    answer = as_user(store.cast.visitor).get(f"/q/{codes['piece']}/")
    assert answer.status_code == 404
    assert "M-0001" not in answer.content.decode()


def test_the_stranger_learns_whom_to_call_and_nothing_else(store: Store, codes: dict[str, str], as_user) -> None:
    """Bound, unbound, unknown, misread: the page is the same to the letter, but for the address that was asked for."""
    HouseSetting.objects.create(key="house.name", value="The Moor Archive")
    HouseSetting.objects.create(key="house.found_phone", value="+44 20 7946 0000")
    pages = set()
    for code in codes.values():
        for address in (f"/q/{code}/", f"/Q/{code}"):
            answer = as_user(None).get(address)
            assert answer.status_code == 200
            page = answer.content.decode()
            assert "This is the property of The Moor Archive." in page
            assert "please call" in page
            assert "+44 20 7946 0000" in page
            assert "no-store" in answer["Cache-Control"]
            for secret in ("M-0001", "coat", "BOX1", "trunk 1", "Main Hall", "rack 2", "The Moor<"):
                assert secret not in page
            page = re.sub(r'"x-csrftoken": "[^"]*|\d\d:\d\d(?=</span>)', "", page)
            pages.add(page.replace(address, "ADDRESS"))
    assert len(pages) == 1


def test_the_stranger_page_asks_the_store_nothing(store: Store, codes, as_user, django_assert_max_num_queries) -> None:
    """The same few questions for every code: not even the time tells whether a code is in use."""
    asked = []
    for which in ("piece", "unknown"):
        with django_assert_max_num_queries(6) as seen:
            as_user(None).get(f"/q/{codes[which]}/")
        asked.append([query["sql"] for query in seen.captured_queries])
    assert asked[0] == asked[1]
    assert not any("catalog_label" in sql or "catalog_piece" in sql for sql in asked[0])


def test_without_a_number_to_call_the_stranger_still_knows_whose_it_is(store: Store, codes, as_user) -> None:
    page = as_user(None).get(f"/q/{codes['piece']}/").content.decode()
    assert "please keep it safe and tell Wrapkeep archive" in page


def test_the_stranger_cannot_scan(as_user, db: None) -> None:
    assert as_user(None).get(SCAN)["Location"].startswith(reverse("access:sign_in"))
    assert as_user(None).post(SCAN, {"code": "x"})["Location"].startswith(reverse("access:sign_in"))
