"""One helper for pages: the whole page, or only its part when htmx asks for it."""

from typing import Any

from django.forms import BaseForm, BaseFormSet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers


def render_page(
    request: HttpRequest, page: str, context: dict[str, Any], *, part: str | None = None, status: int | None = None
) -> HttpResponse:
    """Render `page`, or `part` for an htmx request that is neither boosted nor a history restore.

    A form that was sent and is shown again with its errors answers 422, so that whatever sent it knows that nothing
    was stored. htmx puts in only what answers 200, so to it the errors come as any other page.
    """
    htmx = getattr(request, "htmx", None)
    partial = part is not None and htmx and not htmx.boosted and not htmx.history_restore_request
    if status is None:
        status = 422 if request.method == "POST" and not htmx and _refused(context) else 200
    response = render(request, part if partial and part else page, context, status=status)
    patch_vary_headers(response, ["HX-Request"])
    return response


def _refused(context: dict[str, Any]) -> bool:
    """Whether one of the page's forms was sent and has errors."""
    return any(
        isinstance(one, (BaseForm, BaseFormSet)) and one.is_bound and bool(_errors(one)) for one in context.values()
    )


def _errors(form: Any) -> bool:
    if isinstance(form, BaseForm):
        return bool(form.errors)
    return any(form.errors) or bool(form.non_form_errors())
