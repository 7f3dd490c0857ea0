"""Pictures: turned upright, nothing left but pixels, and what is no picture is refused with a sentence."""

import io
import struct
import zlib

import pytest
from PIL import ExifTags, Image, ImageCms

from catalog.core.errors import Refused
from catalog.core.models import File
from catalog.core.pictures import LARGE_PX, SMALL_PX, derive, store_picture
from tests.cast import Cast
from tests.pieces.world import picture

SECRET = b"Mill Lane 7"


def phone_picture(orientation: int, size: tuple[int, int] = (1600, 1200)) -> bytes:
    """As a phone writes it: which way is up, where it was taken and by which phone in EXIF, a comment, red top left."""
    image = Image.new("RGB", size, "navy")
    image.paste("red", (0, 0, size[0] // 4, size[1] // 4))
    exif = image.getexif()
    exif[ExifTags.Base.Orientation] = orientation
    exif[ExifTags.Base.Model] = "Phone 9"
    exif[ExifTags.Base.ImageDescription] = SECRET.decode()
    place = exif.get_ifd(ExifTags.IFD.GPSInfo)
    place[ExifTags.GPS.GPSLatitudeRef] = "N"
    place[ExifTags.GPS.GPSLatitude] = (52.0, 30.0, 11.0)
    stream = io.BytesIO()
    image.save(stream, "JPEG", exif=exif, comment=SECRET, quality=90)
    return stream.getvalue()


def opened(data: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(data))
    image.load()
    return image


# Where the pixel that was top left must be seen, by EXIF 2.3 table of the Orientation tag (values 1 to 8).
CORNERS = {
    1: "top left",
    2: "top right",
    3: "bottom right",
    4: "bottom left",
    5: "top left",
    6: "top right",
    7: "bottom right",
    8: "bottom left",
}


@pytest.mark.parametrize("orientation", range(1, 9))
def test_it_is_turned_upright(orientation: int) -> None:
    derived = derive(phone_picture(orientation))
    large, small = opened(derived.large), opened(derived.small)
    upright = (1600, 1200) if orientation < 5 else (1200, 1600)
    assert (derived.width_px, derived.height_px) == upright
    assert max(large.size) == LARGE_PX
    assert max(small.size) == SMALL_PX
    assert large.size[0] / large.size[1] == pytest.approx(upright[0] / upright[1], abs=0.01)
    width, height = large.size
    pixels = {
        "top left": (9, 9),
        "top right": (width - 9, 9),
        "bottom left": (9, height - 9),
        "bottom right": (width - 9, height - 9),
    }
    red = [name for name, at in pixels.items() if large.getpixel(at)[0] > 200]  # type: ignore[index]
    assert red == [CORNERS[orientation]]


def test_nothing_but_pixels_is_left() -> None:
    data = phone_picture(6)
    assert SECRET in data
    assert opened(data).getexif().get_ifd(ExifTags.IFD.GPSInfo)
    for made in (derive(data).large, derive(data).small):
        image = opened(made)
        assert image.format == "JPEG"
        assert not image.getexif()
        assert SECRET not in made
        assert b"Exif" not in made
        assert not {"comment", "icc_profile", "exif", "xmp"} & set(image.info)


def test_small_pictures_are_not_blown_up() -> None:
    assert opened(derive(picture(size=(50, 40))).large).size == (50, 40)


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "JPEG"])
def test_the_usual_formats_are_read(kind: str) -> None:
    derived = derive(picture(kind=kind))
    assert derived.media_type == f"image/{kind.lower()}"
    assert opened(derived.large).size == (400, 300)


def test_see_through_parts_become_white() -> None:
    stream = io.BytesIO()
    Image.new("RGBA", (20, 20), (255, 0, 0, 0)).save(stream, "PNG")
    assert opened(derive(stream.getvalue()).large).getpixel((5, 5)) == (255, 255, 255)


@pytest.mark.parametrize("mode", ["L", "P", "1", "I;16", "CMYK", "LA"])
def test_other_colour_modes_are_read(mode: str) -> None:
    stream = io.BytesIO()
    Image.new(mode, (20, 20)).save(stream, "JPEG" if mode == "CMYK" else "PNG")
    assert opened(derive(stream.getvalue()).large).mode == "RGB"


