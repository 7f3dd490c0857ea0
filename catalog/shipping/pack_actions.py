"""Packing a loan: take a proposal over, put pieces into crates by scan, seal and weigh; and the kinds of crates."""

import re
from typing import Any

from django.db import transaction
from django.utils import timezone

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core.checks import keep
from catalog.core.errors import Refused, WrongState
from catalog.core.history import Subject, record
from catalog.core.locks import lock_rows
from catalog.loans import loan_queries
from catalog.loans.loan_actions import must_be
from catalog.loans.models import Loan, LoanLine
from catalog.pieces.models import Piece
from catalog.shipping import pack_queries
from catalog.shipping.pack_models import CrateSpec, PackCrate, PackLine
from catalog.storage import actions as storage
from catalog.storage import standing as shared
from catalog.storage.models import Place, PlaceKind, State

_S = LoanLine.State


@transaction.atomic
def keep_crate_kind(*, by: User, spec: CrateSpec | None = None, **facts: Any) -> CrateSpec:
    """Add a kind of crate, or change one. Raises WrongValues with a sentence for each fault."""
    require(by, Ability.ARRANGE_STORE)
    row = spec or CrateSpec()
    for name, value in facts.items():
        setattr(row, name, value)
    keep(row)
    told = {
        "crate_kind": row.code,
        "inner_mm": list(row.inner_mm),
        "outer_mm": list(row.outer_mm),
        "tare_g": row.tare_g,
        "max_gross_g": row.max_gross_g,
        "how_many": row.how_many,
    }
    record(by, "changed a kind of crate" if spec else "added a kind of crate", Subject("house", "crates"), after=told)
    return row


@transaction.atomic
def take_packing(*, by: User, loan: Loan, mark: str) -> list[PackCrate]:
    """Take the proposal over that was looked at: a container in the store for each crate, and what is meant for it.

    Raises WrongState when the loan is not being pulled or has crates already, Refused when the proposal is no more the
    one that was looked at, or holds nothing.
    """
    require(by, Ability.PACK)
    must_be(loan, Loan.State.PULLING)
    if PackCrate.objects.filter(loan=loan).exists():
        raise WrongState(f"{loan} has its crates already: move pieces between them.")
    proposal = pack_queries.propose(loan)
    if not proposal.packing.crates:
        raise Refused("Nothing can be packed yet.")
    if proposal.mark != mark or proposal.faults:
        raise Refused("Something has changed since this was worked out. Look at the new proposal and take that.")
    rows = pack_queries.proposed_rows(loan, proposal)
    lines = {line.piece.number: line for line in pack_queries.lines_to_pack(loan)}
    made = []
    for row in rows:
        crate = _crate(by, loan, row.number, row.spec)
        for item in row.items:
            keep(PackLine(crate=crate, line=lines[item.piece.number]))
        made.append(crate)
    told = {"crates": len(made), "pieces": sum(len(row.items) for row in rows)}
    record(by, "crates planned", loan.subject, after=told)
    return made


@transaction.atomic
def put_in_crate(
    *,
    by: User,
    loan: Loan,
    code: str,
    crate: PackCrate | None = None,
    new_kind: CrateSpec | None = None,
    anyway: str = "",
) -> PackLine:
    """A scanned piece goes into a crate: the one given, a new one of a kind, or the one that it is meant for.

    Raises Refused for a piece that is not on the loan or whose weight or size nobody knows, for too heavy a crate, and,
    without a reason in `anyway`, for a bad neighbour or a crate that is too full. WrongState for a sealed crate.
    """
    require(by, Ability.PACK)
    must_be(loan, Loan.State.PULLING)
    piece = loan_queries.scanned_piece(code)
    lock_rows(Piece.objects.filter(pk=piece.pk))
    line = loan.lines.select_related("piece__production", "wearer").filter(piece=piece).first()
    if line is None:
        raise Refused(f"This is {piece}, {piece.name}: it is not on the list of {loan}.", field="code")
    if line.state != _S.PULLED:
        raise WrongState(f"{piece} is {line.get_state_display()}: pull it first.", field="code")
    row = PackLine.objects.select_related("crate").filter(line=line).first() or PackLine(line=line)
    before = row.crate if row.pk else None
    target = _crate(by, loan, _next_number(loan), new_kind) if new_kind is not None else crate or before
    if target is None:
        raise Refused(f"{piece} is meant for no crate yet: say into which one.", field="crate")
    _refuse_sealed(before, target)
    if before is None or before.pk != target.pk:
        _ask(target, line, anyway.strip())
        row.packed_anyway = anyway.strip()
    row.crate, row.packed_at = target, timezone.now()
    keep(row)
    storage.move_piece(by=by, piece=piece, to=target.place, reason=f"packed for {loan.reference}")
    record(by, "packed", loan.subject, after={"packed": piece.number, "crate": target.number}, reason=anyway.strip())
    return row


