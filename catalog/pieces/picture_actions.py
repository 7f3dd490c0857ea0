"""Adding pictures to a piece and saying which comes first."""

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import history
from catalog.core.checks import keep
from catalog.core.errors import Refused
from catalog.core.models import File
from catalog.core.pictures import store_picture
from catalog.pieces.models import Piece, PieceFile


@transaction.atomic
def add_picture(
    *,
    by: User,
    piece: Piece,
    data: bytes,
    view: str = PieceFile.View.FRONT,
    caption: str = "",
    main: bool | None = None,
    seen_by: str = File.SeenBy.EVERYBODY,
    rights_owner: str = "",
    permitted_use: str = "",
    source: str = "",
) -> PieceFile:
    """A picture of the piece; the first one becomes the main one unless `main` says otherwise.

    Raises Refused for bytes that are no picture we can show, and for a picture that the piece has already.
    """
    require(by, Ability.RECORD)
    file = store_picture(by=by, data=data, seen_by=seen_by, rights_owner=rights_owner, permitted_use=permitted_use)
    if piece.pictures.filter(file=file).exists():
        raise Refused("The piece has this picture already.", field="picture")
    first = not piece.pictures.filter(main=True).exists()
    if main:
        piece.pictures.filter(main=True).update(main=False)
    row = PieceFile(piece=piece, file=file, view=view, caption=caption.strip(), main=first if main is None else main)
    keep(row)
    history.record(by, "picture added", piece.subject, after={"picture": _told(row)}, reason=source)
    return row


@transaction.atomic
def change_picture(
    *, by: User, picture: PieceFile, view: str | None = None, caption: str | None = None, main: bool = False
) -> PieceFile:
    """Correct a picture's view or caption, or make it the main one."""
    require(by, Ability.RECORD)
    row = PieceFile.objects.select_for_update(of=("self",)).select_related("piece", "file").get(pk=picture.pk)
    before = _told(row)
    row.view = row.view if view is None else view
    row.caption = row.caption if caption is None else caption.strip()
    if main and not row.main:
        row.piece.pictures.filter(main=True).update(main=False)
        row.main = True
    keep(row)
    if before != _told(row):
        after = {"picture": _told(row)}
        history.record(by, "picture changed", row.piece.subject, before={"picture": before}, after=after)
    return row


def _told(row: PieceFile) -> dict[str, object]:
    return {"view": row.view, "caption": row.caption, "main": row.main, "sha256": row.file.sha256[:12]}
