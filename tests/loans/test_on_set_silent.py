"""On set without signal: a sign-out and a clock are kept on the phone, counted on the page, and sent once in order; a
page opened anew is a shell that holds nothing of anybody.
"""

import json
import re
from collections.abc import Callable
from typing import Any

import time_machine
from django.test import Client
from django.urls import reverse
from playwright.sync_api import expect

from catalog.core.models import HistoryLine
from catalog.loans import actions
from catalog.loans.models import Loan, SignOut, WearSpell
from catalog.loans.set_silent_views import SET_PAGE
from tests.cast import Cast, make_cast
from tests.loans.world import decide, make_call, make_firm, make_stage, make_store


def test_the_shell_is_nobodys_and_whole(out: Loan, cast: Cast, as_user: Callable[[Any], Client]) -> None:
    client = as_user(cast.set_costumer)
    for address in (f"/loans/{out.reference}/on-set/", f"/loans/{out.reference}/on-set/performers/7/"):
        page = client.get(address).content.decode()
        assert f'data-worker="{reverse("loans:set_worker")}" data-scope="/loans/{out.reference}/on-set/"' in page
        assert "no-signal.js" in page
        assert re.match(SET_PAGE.pages, address)
    assert not re.match(SET_PAGE.pages, f"/loans/{out.reference}/on-set/count-back/")
    shell = client.get(reverse("loans:set_shell")).content.decode()
    for secret in ("MOOR", "Quillfeather", "set_costumer", "csrf", "Sign out", "data-user"):
        assert secret not in shell
    worker = client.get(reverse("loans:set_worker"))
    files = json.loads(re.search(r"const FILES = (\[.*\]);", worker.content.decode())[1])  # type: ignore[index]
    wanted = set(re.findall(r'(?:src|href)="(/static/[^"]+)"', shell))
    assert wanted <= set(files), "whatever the shell asks for opens without signal too"
    assert worker["Service-Worker-Allowed"] == "/"
    for who, code in ((cast.production, 403), (cast.visitor, 403), (None, 302)):
        assert as_user(who).get(reverse("loans:set_worker")).status_code == code


def test_a_sign_out_without_signal_is_kept_and_sent_once(
    transactional_db: None, phone: Any, enter: Callable[[Any, Any], None]
) -> None:
    with time_machine.travel("2031-06-08 08:00Z", tick=True):
        cast, stage = make_cast(), make_stage(coats=1, boots=0)
        make_store(cast.archivist, stage)
        call = make_call(cast.production, stage)
        seven = actions.add_wearer(by=cast.production, call=call, number="7", name="Perpetua Quillfeather")
        loan = actions.start_loan(by=cast.archivist, hold=make_firm(cast.production, stage.coats, call))
        actions.pull_piece(by=cast.archivist, loan=loan, code_or_number="MOOR-0001")
        loan = actions.send_loan(by=cast.archivist, loan=loan, taken_by="B. Driver")
        decide(cast.archivist, stage.coat, "wear with limits", limits="hot", minutes_limit=10, rest_minutes=30)
        actions.give_to(by=cast.set_costumer, line=loan.lines.get(), wearer=seven)
        enter(phone, cast.set_costumer)
        phone.goto(f"/loans/{loan.reference}/on-set/performers/7/")
        phone.locator("[data-joined]").wait_for(state="attached")
        phone.evaluate("navigator.serviceWorker.ready.then(() => true)")

        phone.context.set_offline(True)
        phone.get_by_role("button", name="Sign out MOOR-0001").click()
        expect(phone.locator("[data-waiting-count]")).to_have_text("1 scan waits on this phone: no signal.")
        assert not SignOut.objects.exists()
        phone.context.set_offline(False)
        expect(phone.locator("h1")).to_have_text("7 has 1 piece.", timeout=20_000)
        assert SignOut.objects.get().in_at is None

        phone.context.set_offline(True)
        phone.get_by_role("button", name="Start the clock of MOOR-0001").click()
        expect(phone.locator("[data-clock][data-since]")).to_have_count(1)  # it counts on the page already
        phone.get_by_role("button", name="Start the clock of MOOR-0001").click()
        phone.context.set_offline(False)
        expect(phone.get_by_role("button", name="Stop the clock of MOOR-0001")).to_be_visible(timeout=20_000)
        assert WearSpell.objects.count() == 1
        assert HistoryLine.objects.filter(verb="signed out").count() == 1

        # Opened anew without signal: the shell reads loan and performer from its address.
        phone.context.set_offline(True)
        phone.reload()
        expect(phone.locator("h1")).to_have_text("On set, without signal.")
        expect(phone.get_by_label("Performer's number")).to_have_value("7")
        phone.get_by_label("Scan or type a piece").fill("MOOR-0001")
        phone.get_by_role("button", name="In", exact=True).click()
        expect(phone.locator("[data-waiting-count]")).to_have_text("1 scan waits on this phone: no signal.")
        phone.context.set_offline(False)
        expect(phone.locator("[data-waiting]")).to_be_hidden(timeout=20_000)
        assert SignOut.objects.get().in_at is not None
        assert phone.evaluate("document.documentElement.scrollWidth <= innerWidth")
