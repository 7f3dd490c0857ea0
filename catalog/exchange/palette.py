"""Colours of materials for drawings: common practice, no source; a drawing is no record of a colour."""

from collections.abc import Sequence

Colour = tuple[int, int, int]

# The first word that stands in a material's name wins.
_TONES: tuple[tuple[str, Colour], ...] = (
    ("oiled", (189, 149, 64)),
    ("natural rubber", (64, 60, 58)),
    ("rubber", (78, 74, 72)),
    ("foam latex", (126, 134, 128)),
    ("polyurethane", (214, 200, 158)),
    ("foam", (222, 206, 168)),
    ("canvas", (166, 150, 118)),
    ("velvet", (112, 34, 52)),
    ("brocade", (138, 104, 58)),
    ("silk", (148, 64, 78)),
    ("metal thread", (198, 168, 92)),
    ("old fur", (142, 112, 82)),
    ("fur felt", (44, 42, 46)),
    ("fur", (176, 158, 138)),
    ("hair", (150, 132, 112)),
    ("felt", (70, 66, 72)),
    ("wool", (58, 74, 98)),
    ("flannel", (152, 88, 78)),
    ("linen", (222, 212, 190)),
    ("cotton", (196, 190, 172)),
    ("elastane", (118, 116, 128)),
    ("nylon", (104, 112, 122)),
    ("wadding", (216, 210, 196)),
    ("ribbon", (138, 66, 84)),
    ("straw", (214, 184, 112)),
    ("leather", (112, 76, 52)),
    ("horn", (92, 74, 56)),
    ("lead", (104, 108, 116)),
    ("brass", (186, 148, 72)),
    ("steel", (142, 150, 158)),
    ("aluminium", (178, 184, 190)),
    ("metal", (160, 156, 148)),
    ("resin", (150, 122, 78)),
    ("glass fibre", (170, 166, 140)),
    ("glass", (168, 198, 200)),
    ("radium", (150, 186, 128)),
    ("lithium", (96, 116, 108)),
    ("electrics", (92, 100, 104)),
    ("plaster", (224, 220, 212)),
    ("paper", (226, 216, 194)),
    ("card", (196, 176, 142)),
    ("ink", (48, 50, 66)),
    ("paint", (122, 124, 108)),
    ("wax", (206, 186, 138)),
    ("ash", (196, 164, 118)),
    ("birch", (212, 184, 140)),
    ("timber", (158, 118, 78)),
    ("wood", (158, 118, 78)),
)
_UNKNOWN: Colour = (150, 144, 134)


def colours_of(materials: Sequence[str]) -> list[Colour]:
    """A colour a material, in order; one neutral tone when nothing is known."""
    found = [_tone(name.lower()) for name in materials]
    return [tone for tone in found if tone is not None] or [_UNKNOWN]


def _tone(name: str) -> Colour | None:
    return next((tone for word, tone in _TONES if word in name), None)


def blend(first: Colour, second: Colour, share: float) -> Colour:
    """The first colour with this share of the second mixed in."""
    red, green, blue = (round(a + (b - a) * share) for a, b in zip(first, second, strict=True))
    return red, green, blue


def darker(tone: Colour, share: float) -> Colour:
    """The colour with this share of black."""
    return blend(tone, (0, 0, 0), share)


def lighter(tone: Colour, share: float) -> Colour:
    """The colour with this share of white."""
    return blend(tone, (255, 255, 255), share)
