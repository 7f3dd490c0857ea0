"""The upload cap. Django limits form fields but not files, so a file over the limit is cut off while it arrives.

The refused file keeps its place in the form: the field that asked for it shows the sentence, and what was typed stays.
"""

from typing import Any

from django.conf import settings
from django.core.exceptions import RequestDataTooBig, ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import FileUploadHandler
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

# One form may bring several pictures; beyond this many full-size files the whole request is turned away unread.
FILES_A_REQUEST = 12


def refusal(file_name: str) -> str:
    return f"“{file_name}” is larger than {settings.MAX_UPLOAD_MB} MB. Make it smaller or raise the limit of the site."


class RefusedFile(UploadedFile):  # type: ignore[type-arg]  # generic in the stubs alone
    """Stands where a file over the limit would stand. Whoever asks for its size or bytes gets the sentence instead."""

    def __init__(self, *, name: str, content_type: str) -> None:
        self.sentence = ""
        super().__init__(file=None, name=name, content_type=content_type, size=None)
        self.sentence = refusal(self.name or "the file")

    @property
    def size(self) -> int:
        raise ValidationError(self.sentence, code="too_large")

    @size.setter
    def size(self, value: int | None) -> None:
        """The base class sets a size when it is made; a refused file has none."""
        self.announced_size = value

    def read(self, *args: Any) -> bytes:
        raise ValidationError(self.sentence, code="too_large")

    def chunks(self, chunk_size: int | None = None) -> Any:
        raise ValidationError(self.sentence, code="too_large")

    def open(self, *args: Any, **kwargs: Any) -> Any:
        raise ValidationError(self.sentence, code="too_large")


class UploadCap(FileUploadHandler):
    """First of the upload handlers: counts, and stops handing bytes on once a file is over the limit."""

    over = False

    def handle_raw_input(
        self,
        input_data: Any,
        META: Any,  # noqa: N803
        content_length: int,
        boundary: Any,
        encoding: str | None = None,
    ) -> None:
        if content_length > limit_bytes() * FILES_A_REQUEST:
            raise RequestDataTooBig(
                f"The files together are larger than {settings.MAX_UPLOAD_MB * FILES_A_REQUEST} MB. Send fewer at once."
            )

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        super().new_file(*args, **kwargs)
        self.over = False

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes | None:
        self.over = self.over or start + len(raw_data) > limit_bytes()
        return None if self.over else raw_data

    def file_complete(self, file_size: int) -> "UploadedFile[bytes] | None":
        if not self.over:
            return None
        return RefusedFile(name=self.file_name or "the file", content_type=self.content_type or "")


def limit_bytes() -> int:
    return int(settings.MAX_UPLOAD_MB) * 1024 * 1024


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The page for a request that cannot be read; only our own sentences are shown, never a technical text."""
    if isinstance(exception, RequestDataTooBig):
        sentence = (
            str(exception) if str(exception).startswith("The files together") else "The form holds too much data."
        )
        return render(request, "400.html", {"sentence": sentence}, status=413)
    return render(request, "400.html", {"sentence": "The request could not be read."}, status=400)
