"""What is typed when a kept scan is decided."""

from django import forms

from catalog.core.plain_forms import PlainForm
from catalog.storage.forms import PlaceField, StorageForm, ThingField

DECISIONS = {
    "put": "It is there: put it there now",
    "past": "It was there then and is elsewhere now",
    "dropped": "It was a mistake: drop it",
}


class DecideForm(StorageForm):
    """What was scanned may be put right; a dropped scan says why."""

    decision = forms.ChoiceField(choices=list(DECISIONS.items()), widget=forms.RadioSelect, label="What is true")
    thing = ThingField(required=False, label="Thing", help_text="As it was scanned. Put it right if it was misread.")
    to = PlaceField(required=False, label="Put at")
    why = forms.CharField(max_length=120, required=False, label="Why", help_text="Needed to drop it.")

    def clean(self) -> dict[str, object]:
        """Only what is put somewhere needs both; a dropped scan may stay unreadable."""
        facts = super().clean() or {}
        decision = facts.get("decision")
        if decision in ("dropped", "past"):
            for name in ("thing", "to"):
                self.errors.pop(name, None)
        elif decision == "put":
            for name in ("thing", "to"):
                if not facts.get(name) and name not in self.errors:
                    self.add_error(name, f"{self.fields[name].label}: this is empty. Scan or type it.")
        return facts


class KeptActForm(PlainForm):
    """What becomes of an act that met something it did not know of; a dropped one says why."""

    decision = forms.ChoiceField(
        choices=[("do", "It is so: do it now"), ("drop", "It was a mistake, or is settled otherwise: drop it")],
        widget=forms.RadioSelect,
        label="What is true",
    )
    why = forms.CharField(max_length=120, required=False, label="Why", help_text="Needed to drop it.")
