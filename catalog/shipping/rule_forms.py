"""A travel rule of the house, typed into plain fields; what it asks becomes a trigger of calc/trigger.py."""

import re
from typing import Any

from django import forms

from catalog.care.calc.cautions import HAZARDS
from catalog.core import clock
from catalog.core.form_fields import WeightField
from catalog.core.plain_forms import PlainForm
from catalog.shipping.calc.facts import Mode
from catalog.shipping.calc.rules import Rule, RuleError, rule_from_json
from catalog.shipping.calc.trigger import OPEN_STATES
from catalog.shipping.calc.verdicts import Verdict
from catalog.shipping.models import RuleRow
from catalog.shipping.route_forms import CountriesField

_CODE = re.compile(r"[A-Z][A-Z0-9-]{2,59}")


def _starting() -> list[tuple[str, str]]:
    rows = RuleRow.objects.filter(active=True, origin=RuleRow.Origin.STARTING).order_by("code")
    return [("", "none; it stands beside them"), *((row.code, f"{row.code}: {row.reason[:70]}") for row in rows)]


class RuleForm(PlainForm):
    """What the rule asks, what it says, and why; every condition that is filled in has to hold."""

    code = forms.CharField(max_length=60, label="Code", help_text="Short, in capitals: NO-SPRAY.")
    materials = forms.CharField(
        max_length=300, required=False, label="Made of", help_text="Any of these, with commas between: wax, oilskin."
    )
    kind = forms.CharField(max_length=60, required=False, label="Kind of piece", help_text="For example: helmet.")
    hazard = forms.ChoiceField(
        choices=[("", "any or none"), *((code, words.name) for code, words in HAZARDS.items())],
        required=False,
        label="Hazard not cleared",
    )
    heavier = WeightField(required=False, label="Heavier than")
    enters = CountriesField(max_length=200, required=False, label="Enters", help_text="Any of these countries.")
    leaves = CountriesField(max_length=200, required=False, label="Leaves", help_text="Any of these countries.")
    ways = forms.MultipleChoiceField(
        choices=[(mode.value, mode.label) for mode in Mode],
        initial=[mode.value for mode in Mode],
        widget=forms.CheckboxSelectMultiple,
        label="Ways of travelling",
        error_messages={"required": "Choose at least one way of travelling."},
    )
    verdict = forms.ChoiceField(
        choices=[("", "choose one"), *((verdict.value, verdict.label) for verdict in Verdict)],
        label="It says",
        error_messages={"required": "Choose what the rule says."},
    )
    reason = forms.CharField(max_length=600, label="Reason", help_text="One sentence, as it will be read.")
    condition = forms.CharField(
        max_length=900, required=False, label="What to do", help_text="Needed for conditions and for a specialist."
    )
    papers = forms.CharField(max_length=300, required=False, label="Papers", help_text="With commas between.")
    source = forms.CharField(max_length=600, initial="House rule of the archive", label="Source")
    replaces = forms.ChoiceField(
        choices=_starting, required=False, label="Stands for", help_text="A rule of the starting set it replaces here."
    )
    why = forms.CharField(max_length=300, required=False, label="Why it replaces that rule")

    def __init__(self, *args: Any, row: RuleRow | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.row = row
        if row is not None:
            del self.fields["code"]
            self.initial = _as_typed(row)

    def clean_code(self) -> str:
        """Capitals, so that a code reads the same everywhere."""
        code = str(self.cleaned_data["code"]).strip().upper()
        if not _CODE.fullmatch(code):
            raise forms.ValidationError("Code: capitals, digits and dashes, at least three, for example NO-SPRAY.")
        return code

    def clean(self) -> dict[str, Any] | None:
        facts = super().clean() or {}
        if not self.errors and not self._conditions(facts):
            self.add_error("materials", "Say when the rule speaks: fill in at least one of the conditions.")
        if not self.errors:
            try:
                self.rule = self._rule(facts)
            except RuleError as wrong:
                self.add_error(None, str(wrong))
        return facts

    def _rule(self, facts: dict[str, Any]) -> Rule:
        return rule_from_json(
            {
                "code": self.row.code if self.row else facts["code"],
                "version": self.row.version + 1 if self.row else 1,
                "trigger": {"all": self._conditions(facts)},
                "modes": facts["ways"],
                "verdict": facts["verdict"],
                "reason": facts["reason"].strip(),
                "condition": facts["condition"].strip(),
                "papers": _words(facts["papers"]),
                "source": facts["source"].strip(),
                "edition": "",
                "jurisdiction": "house",
                "confidence": "H",
                "checked_on": clock.today(),
            }
        )

    @staticmethod
    def _conditions(facts: dict[str, Any]) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = []
        if words := _words(facts["materials"]):
            found.append({"material": words})
        if kind := facts["kind"].strip():
            found.append({"kind": kind})
        if facts["hazard"]:
            found.append({f"hazard.{facts['hazard']}": list(OPEN_STATES)})
        if facts["heavier"] is not None:
            found.append({"weight_g": {"gt": facts["heavier"]}})
        for name in ("enters", "leaves"):
            if facts[name]:
                found.append({f"trip.{name}": facts[name]})
        return found


class DropRuleForm(PlainForm):
    """Why a rule of the house no longer holds."""

    reason = forms.CharField(
        max_length=300, label="Why it is dropped", error_messages={"required": "Say why it is dropped."}
    )


def _as_typed(row: RuleRow) -> dict[str, Any]:
    typed: dict[str, Any] = {
        "ways": row.modes, "verdict": row.verdict, "reason": row.reason, "condition": row.condition,
        "papers": ", ".join(row.papers), "source": row.source, "replaces": row.replaces,
    }  # fmt: skip
    for part in row.trigger.get("all", []):
        [(fact, value)] = part.items()
        if fact == "material":
            typed["materials"] = ", ".join(value)
        elif fact == "weight_g":
            typed["heavier"] = value.get("gt")
        elif fact.startswith("hazard."):
            typed["hazard"] = fact.removeprefix("hazard.")
        else:
            typed[fact.removeprefix("trip.")] = value
    return typed


def _words(text: str) -> list[str]:
    return [word.strip() for word in text.split(",") if word.strip()]
