"""Storing a picture: looked at before it is decoded, turned upright, stripped of everything but its pixels.

The original is kept as it came, for the archive, and never served: it may tell where it was taken. Pages show two
re-encoded JPEG derivatives whose longer sides are at most 1280 and 320 pixels.
"""

import hashlib
import io
import struct
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, cast

from django.contrib.auth.models import AbstractBaseUser
from django.core.files.base import ContentFile
from PIL import Image, ImageCms, ImageOps

from catalog.core.checks import keep
from catalog.core.errors import Refused
from catalog.core.looks import dhash
from catalog.core.models import File, media_storage

LARGE_PX, SMALL_PX = 1280, 320
# A phone takes 12 to 50 megapixels. Decoded, this many take about 250 MB.
MAX_MEGAPIXELS = 60
# MPO is a JPEG that carries a second picture behind the first, as many phones write it.
_MEDIA = {"JPEG": ("image/jpeg", "jpg"), "MPO": ("image/jpeg", "jpg"), "PNG": ("image/png", "png")}
_MEDIA["WEBP"] = ("image/webp", "webp")
# What Pillow is known to raise on bytes that only look like a picture.
_BROKEN = (OSError, SyntaxError, ValueError, EOFError, IndexError, KeyError, TypeError, struct.error, zlib.error)
_BOMB = (Image.DecompressionBombError, Image.DecompressionBombWarning)
# From the widest circle to the narrowest.
_CIRCLES: tuple[str, ...] = (File.SeenBy.EVERYBODY, File.SeenBy.STAFF, File.SeenBy.WARDROBE)


@dataclass(frozen=True, slots=True)
class Derived:
    """What was made of a picture: its kind, its upright size in pixels, and the two JPEGs that pages show."""

    media_type: str
    ending: str
    width_px: int
    height_px: int
    large: bytes
    small: bytes


def store_picture(
    *,
    by: AbstractBaseUser | None,
    data: bytes,
    seen_by: str = File.SeenBy.EVERYBODY,
    rights_owner: str = "",
    permitted_use: str = "",
    personal: bool = False,
) -> File:
    """The stored file of these bytes; the same bytes are stored once, and then the narrower circle may see them.

    `personal`: somebody is in it, so that it is never shared: on its day `forget_picture` takes it away whole.
    Raises Refused with a sentence for what is no JPEG, PNG or WebP, is damaged, moves, or has too many pixels.
    """
    digest = hashlib.sha256(data).hexdigest()
    if known := File.objects.filter(sha256=digest).first():
        if known.personal:
            raise Refused("This very picture is kept already, with a person in it. Take another.", field="picture")
        if personal:
            raise Refused("This very picture is stored already for something else. Take another.", field="picture")
        return _narrowed(known, seen_by)
    derived = derive(data)
    return keep(
        File(
            sha256=digest,
            media_type=derived.media_type,
            size_bytes=len(data),
            width_px=derived.width_px,
            height_px=derived.height_px,
            original=_written(f"originals/{digest[:2]}/{digest}.{derived.ending}", data),
            large=_written(f"large/{digest[:2]}/{digest}.jpg", derived.large),
            small=_written(f"small/{digest[:2]}/{digest}.jpg", derived.small),
            dhash=dhash(derived.small),
            seen_by=seen_by,
            personal=personal,
            rights_owner=rights_owner.strip(),
            permitted_use=permitted_use.strip(),
            stored_by=cast("Any", by),
        )
    )


def forget_picture(file: File) -> None:
    """Take a personal picture away: the stored bytes first, so that nothing is left when the row goes.

    Raises ValueError for a picture that others may share: that is a fault of the program.
    """
    if not file.personal:
        raise ValueError(f"{file} is nobody's: it is kept.")
    storage = media_storage()
    for stored in (file.original, file.large, file.small):
        if stored.name:
            storage.delete(stored.name)
    file.delete()


