"""How was it worn in scene 112: frames, day of the story, how fastened, which pieces, what differs now; and the frames
with a performer in them gone, row and file, on the day the performer's sizes go.
"""

import io
import json
from datetime import date, timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse
from PIL import Image

from catalog.care import actions as care
from catalog.core.errors import NotAllowed, Refused
from catalog.core.models import File, HistoryLine, media_storage
from catalog.core.pictures import forget_picture, store_picture
from catalog.fitting import actions as fitting
from catalog.fitting.actions import day_to_forget
from catalog.loans import actions, scene_queries
from catalog.loans.models import Loan, SceneNote, ScenePicture, Wearer
from catalog.pieces import actions as pieces
from tests.cast import Cast
from tests.loans.test_on_set import BASE, give, line_of, seven
from tests.loans.world import Stage
from tests.reading import text_of

__all__ = ["seven"]
ASK = "/how-worn/?production=MOOR&scene=112"


def frame(shade: int) -> bytes:
    stream = io.BytesIO()
    Image.new("RGB", (60, 40), (shade, 90, 40)).save(stream, "PNG")
    return stream.getvalue()


def sent(shade: int, **more: Any) -> dict[str, Any]:
    file = SimpleUploadedFile("frame.png", frame(shade), content_type="image/png")
    facts = {"scene": "112", "story_day": "day 3", "fastened": "two top buttons open, collar up"}
    return {"picture": file, "pieces": ["MOOR-0001"], **facts, **more}


@pytest.fixture
def shot(cast: Cast, out: Loan, seven: Wearer, as_user: Any, clock: Any) -> Loan:
    """Performer 7 photographed in a coat for scene 112, and the same coat alone on its hanger."""
    clock.move_to("2031-06-10 08:00Z")
    give(cast, out, "MOOR-0001", seven)
    client = as_user(cast.set_costumer)
    page = text_of(client.get(f"{BASE}scenes/?performer=7"))
    assert 'value="MOOR-0001" id="id_pieces_0" checked' in page
    first = client.post(f"{BASE}scenes/", sent(10, in_it="performer", wearer="7"))
    assert first.url == ASK
    assert client.post(f"{BASE}scenes/", sent(20, in_it="pieces", wearer="7")).status_code == 302
    return out


def test_the_page_answers_for_a_scene(
    cast: Cast, shot: Loan, stage: Stage, as_user: Any, clock: Any, django_assert_max_num_queries: Any
) -> None:
    client = as_user(cast.wardrobe_lead)
    page = text_of(client.get(ASK))
    assert "Scene 112: 2 frames of The Pipers of Moor." in page
    for words in ("day 3, performer 7", "two top buttons open, collar up", "MOOR-0001", "nothing recorded since then"):
        assert words in page
    assert "Quillfeather" not in page
    clock.move_to("2031-06-12 08:00Z")
    actions.note_damage(by=cast.set_costumer, line=line_of(shot, "MOOR-0001"), what="collar torn off")
    care.alter(
        by=cast.archivist, piece=stage.coat, what="sleeve let out", done_on=date(2031, 6, 11), done_by_name="workroom"
    )
    with django_assert_max_num_queries(12 + 4):
        (one, _) = scene_queries.how_worn(stage.production, "112")
    assert one.pieces[0].since == ("altered: sleeve let out", "damaged: collar torn off")
    client = as_user(cast.wardrobe_lead)
    assert "differs now" in text_of(client.get(ASK))
    nothing = text_of(client.get("/how-worn/?production=MOOR&scene=9"))
    assert "Nothing was noted of scene 9." in nothing
    assert "scene 112." in nothing
    assert client.get("/how-worn/?production=X&scene=").status_code == 422


def test_who_sees_a_frame(cast: Cast, shot: Loan, as_user: Any) -> None:
    row = ScenePicture.objects.get(shows__isnull=False)
    assert (row.file.seen_by, row.file.personal) == ("wardrobe", True)
    url = f"/how-worn/pictures/{row.pk}.jpg"
    allowed = as_user(cast.set_costumer).get(url)
    assert (allowed.status_code, allowed["Cache-Control"]) == (200, "private, no-store")
    for who, code in ((cast.production, 403), (cast.visitor, 403), (None, 302)):
        assert as_user(who).get(url).status_code == code
        assert as_user(who).get(ASK).status_code == code
    # By the address of a piece's pictures nobody gets it.
    assert as_user(cast.archivist).get(f"/pictures/{row.file_id}/large.jpg").status_code == 404
    told = json.dumps(
        [[line.verb, line.after, line.reason] for line in HistoryLine.objects.filter(verb__contains="sc")]
    )
    assert "112" in told
    assert "performer" not in told


