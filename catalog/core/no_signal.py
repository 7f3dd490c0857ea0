"""Pages that open without signal: a shell of the page, the files it loads, and the worker that keeps both on a phone.

Of a shell nothing may be anybody's: no name, no token, nothing of the store.
"""

import hashlib
import json
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.contrib.auth.models import AnonymousUser
from django.contrib.staticfiles import finders
from django.http import HttpResponse
from django.template import Engine
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse

# What the frame of every page and the queue load.
FRAME_FILES = (
    "django_htmx/htmx-2.min.js",
    "catalog/img/tag.svg",
    *(f"catalog/css/{name}.css" for name in ("tokens", "base", "frame", "parts", "forms", "figures", "print", "queue")),
    *(f"catalog/js/{name}.js" for name in ("errors", "scan", "no-signal", "label-check")),
    *(f"catalog/js/{name}.js" for name in ("queue", "queue-store", "queue-say", "queue-watch", "queue-page")),
)
_FRAME_TEMPLATES = ("base.html", "catalog/_parts/no_signal_worker.js", "catalog/_parts/queue.html")


@dataclass(frozen=True, slots=True)
class SilentPage:
    """A page that opens without signal.

    `pages` is a pattern of the paths it answers for, `opens` the address name of its shell, `files` and
    `templates` all that the shell is made of besides the frame's.
    """

    name: str
    pages: str
    opens: str
    files: tuple[str, ...]
    templates: tuple[str, ...]

    @property
    def all_files(self) -> tuple[str, ...]:
        """Every static file the shell loads."""
        return tuple(dict.fromkeys((*FRAME_FILES, *self.files)))


def shell_context() -> dict[str, Any]:
    """What makes a page nobody's, for the context of a shell."""
    return {"shell": True, "nav": [], "user": AnonymousUser(), "csrf_token": ""}


def worker(page: SilentPage) -> HttpResponse:
    """The program that answers for the page without signal; a new version replaces the old and its files."""
    context = {
        "name": page.name,
        "version": version(page),
        "pages": json.dumps(page.pages),
        "shell": reverse(page.opens),
        "files": json.dumps([static(name) for name in page.all_files]),
    }
    text = render_to_string("catalog/_parts/no_signal_worker.js", context)
    answer = HttpResponse(text, content_type="text/javascript; charset=utf-8")
    # A worker may answer for the pages that register it, wherever its own address lies; they name the narrowest scope.
    answer["Service-Worker-Allowed"] = "/"
    return answer


@lru_cache
def version(page: SilentPage) -> str:
    """A short name of what the files hold now: other files, other version."""
    held = hashlib.sha256()
    for name in page.all_files:
        found = finders.find(name)
        held.update(static(name).encode())
        held.update(Path(str(found)).read_bytes() if found else b"")
    for template in (*_FRAME_TEMPLATES, *page.templates):
        held.update(Engine.get_default().get_template(template).source.encode())
    return held.hexdigest()[:12]
