"""The travel rules, readable by whoever has to trust them; the house adds its own on top."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from catalog.access.people import signed_in
from catalog.access.permissions import Ability, can
from catalog.core.http import render_page
from catalog.loans.pages import form_page
from catalog.pieces.pages import done
from catalog.shipping import rule_actions
from catalog.shipping.calc.rules import CONFIDENCE
from catalog.shipping.models import RuleRow
from catalog.shipping.rule_forms import DropRuleForm, RuleForm

GET_POST = ["GET", "POST"]


def rules(request: HttpRequest) -> HttpResponse:
    """All active rules with source, edition, how sure, and when checked; those of the house first."""
    rows = list(RuleRow.objects.filter(active=True).order_by("code"))
    replaced_by = {row.replaces: row.code for row in rows if row.replaces}
    for row in rows:
        row.replaced_by = replaced_by.get(row.code, "")  # type: ignore[attr-defined]
    ours = [row for row in rows if row.origin == RuleRow.Origin.HOUSE]
    context = {
        "ours": ours,
        "rules": [row for row in rows if row.origin != RuleRow.Origin.HOUSE],
        "in_force": len(rows) - len(replaced_by),
        "memory": sum(row.confidence == RuleRow.Confidence.MEMORY for row in rows),
        "unchecked": sum(row.checked_on is None for row in rows),
        "confidence": CONFIDENCE,
        "older": RuleRow.objects.filter(active=False).order_by("code", "-version"),
        "may_change": can(request.user, Ability.HOUSE_RULES),
    }
    return render_page(request, "catalog/shipping/rules.html", context)


@require_http_methods(GET_POST)
def add_rule(request: HttpRequest) -> HttpResponse:
    """A new rule of the house."""
    return _edit(request, RuleForm(request.POST or None), "A travel rule of this house.", "Keep this rule")


@require_http_methods(GET_POST)
def change_rule(request: HttpRequest, code: str) -> HttpResponse:
    """The next version of a rule of the house; the old one stays for the answers made by it."""
    form = RuleForm(request.POST or None, row=_ours(code))
    return _edit(request, form, f"Change {code}.", "Keep the next version")


@require_http_methods(GET_POST)
def drop_rule(request: HttpRequest, code: str) -> HttpResponse:
    """Take a rule of the house out of force."""
    user, row = signed_in(request), _ours(code)
    form = DropRuleForm(request.POST or None)
    if request.method == "POST" and done(
        form, lambda: rule_actions.drop_rule(by=user, code=row.code, reason=form.cleaned_data["reason"])
    ):
        messages.success(request, f"{row.code} no longer holds; it stays to be read.")
        return redirect("shipping:rules")
    return form_page(request, form, steps=_steps("Drop"), answer=f"Drop {row.code}?", verb="Drop this rule")


def _edit(request: HttpRequest, form: RuleForm, answer: str, verb: str) -> HttpResponse:
    user = signed_in(request)

    def keep() -> None:
        rule_actions.keep_rule(
            by=user,
            rule=form.rule,
            origin=RuleRow.Origin.HOUSE,
            replaces=form.cleaned_data["replaces"],
            reason=form.cleaned_data["why"].strip(),
        )

    if request.method == "POST" and done(form, keep):
        messages.success(request, f"{form.rule.name} is in force.")
        return redirect("shipping:rules")
    note = (
        "It stands on top of the starting set: the worst answer wins, so a rule beside them can only be stricter. To "
        "be milder it has to stand for one of them, and says why. Whoever answers for the archive answers for it."
    )
    return form_page(request, form, steps=_steps("Rule of the house"), answer=answer, verb=verb, note=note)


def _ours(code: str) -> RuleRow:
    row = RuleRow.objects.filter(code=code, active=True, origin=RuleRow.Origin.HOUSE).first()
    if row is None:
        raise Http404(f"There is no rule {code[:30]} of the house.")
    return row


def _steps(word: str) -> list[dict[str, str]]:
    return [{"word": "Travel rules", "url": reverse("shipping:rules")}, {"word": word, "url": ""}]
