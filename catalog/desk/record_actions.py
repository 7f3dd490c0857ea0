"""Recording a piece with everything around it: piece, picture, measures, parts, place, label, condition, wear."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from django.db import transaction

from catalog.access.models import User
from catalog.care import actions as care
from catalog.core import clock
from catalog.core.errors import Refused
from catalog.pieces import actions as pieces
from catalog.pieces.models import Piece, Production
from catalog.storage import actions as storage

_OF_THE_PIECE = (
    "number",
    "name",
    "role",
    "slot",
    "multiple",
    "origin",
    "materials",
    "weight_g",
    "look",
    "size_mark",
)
_LETTERS = "abcdefghijklmnopqrstuvwxyz"


def record_whole(
    *,
    by: User,
    production: Production,
    kind: str,
    facts: Mapping[str, Any],
    measures: list[dict[str, Any]],
    picture: bytes | None,
) -> Piece:
    """All of it in one transaction: a refused label leaves no piece behind. Raises Refused naming the form's field."""
    today, name = clock.today(), str(by)
    with transaction.atomic():
        plain = {field: facts[field] for field in _OF_THE_PIECE}
        with _at("outfit_set", only="set"):
            piece = pieces.record_piece(
                by=by, production=production, kind=kind, outfit_set=facts["outfit_set"] or None, **plain
            )
        if picture is not None:
            pieces.add_picture(by=by, piece=piece, data=picture)
        rows = [{**row, "taken_on": today, "taken_by": name} for row in measures]
        pieces.set_measures(by=by, piece=piece, rows=rows)
        _add_parts(by, piece, facts["parts"])
        if facts["place"]:
            with _at("place"):
                home = facts["place"] if facts["is_home"] else None
                storage.receive_piece(by=by, piece=piece, place=facts["place"], home=home)
        with _at("label"):
            if facts["label"]:
                storage.bind_label(by=by, code=facts["label"], piece=piece)
            elif facts["issue_label"]:
                storage.issue_label(by=by, piece=piece)
        if facts["grade"] is not None:
            with _at("grade"):
                seen = {field: facts[field] for field in ("grade", "stability", "completeness", "note")}
                care.report_condition(by=by, piece=piece, occasion="entry", **seen)
        if facts["decision"]:
            with _at("decision"):
                wear = {
                    field: facts[field] for field in ("decision", "limits", "repair", "repair_days", "repair_day_kind")
                }
                care.decide_wear(by=by, piece=piece, decided_on=today, decided_by_name=name, **wear)
    return piece


def _add_parts(by: User, piece: Piece, names: list[str]) -> None:
    taken = {part.letter for part in piece.parts.all()}
    free = [letter for letter in _LETTERS if letter not in taken]
    if len(names) > len(free):
        raise Refused(f"A piece has at most {len(free)} parts of its own.", field="parts")
    with _at("parts"):
        for letter, name in zip(free, names, strict=False):
            pieces.add_part(by=by, piece=piece, letter=letter, name=name)


@contextmanager
def _at(field: str, only: str = "") -> Iterator[None]:
    """A refusal inside belongs to this field of the form; with `only`, just one about that field of the row."""
    try:
        yield
    except Refused as refused:
        if only and refused.field != only:
            raise
        raise Refused(refused.sentence, field=field) from refused
