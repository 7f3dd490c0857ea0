"""Pages and papers as words, without what is random in them.

A form's token and the hashes of the history are drawn anew in each run: "300 is not told" would fail now and then only
because one of them holds those three figures.
"""

import re
from typing import Any

RANDOM = re.compile(r'name="csrfmiddlewaretoken" value="[^"]*"|\b(?=[0-9a-f]*\d)[0-9a-f]{12,64}\b')


def without_random(text: str) -> str:
    """The text with every form token and every hash taken out."""
    return RANDOM.sub("", text)


def text_of(answer: Any) -> str:
    """A page with single blanks between its words, markup included, nothing random."""
    content = b"".join(answer.streaming_content) if answer.streaming else answer.content
    return " ".join(without_random(content.decode()).split())
