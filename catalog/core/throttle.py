"""How often one person may ask for something dear: a count a minute in the cache.

The default cache belongs to one process, so with several of them the limit is that many times higher: it keeps a
machine from being worn out by a runaway page, it is no lock on a door.
"""

import time

from django.core.cache import cache

_SECONDS = 60


def too_often(what: str, who: object, most: int) -> bool:
    """Count one more `what` by `who`; whether that is more than `most` in this minute."""
    name = f"often-{what}-{who}-{int(time.time() // _SECONDS)}"
    cache.add(name, 0, timeout=2 * _SECONDS)
    try:
        return int(cache.incr(name)) > most
    except ValueError:  # it lapsed between the two lines
        return False
