"""Keeping a travel rule: a changed rule is a new version, the old one stays for the verdicts made by it."""

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import clock, house
from catalog.core.checks import keep
from catalog.core.errors import Refused
from catalog.core.history import Subject, record
from catalog.core.models import HouseSetting
from catalog.shipping.calc.rules import Rule, RuleBook, rule_to_json
from catalog.shipping.models import RuleRow

_TEXT_FIELDS = ("reason", "condition", "source", "edition", "jurisdiction", "confidence")


@transaction.atomic
def keep_rule(
    *, by: User, rule: Rule, origin: str = RuleRow.Origin.STARTING, replaces: str = "", reason: str = ""
) -> RuleRow:
    """Store the rule as the active version of its code; the same version with the same words changes nothing.

    A rule of the house may stand for one of the starting set, which stays to be read; it says why. Raises Refused when
    the version stands with other words, a newer one is active, or the code is one of the other origin.
    """
    require(by, Ability.HOUSE_RULES)
    _check_place(rule, origin, replaces, reason)
    active = RuleRow.objects.select_for_update().filter(code=rule.code, active=True).first()
    facts = rule_to_json(rule)
    if active is not None and active.version >= rule.version:
        if active.version == rule.version and _facts(active) == facts:
            return active
        raise Refused(
            f"{rule.code} is kept as version {active.version} already: a changed rule takes the next version.",
            field="version",
        )
    if RuleRow.objects.filter(code=rule.code, version=rule.version).exists():
        raise Refused(f"{rule.code} was a rule before and was dropped; choose another code.", field="code")
    now = clock.now()
    if active is not None:
        active.active, active.until = False, now
        keep(active)
    facts["checked_on"] = rule.checked_on
    row = keep(RuleRow(**facts, origin=origin, replaces=replaces, since=now))
    after = {"rule": row.code, "rule_version": row.version} | ({"replaces": replaces} if replaces else {})
    record(by, "travel rule set", Subject("house", "rules"), after=after, reason=reason)
    return row


@transaction.atomic
def drop_rule(*, by: User, code: str, reason: str) -> RuleRow:
    """Take a rule of the house out of force; it stays to be read. Raises Refused for one of the starting set."""
    require(by, Ability.HOUSE_RULES)
    row = RuleRow.objects.select_for_update().filter(code=code, active=True).first()
    if row is None or row.origin != RuleRow.Origin.HOUSE:
        raise Refused(f"{code} is no rule of the house in force.", field="code")
    if not reason.strip():
        raise Refused("Say why it is dropped.", field="reason")
    row.active, row.until = False, clock.now()
    keep(row)
    after = {"rule": row.code, "rule_version": row.version}
    record(by, "travel rule dropped", Subject("house", "rules"), after=after, reason=reason.strip())
    return row


def _check_place(rule: Rule, origin: str, replaces: str, reason: str) -> None:
    other = RuleRow.objects.filter(code=rule.code).exclude(origin=origin).first()
    if other is not None:
        raise Refused(f"{rule.code} is a rule {other.get_origin_display()}; choose another code.", field="code")
    if not replaces:
        return
    if not RuleRow.objects.filter(code=replaces, active=True, origin=RuleRow.Origin.STARTING).exists():
        raise Refused(f"There is no rule {replaces} in the starting set.", field="replaces")
    if not reason.strip():
        raise Refused(f"Say why {replaces} does not hold here.", field="why")


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
