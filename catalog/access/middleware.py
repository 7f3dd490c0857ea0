"""The gate before every page: the address table decides, and what nobody listed is refused."""

from collections.abc import Callable
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.urls import Resolver404, resolve, reverse

from catalog.access.permissions import ADDRESSES, PUBLIC, SIGNED_IN, Ability, can

# Acts whose button is not on the page above their address.
ELSEWHERE = {"storage:issue_label": "storage:places", "storage:replace_label": "storage:places"}


class AddressMiddleware:
    """Deny by default: each address names who may open it in access/permissions.py."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        answer = self.get_response(request)
        return self._act_without_page(request, answer) if answer.status_code == 405 else answer

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> HttpResponseBase | None:
        """Let through, ask to sign in, or refuse."""
        needed = ADDRESSES.get(request.resolver_match.view_name) if request.resolver_match else None
        if needed == PUBLIC:
            return None
        if not request.user.is_authenticated:
            return self._ask_to_sign_in(request)
        if needed == SIGNED_IN or (isinstance(needed, Ability) and can(request.user, needed)):
            return None
        sentence = f"To {needed.words} is not among your duties." if isinstance(needed, Ability) else ""
        raise PermissionDenied(sentence)

    def _act_without_page(self, request: HttpRequest, answer: HttpResponseBase) -> HttpResponse:
        """Somebody opened the address of a button: still 405, with the page where the button is."""
        page = render(request, "405.html", {"back": self._page_above(request)}, status=405)
        page["Allow"] = answer.headers.get("Allow", "POST")
        return page

    def _page_above(self, request: HttpRequest) -> str:
        """The nearest address above this one that is a page, and one this person may open; else nothing."""
        if request.resolver_match and request.resolver_match.view_name in ELSEWHERE:
            return reverse(ELSEWHERE[request.resolver_match.view_name])
        steps = request.path.strip("/").split("/")
        for length in range(len(steps) - 1, 0, -1):
            path = f"/{'/'.join(steps[:length])}/"
            try:
                found = resolve(path)
            except Resolver404:
                continue
            needed = ADDRESSES.get(found.view_name)
            may = needed == SIGNED_IN or (isinstance(needed, Ability) and can(request.user, needed))
            if may:
                return path
        return ""

    def _ask_to_sign_in(self, request: HttpRequest) -> HttpResponse:
        """A swap of part of a page must not put the sign-in form into a table: htmx is told to go there."""
        if getattr(request, "htmx", None):
            answer = HttpResponse(status=204)
            answer["HX-Redirect"] = reverse("access:sign_in")
            return answer
        return redirect_to_login(request.get_full_path(), reverse("access:sign_in"))
