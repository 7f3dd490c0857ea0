"""Productions, and for each its roles, looks, slots and sets."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Count
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from catalog.access.models import User
from catalog.access.permissions import Ability, can
from catalog.pieces import actions
from catalog.pieces.models import Production, Role
from catalog.pieces.pages import done, signed_in
from catalog.pieces.production_forms import (
    LookForm,
    ProductionEditForm,
    ProductionForm,
    RoleForm,
    SetForm,
    SlotForm,
)
from catalog.pieces.queries import productions_for

GET_POST = ["GET", "POST"]


@require_GET
def productions(request: HttpRequest) -> HttpResponse:
    """All productions that the person may see."""
    rows = productions_for(request.user).annotate(
        piece_count=Count("pieces", distinct=True), role_count=Count("roles", distinct=True)
    )
    context = {"productions": list(rows), "may_record": can(request.user, Ability.RECORD)}
    return render(request, "catalog/pieces/productions.html", context)


@require_GET
def production(request: HttpRequest, code: str) -> HttpResponse:
    """One production: its roles with slots and sets, its looks."""
    found = _production(request, code)
    roles = found.roles.annotate(piece_count=Count("pieces", distinct=True)).prefetch_related("slots", "sets")
    context = {
        "production": found,
        "steps": _steps(found),
        "roles": list(roles),
        "looks": list(found.looks.all()),
        "may_see_staff": can(request.user, Ability.SEE_STAFF),
        "may_record": can(request.user, Ability.RECORD),
    }
    return render(request, "catalog/pieces/production.html", context)


@require_http_methods(GET_POST)
def add_production(request: HttpRequest) -> HttpResponse:
    """A new production."""
    form = ProductionForm(request.POST or None)
    user = signed_in(request)
    if request.method == "POST" and done(form, lambda: actions.add_production(by=user, **form.cleaned_data)):
        return _to(request, form.cleaned_data["code"].strip(), "The production is added.")
    steps = [*_steps(None), {"word": "Add", "url": ""}]
    return _form(request, form, steps, "Add a production.", "Add this production")


@require_http_methods(GET_POST)
def edit_production(request: HttpRequest, code: str) -> HttpResponse:
    """Correct a production, close it to visitors or open it."""
    found = _production(request, code)
    initial = {"title": found.title, "year": found.year, "world": found.world, "closed": found.closed}
    form = ProductionEditForm(request.POST or None, initial=initial)
    user = signed_in(request)
    if request.method == "POST" and done(
        form, lambda: actions.edit_production(by=user, production=found, **form.cleaned_data)
    ):
        return _to(request, found.code, "The production is corrected.")
    steps = [*_steps(found), {"word": "Correct", "url": ""}]
    return _form(request, form, steps, f"Correct {found.title}.", "Keep these facts")


@require_http_methods(GET_POST)
def add_role(request: HttpRequest, code: str) -> HttpResponse:
    """A new role."""
    return _add(request, code, RoleForm, "role", lambda user, found: {"by": user, "production": found})


@require_http_methods(GET_POST)
def add_look(request: HttpRequest, code: str) -> HttpResponse:
    """A new look."""
    return _add(request, code, LookForm, "look", lambda user, found: {"by": user, "production": found})


@require_http_methods(GET_POST)
def add_slot(request: HttpRequest, code: str, role_code: str) -> HttpResponse:
    """A new slot of a role."""
    role = _role(request, code, role_code)
    return _add(request, code, SlotForm, "slot", lambda user, found: {"by": user, "role": role}, role)


@require_http_methods(GET_POST)
def add_set(request: HttpRequest, code: str, role_code: str) -> HttpResponse:
    """A new set of a role."""
    role = _role(request, code, role_code)
    return _add(request, code, SetForm, "set", lambda user, found: {"by": user, "role": role}, role)


_ACTS: dict[str, Callable[..., Any]] = {
    "role": actions.add_role,
    "look": actions.add_look,
    "slot": actions.add_slot,
    "set": actions.add_set,
}


def _add(
    request: HttpRequest,
    code: str,
    form_class: type[forms.Form],
    noun: str,
    owner: Callable[[User, Production], dict[str, Any]],
    role: Role | None = None,
) -> HttpResponse:
    """One form for one new thing under a production or a role."""
    found, user = _production(request, code), signed_in(request)
    form = form_class(request.POST or None)
    if request.method == "POST" and done(form, lambda: _ACTS[noun](**owner(user, found), **form.cleaned_data)):
        return _to(request, found.code, f"The {noun} is added.")
    steps = [*_steps(found), {"word": f"Add a {noun}", "url": ""}]
    of = role.name if role else found.title
    return _form(request, form, steps, f"Add a {noun} to {of}.", f"Add this {noun}")


def _production(request: HttpRequest, code: str) -> Production:
    return get_object_or_404(productions_for(request.user), code__iexact=code)


def _role(request: HttpRequest, code: str, role_code: str) -> Role:
    found = _production(request, code).roles.filter(code__iexact=role_code).first()
    if found is None:
        raise Http404(f"There is no role {role_code[:12]}.")
    return found


def _to(request: HttpRequest, code: str, sentence: str) -> HttpResponse:
    messages.success(request, sentence)
    return redirect("pieces:production", code=code)


def _steps(production: Production | None) -> list[dict[str, str]]:
    steps = [{"word": "Productions", "url": reverse("pieces:productions")}]
    if production:
        steps.append({"word": production.title, "url": reverse("pieces:production", args=[production.code])})
    return steps


def _form(request: HttpRequest, form: forms.Form, steps: list[dict[str, str]], answer: str, verb: str) -> HttpResponse:
    status = 422 if form.is_bound and form.errors else 200
    context = {"form": form, "steps": steps, "answer": answer, "verb": verb}
    return render(request, "catalog/pieces/form_page.html", context, status=status)
