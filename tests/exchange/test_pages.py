"""Loading a table in the browser: a look first, then the load, both by plain form posts."""

import html
import json
import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from catalog.access.duties import Duty
from catalog.loans.models import Wearer
from catalog.pieces.models import Production
from tests.cast import Cast
from tests.demo_world import DemoWorld

PAGE = "/tables/"
TABLE = "code,title\nZ,Zephyr <b>\nY,Yard\n"
AsUser = Callable[[Any], Client]


def upload(text: str | bytes, name: str = "productions.csv") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, text if isinstance(text, bytes) else text.encode(), content_type="text/csv")


def sealed_in(answer: HttpResponse) -> str:
    found = re.search(r'name="sealed" value="([^"]+)"', answer.content.decode())
    assert found is not None
    return html.unescape(found[1])


def test_a_table_is_looked_at_and_then_loaded(cast: Cast, as_user: AsUser) -> None:
    client = as_user(cast.archivist)
    look = client.post(PAGE, {"kind": "productions", "file": upload(TABLE)})
    page = look.content.decode()
    assert look.status_code == 200
    assert "2 rows can be loaded." in page
    assert "From productions.csv, as productions." in page
    assert "Zephyr &lt;b&gt;" in page
    assert not Production.objects.exists()
    done = client.post(PAGE, {"sealed": sealed_in(look)}, follow=True)
    assert done.redirect_chain == [(PAGE, 302)]
    assert "2 productions stored." in done.content.decode()
    assert Production.objects.count() == 2


def test_loading_twice_tells_what_stands_in_the_way(cast: Cast, as_user: AsUser) -> None:
    client = as_user(cast.archivist)
    sealed = sealed_in(client.post(PAGE, {"kind": "productions", "file": upload(TABLE)}))
    client.post(PAGE, {"sealed": sealed})
    again = client.post(PAGE, {"sealed": sealed})
    assert again.status_code == 409
    assert "Row 2, code: Z is there already." in again.content.decode()
    assert Production.objects.count() == 2


def test_pasted_rows_and_a_typed_mapping(cast: Cast, as_user: AsUser) -> None:
    client = as_user(cast.archivist)
    rules = json.dumps({"columns": {"code": "short"}})
    look = client.post(PAGE, {"kind": "productions", "pasted": "short\ttitle\nZ\tZephyr\n", "mapping": rules})
    client.post(PAGE, {"sealed": sealed_in(look)})
    assert Production.objects.get().code == "Z"


@pytest.mark.parametrize(
    ("fields", "part"),
    [
        ({}, "Choose a file, or paste rows below."),
        ({"pasted": "code,title\nZ,\n"}, "Row 2, title: is empty."),
        ({"pasted": "code,title\nZ,=1+1\n"}, "Row 2, title: the cell is a formula"),
        ({"pasted": TABLE, "mapping": "{"}, "The mapping is no JSON"),
        ({"pasted": TABLE, "mapping": '{"columns": {"girth": "a"}}'}, "is no column of productions"),
        ({"pasted": TABLE, "kind": "roster"}, "What is in it"),
        ({"pasted": TABLE, "kind": "spoons"}, "What is in it"),
    ],
)
def test_what_is_wrong_is_told_and_what_was_typed_stays(
    cast: Cast, as_user: AsUser, fields: dict[str, str], part: str
) -> None:
    answer = as_user(cast.archivist).post(PAGE, {"kind": "productions", **fields})
    page = html.unescape(answer.content.decode())
    assert answer.status_code == 422
    assert part in page
    assert fields.get("pasted", "") in page.replace("\r\n", "\n")
    assert not Production.objects.exists()


@pytest.mark.parametrize(
    ("data", "part"),
    [("code,title\nZ,\xe9\n".encode("latin-1"), "not written in UTF-8"), (b"\x89PNG\x00", "neither a text table")],
)
def test_a_file_that_is_no_table_is_refused(cast: Cast, as_user: AsUser, data: bytes, part: str) -> None:
    answer = as_user(cast.archivist).post(PAGE, {"kind": "productions", "file": upload(data)})
    assert answer.status_code == 422
    assert part in answer.content.decode()


