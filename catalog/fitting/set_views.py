"""Sets: how many of each role can be dressed by count, and each set slot by slot."""

from datetime import date
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse

from catalog.access.permissions import Ability, can
from catalog.core.http import render_page
from catalog.fitting.forms import SetsForm
from catalog.fitting.set_queries import RoleSets, columns_of, loose_pieces, roles_for, sees_reasons, sets_of
from catalog.fitting.stock_queries import Cell, Question, question_of_days
from catalog.loans.models import Call
from catalog.pieces.models import Look, Role

# Two letters, word and the verdict shape of each state of a cell; the key on the page is made from it.
KEY = (
    (Cell.PRESENT, "ok", "may"),
    (Cell.MEND, "me", "conditions"),
    (Cell.HELD, "he", "no"),
    (Cell.AWAY, "aw", "unknown"),
    (Cell.MISSING, "mi", "no"),
    (Cell.UNFIT, "nf", "stays"),
)
MARKS = {cell: (letters, verdict) for cell, letters, verdict in KEY}


def sets(request: HttpRequest) -> HttpResponse:
    """Every role's three counts, by production; the filters live in the address."""
    roles = roles_for(request.user)
    form = SetsForm(request.GET or None, roles=roles)
    found: list[RoleSets] = []
    if not form.is_bound or form.is_valid():
        chosen, question = _asked(form)
        picked = [role for role in roles if _wanted(role.code, role.production_id, form, question)]
        found = sets_of(picked, question) if picked else []
        day = chosen
    else:
        day = None
    context = {
        "form": form,
        "found": found,
        "one": found[0] if len(found) == 1 else None,
        "whole": sum(row.counts.whole for row in found),
        "mixed": sum(row.counts.mixed for row in found),
        "day": day,
        "query": request.GET.urlencode(),
        "anything": bool(roles),
        "may_ask": can(request.user, Ability.DRY_RUN),
    }
    return render_page(request, "catalog/fitting/sets.html", context)


def set_sheet(request: HttpRequest, code: str) -> HttpResponse:
    """One role: slots as rows, sets as columns; on a phone a card a set."""
    roles = roles_for(request.user)
    role = next((role for role in roles if role.code.lower() == code.lower()), None)
    if role is None:
        raise Http404(f"There is no role {code[:30]}.")
    form = SetsForm(request.GET or None, roles=[role])
    valid = not form.is_bound or form.is_valid()
    day, question = _asked(form) if valid else (None, question_of_days())
    counted = sets_of([role], question)
    found = counted[0] if counted else None
    columns = columns_of(found) if found else []
    context: dict[str, Any] = {
        "form": form,
        "role": role,
        "found": found,
        "day": day,
        "closed": question.closed,
        "columns": columns,
        "grid": _grid(found, columns) if found else [],
        "cards": [(column, [_shown(cell) for cell in column.cells]) for column in columns],
        "loose": loose_pieces(found) if found else [],
        "key": [{"letters": letters, "word": cell.value, "verdict": verdict} for cell, letters, verdict in KEY],
        "sees_reasons": sees_reasons(request.user),
        "why_call": _open_call(role) if can(request.user, Ability.SEE_BODIES) else None,
        "steps": [{"word": "Sets", "url": reverse("fitting:sets")}, {"word": role.name, "url": ""}],
    }
    return render_page(request, "catalog/fitting/set_sheet.html", context)


def _open_call(role: Role) -> Call | None:
    """The nearest open call that asks for the role: whom a piece fits is asked there."""
    return Call.objects.filter(needs__role=role, state=Call.State.OPEN).order_by("first_day", "pk").first()


def _asked(form: SetsForm) -> tuple[date | None, Question]:
    """The day asked for (None: as the store stands today) and the question."""
    facts = form.cleaned_data if form.is_bound else {}
    day = facts.get("day")
    look = Look.objects.filter(pk=facts["look"]).first() if facts.get("look") else None
    return day, question_of_days(day, day, look=look)


def _wanted(code: str, production_id: int, form: SetsForm, question: Question) -> bool:
    role = form.cleaned_data.get("role") if form.is_bound else ""
    if role and role != code:
        return False
    return question.look is None or question.look.production_id == production_id


def _grid(found: RoleSets, columns: list[Any]) -> list[dict[str, Any]]:
    """Rows of the desk's table: a slot and its cell in every set."""
    limiting = found.limiting_slots
    return [
        {
            "slot": slot,
            "limiting": slot.code in limiting,
            "cells": [_shown(column.cells[number]) for column in columns],
            "usable": found.counts.per_slot.get(slot.code),
        }
        for number, slot in enumerate(found.slots)
    ]


def _shown(cell: Any) -> dict[str, Any]:
    letters, verdict = MARKS[cell.cell] if cell.cell else ("", "")
    return {"cell": cell, "letters": letters, "verdict": verdict, "word": cell.cell.value if cell.cell else "none"}