def test_sixteen_bit_grey_keeps_its_shades() -> None:
    stream = io.BytesIO()
    Image.new("I;16", (20, 20), 32_768).save(stream, "PNG")
    assert opened(derive(stream.getvalue()).large).getpixel((5, 5))[0] == pytest.approx(128, abs=3)  # type: ignore[index]


def test_a_colour_profile_is_followed_and_a_broken_one_survived() -> None:
    good = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for profile in (good, b"no profile at all"):
        derived = derive(picture("red", icc_profile=profile))
        assert opened(derived.large).getpixel((5, 5))[0] > 240  # type: ignore[index]


def test_a_phones_double_picture_is_read_as_its_first() -> None:
    stream = io.BytesIO()
    first = Image.new("RGB", (80, 60), "red")
    first.save(stream, "MPO", save_all=True, append_images=[Image.new("RGB", (80, 60), "blue")])
    derived = derive(stream.getvalue())
    assert derived.media_type == "image/jpeg"
    assert opened(derived.large).getpixel((40, 30))[0] > 240  # type: ignore[index]


# --- refused --------------------------------------------------------------------------------------------------------
def png_header(width: int, height: int) -> bytes:
    """A PNG that claims its size and holds next to nothing."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = chunk(b"IDAT", zlib.compress(b"\0" * 10_000))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + rows + chunk(b"IEND", b"")


def moving(kind: str) -> bytes:
    stream = io.BytesIO()
    frames = [Image.new("RGB", (30, 30), colour) for colour in ("red", "blue")]
    frames[0].save(stream, kind, save_all=True, append_images=frames[1:])
    return stream.getvalue()


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        pytest.param(b"", "empty", id="empty"),
        pytest.param(b"%PDF-1.7 and so on", "no picture", id="a document"),
        pytest.param(b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no picture", id="a drawing"),
        pytest.param(b"GIF89a" + b"\0" * 40, "no picture", id="another format"),
        pytest.param(b"\xff\xd8\xff\xe0" + b"\0" * 30, "no picture", id="only a head"),
        pytest.param(picture(size=(600, 600))[:1500], "damaged", id="cut off"),
        pytest.param(picture(kind="PNG", size=(600, 600))[:-40], "damaged", id="cut off png"),
        pytest.param(png_header(20_000, 10_000), "megapixels|too many pixels", id="200 megapixels"),
        pytest.param(png_header(9_000, 7_000), "63 megapixels", id="63 megapixels"),
        pytest.param(png_header(11_000, 9_000), "megapixels|too many pixels", id="99 megapixels"),
        pytest.param(png_header(60_000, 60_000), "too many pixels", id="3600 megapixels"),
        pytest.param(png_header(700, 500), "damaged", id="claims more than it holds"),
        pytest.param(moving("PNG"), "moves", id="moving png"),
        pytest.param(moving("WEBP"), "moves", id="moving webp"),
    ],
)
def test_it_is_refused_with_a_sentence(data: bytes, sentence: str) -> None:
    with pytest.raises(Refused, match=sentence) as refused:
        derive(data)
    assert refused.value.field == "picture"


# --- kept -----------------------------------------------------------------------------------------------------------
@pytest.mark.django_db
def test_the_same_bytes_are_stored_once_for_the_narrower_circle(cast: Cast) -> None:
    data = picture()
    first = store_picture(by=cast.archivist, data=data, rights_owner="The house")
    again = store_picture(by=cast.archivist, data=data, seen_by="wardrobe")
    assert again == first
    assert File.objects.get().seen_by == "wardrobe"
    assert store_picture(by=cast.archivist, data=data).seen_by == "wardrobe"
    with first.original.open("rb") as stream:
        assert stream.read() == data, "the original is kept as it came"


@pytest.mark.django_db
def test_bytes_that_lie_half_written_are_written_again(cast: Cast) -> None:
    data = picture("olive")
    file = store_picture(by=cast.archivist, data=data)
    name, storage = file.large.name, file.large.storage
    whole = storage.size(name)
    file.delete()
    with storage.open(name, "wb") as stream:
        stream.write(b"half")
    again = store_picture(by=cast.archivist, data=data)
    assert (again.large.name, storage.size(name)) == (name, whole)


@pytest.mark.django_db
def test_what_is_refused_is_not_stored(cast: Cast) -> None:
    with pytest.raises(Refused):
        store_picture(by=cast.archivist, data=b"no picture")
    assert not File.objects.exists()