def test_frames_of_a_performer_go_with_the_sizes(cast: Cast, shot: Loan, seven: Wearer, as_user: Any) -> None:
    sheet = fitting.add_sheet(by=cast.wardrobe_lead, wearer=seven, layer="card", height_mm=1700)
    mine, hanger = ScenePicture.objects.order_by("pk")
    names = [mine.file.original.name, mine.file.large.name, mine.file.small.name]
    kept = [hanger.file.original.name, hanger.file.large.name, hanger.file.small.name]
    assert all(media_storage().exists(name) for name in names + kept)
    page = text_of(as_user(cast.wardrobe_lead).get(reverse("fitting:sheets_kept")))
    assert "(1 such picture is kept now)" in page
    call_command("forget_sizes", today=str(sheet.delete_on - timedelta(days=1)))
    assert ScenePicture.objects.count() == 2
    call_command("forget_sizes", today=str(sheet.delete_on))
    assert list(ScenePicture.objects.all()) == [hanger]
    assert not File.objects.filter(pk=mine.file_id).exists()
    assert [name for name in names if media_storage().exists(name)] == []
    assert all(media_storage().exists(name) for name in kept)
    assert SceneNote.objects.count() == 2
    assert "The picture was deleted on the performer" in text_of(as_user(cast.archivist).get(ASK))
    line = HistoryLine.objects.get(verb="pictures of performers deleted")
    assert line.after == {"pictures_deleted": 1}


def test_without_a_sheet_they_go_on_the_houses_day(cast: Cast, shot: Loan) -> None:
    fitting.forget_sizes(today=day_to_forget(shot.call) - timedelta(days=1))
    assert ScenePicture.objects.filter(shows__isnull=False).exists()
    fitting.forget_sizes(today=day_to_forget(shot.call))
    assert not ScenePicture.objects.filter(shows__isnull=False).exists()


def test_a_frame_with_somebody_in_it_is_nobody_elses_picture(cast: Cast, shot: Loan, stage: Stage) -> None:
    with pytest.raises(Refused, match="kept already, with a person in it"):
        pieces.add_picture(by=cast.archivist, piece=stage.coat, data=frame(10))
    pieces.add_picture(by=cast.archivist, piece=stage.coat, data=frame(30))
    facts = {"loan": shot, "scene": "4", "pieces": [stage.coat], "wearer": shot.call.wearers.get()}
    with pytest.raises(Refused, match="stored already for something else"):
        actions.note_scene(by=cast.set_costumer, picture=frame(30), shows_performer=True, **facts)
    with pytest.raises(ValueError, match="it is kept"):
        forget_picture(store_picture(by=cast.archivist, data=frame(30)))


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"in_it": "performer", "wearer": ""}, "Name the performer by number"),
        ({"in_it": ""}, "Say whether somebody is in it"),
        ({"in_it": "pieces", "scene": ""}, "Say which scene"),
        ({"in_it": "pieces", "pieces": []}, "Tick which pieces are worn"),
        ({"in_it": "pieces", "picture": SimpleUploadedFile("x.png", b"no picture")}, "no picture we can read"),
    ],
)
def test_what_is_missing_is_told(facts: dict[str, Any], sentence: str, cast: Cast, out: Loan, as_user: Any) -> None:
    answer = as_user(cast.set_costumer).post(f"{BASE}scenes/", sent(40, **facts))
    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert "two top buttons open" in text_of(answer)
    assert not SceneNote.objects.exists()


def test_who_may_note(cast: Cast, out: Loan, stage: Stage) -> None:
    with pytest.raises(NotAllowed):
        actions.note_scene(
            by=cast.production, loan=out, scene="1", picture=frame(1), pieces=[stage.coat], shows_performer=False
        )
