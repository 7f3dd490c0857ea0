"""Which pictures look alike: a 64-bit difference hash of the small derivative, compared by how many bits differ.

The picture is made nine by eight grey points; each bit says whether a point is brighter than its right neighbour. It
bears another size, a little more light and JPEG; it does not bear another view, a turned thing or another ground. So it
is a hint beside the facts, never a proof. Ten differing bits as the limit is common practice, no source.
"""

import io
from collections.abc import Iterable

import numpy as np
from PIL import Image

BITS = 64
ALIKE, SOMEWHAT = 10, 18
# A picture of one even tone hashes to nearly nothing, and would look like every other such picture.
FEWEST_BITS = 4


def dhash(jpeg: bytes) -> int:
    """The hash of a picture's small derivative, as a signed number that both databases can store."""
    with Image.open(io.BytesIO(jpeg), formats=["JPEG"]) as picture:
        small = picture.convert("L").resize((9, 8), Image.Resampling.LANCZOS)
    grey = np.asarray(small, dtype=np.int16)
    bits = np.packbits(grey[:, 1:] > grey[:, :-1])
    return int.from_bytes(bits.tobytes(), "big", signed=True)


def differing(one: int, others: Iterable[int]) -> list[int]:
    """How many of the 64 bits differ from each of the others."""
    theirs = np.fromiter(others, dtype=np.int64).view(np.uint64)
    mine = np.array([one], dtype=np.int64).view(np.uint64)
    return [int(bits) for bits in np.bitwise_count(theirs ^ mine[0])]


def tells_something(one: int | None) -> bool:
    """Whether the hash is of a picture with something in it."""
    return (
        one is not None and FEWEST_BITS <= int(np.int64(one).view(np.uint64).item()).bit_count() <= BITS - FEWEST_BITS
    )
