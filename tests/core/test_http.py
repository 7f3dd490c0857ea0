"""What a page answers: 200 for a page, 422 for a form that was sent and refused (RFC 9110, section 15.5.21)."""

from types import SimpleNamespace
from typing import Any

import pytest
from django import forms
from django.http import HttpRequest
from django.test import RequestFactory

from catalog.core import http


class Ask(forms.Form):
    """One answer that is needed."""

    word = forms.CharField()


Rows = forms.formset_factory(Ask, extra=1)
ROWS = {"form-TOTAL_FORMS": "1", "form-INITIAL_FORMS": "0"}


def asked(method: str = "POST", htmx: Any = None) -> HttpRequest:
    request = RequestFactory().generic(method, "/")
    request.htmx = htmx  # type: ignore[attr-defined]
    return request


CASES = (
    ("sent and refused", asked(), Ask({}), 422),
    ("a row refused", asked(), Rows(ROWS | {"form-0-word": "x" * 3, "form-TOTAL_FORMS": "no"}), 422),
    ("sent and taken", asked(), Ask({"word": "yes"}), 200),
    ("rows taken", asked(), Rows(ROWS | {"form-0-word": "yes"}), 200),
    ("not sent", asked(), Ask(), 200),
    ("filters that are refused are a page all the same", asked("GET"), Ask({}), 200),
    (
        "htmx puts in only what answers 200",
        asked(htmx=SimpleNamespace(boosted=False, history_restore_request=False)),
        Ask({}),
        200,
    ),
)


@pytest.mark.parametrize(("about", "request_", "form", "status"), CASES, ids=[case[0] for case in CASES])
def test_a_refused_form_answers_422(
    about: str, request_: HttpRequest, form: Any, status: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: dict[str, Any] = {}

    def render(request: HttpRequest, page: str, context: dict[str, Any], status: int) -> dict[str, Any]:
        told.update(status=status)
        return {}

    monkeypatch.setattr(http, "render", render)
    monkeypatch.setattr(http, "patch_vary_headers", lambda response, names: None)
    http.render_page(request_, "any.html", {"form": form, "other": 3})
    assert told["status"] == status, about
    http.render_page(request_, "any.html", {"form": form}, status=404)
    assert told["status"] == 404, "a page that says its own status keeps it"
