"""How it was worn is noted with a picture; a performer's pictures are forgotten with the performer's sizes."""

from collections.abc import Collection
from datetime import datetime

from django.db import transaction

from catalog.access.models import User
from catalog.access.permissions import Ability, require
from catalog.core import clock
from catalog.core.checks import keep, refuse_unless_past
from catalog.core.errors import Refused
from catalog.core.history import record
from catalog.core.locks import lock_rows
from catalog.core.models import File
from catalog.core.pictures import forget_picture, store_picture
from catalog.loans.models import Call, Loan, SceneNote, ScenePicture, Wearer
from catalog.loans.nameless import without_names
from catalog.pieces.models import Piece


@transaction.atomic
def note_scene(
    *,
    by: User,
    loan: Loan,
    scene: str,
    picture: bytes,
    pieces: Collection[Piece],
    wearer: Wearer | None = None,
    shows_performer: bool,
    story_day: str = "",
    fastened: str = "",
    taken_at: datetime | None = None,
) -> SceneNote:
    """Keep a frame with its scene, the day of the story, how it was fastened and which pieces.

    With a performer in the picture only those see it who see who wears what, and it goes on the performer's day.
    Raises Refused without a piece, for a performer in the picture whom nobody names, and for a picture stored already.
    """
    require(by, Ability.SIGN_OUT)
    refuse_unless_past(taken_at=taken_at)
    if loan.call is None:
        raise Refused(f"{loan} has no call: nobody wears its pieces.")
    if wearer is not None and wearer.call_id != loan.call_id:
        raise Refused(f"Performer {wearer.number} is not on the list of this loan's call.", field="wearer")
    if shows_performer and wearer is None:
        raise Refused("Name the performer by number: the picture is deleted on that performer's day.", field="wearer")
    ids = sorted({piece.pk for piece in pieces})
    if not ids or loan.lines.filter(piece__in=ids).count() != len(ids):
        raise Refused("Tick which pieces of this loan are worn.", field="pieces")
    lock_rows(Piece.objects.filter(pk__in=ids))
    note = SceneNote(production=loan.call.production, loan=loan, wearer=wearer, scene=" ".join(scene.split()))
    note.story_day = without_names(loan, " ".join(story_day.split()))
    note.fastened = without_names(loan, " ".join(fastened.split()))[:300]
    note.taken_at, note.taken_by = taken_at or clock.now(), by
    keep(note)
    note.pieces.set(ids)
    circle = File.SeenBy.WARDROBE if shows_performer else File.SeenBy.STAFF
    file = store_picture(by=by, data=picture, seen_by=circle, personal=shows_performer)
    keep(ScenePicture(note=note, file=file, shows=wearer if shows_performer else None))
    for piece in Piece.objects.filter(pk__in=ids).order_by("pk"):
        told = {"scene": note.scene, "story_day": note.story_day, "loan": loan.reference}
        record(by, "worn in a scene", piece.subject, after=told)
    return note


@transaction.atomic
def forget_pictures(*, by: User | None, wearer_ids: Collection[int]) -> int:
    """Delete every picture that shows one of these performers, the stored bytes first; how many.

    A picture of pieces alone stays, and so does what was noted of the scene: by number. `by` None is the nightly
    command, as for sizes.
    """
    rows = ScenePicture.objects.filter(shows__in=list(wearer_ids)).select_related("file", "shows__call")
    counts: dict[Call, int] = {}
    for row in rows.order_by("pk"):
        if row.shows is not None:
            counts[row.shows.call] = counts.get(row.shows.call, 0) + 1
        row.delete()
        forget_picture(row.file)
    for call, number in counts.items():
        record(by, "pictures of performers deleted", call.subject, after={"pictures_deleted": number})
    return sum(counts.values())
