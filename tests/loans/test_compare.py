"""The page that lays the in-photo on the out-photo of a line: who may, which pictures, what it says without a pair."""

import re
from collections.abc import Callable
from io import BytesIO
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image

from catalog.core.models import File
from catalog.loans.compare_queries import pictures_of
from catalog.loans.models import Loan
from catalog.pieces import actions as pieces
from catalog.pieces.models import PieceFile
from tests.care.calc.garments import Photo, pair
from tests.cast import Cast
from tests.loans.world import Stage
from tests.reading import text_of

As = Callable[[Any], Client]


def url(loan: Loan, number: str = "MOOR-0001") -> str:
    return reverse("loans:compare", args=[loan.reference, number])


def add(cast: Cast, stage: Stage, photo: Photo, view: str = "front", **more: Any) -> PieceFile:
    stream = BytesIO()
    Image.fromarray(photo).save(stream, "JPEG", quality=92)
    return pieces.add_picture(by=cast.archivist, piece=stage.coat, data=stream.getvalue(), view=view, **more)


@pytest.fixture
def made() -> Any:
    return pair(905, marks=2, longest=480)


@pytest.fixture
def home(cast: Cast, stage: Stage, out: Loan, clock: Any, made: Any) -> Loan:
    """Both photographs: one from before it left, one from eight days later."""
    add(cast, stage, made.out)
    clock.move_to("2031-06-15 08:00Z")
    add(cast, stage, made.back)
    return out


def test_the_marks_are_outlined_numbered_and_listed(cast: Cast, home: Loan, made: Any, as_user: As) -> None:
    answer = as_user(cast.archivist).get(url(home))
    page, said = answer.content.decode(), text_of(answer)
    assert answer.status_code == 200
    found = re.search(r"(\d+) places look different", said)
    assert found is not None
    count = int(found[1])
    assert count >= 2
    # Pins on each of the three pictures, a row and a way to a condition mark for each.
    assert len(re.findall(r'class="pin"', page)) == 3 * count
    assert len(re.findall(r">Mark this<", page)) == count
    assert "of the picture" in said
    assert "A person looks at the piece and decides." in said
    for one in ("beside", "out", "in", "difference"):
        assert f'type="radio" name="shown" value="{one}"' in page
    assert page.count("data:image/jpeg;base64,") == 3


def test_who_may_not_mark_sees_the_places_only(cast: Cast, home: Loan, as_user: As) -> None:
    page = as_user(cast.set_costumer).get(url(home)).content.decode()
    assert 'class="pin"' in page
    assert "Mark this" not in page


def test_a_picture_only_the_wardrobe_may_see_is_not_shown_to_others(
    cast: Cast, stage: Stage, home: Loan, as_user: As
) -> None:
    File.objects.filter(pk__in=stage.coat.pictures.values("file")).update(seen_by=File.SeenBy.WARDROBE)
    answer = as_user(cast.set_costumer).get(url(home))
    assert "data:image" not in answer.content.decode()
    assert "MOOR-0001 has no picture from before the loan." in text_of(answer)


def test_without_a_pair_it_says_what_is_missing(cast: Cast, stage: Stage, out: Loan, made: Any, as_user: As) -> None:
    client = as_user(cast.archivist)
    assert "MOOR-0001 has no picture from before the loan." in text_of(client.get(url(out)))
    add(cast, stage, made.out)
    assert "MOOR-0001 has no picture since it came back." in text_of(client.get(url(out)))
    assert client.get(url(out, "MOOR-9999")).status_code == 404


def test_the_same_view_is_chosen_and_another_may_be_named(
    cast: Cast, stage: Stage, home: Loan, made: Any, clock: Any
) -> None:
    back_view = add(cast, stage, made.back[:, ::-1], "back")
    line = home.lines.select_related("loan", "piece").get(piece=stage.coat)
    choice = pictures_of(line, cast.archivist)
    assert choice.out is not None
    assert choice.back is not None
    assert (choice.out.view, choice.back.view) == ("front", "front")
    named = pictures_of(line, cast.archivist, back=str(back_view.pk))
    assert (named.out, named.back) == (choice.out, back_view), (
        "no back view from before: the newest, and the page says so"
    )
    assert pictures_of(line, cast.archivist, back="nonsense") == choice


def test_two_views_are_called_two_views(cast: Cast, stage: Stage, home: Loan, made: Any, as_user: As) -> None:
    other = add(cast, stage, made.back[:, ::-1], "back")
    said = text_of(as_user(cast.archivist).get(url(home), {"back": other.pk}))
    assert "These are two views: front before, back since." in said


def test_a_file_that_cannot_be_read_is_a_sentence(cast: Cast, stage: Stage, home: Loan, as_user: As) -> None:
    file = stage.coat.pictures.get(main=True).file
    with file.large.storage.open(file.large.name, "wb") as stored:
        stored.write(b"no picture")
    said = text_of(as_user(cast.archivist).get(url(home)))
    assert "The picture from before the loan cannot be read. Add it again." in said


def test_it_asks_little_however_many_pictures(
    cast: Cast, stage: Stage, home: Loan, made: Any, as_user: As, django_assert_max_num_queries: Any
) -> None:
    for n in range(3):
        add(cast, stage, made.back[n + 1 :], "detail")
    client = as_user(cast.archivist)
    with django_assert_max_num_queries(14):
        client.get(url(home))
