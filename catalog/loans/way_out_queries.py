"""Every way out of a clash: other pieces, another set, other days, an early release with its day, a part of it."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Count

from catalog.loans import queries
from catalog.loans.calc.notice import Notice
from catalog.loans.calc.windows import ONE_DAY, Span, first_window, last_window, length
from catalog.loans.holdable_queries import spare_by_slot
from catalog.loans.models import Hold, HoldPiece
from catalog.loans.queries import HeldSpan
from catalog.pieces.models import Piece
from catalog.storage.models import State

SHOWN = 4


@dataclass(slots=True)
class Ways:
    """What is known around a clash, gathered once for all holds that are in the way."""

    asked: Span
    slots: dict[int, int | None]
    spare: dict[int, list[str]]
    sets: dict[int, list[str]]
    set_roles: dict[int, int]
    kept_n: dict[str, int]
    every: Sequence[HeldSpan] = field(default_factory=list)

    def out_of(self, same: Sequence[HeldSpan], notice: Notice, today: date) -> list[str]:
        """The sentences for one hold in the way; `same`: its pieces that clash."""
        pencil = same[0].strength == Hold.Strength.PENCIL
        ways = [*self._others(same), *self._other_sets(same)]
        if pencil:
            lapses = next((f" that lapses on {span.lapses_on:%-d %b %Y}" for span in same if span.lapses_on), "")
            ways.append(f"It is a pencil{lapses}: a firm hold goes before it.")
        else:
            ways.append(notice.sentence(same[0].for_whom, today))
            ways += self._part(same)
        return [*ways, self._other_days(pencil=pencil, today=today)]

    def _others(self, same: Sequence[HeldSpan]) -> list[str]:
        wanted = dict.fromkeys(self.slots[span.piece_id] for span in same)
        free = [number for slot in wanted for number in self.spare.get(slot or 0, ())]
        return [f"Take another of the kind that is free on all these days: {_some(free)}."] if free else []

    def _other_sets(self, same: Sequence[HeldSpan]) -> list[str]:
        roles = dict.fromkeys(self.set_roles[span.piece_id] for span in same if span.piece_id in self.set_roles)
        free = [code for role in roles for code in self.sets.get(role, ())]
        return [f"Take another whole set that is free on all these days: {_some(free)}."] if free else []

    def _part(self, same: Sequence[HeldSpan]) -> list[str]:
        """The other job can keep what nobody asks for."""
        kept, wanted = self.kept_n.get(same[0].hold, 0), len(same)
        if kept <= wanted:
            return []
        it = "it" if wanted == 1 else "these"
        return [f"A part is enough: {same[0].hold} lets go {wanted} of its {kept} pieces and keeps all but {it}."]

    def _other_days(self, *, pencil: bool, today: date) -> str:
        """The first days on which all asked pieces are free together, and the last ones before."""
        days = length(self.asked)
        busy = [(span.first, span.last) for span in self.every if pencil or span.strength == Hold.Strength.FIRM]
        after = first_window(busy, days, self.asked[0])
        before = last_window(busy, days, today, self.asked[0] - ONE_DAY) if self.asked[0] > today else None
        needed = f"for the {days} days asked, buffers included" if days > 1 else "for the day asked"
        said = [f"these pieces are free from {after[0]:%-d %b %Y} {needed}"] if after else []
        if before:
            said.append(f"{'or' if after else 'these pieces are free'} before, up to {before[1]:%-d %b %Y}")
        return f"Move the days: {', '.join(said)}." if said else "No other days are free for all of them."


def ways_for(
    piece_ids: Collection[int], asked: Span, spans: Sequence[HeldSpan], every: Sequence[HeldSpan], *, worn: bool
) -> Ways:
    """Gather what is free instead; a fixed number of queries. `every`: all holds of the pieces from today on."""
    clashing = {span.piece_id for span in spans}
    rows = list(Piece.objects.filter(pk__in=clashing).values_list("pk", "slot_id", "set__role_id"))
    slots: dict[int, int | None] = {pk: slot for pk, slot, _ in rows}
    roles = {pk: role for pk, _, role in rows if role}
    kept = HoldPiece.objects.filter(hold__reference__in={span.hold for span in spans}, released_on=None)
    counted = kept.values("hold__reference").annotate(n=Count("id")).values_list("hold__reference", "n")
    return Ways(
        asked=asked,
        slots=slots,
        spare=spare_by_slot(clashing, *asked, worn=worn),
        sets=free_sets(set(roles.values()), piece_ids, *asked),
        set_roles=roles,
        kept_n=dict(counted),
        every=every,
    )


def free_sets(role_ids: Collection[int], piece_ids: Collection[int], first: date, last: date) -> dict[int, list[str]]:
    """By role the codes of whole original sets with every piece in store and free on all the days; none of those asked.

    Whether a set dresses somebody is a question of sizes, and is asked at the fitting.
    """
    if not role_ids:
        return {}
    busy = queries.busy_piece_ids(first, last) | set(piece_ids)
    good: dict[tuple[str, int], bool] = {}
    rows = Piece.objects.filter(set__role_id__in=role_ids).select_related("set", "standing")
    for piece in rows:
        if piece.set is None:
            continue
        key = (piece.set.code, piece.set.role_id)
        standing = getattr(piece, "standing", None)
        here = standing is not None and standing.state == State.IN_STORE and piece.pk not in busy
        good[key] = good.get(key, True) and here
    found: dict[int, list[str]] = {}
    for (code, role), whole in sorted(good.items()):
        if whole:
            found.setdefault(role, []).append(code)
    return found


def _some(words: Sequence[str]) -> str:
    more = f" and {len(words) - SHOWN} more" if len(words) > SHOWN else ""
    return f"{', '.join(words[:SHOWN])}{more}"
