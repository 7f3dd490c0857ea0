"""QR codes of labels as drawings.

ISO/IEC 18004: error correction level M (about 15 %), a quiet zone of four modules on each side. The address stands in
capitals, so that it stays in the alphanumeric set and the code stays small.

The standard tries eight masks on each code and takes the one with the fewest penalty points. The library does so module
by module in Python, two milliseconds a code; here the eight are tried at once as arrays, with the same outcome.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby, islice

import numpy as np
import numpy.typing as npt
import qrcode
from django.conf import settings
from qrcode.constants import ERROR_CORRECT_M

QUIET_ZONE = 4
ALPHANUMERIC = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")
# Alphanumeric signs that versions 1 to 10 hold at level M: ISO/IEC 18004, table 7 (as its published summaries give it).
_CAPACITY_M = (20, 38, 61, 90, 122, 154, 178, 221, 262, 311)
_FINDER = 0b1011101
_AT_ONCE = 64

Modules = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class QrDrawing:
    """A code as one SVG path on a grid of `side` modules, quiet zone included."""

    text: str
    version: int
    side: int
    path: str


def label_address(code: str) -> str:
    """What the label says: HTTPS://HOST/Q/CODE, in capitals. The address page answers in both cases."""
    return f"HTTPS://{settings.LABEL_HOST.upper()}/Q/{code.upper()}"


@lru_cache(maxsize=2048)
def qr_drawing(text: str) -> QrDrawing:
    """The text as a code: each run of dark modules in a row is one piece of the path."""
    rows = np.pad(qr_modules(text), QUIET_ZONE)
    parts = []
    for y, row in enumerate(rows):
        edges = np.flatnonzero(np.diff(row.astype(np.int8), prepend=0, append=0))
        for start, end in edges.reshape(-1, 2).tolist():
            parts.append(f"M{start} {y}h{end - start}v1h-{end - start}z")
    side = len(rows)
    return QrDrawing(text=text, version=(side - 2 * QUIET_ZONE - 17) // 4, side=side, path="".join(parts))


def qr_modules(text: str) -> Modules:
    """The dark modules of the text's code, without the quiet zone, in the smallest version that holds it."""
    return next(qr_many([text]))


def qr_many(texts: Iterable[str]) -> Iterator[Modules]:
    """The same for many texts, in their order; masks of neighbours of one version are weighed together."""
    for version, alike in groupby(texts, key=_version_of):
        while some := list(islice(alike, _AT_ONCE)):
            yield from _best(some, version) if version else (_made(text, None, None) for text in some)


def _version_of(text: str) -> int | None:
    """The smallest version that holds the text in the alphanumeric set; None: the library shall look for itself."""
    if not set(text) <= ALPHANUMERIC:
        return None
    return next((v for v, most in enumerate(_CAPACITY_M, 1) if len(text) <= most), None)


def _best(texts: list[str], version: int) -> Iterator[Modules]:
    changes, unscored = _masks(version)
    masked = np.stack([_made(text, version, 0) for text in texts])[:, None] ^ changes
    side = masked.shape[-1]
    points = _penalties((masked & ~unscored).reshape(-1, side, side)).reshape(len(texts), -1)
    yield from masked[np.arange(len(texts)), points.argmin(axis=1)]


def _made(text: str, version: int | None, mask: int | None) -> Modules:
    """The library's own code; without a mask it looks for the best one."""
    code = qrcode.QRCode(version=version, error_correction=ERROR_CORRECT_M, border=0, mask_pattern=mask)
    code.add_data(text)
    code.make(fit=version is None)
    return np.array(code.get_matrix(), dtype=bool)


@lru_cache(maxsize=16)
def _masks(version: int) -> tuple[Modules, Modules]:
    """What each of the eight masks changes against the first, whatever the code says; and the modules that carry the
    mask's own number (with the one beside them that is always dark), which the library leaves out of the scoring.
    """
    made = np.stack([_made("A", version, mask) for mask in range(8)])
    side = made.shape[1]
    unscored = np.zeros((side, side), dtype=bool)
    unscored[8, [0, 1, 2, 3, 4, 5, 7, 8, *range(side - 8, side)]] = True
    unscored[[0, 1, 2, 3, 4, 5, 7, *range(side - 8, side)], 8] = True
    return made ^ made[0], unscored


def _penalties(codes: Modules) -> npt.NDArray[np.int64]:
    """The standard's four penalties of each code in a stack, added up."""
    lines = np.concatenate([codes, codes.transpose(0, 2, 1)], axis=1)  # rows, then columns
    same = lines[..., 1:] == lines[..., :-1]
    fives = same[..., 3:] & same[..., 2:-1] & same[..., 1:-2] & same[..., :-3]
    begun = fives.copy()
    begun[..., 1:] &= ~fives[..., :-1]
    runs = _count(fives) + 2 * _count(begun)
    beside = codes[:, :, 1:] == codes[:, :, :-1]
    blocks = _count(beside[:, 1:] & beside[:, :-1] & (codes[:, 1:, 1:] == codes[:, :-1, 1:]))
    width = lines.shape[-1] - 10
    elevens = np.zeros((*lines.shape[:2], width), dtype=np.int16)
    for start in range(11):
        elevens <<= 1
        elevens |= lines[..., start : start + width]
    finders = _count((elevens == _FINDER) | (elevens == _FINDER << 4))
    balance = (np.abs(codes.mean(axis=(1, 2)) * 100 - 50) / 5).astype(np.int64)
    total: npt.NDArray[np.int64] = runs + 3 * blocks + 40 * finders + 10 * balance
    return total


def _count(found: Modules) -> npt.NDArray[np.int64]:
    counted: npt.NDArray[np.int64] = np.count_nonzero(found, axis=(1, 2))
    return counted
