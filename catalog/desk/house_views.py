"""House rules: what an archive decides for itself, on one page."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from catalog.access.house_actions import put_setting
from catalog.access.people import signed_in
from catalog.core import history, house
from catalog.core.checks import blame
from catalog.core.errors import Refused
from catalog.core.form_fields import DaysField
from catalog.core.http import render_page
from catalog.core.plain_forms import PlainForm

# So long may a text of the house be: about ten pages.
LONGEST_TEXT = 30_000


class HouseForm(PlainForm):
    """Every setting that is a word or a number; tables of rules have pages of their own."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        for key, setting in house.SETTINGS.items():
            if setting.low is not None:
                self.fields[key] = forms.IntegerField(
                    min_value=setting.low, max_value=setting.high, label=setting.label, help_text=setting.words
                )
            elif setting.long:
                self.fields[key] = forms.CharField(
                    max_length=LONGEST_TEXT,
                    label=setting.label,
                    help_text=setting.words,
                    widget=forms.Textarea(attrs={"rows": 12}),
                )
            elif isinstance(setting.start, str):
                self.fields[key] = forms.CharField(
                    required=bool(setting.start), max_length=120, label=setting.label, help_text=setting.words
                )
            elif isinstance(setting.start, list):
                self.fields[key] = DaysField(required=False, label=setting.label, help_text=setting.words)


def house_rules(request: HttpRequest) -> HttpResponse:
    """Read and change the settings; links to ease bands, exclusions and travel rules."""
    start = {key: house.value(key) for key in house.SETTINGS}
    form = HouseForm(request.POST or None, initial=start)
    if request.method == "POST" and form.is_valid():
        try:
            for key, value in form.cleaned_data.items():
                put_setting(by=signed_in(request), key=key, value=value)
        except Refused as error:
            blame(form, error)
        else:
            messages.success(request, "The house rules are kept.")
            return redirect("desk:house_rules")
    lines = history.lines_of(history.Subject("house", "rules")).filter(verb="setting changed")[:20]
    context = {"form": form, "lines": [_line(line) for line in lines]}
    return render_page(request, "catalog/desk/house_rules.html", context)


def _line(line: Any) -> dict[str, Any]:
    setting = house.SETTINGS.get(line.after["setting"])
    said = _change(line.before.get("value"), line.after.get("value"), long=setting is not None and setting.long)
    text = f"{setting.label if setting else 'Setting'}: {said}."
    return {"happened": line.happened, "recorded": line.recorded, "by": line.by_name, "text": text, "reason": ""}


def _change(was: Any, now: Any, *, long: bool) -> str:
    """ "14 became 21"; of a list only what came and what went, of a long text how many lines changed."""
    if long:
        old, new = set(str(was).splitlines()), set(str(now).splitlines())
        return f"rewritten, {len(new - old)} new and {len(old - new)} old {'line' if len(old - new) == 1 else 'lines'}"
    if not isinstance(now, list):
        return f"{was if was != '' else 'nothing'} became {now if now != '' else 'nothing'}"
    came, went = [day for day in now if day not in (was or [])], [day for day in was or [] if day not in now]
    said = [
        f"{word} {DaysField().prepare_value(days).replace(chr(10), ', ')}"
        for word, days in (("added", came), ("taken off", went))
        if days
    ]
    return "; ".join(said) or "unchanged"
