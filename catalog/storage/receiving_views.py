"""Receiving a trunk, what waits to be listed, and unpacking one thing after the other."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from catalog.access.permissions import Ability, can
from catalog.core import clock
from catalog.core.checks import blame
from catalog.core.errors import CatalogError
from catalog.core.http import render_page
from catalog.pieces.calc.kinds import KINDS
from catalog.pieces.kept_pictures import kept_picture, picture_bytes
from catalog.pieces.models import Piece
from catalog.storage import actions, queries
from catalog.storage import receiving_queries as ask
from catalog.storage.receiving_forms import AllListedForm, KnownForm, ReceiveForm, ReleaseTrunkForm, UnpackForm
from catalog.storage.receiving_models import Receipt, ReceiptLine
from catalog.storage.views import place_or_404, steps_of, user_of

# What the next trunk of the same truck most likely shares with this one.
CARRIED = ("production", "place", "kind")


@require_http_methods(["GET", "POST"])
def receive(request: HttpRequest) -> HttpResponse:
    """A trunk comes in: count said, seal, weight, where it is put. Its content is not asked."""
    user, place = user_of(request), ask.arrival_place()
    initial = {"place": place.code if place else "", "label": request.GET.get("label", "")}
    initial |= {name: request.GET[name] for name in CARRIED if name in request.GET}
    form = ReceiveForm(request.POST or None, by=user, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            receipt = actions.receive_trunk(by=user, **form.facts())
        except CatalogError as error:
            _blame(form, error, {"code": "label", "to": "place", "parent": "place", "container": "label"})
        else:
            return _received(request, form, receipt)
    steps = [{"word": "Places", "url": reverse("storage:places")}, {"word": "Receive", "url": ""}]
    context = {"form": form, "steps": steps, "next_code": ask.next_trunk_code()}
    return render_page(request, "catalog/storage/receive.html", context, status=422 if form.errors else 200)


def _received(request: HttpRequest, form: ReceiveForm, receipt: Receipt) -> HttpResponse:
    """To the trunk, or to the next one off the truck."""
    code = receipt.container.code
    named = "" if form.cleaned_data["label"] else f" Write {code} on three sides of it, or print its label."
    messages.success(request, f"{code} is received, not listed.{named}")
    if "another" not in request.POST:
        return redirect("storage:place", code)
    query = QueryDict(mutable=True)
    query.update({name: request.POST[name] for name in CARRIED if request.POST.get(name)})
    return redirect(f"{reverse('storage:receive')}?{query.urlencode()}")


def received(request: HttpRequest) -> HttpResponse:
    """What is received and not listed, the oldest first; and what wrap lists say is not kept."""
    today = clock.today()
    rows = [(one, max(0, (today - one.received_on).days)) for one in ask.open_receipts()]
    context = {
        "rows": rows,
        "not_kept": ask.not_kept(),
        "may_record": can(request.user, Ability.RECORD),
        "steps": [{"word": "Places", "url": reverse("storage:places")}, {"word": "Received, not listed", "url": ""}],
    }
    return render_page(request, "catalog/storage/received.html", context)


@require_http_methods(["GET", "POST"])
def unpack(request: HttpRequest, code: str) -> HttpResponse:
    """One thing after the other out of a trunk, and how many of those that were said are listed."""
    receipt = _receipt(request, code)
    if isinstance(receipt, HttpResponse):
        return receipt
    if request.method != "POST":
        return _page(request, receipt)
    user = user_of(request)
    form = UnpackForm(request.POST, request.FILES, by=user, receipt=receipt)
    if form.is_valid():
        try:
            return _listed(request, receipt, _list(request, receipt, form), form)
        except CatalogError as error:
            _blame(form, error, {"code": "label"})
    return _page(request, receipt, form=form)


def _list(request: HttpRequest, receipt: Receipt, form: UnpackForm) -> ReceiptLine:
    user, given = user_of(request), form.cleaned_data
    facts = {name: given[name] for name in ("name", "kind", "production", "client_id")}
    facts["picture"] = picture_bytes(form, user)
    if form.unclear:
        return actions.list_unclear(by=user, receipt=receipt, **facts)
    more = {name: given[name] for name in ("number", "parts", "label")}
    return actions.list_new(by=user, receipt=receipt, **facts, **more)


def _listed(request: HttpRequest, receipt: Receipt, line: ReceiptLine, form: UnpackForm) -> HttpResponse:
    """On to the next thing: the kind stays, the number is the next one."""
    if line.piece is not None:
        kind = KINDS[line.piece.kind]
        halves = f" It is a pair: tie a tag to each half, {line.piece.number} a left and b right." if kind.pair else ""
        messages.success(
            request, f"{line.piece.number}, {line.piece.name}, is listed. Its tag goes {kind.tag_at}.{halves}"
        )
    if line.found is not None:
        said = f"{line.found.number}, {line.found.name}: tie a temporary tag with this number to it. It is counted."
        messages.success(request, said)
    query = QueryDict(mutable=True)
    query["kind"] = form.cleaned_data["kind"]
    return redirect(f"{reverse('storage:unpack', args=[receipt.container.code])}?{query.urlencode()}")


@require_POST
def unpack_known(request: HttpRequest, code: str) -> HttpResponse:
    """A piece that has its number already lies in the trunk."""
    receipt = _receipt(request, code)
    if isinstance(receipt, HttpResponse):
        return receipt
    user = user_of(request)
    form = KnownForm(request.POST, by=user, auto_id="known_%s")
    if form.is_valid() and not isinstance(form.cleaned_data["code"], Piece):
        form.add_error("code", f"{form.cleaned_data['code']} is a place, not a piece: scan the label on the piece.")
    if form.is_valid():
        piece = form.cleaned_data["code"]
        try:
            actions.list_known(by=user, receipt=receipt, piece=piece, client_id=form.cleaned_data["client_id"])
        except CatalogError as error:
            _blame(form, error, {"to": "code"})
        else:
            messages.success(request, f"{piece.number}, {piece.name}, is listed.")
            return redirect("storage:unpack", receipt.container.code)
    return _page(request, receipt, known=form)


@require_POST
def all_listed(request: HttpRequest, code: str) -> HttpResponse:
    """Nothing is left in it: the count is compared with what was said, and the receipt is closed."""
    return _end(request, code, "all", AllListedForm, actions.close_receipt, "All that came in {} is listed.")


@require_POST
def release_trunk(request: HttpRequest, code: str) -> HttpResponse:
    """The trunk is checked as a whole, so it may stand in the store though nobody listed it."""
    said = "{} is released from quarantine. It is still not listed."
    return _end(request, code, "release", ReleaseTrunkForm, actions.release_trunk, said)


def _end(request: HttpRequest, code: str, slot: str, form_class: Any, act: Any, said: str) -> HttpResponse:
    receipt = _receipt(request, code)
    if isinstance(receipt, HttpResponse):
        return receipt
    user = user_of(request)
    form = form_class(request.POST, by=user, auto_id=f"{slot}_%s")
    if form.is_valid():
        try:
            act(by=user, receipt=receipt, **form.cleaned_data)
        except CatalogError as error:
            _blame(form, error, {})
        else:
            messages.success(request, said.format(receipt.container.code))
            return redirect("storage:place", receipt.container.code)
    return _page(request, receipt, **{slot: form})


def _receipt(request: HttpRequest, code: str) -> Receipt | HttpResponse:
    """The open receipt of the trunk; else back to its page with a sentence (a second press, an old bookmark)."""
    found = place_or_404(code)
    receipt = ask.open_receipt_of(found) if found.is_container else None
    if receipt is not None:
        return receipt
    messages.info(request, f"Nothing waits to be unpacked from {found.code}.")
    return redirect("storage:place", found.code)


def _page(request: HttpRequest, receipt: Receipt, **bound: forms.BaseForm) -> HttpResponse:
    user = user_of(request)
    box = receipt.container
    state = ask.unpacking(receipt)
    last = next((line.piece.production for line in state.lines if line.piece is not None), None)
    initial = {"kind": request.GET.get("kind", "")}
    form = bound.get("form") or UnpackForm(by=user, receipt=receipt, last=last, initial=initial)
    faulty = next((one for one in bound.values() if one.errors), None)
    context = {
        "receipt": receipt,
        "place": box,
        "state": state,
        "unpack_form": form,
        "kept": kept_picture(form, user) if form.is_bound else "",
        "form": faulty,
        "known": bound.get("known") or KnownForm(by=user, auto_id="known_%s"),
        "all": bound.get("all") or AllListedForm(by=user, auto_id="all_%s"),
        "release": bound.get("release") or ReleaseTrunkForm(by=user, auto_id="release_%s"),
        "lift": ask.lift_as_received(receipt, queries.path(box)),
        "steps": steps_of(queries.path(box), "Unpack"),
    }
    return render_page(request, "catalog/storage/unpack.html", context, status=422 if faulty else 200)


def _blame(form: forms.BaseForm, error: CatalogError, names: dict[str, str]) -> None:
    """A refusal at the field of this form that it is about."""
    if error.field in names and error.field not in form.fields:
        form.add_error(names[error.field] if names[error.field] in form.fields else None, error.sentence)
    else:
        blame(form, error)