def test_a_changed_or_borrowed_or_old_look_is_not_loaded(cast: Cast, as_user: AsUser) -> None:
    client = as_user(cast.archivist)
    sealed = sealed_in(client.post(PAGE, {"kind": "productions", "file": upload(TABLE)}))
    with time_machine.travel(timezone.now() + timedelta(hours=2)):
        assert client.post(PAGE, {"sealed": sealed}).status_code == 409
    other = as_user(cast.archivist)
    assert other.post(PAGE, {"sealed": sealed[:-2] + "xx"}).status_code == 409
    cast.visitor.groups.set(cast.archivist.groups.all())
    assert as_user(cast.visitor).post(PAGE, {"sealed": sealed}).status_code == 409
    assert not Production.objects.exists()


def test_a_roster_is_loaded_from_its_call(demo_world: DemoWorld, as_user: AsUser) -> None:
    client, address = as_user(demo_world.cast.wardrobe_lead), f"/tables/roster/{demo_world.call.reference}/"
    assert client.get(address).status_code == 200
    rows = "number,name,card_height,consent,delete_on\nX1,Ann Other,171,yes,2026-12-28\n"
    look = client.post(address, {"pasted": rows})
    assert "Ann Other" not in look.content.decode()
    assert client.post(PAGE, {"sealed": sealed_in(look)}).status_code == 403
    client.post(address, {"sealed": sealed_in(look)})
    assert Wearer.objects.filter(number="X1").exists()
    assert client.get("/tables/roster/NO-CALL/").status_code == 404


@pytest.mark.parametrize(
    ("address", "allowed"),
    [
        (PAGE, {Duty.ARCHIVIST}),
        ("/tables/roster/RS-2026-01/", {Duty.WARDROBE_LEAD}),
        ("/tables/columns/pieces/", set(Duty) - {Duty.VISITOR}),
        ("/tables/columns/pieces/empty.csv", set(Duty) - {Duty.VISITOR}),
    ],
)
def test_each_duty_and_a_stranger(demo_world: DemoWorld, as_user: AsUser, address: str, allowed: set[Duty]) -> None:
    for duty in Duty:
        answer = as_user(demo_world.cast.of(duty)).get(address)
        assert answer.status_code == (200 if duty in allowed else 403), duty
    assert as_user(None).get(address).status_code == 302


def test_an_empty_table_has_every_column(cast: Cast, as_user: AsUser) -> None:
    client = as_user(cast.archivist)
    answer = client.get("/tables/columns/pieces/empty.csv")
    header = b"".join(answer.streaming_content).decode().strip().split(",")  # type: ignore[attr-defined]
    assert {"number", "name", "production", "chest", "let_out_chest", "hazards"} <= set(header)
    page = client.get("/tables/columns/pieces/").content.decode()
    assert "its own number; never reused" in page
    assert client.get("/tables/columns/spoons/").status_code == 404


def test_a_filled_in_empty_table_loads(cast: Cast, as_user: AsUser) -> None:
    """The header that the site hands out is one that it takes back."""
    client = as_user(cast.archivist)
    answer = client.get("/tables/columns/productions/empty.csv")
    text = b"".join(answer.streaming_content).decode() + "Z,Zephyr,,,\r\n"  # type: ignore[attr-defined]
    client.post(PAGE, {"sealed": sealed_in(client.post(PAGE, {"kind": "productions", "file": upload(text)}))})
    assert Production.objects.get().title == "Zephyr"


def test_a_refusal_of_pasted_rows_speaks_of_rows(cast: Cast, as_user: AsUser) -> None:
    client = as_user(cast.archivist)
    facts = {"kind": "productions", "pasted": "code,title\nZ,\n"}
    page = client.post(PAGE, facts).content.decode()
    assert "The pasted rows were not loaded: 1 fault. Nothing was stored." in page
    assert "Put it right in the rows below and look at them again." in page
    assert "choose the file again" not in page
