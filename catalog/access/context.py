"""What every page knows: the navigation for this person's duties."""

from typing import Any

from django.http import HttpRequest
from django.urls import reverse

from catalog.access.duties import Duty, duties_of
from catalog.access.permissions import ADDRESSES, SIGNED_IN, Ability, can
from catalog.core import house

# Word on the page, address.
NAV: tuple[tuple[str, str], ...] = (
    ("Today", "desk:today"),
    ("Find", "finding:find"),
    ("Sets", "fitting:sets"),
    ("Places", "storage:places"),
    ("Scan", "desk:scan"),
    ("Stocktake", "stocktake:stocktakes"),
    ("Calls", "loans:calls"),
    ("Fittings", "fitting:quick_fit"),
    ("Holds", "loans:holds"),
    ("Loans", "loans:loans"),
    ("House rules", "desk:house_rules"),
)

# Pages of a room that people look for under another word: the start of their addresses, the word.
BENEATH = {"/fitting/calls/": "Calls"}

# Also outside the phone's menu: the two that a full hand needs.
THUMB = frozenset({"Find", "Scan"})


def desk(request: HttpRequest) -> dict[str, Any]:
    """`nav` (url, word, current) and `duties` for the templates."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {"nav": [], "duties": frozenset[Duty](), "house_name": house.value("house.name")}
    beneath = next((word for start, word in BENEATH.items() if request.path.startswith(start)), None)
    nav = []
    for word, name in NAV:
        needed = ADDRESSES.get(name)
        if needed == SIGNED_IN or (isinstance(needed, Ability) and can(user, needed)):
            url = reverse(name)
            here = request.path == url or (url != "/" and request.path.startswith(url)) or word == beneath
            nav.append({"url": url, "word": word, "current": here, "thumb": word in THUMB})
    duties = duties_of(user)
    return {
        "nav": nav,
        "duties": duties,
        "duty_word": ", ".join(sorted(duty.value for duty in duties)),
        "home_url": reverse("desk:today"),
        "house_name": house.value("house.name"),
    }
