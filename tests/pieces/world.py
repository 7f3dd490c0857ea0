"""A small wardrobe of its own, made by the actions themselves."""

import io
from typing import Any

from PIL import Image

from catalog.pieces import actions
from catalog.pieces.models import Piece, Production, Role, Slot
from tests.cast import Cast


def production(cast: Cast, code: str = "ABC", **facts: Any) -> Production:
    return actions.add_production(by=cast.archivist, **{"code": code, "title": f"Film {code}", "year": 2001, **facts})


def role(cast: Cast, of: Production, code: str = "MIL") -> Role:
    return actions.add_role(by=cast.archivist, production=of, code=code, name="Miller", sort="background")


def slot(cast: Cast, of: Role, code: str = "coat", kind: str = "coat") -> Slot:
    return actions.add_slot(by=cast.archivist, role=of, code=code, name=f"a {kind}", kind=kind)


def piece(cast: Cast, of: Production, number: str = "ABC-0001", **facts: Any) -> Piece:
    given = {"name": "Dust coat", "kind": "coat", "materials": ["linen"], **facts}
    return actions.record_piece(by=cast.archivist, number=number, production=of, **given)


def picture(colour: str = "teal", size: tuple[int, int] = (400, 300), kind: str = "JPEG", **how: Any) -> bytes:
    stream = io.BytesIO()
    Image.new("RGB", size, colour).save(stream, kind, **how)
    return stream.getvalue()
