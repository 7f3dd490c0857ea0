"""One camera frame in, the text of the label in it out. Frames are never stored."""

from django.http import HttpRequest, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from catalog.core.errors import Refused
from catalog.core.throttle import too_often
from catalog.storage.frames import MOST_BYTES, read_frame

# The page sends one frame at a time, four or five a second.
FRAMES_A_MINUTE = 400


@never_cache
@require_POST
def decode(request: HttpRequest) -> JsonResponse:
    """Read the raw JPEG in the body: nothing of it passes an upload handler, so nothing reaches a disk."""
    if too_often("frame", request.user.pk, FRAMES_A_MINUTE):
        answer = _no("Too many pictures in one minute: wait a little, or type the code.", 429)
        answer["Retry-After"] = "10"
        return answer
    if request.content_type != "image/jpeg":
        return _no("That is no picture of a camera.", 415)
    try:
        length = int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        length = 0
    if length > MOST_BYTES:
        return _no("The picture is too large to be read: let the page take it.", 413)
    try:
        return JsonResponse({"text": read_frame(request.read(MOST_BYTES + 1))})
    except Refused as error:
        return _no(error.sentence, 400)


def _no(sentence: str, status: int) -> JsonResponse:
    return JsonResponse({"text": "", "problem": sentence}, status=status)