@transaction.atomic
def note_crate(*, by: User, crate: PackCrate, seal: str, weighed_g: int | None) -> PackCrate:
    """Keep the seal numbers and what the scale said. Raises WrongState for a seal before everything is in it."""
    require(by, Ability.PACK)
    row = PackCrate.objects.select_for_update(of=("self",)).select_related("loan").get(pk=crate.pk)
    seal = " ".join(seal.split())
    waiting = row.lines.filter(packed_at=None).count()
    if seal and seal != row.seal and waiting:
        things = "1 piece is" if waiting == 1 else f"{waiting} pieces are"
        raise WrongState(f"{things} not in crate {row.number} yet: scan them in before it is sealed.", field="seal")
    before = {"seal": row.seal, "weighed_g": row.weighed_g}
    if before == {"seal": seal, "weighed_g": weighed_g}:
        return row
    if row.weighed_g != weighed_g:
        row.weighed_at = timezone.now() if weighed_g is not None else None
    row.seal, row.weighed_g = seal, weighed_g
    keep(row)
    after = {"crate": row.number, "seal": seal, "weighed_g": weighed_g}
    record(by, "crate noted", row.loan.subject, before=before, after=after)
    return row


@transaction.atomic
def crates_travel(*, by: User, loan: Loan, away: bool) -> int:
    """The containers of the crates leave the store with their loan, or are back on the dock; how many.

    Raises WrongState when the loan is still being pulled, Refused when there is nothing to change.
    """
    require(by, Ability.PACK)
    if loan.state == Loan.State.PULLING:
        raise WrongState(f"{loan} has not left yet: send its pieces first.")
    state = State.OUT if away else State.IN_STORE
    places = Place.objects.filter(pack_crate__loan=loan).exclude(state=state).order_by("pk")
    changed = list(places.select_for_update(of=("self",)).select_related("parent"))
    if not changed:
        raise Refused("The crates are " + ("away already." if away else "in the store already."))
    telling = shared.Telling(by, f"with {loan.reference}")
    dock = None if away else _dock()
    for place in changed:
        before = {"parent": place.parent, "state": place.state}
        shared.keep_move(telling, place.parent, dock, container=place)
        place.parent, place.state = dock, state
        keep(place)
        after = {"parent": dock, "state": state}
        shared.tell(telling, "went out" if away else "brought back", place, before, after)
    return len(changed)


def _dock() -> Place | None:
    return Place.objects.filter(kind=PlaceKind.DOCK).order_by("order", "code").first()


def _crate(by: User, loan: Loan, number: int, spec: CrateSpec) -> PackCrate:
    """A crate with its container in the store, on the dock where there is one."""
    code = re.sub(r"[^A-Za-z0-9._+-]", "-", loan.reference)[:24]
    dock = _dock()
    place = Place(code=f"{code}-C{number}", name=f"{spec.name} {number} for {loan}"[:160], kind=PlaceKind.CRATE)
    place.parent, place.tare_g = dock, spec.tare_g
    keep(place)
    told = {"code": place.code, "name": place.name, "kind": place.kind, "parent": dock, "tare_g": place.tare_g}
    crate = keep(PackCrate(loan=loan, number=number, spec=spec, place=place))
    record(by, "added", place.subject, after=told)
    return crate


def _next_number(loan: Loan) -> int:
    last = PackCrate.objects.filter(loan=loan).order_by("-number").first()
    return 1 if last is None else last.number + 1


def _refuse_sealed(*crates: PackCrate | None) -> None:
    for crate in crates:
        if crate is not None and crate.seal:
            raise WrongState(
                f"Crate {crate.number} is sealed ({crate.seal}): take the seal off its card first.", field="crate"
            )


def _ask(crate: PackCrate, line: LoanLine, anyway: str) -> None:
    """Refuse what cannot be, question what should not be: a question is answered with a reason."""
    inside = LoanLine.objects.filter(packed__crate=crate).exclude(pk=line.pk).select_related("piece__production")
    wrong = pack_queries.crate_problems(crate, [*inside, line])
    hard = [one for one in wrong if "not known" in one or "may weigh" in one or "does not go into" in one]
    if hard:
        raise Refused(f"Not into crate {crate.number}: {' '.join(hard[:2])}", field="code")
    if wrong and not anyway:
        raise Refused(
            f"Into crate {crate.number}? {' '.join(wrong[:2])} Choose another, or say why it goes there all the same.",
            field="anyway",
        )
