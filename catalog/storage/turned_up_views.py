"""A missing piece or container turned up: where, and for a container what was counted in it, ticked by scanning it."""

import json
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from catalog.access.permissions import Ability, can
from catalog.core.checks import blame
from catalog.core.errors import CatalogError
from catalog.core.http import render_page
from catalog.pieces.models import Piece
from catalog.storage import actions, place_queries, queries
from catalog.storage.forms import FoundForm
from catalog.storage.models import Label, Place
from catalog.storage.move_views import container_or_404, piece_or_404, piece_steps
from catalog.storage.readings import address_of
from catalog.storage.room_queries import handling_in
from catalog.storage.seen_there import codes_of, turned_up
from catalog.storage.views import steps_of, user_of


def mark_piece_found(request: HttpRequest, number: str) -> HttpResponse:
    """A missing piece turned up."""
    piece = piece_or_404(request, number)
    form = FoundForm(request.POST or None, by=user_of(request), initial={"at": request.GET.get("at", "")})
    if request.method == "POST" and form.is_valid():
        facts = {name: form.cleaned_data[name] for name in ("at", "note")}
        try:
            actions.mark_found(by=user_of(request), piece=piece, **facts)
        except CatalogError as error:
            blame(form, error)
        else:
            messages.success(request, f"{piece} is back at {facts['at']}.")
            return redirect(address_of(piece))
    context = {"form": form, "thing": piece, "steps": piece_steps(piece, "Found"), "lost": []}
    return render_page(request, "catalog/storage/mark_found.html", context)


def mark_container_found(request: HttpRequest, code: str) -> HttpResponse:
    """A missing container turned up: its content is counted, ticked or scanned; its label may read another code."""
    user, box = user_of(request), container_or_404(code)
    lost = list(queries.pieces_under(box).filter(standing__state="not found").order_by("number"))
    reads = (request.POST or request.GET).get("reads", "").strip()[:40]
    seen = turned_up(box, lost, request.GET.getlist("seen"), request.GET.get("code", "").strip(), user)
    form = FoundForm(
        request.POST or None,
        by=user,
        content=lost,
        relabel=box.code if reads and can(user, Ability.RECORD) else "",
        initial={"at": request.GET.get("at", ""), "reads": reads, "counted": [piece.pk for piece in seen.pieces]},
    )
    if request.method == "POST" and form.is_valid():
        try:
            return _kept(request, box, lost, dict(form.cleaned_data))
        except CatalogError as error:
            blame(form, error)
    ticked = set(form["counted"].value() or ()) if lost else set()
    held = place_queries.content(box, user)
    context = {
        "form": form,
        "thing": box,
        "steps": steps_of(queries.path(box), "Found"),
        "lost": lost,
        "reads": reads,
        "at": request.GET.get("at", ""),
        "ticked": len(ticked),
        "seen": seen,
        "problem": seen.problem,
        "has_errors": bool(seen.problem),
        "codes_plain": json.dumps(codes_of(lost)),
        "handling": handling_in(box, user) if can(user, Ability.SEE_STAFF) else [],
        "lift": place_queries.lift_of(box, held, queries.path(box)),
    }
    return render_page(request, "catalog/storage/mark_found.html", context)


def _kept(request: HttpRequest, box: Place, lost: list[Piece], facts: dict[str, Any]) -> HttpResponse:
    """Do it, say how much was counted, and go on: to the new label, or to the container."""
    user, counted = user_of(request), list(facts["counted"]) if lost else None
    label: Label | None = None
    if facts.get("new_label") == "yes":
        label = actions.find_relabelled(
            by=user, container=box, at=facts["at"], reads=facts["reads"], note=facts["note"], counted=counted
        )
    else:
        read = f"its label reads {facts['reads']}" if facts["reads"] else ""
        note = ". ".join(filter(None, (read, facts["note"])))
        actions.mark_found(by=user, container=box, at=facts["at"], note=note, counted=counted)
    messages.success(request, f"{box} is back at {facts['at']}.{_count_words(len(lost), counted)}")
    if label is None:
        return redirect(address_of(box))
    messages.info(request, "Stick the new label on three sides and take the old ones off.")
    return redirect(reverse("storage:labels", args=[label.code]))


def _count_words(lost: int, counted: list[Piece] | None) -> str:
    """How many were counted in it, and that the rest is still looked for."""
    if counted is None:
        return ""
    here, gone = len(counted), lost - len(counted)
    if not gone:
        return f" {'All ' if here > 1 else ''}{here} counted in it."
    return f" {here} of {lost} counted in it; {gone} {'stays' if gone == 1 else 'stay'} not found."
