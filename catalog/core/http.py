"""One helper for pages: the whole page, or only its part when htmx asks for it."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers


def render_page(
    request: HttpRequest, page: str, context: dict[str, Any], *, part: str | None = None, status: int = 200
) -> HttpResponse:
    """Render `page`, or `part` for an htmx request that is neither boosted nor a history restore."""
    htmx = getattr(request, "htmx", None)
    partial = part is not None and htmx and not htmx.boosted and not htmx.history_restore_request
    response = render(request, part if partial and part else page, context, status=status)
    patch_vary_headers(response, ["HX-Request"])
    return response
