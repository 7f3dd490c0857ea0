"""What the pages about one piece share: finding it, asking an action, going back to it."""

from collections.abc import Callable
from typing import Any, cast

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from catalog.access.models import User
from catalog.core.checks import blame
from catalog.core.errors import Refused
from catalog.pieces.models import Piece
from catalog.pieces.queries import visible_to


def signed_in(request: HttpRequest) -> User:
    """The person; the address table has let nobody else through."""
    return cast("User", request.user)


def the_piece(request: HttpRequest, number: str) -> Piece:
    """The piece of this number if the person may see it, else 404: a hidden piece and no piece look the same."""
    related = ("production", "role", "slot", "set", "look", "reference_piece")
    found = visible_to(request.user).filter(number__iexact=number).select_related(*related).first()
    if found is None:
        raise Http404(f"There is no piece {number[:30]}.")
    return found


def steps_to(piece: Piece, word: str) -> list[dict[str, str]]:
    """The path above a page about a piece."""
    return [
        {"word": "Find", "url": reverse("finding:find")},
        {"word": piece.number, "url": reverse("desk:piece", args=[piece.number])},
        {"word": word, "url": ""},
    ]


def done(form: forms.BaseForm, act: Callable[[], Any]) -> bool:
    """Whether the form was good and the action went through; if not, the form has the sentences."""
    if not form.is_valid():
        return False
    try:
        act()
    except Refused as refused:
        blame(form, refused)
        return False
    return True


def back_to(request: HttpRequest, piece: Piece, sentence: str) -> HttpResponse:
    """To the piece's page, with a sentence that says what was done."""
    messages.success(request, sentence)
    return redirect("desk:piece", number=piece.number)


def form_page(
    request: HttpRequest,
    piece: Piece,
    form: forms.BaseForm,
    *,
    word: str,
    answer: str,
    verb: str,
    template: str = "catalog/pieces/form_page.html",
    **more: Any,
) -> HttpResponse:
    """A page with one form about one piece; 422 when what was sent could not be kept."""
    context = {"piece": piece, "form": form, "steps": steps_to(piece, word), "word": word, "answer": answer}
    status = 422 if form.is_bound and (form.errors or more.get("has_errors")) else 200
    return render(request, template, {**context, "verb": verb, **more}, status=status)
