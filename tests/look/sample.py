"""One page with every part of the look on it, with a form that came back with mistakes."""

import datetime as dt
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from django import forms
from django.core.paginator import Paginator
from django.template import engines
from django.test import RequestFactory

from catalog.pieces.calc.kinds import KINDS, POINTS
from catalog.templatetags.drawn import MARKS

NAV = ("Today", "Find", "Sets", "Places", "Scan", "Calls", "Fittings", "Holds", "Loans", "House rules")


class PieceForm(forms.Form):
    number = forms.CharField(label="Number", help_text="As on the tag.")
    chest = forms.DecimalField(label="Chest", required=False, help_text="In cm.")
    wear = forms.ChoiceField(label="May it be worn?", widget=forms.RadioSelect, choices=[("y", "Wear"), ("n", "No")])
    hired = forms.BooleanField(label="Hired in", required=False)
    materials = forms.MultipleChoiceField(
        label="Materials", required=False, widget=forms.CheckboxSelectMultiple, choices=[("w", "wool"), ("b", "brass")]
    )


class FilterForm(forms.Form):
    words = forms.CharField(label="Words", required=False)
    place = forms.ChoiceField(label="Place", required=False, choices=[("", "any"), ("b", "Room B")])


def context() -> dict[str, Any]:
    day = dt.date(2026, 9, 8)
    return {
        "request": RequestFactory().get("/find/?q=coat&page=2"),
        "user": SimpleNamespace(is_authenticated=True, units="metric"),
        "nav": [{"url": f"#{n}", "word": n, "current": n == "Find", "thumb": n in {"Find", "Scan"}} for n in NAV],
        "steps": [{"word": "Places", "url": "#places"}, {"word": "Room B"}],
        "counts": [
            {"number": 3, "of": 4, "word": "may go", "note": "as recorded"},
            {"number": 0, "word": "stay"},
            {"number": 1, "word": "not tested"},
        ],
        "reasons": [{"mark": v, "text": f"A reason for {v}.", "source": "seen 3 Nov 2025"} for v in MARKS],
        "chips": [{"word": "Room B and below", "remove_url": "?"}],
        "filter_form": FilterForm({}, prefix="filter"),
        "verdicts": list(MARKS),
        "numbers": Paginator(range(130), 25).page(2),
        "facts": [{"name": "Owner", "value": "ours", "source": "old list"}, {"name": "Value", "unknown": "not valued"}],
        "lines": [
            {"happened": day, "recorded": day + dt.timedelta(days=1), "by": "the archivist", "text": "moved to Room B"}
        ],
        "first": day,
        "last": day + dt.timedelta(days=30),
        "rows": [
            {"name": "AB-0412", "bands": [{"first": day, "last": day, "kind": kind, "word": kind}]}
            for kind in ("firm", "pencil", "buffer", "out")
        ],
        "points": [POINTS[key] for key in KINDS["coat"].points],
        "form": PieceForm({"number": "", "chest": "wide"}),
    }


def render(name: str = "sample.html", **more: Any) -> str:
    source = (Path(__file__).parent / name).read_text(encoding="utf-8")
    return engines["django"].from_string(source).render({**context(), **more})
