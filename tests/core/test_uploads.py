"""The upload cap: a file over the limit never reaches the disk, its field says why, and the rest of the form stays."""

from pathlib import Path
from typing import Any

import pytest
from django import forms
from django.core.exceptions import RequestDataTooBig, ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpRequest
from django.test import RequestFactory

from catalog.core.uploads import FILES_A_REQUEST, RefusedFile, bad_request

MB = 1024 * 1024


class PictureForm(forms.Form):
    title = forms.CharField()
    picture = forms.FileField()


@pytest.fixture(autouse=True)
def one_megabyte(settings: Any, tmp_path: Path) -> None:
    settings.MAX_UPLOAD_MB = 1
    settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path)
    settings.FILE_UPLOAD_MAX_MEMORY_SIZE = 1000  # so that these files really go to the disk


def posted(*sizes: int, **fields: str) -> HttpRequest:
    files = {f"picture{n or ''}": SimpleUploadedFile(f"coat{n}.jpg", b"x" * size) for n, size in enumerate(sizes)}
    return RequestFactory().post("/", {**fields, **files})


@pytest.mark.parametrize("size", [1, 70_000, MB])
def test_a_file_up_to_the_limit_arrives_whole(size: int) -> None:
    request = posted(size, title="Coat")
    form = PictureForm(request.POST, request.FILES)
    assert form.is_valid()
    assert form.cleaned_data["picture"].size == size
    assert form.cleaned_data["picture"].read() == b"x" * size


@pytest.mark.parametrize("size", [MB + 1, 4 * MB])
def test_a_file_over_the_limit_is_refused_at_its_field(size: int, tmp_path: Path) -> None:
    request = posted(size, title="Coat")
    form = PictureForm(request.POST, request.FILES)
    assert not form.is_valid()
    assert form.errors == {
        "picture": ["“coat0.jpg” is larger than 1 MB. Make it smaller or raise the limit of the site."]
    }
    assert form["title"].value() == "Coat", "what was typed stays"
    assert sum(path.stat().st_size for path in tmp_path.iterdir()) <= MB, "nothing beyond the limit is written"


def test_a_good_file_beside_a_refused_one_is_kept() -> None:
    request = posted(2 * MB, 500, title="Coat")
    assert isinstance(request.FILES["picture"], RefusedFile)
    assert request.FILES["picture1"].read() == b"x" * 500


@pytest.mark.parametrize("use", [lambda f: f.read(), lambda f: list(f.chunks()), lambda f: f.open(), lambda f: f.size])
def test_code_that_skips_the_form_cannot_read_a_refused_file(use: Any) -> None:
    refused = posted(2 * MB, title="Coat").FILES["picture"]
    with pytest.raises(ValidationError, match="larger than 1 MB"):
        use(refused)


def test_a_request_that_is_far_too_large_is_turned_away_unread() -> None:
    request = posted(10, title="Coat")
    request.META["CONTENT_LENGTH"] = str(FILES_A_REQUEST * MB + 1)
    with pytest.raises(RequestDataTooBig, match=f"larger than {FILES_A_REQUEST} MB"):
        request.FILES  # noqa: B018


@pytest.mark.django_db
def test_the_page_for_it_says_so_and_shows_no_other_text() -> None:
    request = RequestFactory().get("/")
    ours = bad_request(request, RequestDataTooBig("The files together are larger than 12 MB. Send fewer at once."))
    assert ours.status_code == 413
    assert "The files together are larger than 12 MB." in ours.content.decode()
    other = bad_request(request, ValueError("secret inner words"))
    assert other.status_code == 400
    assert "secret" not in other.content.decode()
