"""Keeping a travel rule: a changed rule is a new version, the old one stays for the verdicts made by it."""

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import house
from catalog.core.checks import keep
from catalog.core.errors import Refused
from catalog.core.history import Subject, record
from catalog.core.models import HouseSetting
from catalog.shipping.calc.rules import Rule, RuleBook, rule_to_json
from catalog.shipping.models import RuleRow

_TEXT_FIELDS = ("reason", "condition", "source", "edition", "jurisdiction", "confidence")


@transaction.atomic
def keep_rule(*, by: User, rule: Rule) -> RuleRow:
    """Store the rule as the active version of its code; the same version with the same words changes nothing.

    Raises Refused when the version stands with other words, or a newer one is active.
    """
    require(by, Ability.HOUSE_RULES)
    active = RuleRow.objects.select_for_update().filter(code=rule.code, active=True).first()
    facts = rule_to_json(rule)
    if active is not None and active.version >= rule.version:
        if active.version == rule.version and _facts(active) == facts:
            return active
        raise Refused(
            f"{rule.code} is kept as version {active.version} already: a changed rule takes the next version.",
            field="version",
        )
    if active is not None:
        active.active = False
        keep(active)
    facts["checked_on"] = rule.checked_on
    row = keep(RuleRow(**facts))
    record(by, "travel rule set", Subject("house", "rules"), after={"rule": row.code, "rule_version": row.version})
    return row


@transaction.atomic
def keep_questions(*, by: User, book: RuleBook) -> None:
    """Keep what to ask when a fact is missing, and the usual packed lengths by kind, as house settings."""
    require(by, Ability.HOUSE_RULES)
    questions = {fact: {"text": asked.text, "who": asked.who} for fact, asked in book.questions.items()}
    for key, value in (("travel.questions", questions), ("travel.usual_longest_mm", dict(book.usual_longest_mm))):
        HouseSetting.objects.update_or_create(key=key, defaults={"value": value, "words": house.SETTINGS[key].words})
    record(by, "travel questions set", Subject("house", "rules"), after={"setting": "travel.questions"})


def _facts(row: RuleRow) -> dict[str, object]:
    texts = {field: getattr(row, field) for field in _TEXT_FIELDS}
    return {
        "code": row.code,
        "version": row.version,
        "trigger": row.trigger,
        "modes": row.modes,
        "verdict": str(row.verdict),
        "papers": row.papers,
        "checked_on": row.checked_on.isoformat() if row.checked_on else None,
        **texts,
    }
