"""What a performer must not wear or touch. The house says in rows what each word excludes; the answer is a hard no."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ExclusionRule:
    """One excluded thing: pieces with any of these materials, traits or kinds, save the kinds excepted."""

    code: str
    words: str
    materials: frozenset[str] = frozenset()
    traits: frozenset[str] = frozenset()
    kinds: frozenset[str] = frozenset()
    except_kinds: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Makeup:
    """What a piece is and is made of. `materials` None: nobody recorded them."""

    kind: str
    materials: frozenset[str] | None
    traits: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Exclusion:
    """Sentences for what rules a piece out, and for what cannot be told."""

    blocked: tuple[str, ...] = ()
    unclear: tuple[str, ...] = ()


def check(exclusions: frozenset[str], makeup: Makeup, rules: Sequence[ExclusionRule]) -> Exclusion:
    """Hold a piece against a performer's exclusions. What is not recorded, or has no rule, is unclear: never a yes."""
    blocked, unclear = [], []
    by_code = {rule.code: rule for rule in rules}
    for code in sorted(exclusions):
        rule = by_code.get(code)
        if rule is None:
            unclear.append(f"The exclusion {code} has no rule: ask what it rules out.")
        elif makeup.kind not in rule.except_kinds:
            hits = sorted(((makeup.materials or frozenset()) & rule.materials) | (makeup.traits & rule.traits))
            if makeup.kind in rule.kinds:
                blocked.append(f"{rule.words}: the piece is one")
            elif hits:
                blocked.append(f"{rule.words}: the piece has {', '.join(hits)}")
            elif makeup.materials is None and rule.materials:
                unclear.append(f"{rule.words}: the materials of the piece are not recorded")
    return Exclusion(tuple(blocked), tuple(unclear))


def may_make(exclusions: frozenset[str], makeup: Makeup, rules: Sequence[ExclusionRule]) -> bool:
    """Whether a new piece of the usual make would be allowed. Unclear is no."""
    found = check(exclusions, makeup, rules)
    return not found.blocked and not found.unclear