def derive(data: bytes) -> Derived:
    """Read a picture and make its derivatives, without storing anything. Raises Refused with a sentence."""
    picture = _opened(data)
    media_type, ending = _MEDIA[str(picture.format)]
    # The tag that says which way is up is read before the pixels shrink.
    width, height = picture.size
    if picture.format in {"JPEG", "MPO"}:
        # A JPEG can be decoded small at once, which spares most of the memory.
        picture.draft("RGB", (2 * LARGE_PX, 2 * LARGE_PX))
    try:
        picture.load()
        on_its_side = picture.getexif().get(0x0112) in {5, 6, 7, 8}
        upright = _only_pixels(ImageOps.exif_transpose(picture))
    except _BROKEN as broken:
        raise Refused(
            "The picture is damaged or was cut off on the way. Take or send it again.", field="picture"
        ) from broken
    if on_its_side:
        width, height = height, width
    return Derived(media_type, ending, width, height, _jpeg(upright, LARGE_PX), _jpeg(upright, SMALL_PX))


def _opened(data: bytes) -> Image.Image:
    """The picture with only its header read: nothing large is decoded before its size is known."""
    if not data:
        raise Refused("The file is empty. Take or send the picture again.", field="picture")
    try:
        picture = Image.open(io.BytesIO(data), formats=["JPEG", "PNG", "WEBP"])
    except _BOMB as bomb:
        raise _too_large() from bomb
    except _BROKEN as broken:
        raise Refused("This file is no picture we can read: send a JPEG, PNG or WebP.", field="picture") from broken
    if picture.width * picture.height > MAX_MEGAPIXELS * 1_000_000:
        raise _too_large(picture.width * picture.height)
    if picture.format != "MPO" and getattr(picture, "is_animated", False):
        raise Refused("This picture moves. Send one that stands still.", field="picture")
    return picture


def _too_large(pixels: int | None = None) -> Refused:
    has = f"has {pixels / 1_000_000:.0f} megapixels" if pixels else "has far too many pixels"
    return Refused(f"The picture {has}; at most {MAX_MEGAPIXELS} are read. Send a smaller one.", field="picture")


def _only_pixels(picture: Image.Image) -> Image.Image:
    """Pixels in the colours of a screen, see-through parts on white, and no word about where or by whom."""
    profile = picture.info.get("icc_profile")
    if picture.mode.startswith("I;16"):
        # Pillow would cut sixteen bits off at 255 instead of scaling them.
        picture = picture.convert("I").point(lambda value: value * (1 / 256)).convert("L")
    if picture.has_transparency_data:
        seen = picture.convert("RGBA")
        flat = Image.new("RGBA", seen.size, "white")
        flat.alpha_composite(seen)
        picture = flat.convert("RGB")
    picture = _in_screen_colours(picture, profile).convert("RGB")
    # Comments and profiles in `info` would be written into the derivatives by themselves.
    picture.info = {}
    return picture


def _in_screen_colours(picture: Image.Image, profile: bytes | None) -> Image.Image:
    """Phones record wider colours than a page shows; without this step they would look dull."""
    if not profile or picture.mode not in {"RGB", "CMYK", "L"}:
        return picture
    try:
        own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        turned = ImageCms.profileToProfile(picture, own, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError):
        # A broken profile makes the colours a little wrong, the picture is still worth having.
        return picture
    return picture if turned is None else turned


def _jpeg(picture: Image.Image, longest_px: int) -> bytes:
    small = picture.copy()
    small.thumbnail((longest_px, longest_px), Image.Resampling.LANCZOS)
    stream = io.BytesIO()
    small.save(stream, "JPEG", quality=82, optimize=True, progressive=True)
    return stream.getvalue()


def _written(name: str, data: bytes) -> str:
    """Store the bytes under a name made of their hash: what is there already in full is left alone."""
    storage = media_storage()
    if storage.exists(name):
        if storage.size(name) == len(data):
            return name
        storage.delete(name)
    return storage.save(name, ContentFile(data))


def _narrowed(file: File, seen_by: str) -> File:
    if seen_by in _CIRCLES and _CIRCLES.index(seen_by) > _CIRCLES.index(file.seen_by):
        file.seen_by = seen_by
        file.save(update_fields=["seen_by"])
    return file


def hash_stored(told: Callable[[int], None]) -> tuple[int, int]:
    """Work out the look of stored pictures that have none; how many were done and how many could not be read."""
    done, broken = 0, 0
    for file in File.objects.filter(dhash__isnull=True).exclude(small="").order_by("pk").iterator(chunk_size=500):
        try:
            with file.small.open("rb") as stored:
                file.dhash = dhash(stored.read())
        except _BROKEN:
            broken += 1
            continue
        file.save(update_fields=["dhash"])
        done += 1
        if done % 500 == 0:
            told(done)
    return done, broken
