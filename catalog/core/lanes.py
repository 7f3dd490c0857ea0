"""Acts that a page sends through its queue: done once however often they are sent, or kept until somebody decides.

A room names its lane once, with what carries an act out; the desk shows what was kept.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Literal

from django.db import models, transaction

from catalog.core import clock
from catalog.core.checks import keep
from catalog.core.errors import CatalogError, NotAllowed, Refused, WrongState
from catalog.core.locks import alone
from catalog.core.sending import Sent
from catalog.core.sent_models import SentAct

# A phone asks again until it is answered; so long its acts are remembered. One that is older yet is not carried out
# unasked, because whether it was done before can no longer be told.
REMEMBERED = timedelta(days=180)


@dataclass(frozen=True, slots=True)
class Lane:
    """One kind of act. `address` is where it is sent: who may send may also decide (the table of permissions says).

    `fields` are all that is kept of what was sent: codes and numbers, never a name or a body.

    `carry_out(by, sent)` does it inside the caller's transaction and gives the sentence of the answer, or raises a
    CatalogError whose sentence says what stands in the way. `words(facts)` says what was wanted: "M-0003 to 12".
    """

    name: str
    address: str
    fields: tuple[str, ...]
    words: Callable[[Mapping[str, str]], str]
    carry_out: Callable[[Any, Sent], str]


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of an act. Repeated, the same act has the same answer."""

    result: Literal["done", "refused", "kept"]
    sentence: str

    @property
    def plain(self) -> dict[str, str]:
        """As it is sent back."""
        return {"result": self.result, "sentence": self.sentence}


_LANES: dict[str, Lane] = {}


def named(lane: Lane) -> Lane:
    """The lane, from now on found by its name."""
    _LANES[lane.name] = lane
    return lane


def lane_of(act: SentAct) -> Lane:
    """The lane that an act came by."""
    return _LANES[act.lane]


def lanes() -> list[Lane]:
    """Every lane."""
    return list(_LANES.values())


def answer_once(*, by: Any, lane: Lane, sent: Sent) -> Answer:
    """Carry the act out, unless it was answered before. Raises NotAllowed only: any other no is an answer.

    A no to an act that waited is kept for a decision; at a live one the hand is still there, so it is only said.
    """
    with transaction.atomic():
        alone(f"sent {sent.client_id}")
        earlier = SentAct.objects.filter(client_id=sent.client_id).first()
        if earlier is not None:
            return _as_answered(earlier, by)
        if sent.waited and sent.happened is not None and sent.happened < clock.now() - REMEMBERED:
            why = f"It is from {sent.happened:%-d %b %Y}: look whether it was done then."
            return _as_answered(_keep(by, lane, sent, SentAct.Result.KEPT, why), by)
        try:
            with transaction.atomic():
                sentence = lane.carry_out(by, sent)
        except NotAllowed:
            raise
        except CatalogError as error:
            if not sent.waited:
                return Answer("refused", error.sentence)
            return _as_answered(_keep(by, lane, sent, SentAct.Result.KEPT, error.sentence), by)
        return _as_answered(_keep(by, lane, sent, SentAct.Result.DONE, sentence), by)


def forget_answered(now: datetime | None = None) -> int:
    """Delete what was done or dropped longer ago than it is remembered; what waits for a decision stays."""
    before = (now or clock.now()) - REMEMBERED
    old = SentAct.objects.exclude(result=SentAct.Result.KEPT).filter(recorded__lt=before)
    return old.filter(models.Q(decided__isnull=True) | models.Q(decided__lt=before)).delete()[0]


def kept_acts() -> "models.QuerySet[SentAct]":
    """What nobody has decided, the oldest first."""
    return SentAct.objects.filter(result=SentAct.Result.KEPT).select_related("by")


def do_kept(*, by: Any, act: SentAct) -> str:
    """Decide that it is done now, as it was meant then. Raises what the act itself raises, WrongState when decided."""
    with transaction.atomic():
        act = _to_decide(act)
        sent = Sent(act.client_id, act.facts, act.happened)
        act.sentence = lane_of(act).carry_out(by, sent)[:400]
        _decide(act, by, SentAct.Result.DONE, "")
    return act.sentence


def drop_kept(*, by: Any, act: SentAct, why: str) -> SentAct:
    """Decide that it is not done: who said so and why is kept."""
    if not why.strip():
        raise Refused("Say why it is dropped.", field="why")
    with transaction.atomic():
        act = _to_decide(act)
        _decide(act, by, SentAct.Result.DROPPED, why)
    return act


def _as_answered(act: SentAct, by: Any) -> Answer:
    if act.by_id != by.pk:
        return Answer("refused", "This scan was already kept for somebody else: scan again.")
    if act.result == SentAct.Result.DONE:
        return Answer("done", act.sentence)
    return Answer("kept", f"{act.words} waits for a decision: {act.sentence}")


def _keep(by: Any, lane: Lane, sent: Sent, result: str, sentence: str) -> SentAct:
    facts = {name: sent.fact(name) for name in lane.fields}
    act = SentAct(client_id=sent.client_id, lane=lane.name, facts=facts, words=lane.words(facts)[:200])
    act.result, act.sentence, act.happened = result, sentence[:400], sent.happened or clock.now()
    act.by, act.by_name = by, str(by)
    return keep(act)


def _to_decide(act: SentAct) -> SentAct:
    """The act with its row held; raises WrongState when somebody has decided already."""
    now = SentAct.objects.select_for_update(no_key=True, of=("self",)).get(pk=act.pk)
    if now.result != SentAct.Result.KEPT:
        raise WrongState(f"{now.decided_by} has decided already: {now.get_result_display()}.")
    return now


def _decide(act: SentAct, by: Any, result: str, why: str) -> None:
    act.result, act.decided, act.decided_by, act.decided_why = result, clock.now(), by, why.strip()[:200]
    keep(act)
